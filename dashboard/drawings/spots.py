"""Where an elevation can be touched: its panels, the sill, the head, the jambs and the pocket. Beside each other, never
one over the other, and none too small for a finger."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.drawings.elevation import Box, Built, Elevation

DEEP = 26.0  # units: what is touched beside a line
INTERLOCKS = ("interlock-left", "interlock-right")  # of a door that opens two ways
LEAST = 24.0  # units: narrower than this nobody hits it


@dataclass(frozen=True, slots=True)
class Spot:
    place: str  # a panel's letter, or what `places_of` calls it
    box: Box

    @property
    def name(self) -> str:
        return name_of(self.place)


def name_of(place: str) -> str:
    return words.place(place).capitalize() if len(place) > 1 else _("Panel %s") % place


def places_of(built: Built) -> tuple[str, ...]:
    """What this opening has to be touched, in the order it is read out."""
    letters = tuple(p.letter for p in built.panels)
    jambs = {"none": ("lock-jamb",), "both": INTERLOCKS}.get(built.pocket_side, ("lock-jamb", "interlock"))
    return (*letters, "head", *jambs, "sill", *(("pocket",) if built.pockets else ()))


def spots(drawing: Elevation, built: Built, *, beside: bool) -> tuple[Spot, ...]:
    """Of a drawing; with those beside the frame where there is room for them."""
    found = [Spot(p.letter, p.box) for p in drawing.panels]
    found += [Spot("pocket", _clear_of_the_jamb(box, drawing.opening) if beside else box) for box in drawing.pockets]
    found += _beside(drawing.opening, built) if beside else ()
    return tuple(spot for spot in found if min(spot.box.width, spot.box.height) >= LEAST)


def _clear_of_the_jamb(pocket: Box, opening: Box) -> Box:
    left = pocket.x + DEEP if pocket.x >= opening.right - 0.5 else pocket.x
    return Box(left, pocket.y, pocket.width - DEEP, pocket.height)


def _beside(opening: Box, built: Built) -> Iterable[Spot]:
    yield Spot("head", Box(opening.x, opening.y - DEEP, opening.width, DEEP))
    yield Spot("sill", Box(opening.x, opening.bottom, opening.width, DEEP))
    both = built.pocket_side == "both"
    for side, x in (("left", opening.x - DEEP), ("right", opening.right)):
        place = f"interlock-{side}" if both else "interlock" if side in built.pockets else "lock-jamb"
        yield Spot(place, Box(x, opening.y, DEEP, opening.height))
