"""Handling a unit's panels: each by `lifting` with the equipment and hands at hand, and by `route` on the way in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Any

from jobs.calc import route
from jobs.calc.exact import as_written
from jobs.calc.rating import Equipment as Rated
from jobs.calc.verdict import BadInput, Verdict
from jobs.models import Assignment, Equipment
from jobs.services.equipment import kilograms, rated, sent_of
from jobs.services.objections import hands_on_the_first_day
from jobs.services.way_in import cart_sizes, judged, millimetres, what_is_known
from jobs.stages import Stage
from units.calc import lifting
from units.models import DoorSystem, Panel, Unit
from units.services.explaining import Explained
from units.services.limits import limits_for, rows_for

# Starting values of our own, on the high side: cold air, and a long flat plate square to the wind.
AIR_DENSITY, DRAG = 1.25, 2.0


@dataclass(frozen=True, slots=True)
class Help:
    """What the panels are handled with. `wind` in metres a second, None where nobody read it."""

    equipment: Sequence[Equipment] = ()
    hands: int | None = None
    wind: float | None = None

    @property
    def cart(self) -> Equipment | None:
        return next((one for one in self.equipment if not rated(one).lifts), None)


@dataclass(frozen=True, slots=True)
class ToCarry:
    """A panel that may be only thought of yet: what lifting and the way in ask of one. Nanometres, grams."""

    letter: str
    width: int | None
    height: int | None
    computed_grams: int | None = None
    weighed_grams: int | None = None


@dataclass(frozen=True, slots=True)
class Lifter:
    """One of ours, held against one mass. `takes` None: its manual must still be asked; `spare`: kilograms of what it
    can be trusted with, less than nothing where that is too little, None where nobody can tell."""

    equipment: Equipment
    rated: Rated
    takes: bool | None
    spare: Fraction | None
    newtons: Fraction | None = None  # of the wind that stops it, on the panel


@dataclass(frozen=True, slots=True)
class Handling:
    """`heaviest`: the letter; `refused`: why something was not judged at all."""

    lifting: Mapping[str, Verdict]
    route: Verdict | None = None
    heaviest: str | None = None
    heaviest_grams: int | None = None
    unweighed: tuple[str, ...] = ()
    refused: BadInput | None = None

    def as_dict(self) -> dict[str, Any]:
        why = self.refused
        return {
            "heaviest": self.heaviest, "heaviest_grams": self.heaviest_grams, "unweighed": list(self.unweighed),
            "lifting": [{"panel": letter, **verdict.as_dict()} for letter, verdict in self.lifting.items()],
            "route": None if self.route is None else self.route.as_dict(),
            "refused": None if why is None else {"field": why.field, "sent": why.sent, "right": why.right},
            "caution": lifting.CAUTION,
        }


def help_planned(unit: Unit, today: dt.date) -> Help:
    """Equipment and hands of the work its panels are hung in: what goes on today or comes next, else what was last."""
    given = list(Assignment.objects.filter(
        opening=unit.opening_id, work_step__stage=Stage.PANELS_HUNG.value).select_related("crew").order_by("start_day"))
    if not given:
        return Help()
    ahead = (one for one in given if one.end_day >= today)
    work = next(ahead, None) or max(given, key=lambda one: one.end_day)
    return Help(tuple(work.equipment.order_by("name")), hands_on_the_first_day(work) or None)


def handling_of(unit: Unit, using: Help) -> Handling:
    """Every panel of the unit. One without a mass is named, not judged: nobody lifts what nobody has weighed."""
    return handling_as(list(unit.panels.all()), unit.system, unit.opening.job.way_in, using, using.cart)


def handling_as(panels: Sequence[Panel | ToCarry], system: DoorSystem | None, way_in: Sequence[Any], using: Help,
                cart: Equipment | None) -> Handling:
    """The same of panels that may be only thought of, rolled in on this cart."""
    weighed = [panel for panel in panels if to_lift(panel) is not None]
    heaviest = max(weighed, key=to_lift, default=None)
    unweighed = tuple(panel.letter for panel in panels if to_lift(panel) is None)
    told = {} if heaviest is None else {"heaviest": heaviest.letter, "heaviest_grams": to_lift(heaviest)}
    lifted: dict[str, Verdict] = {}
    try:
        limits = limits_for(lifting.NAME, system)
        lifted |= {panel.letter: lifting.judge(lift_asked(panel, using), limits) for panel in weighed}
        way = judged(loads_of(panels, system), way_in, cart_sizes(cart)) if panels else None
        return Handling(lifted, way, unweighed=unweighed, **told)
    except BadInput as why:  # a way in that cannot be judged takes nothing from how they are lifted
        return Handling(lifted, unweighed=unweighed, refused=why, **told)


def to_carry(explained: Explained) -> tuple[ToCarry, ...]:
    """The panels that follow from a unit, with what they weigh as far as that is known."""
    if explained.panels is None:
        return ()
    made = explained.weights.computed["panels"] if explained.weights is not None else ()
    masses = {one["panel"]: (one["computed_grams"], one["weighed_kg"]) for one in made}
    return tuple(ToCarry(one["panel"], one["width_mm"], one["height_mm"], computed,
                         None if weighed is None else ceil(weighed * 1000))
                 for one in explained.panels.computed.get("panels", ())
                 for computed, weighed in [masses.get(one["panel"], (None, None))])


def lifters_for(panel: Panel | ToCarry, equipment: Iterable[Equipment]) -> list[Lifter]:
    """Each that lifts, held against this panel: those that take it first, of these those that fewest people steer."""
    each = [_held_against(one, known, panel) for one in equipment if (known := rated(one)).lifts]
    return sorted(each, key=lambda one: (ORDER[one.takes], one.rated.people_to_steer or MANY, one.spare or 0,
                                         one.equipment.name))


ORDER = {True: 0, None: 1, False: 2}
MANY = 1000


def _held_against(one: Equipment, known: Rated, panel: Panel | ToCarry) -> Lifter:
    mass = Fraction(to_lift(panel) or 0, 1000)
    sure, at_best = known.holds, known.holds_at_best
    too_little = at_best is not None and at_best < mass
    spare = sure - mass if sure is not None else at_best - mass if too_little else None
    takes = False if too_little else True if _takes(known, mass) else None
    return Lifter(one, known, takes, spare, _push(known, panel))


def _push(known: Rated, panel: Panel | ToCarry) -> Fraction | None:
    if known.stop_wind is None or panel.width is None or panel.height is None:
        return None
    area = Fraction(int(panel.width) * int(panel.height), 10**18)
    return lifting.wind_force(Fraction(known.stop_wind), as_written(AIR_DENSITY), as_written(DRAG), area)


def cart_to_try(equipment: Iterable[Equipment]) -> Equipment | None:
    """Where none is planned: of ours the one that takes the least room, as far as that was read."""
    carts = [one for one in equipment if not rated(one).lifts]
    return min(carts, key=lambda one: (one.carries_at is None or one.width_loaded is None, one.width_loaded or 0,
                                       one.name), default=None)


def to_lift(panel: Panel | ToCarry) -> int | None:
    """Of what was computed and what was weighed the heavier."""
    return max((grams for grams in (panel.computed_grams, panel.weighed_grams) if grams is not None), default=None)


def heaviest_of(panels: Iterable[Panel | ToCarry]) -> int | None:
    return max((grams for panel in panels if (grams := to_lift(panel)) is not None), default=None)


def fewest_to_steer(grams: int, equipment: Iterable[Equipment]) -> int | None:
    """With whichever lifter of ours takes this mass and the fewest people; None where none is known to take it."""
    mass = Fraction(grams, 1000)
    able = [one for one in map(rated, equipment) if _takes(one, mass)]
    return min((one.people_to_steer for one in able), default=None)


def _takes(one: Rated, mass: Fraction) -> bool:
    return one.lifts and one.people_to_steer is not None and one.holds is not None and one.holds >= mass


def lift_asked(panel: Panel | ToCarry, using: Help) -> dict[str, Any]:
    """What `lifting` is asked of one panel."""
    asked = {
        "unit": "mm", "computed_mass": kilograms(panel.computed_grams), "weighed_mass": kilograms(panel.weighed_grams),
        "width": millimetres(panel.width), "height": millimetres(panel.height), "hands": using.hands,
        "equipment": [sent_of(one) for one in using.equipment]}
    if using.wind is not None:
        asked["wind"] = {"speed": using.wind, "air_density": AIR_DENSITY, "drag": DRAG}
    return asked


def loads_of(panels: Iterable[Panel | ToCarry], system: DoorSystem | None) -> dict[str, Any]:
    """What `route` is asked of the panels themselves, with the limits their system is held to."""
    return {"load": what_is_known({"bare_thickness": None if system is None else millimetres(system.panel_thickness)}),
            "panels": [what_is_known({"panel": panel.letter, "length": millimetres(panel.width),
                                      "height": millimetres(panel.height), "mass": kilograms(to_lift(panel))})
                       for panel in panels],
            "limits": rows_for(route.NAME, system)}
