"""Reads what was sent of the way in: the panels on their carts, and the legs; refuses what cannot be.

`load` holds what all panels have alike; each of `panels` brings its own sizes over it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import as_written
from jobs.calc.verdict import BadInput
from units.calc import read
from units.calc.lifting_sent import MOST_CAPACITY, MOST_MASS, carried_mass

MM = 1_000_000
LONGEST = 20_000 * MM  # no panel is
STEEPEST = 75  # degrees; more is a ladder
NEEDED_OF_LOAD = ("length", "height", "thickness", "cart_height")
NEEDED: dict[str, tuple[str, ...]] = {
    "corridor": ("width",),
    "corner": ("in_width", "out_width"),
    "doorway": ("width", "height", "room_before", "room_after"),
    "stairs": ("width", "headroom", "pitch_deg"),
    "lift": ("door_width", "door_height", "width", "depth", "height", "capacity"),
    "ceiling": ("height",),
}
ALSO: dict[str, tuple[str, ...]] = {"corridor": ("height",), "corner": ("height",), "stairs": ("landing",)}


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
class Leg:
    """`sizes` in nm, but for `pitch_deg` and `capacity` (kg)."""

    name: str
    kind: str
    sizes: Mapping[str, int | Fraction]

    def get(self, name: str, otherwise: int | None = None) -> int | None:
        return self.sizes.get(name, otherwise)

    def has(self, *names: str) -> bool:
        return all(name in self.sizes for name in names)

    @property
    def pitch(self) -> Fraction | None:
        return self.sizes.get("pitch_deg")

    @property
    def capacity(self) -> Fraction | None:
        return self.sizes.get("capacity")

    @property
    def by_hand(self) -> bool:
        """No cart goes up a stair."""
        return self.kind == "stairs"


@dataclass(frozen=True, slots=True)
class Way:
    loads: tuple[Load, ...]
    legs: tuple[Leg, ...]


def read_way(payload: Mapping[str, Any]) -> Way:
    unit = reading.unit_of(payload)
    sent = reading.sequence(payload.get("legs") or (), "legs", most=200)
    return Way(_loads(payload, unit), tuple(_leg(one, f"legs[{n}]", unit) for n, one in enumerate(sent)))


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
    sizes = read.lengths(sent, (*NEEDED_OF_LOAD, "bare_thickness"), unit, at)
    for name, nm in sizes.items():
        if nm > LONGEST or (nm == 0 and name != "cart_height"):
            raise BadInput(f"{at}{name}", sent[name], "more than nought and at most 20 m")
    if sizes.get("bare_thickness", 0) > sizes.get("thickness", LONGEST):
        raise BadInput(f"{at}bare_thickness", sent["bare_thickness"], "no thicker bare than on its cart")
    masses = {name: carried_mass(sent[name], f"{at}{name}", MOST_MASS) for name in ("mass", "cart_mass")
              if sent.get(name) is not None}
    letter = None if place is None else read.letter(reading.need(sent, "panel", at), f"{at}panel")
    return Load(letter, **sizes, **masses)


def _leg(sent: Any, field: str, unit: str) -> Leg:
    one = reading.mapping(sent, field)
    name = reading.need(one, "name", f"{field}.")
    if not isinstance(name, str) or not 0 < len(name.strip()) <= 80:
        raise BadInput(f"{field}.name", name, "a short name, such as the lobby door")
    kind = reading.choice(reading.need(one, "kind", f"{field}."), f"{field}.kind", tuple(NEEDED))
    sizes = reading.mapping(one.get("sizes") or {}, f"{field}.sizes")
    return Leg(name.strip(), kind, _sizes(sizes, kind, f"{field}.sizes.", unit))


def _sizes(sent: Mapping[str, Any], kind: str, at: str, unit: str) -> dict[str, int | Fraction]:
    there = (*NEEDED[kind], *ALSO.get(kind, ()))
    for name, value in sent.items():
        if name not in there:
            raise BadInput(f"{at}{name}", value, f"no such size of a {kind}; there are: " + ", ".join(there))
    return {name: _size(name, value, f"{at}{name}", unit) for name, value in sent.items() if value is not None}


def _size(name: str, value: Any, field: str, unit: str) -> int | Fraction:
    if name == "capacity":
        return carried_mass(value, field, MOST_CAPACITY)
    if name == "pitch_deg":
        return as_written(reading.number(value, field, least=0, most=STEEPEST))
    nm = reading.length(value, field, unit=unit)
    if not nm:
        raise BadInput(field, value, "more than nought")
    return nm
