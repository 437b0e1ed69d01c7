"""A unit's panels in their places, as far as its door system and sizes tell; kept nowhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from jobs.calc import reading
from jobs.calc.verdict import BadInput
from units.calc.layout import Layout, lay_out
from units.calc.panels_sent import read_door, read_shop, read_surroundings, refuse_what_cannot_be
from units.calc.pocket import Surroundings
from units.services.explaining import Wish, panels_asked


@dataclass(frozen=True, slots=True)
class LaidOut:
    """`missing`: what nobody has entered or measured yet; `refused`: why there is no layout at all."""

    layout: Layout | None = None
    around: Surroundings = field(default_factory=Surroundings)
    missing: tuple[Mapping[str, Any], ...] = ()
    refused: BadInput | None = None


def laid_out(wish: Wish) -> LaidOut:
    """The same panels, joints and pocket that `panels` judges."""
    asked = panels_asked(wish)
    missing: list[Mapping[str, Any]] = []
    try:
        unit = reading.unit_of(asked)
        door, shop = read_door(asked, unit, missing), read_shop(asked, unit)
        around = read_surroundings(asked, unit, missing)
        if door is None:
            return LaidOut(around=around, missing=tuple(missing))
        refuse_what_cannot_be(asked, door, shop, around)
    except BadInput as why:
        return LaidOut(refused=why)
    return LaidOut(lay_out(door, shop), around, tuple(missing))
