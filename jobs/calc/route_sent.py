"""Reads what was sent of the way in: the panels on their carts, and the legs; refuses what cannot be.

`load` holds what all panels have alike; each of `panels` brings its own sizes over it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.amounts import MOST_PANEL, carried_mass
from jobs.calc.legs import Leg, read_legs
from jobs.calc.verdict import BadInput

MM = 1_000_000
LONGEST = 20_000 * MM  # no panel is
NEEDED_OF_LOAD = ("length", "height", "thickness", "cart_height")


@dataclass(frozen=True, slots=True)
class Load:
    """A panel upright on its cart. `thickness` is what the two need in width, `bare_thickness` the panel alone."""

    panel: str | None = None
    length: int | None = None
    height: int | None = None
    thickness: int | None = None
    cart_height: int | None = None
    bare_thickness: int | None = None
    mass: Fraction | None = None
    cart_mass: Fraction | None = None

    @property
    def tall(self) -> int:
        return self.cart_height + self.height

    @property
    def all_mass(self) -> Fraction:
        return self.mass + (self.cart_mass or 0)

    def turned(self) -> Load:
        """On its side: as high as it was long."""
        return replace(self, length=self.height, height=self.length)

    def bare(self) -> Load:
        """Without its cart. Where nobody read it bare, as thick as on its cart."""
        thickness = self.thickness if self.bare_thickness is None else self.bare_thickness
        return replace(self, thickness=thickness, cart_height=0, cart_mass=Fraction(0))


@dataclass(frozen=True, slots=True)
class Way:
    loads: tuple[Load, ...]
    legs: tuple[Leg, ...]


def read_way(payload: Mapping[str, Any]) -> Way:
    unit = reading.unit_of(payload)
    return Way(_loads(payload, unit), read_legs(payload.get("legs"), unit))


def _loads(payload: Mapping[str, Any], unit: str) -> tuple[Load, ...]:
    alike = reading.mapping(payload["load"], "load") if payload.get("load") is not None else {}
    sent = reading.sequence(payload.get("panels") or (), "panels", most=100)
    if not sent:
        if not alike:
            raise BadInput("load", payload.get("load"), "send the sizes of a load, or the panels with theirs")
        return (_load(alike, "load.", unit, None),)
    loads = [_load({**alike, **reading.mapping(one, f"panels[{n}]")}, f"panels[{n}].", unit, n)
             for n, one in enumerate(sent)]
    for n, load in enumerate(loads):
        if any(load.panel == other.panel for other in loads[:n]):
            raise BadInput(f"panels[{n}].panel", load.panel, "each panel once")
    return tuple(loads)


def _load(sent: Mapping[str, Any], at: str, unit: str, place: int | None) -> Load:
    sizes = reading.each_length(sent, (*NEEDED_OF_LOAD, "bare_thickness"), unit, at)
    for name, nm in sizes.items():
        if nm > LONGEST or (nm == 0 and name != "cart_height"):
            raise BadInput(f"{at}{name}", sent[name], "more than nought and at most 20 m")
    if sizes.get("bare_thickness", 0) > sizes.get("thickness", LONGEST):
        raise BadInput(f"{at}bare_thickness", sent["bare_thickness"], "no thicker bare than on its cart")
    masses = {name: carried_mass(sent[name], f"{at}{name}", MOST_PANEL) for name in ("mass", "cart_mass")
              if sent.get(name) is not None}
    letter = None if place is None else reading.letter(reading.need(sent, "panel", at), f"{at}panel")
    return Load(letter, **sizes, **masses)
