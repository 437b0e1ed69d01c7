"""What follows from a unit as it stands, or as somebody wonders whether it might be. Nothing is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import Any

from jobs.calc.lengths import to_mm
from jobs.calc.verdict import FAIL, BadInput, Verdict, plain
from units.calc import panels, weights, whole
from units.models import DoorSystem, Unit
from units.services.limits import limits_for

FRAME = ("lock_jamb", "interlock", "head", "sill")
OF_SYSTEM = ("meeting_lap", "middle_lap", "interlock_lap", "jamb_engagement", "lead_wider_by", "increment",
             "panel_thickness", "track_pitch", "covers", "pull", "stop", "pocket_clearance")
MOST_GLASSES = 12  # tried in place of one that is too heavy
OF_MAKE = ("stile_face", "rail_face", "glass_inset")


@dataclass(frozen=True, slots=True)
class Wish:
    """A unit as it might be. Lengths in nanometres; `pocket`: what was measured of it, where it was."""

    system: DoorSystem | None
    frame_width: int | None = None
    frame_height: int | None = None
    panels: int | None = None
    ways: str = "one-way"
    pocket_side: str = "left"
    more_on: str = ""
    glass: str = ""
    pocket: Mapping[str, int] = field(default_factory=dict)  # pocket_depth, wall_clear
    weighed: Mapping[str, int] = field(default_factory=dict)  # grams by letter


@dataclass(frozen=True, slots=True)
class Explained:
    """`refused`: why nothing can be worked out at all; `could`: then, how many panels can be built."""

    panels: Verdict | None = None
    weights: Verdict | None = None
    refused: BadInput | None = None
    could: Mapping[str, Any] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        why = self.refused
        return {"panels": None if self.panels is None else self.panels.as_dict(),
                "weights": None if self.weights is None else self.weights.as_dict(),
                "refused": None if why is None else {"field": why.field, "sent": why.sent, "right": why.right,
                                                     **plain(self.could)}}


def wish_of(unit: Unit, pocket: Mapping[str, int] | None = None) -> Wish:
    """The unit as it stands."""
    there = unit.panels.all() if unit.pk is not None else ()
    weighed = {panel.letter: panel.weighed_grams for panel in there if panel.weighed_grams is not None}
    return Wish(unit.system, unit.frame_width, unit.frame_height, unit.panel_count, unit.ways,
                unit.opening.pocket_side, unit.more_on, unit.glass, pocket or {}, weighed)


def explain(wish: Wish) -> Explained:
    """Panels, tracks and pocket by `panels`; of panels that have a size, what they weigh by `weights`; where it cannot
    be built, how many panels can be, on every limit of both."""
    limits = limits_for(panels.NAME, wish.system), limits_for(weights.NAME, wish.system)
    try:
        asked = whole.Asked(panels_asked(wish), make_asked(wish), {
            letter: _kg(grams) for letter, grams in wish.weighed.items()})
    except BadInput as why:
        return Explained(refused=why)
    try:
        judged = whole.judge(asked, *limits)
    except BadInput as why:
        return Explained(refused=why, could=whole.what_can(asked, *limits))
    return Explained(judged.panels, judged.weights)


def lighter_glass(wish: Wish, found: Explained) -> tuple[str, ...]:
    """Where panels are too heavy and nothing else is wrong: the glass of the same system with which they are not."""
    if wish.system is None or found.weights is None or found.weights.result != FAIL or found.panels.result == FAIL:
        return ()
    others = (glass["name"] for glass in wish.system.glasses if glass["name"] != wish.glass)
    return tuple(name for name in islice(others, MOST_GLASSES) if _is_light_enough(replace(wish, glass=name)))


def _is_light_enough(wish: Wish) -> bool:
    found = explain(wish)
    return found.weights is not None and found.weights.result != FAIL


def panels_asked(wish: Wish) -> dict[str, Any]:
    """What `panels` is asked."""
    asked: dict[str, Any] = {"unit": "mm", "panels": wish.panels, "ways": wish.ways, "pocket_side": wish.pocket_side,
                             "frame_width": _mm(wish.frame_width), "frame_height": _mm(wish.frame_height),
                             **{name: _mm(value) for name, value in wish.pocket.items()}}
    if wish.more_on:
        asked["more_on"] = wish.more_on
    system = wish.system
    if system is not None:
        asked |= {name: _mm(getattr(system, name)) for name in OF_SYSTEM}
        asked["frame_deductions"] = _given({name: _mm(getattr(system, name)) for name in FRAME})
        asked["height_deductions"] = _mm(system.height_deduction)
        asked["lean_in_angle"] = system.lean_in_angle
    return _given(asked)


def weights_asked(wish: Wish, sized: list[Mapping[str, Any]]) -> dict[str, Any]:
    """What `weights` is asked of panels of these sizes, which nobody has weighed."""
    return {**make_asked(wish), "panels": [
        {"panel": panel["panel"], "width": _mm(panel["width_mm"]), "height": _mm(panel["height_mm"])}
        for panel in sized]}


def make_asked(wish: Wish) -> dict[str, Any]:
    """The same without panels: what they are made of."""
    asked: dict[str, Any] = {"unit": "mm"}
    system = wish.system
    if system is not None:
        asked |= {name: _mm(getattr(system, name)) for name in OF_MAKE}
        asked |= {f"{edge}_kg_per_m": _kg(getattr(system, f"{edge}_grams_per_m")) for edge in ("stile", "rail")}
        asked["hardware"] = system.hardware
        asked["glass"] = _layers(system, wish.glass)
    return _given(asked)


def _layers(system: DoorSystem, name: str) -> Any:
    """The glass of this name; where none is chosen, the only one there is."""
    known = {glass["name"]: glass["layers"] for glass in system.glasses}
    if not name:
        return next(iter(known.values())) if len(known) == 1 else None
    if name not in known:
        raise BadInput("glass", name, "a glass of this door system: " + (", ".join(known) or "none is entered yet"))
    return known[name]


def _given(asked: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in asked.items() if value is not None}


def _mm(nm: int | None) -> str | None:
    return None if nm is None else f"{to_mm(nm)} mm"


def _kg(grams: int | None) -> str | None:
    return None if grams is None else f"{grams // 1000}.{grams % 1000:03}"
