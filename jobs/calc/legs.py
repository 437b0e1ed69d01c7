"""The way in to a job, leg by leg, with what has to be read of each; refuses what cannot be, naming the field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from jobs.calc import amounts, reading
from jobs.calc.exact import as_written
from jobs.calc.verdict import BadInput

STEEPEST = 75  # degrees; more is a ladder
MOST_LEGS = 200
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


def read_legs(sent: Any, unit: str, field: str = "legs") -> tuple[Leg, ...]:
    legs = reading.sequence(sent or (), field, most=MOST_LEGS)
    return tuple(_leg(one, f"{field}[{n}]", unit) for n, one in enumerate(legs))


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
        return amounts.carried_mass(value, field, amounts.MOST_CAPACITY)
    if name == "pitch_deg":
        return as_written(reading.number(value, field, least=0, most=STEEPEST))
    nm = reading.length(value, field, unit=unit)
    if not nm:
        raise BadInput(field, value, "more than nought")
    return nm
