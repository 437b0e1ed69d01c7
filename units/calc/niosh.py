"""The NIOSH lifting equation: what one person may lift with both hands, and where the equation does not apply.

    limit = LC HM VM DM AM FM CM          index = load / limit
    US      LC 51 lb, HM 10/H, VM 1 - 0.0075 |V - 30|, DM 0.82 + 1.8/D   inches
    metric  LC 23 kg, HM 25/H, VM 1 - 0.003 |V - 75|,  DM 0.82 + 4.5/D   centimetres
    both    AM 1 - 0.0032 A (degrees), FM by Table 5, CM by Table 7

H: hands in front of the ankles. V: hands above the floor. D: how far up or down. A: twist. FM takes V at the start, CM
where the limit is worked out. Where the load must be held at the end, both ends are worked out and the lower counts.
Source: NIOSH 94-110 (rev. 9/2021), doi 10.26616/NIOSHPUB94110revised092021. The two sets of constants are no exact
conversion of each other; the lift says which. Its worksheets round every multiplier to two places and take HM from a
table that differs from its own formula at 22 and 23 in; verdicts stand on full precision, in fractions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from jobs.calc.amounts import POUND
from jobs.calc.exact import to_places
from jobs.calc.verdict import DOES_NOT_APPLY, NOT_ENOUGH_DATA, Finding, Limit, Remedy, Verdict, at_most, overall

SOURCE = "NIOSH 94-110 (rev. 9/2021)"
INCH, CENTIMETRE = 25_400_000, 10_000_000  # nm
GOOD, FAIR, POOR = COUPLINGS = ("good", "fair", "poor")
MOST_TWIST = 135  # degrees


@dataclass(frozen=True, slots=True)
class Constants:
    """One published set: lengths in its own unit, the load in kilograms."""

    unit: int  # nm
    load: Fraction
    reach: int  # H at which nothing is lost
    reach_most: int
    knuckles: int  # V at which nothing is lost
    by_height: Fraction
    height_most: int
    by_travel: Fraction
    travel_least: int
    travel_most: int


US = Constants(INCH, 51 * POUND, 10, 25, 30, Fraction("0.0075"), 70, Fraction("1.8"), 10, 70)
METRIC = Constants(CENTIMETRE, Fraction(23), 25, 63, 75, Fraction("0.003"), 175, Fraction("4.5"), 25, 175)
SETS = {"us": US, "metric": METRIC}

# Table 5. Lifts a minute: FM for at most 1, 2, 8 hours, each with V below the knuckles and at or above them.
HOURS = (1, 2, 8)
_TABLE_5 = """
0.2 1.00 1.00 .95 .95 .85 .85
0.5 .97 .97 .92 .92 .81 .81
1   .94 .94 .88 .88 .75 .75
2   .91 .91 .84 .84 .65 .65
3   .88 .88 .79 .79 .55 .55
4   .84 .84 .72 .72 .45 .45
5   .80 .80 .60 .60 .35 .35
6   .75 .75 .50 .50 .27 .27
7   .70 .70 .42 .42 .22 .22
8   .60 .60 .35 .35 .18 .18
9   .52 .52 .30 .30 .00 .15
10  .45 .45 .26 .26 .00 .13
11  .41 .41 .00 .23 .00 .00
12  .37 .37 .00 .21 .00 .00
13  .00 .34 .00 .00 .00 .00
14  .00 .31 .00 .00 .00 .00
15  .00 .28 .00 .00 .00 .00
"""
FREQUENCY = tuple(tuple(Fraction(cell) for cell in line.split()) for line in _TABLE_5.strip().splitlines())
_REACH_AS_PRINTED = {22: Fraction("0.46"), 23: Fraction("0.44")}  # Table 1, inches; the formula gives .45 and .43


@dataclass(frozen=True, slots=True)
class Hands:
    """Where they are at one end of the lift, in nm and degrees."""

    reach: int
    height: int
    twist: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Lift:
    """`end` only where the load must be held there. `travel` in nm."""

    constants: Constants
    start: Hands
    end: Hands | None
    travel: int
    lifts_a_minute: Fraction
    hours: Fraction
    coupling: str


@dataclass(frozen=True, slots=True)
class Facts:
    """What decides whether the equation applies at all. None: nobody has said."""

    people: int | None = None
    one_hand: bool | None = None
    hours: Fraction | None = None
    seated_or_kneeling: bool | None = None
    restricted_space: bool | None = None
    unstable: bool | None = None
    pushed_or_pulled: bool | None = None
    fast: bool | None = None  # about 30 in a second or more
    steps_carried: Fraction | None = None
    footing: Fraction | None = None  # coefficient of friction between sole and floor
    air_c: Fraction | None = None
    humidity_pct: Fraction | None = None


# ---- does it apply --------------------------------------------------------------------------------------

_SCOPE = {
    "people": ("more_than_one_person", lambda v: v > 1),
    "one_hand": ("one_hand", bool),
    "hours": ("more_than_8_hours", lambda v: v > 8),
    "seated_or_kneeling": ("seated_or_kneeling", bool),
    "restricted_space": ("restricted_space", bool),
    "unstable": ("unstable_object", bool),
    "pushed_or_pulled": ("pushed_or_pulled", bool),
    "fast": ("too_fast", bool),
    "steps_carried": ("carried_more_than_two_steps", lambda v: v > 2),
    "footing": ("poor_footing", lambda v: v < Fraction("0.4")),
    "air_c": ("air_outside_19_to_26_c", lambda v: not 19 <= v <= 26),
    "humidity_pct": ("humidity_outside_35_to_50_pct", lambda v: not 35 <= v <= 50),
}  # p. 5-6


def why_not(facts: Facts) -> tuple[str, ...]:
    """Every reason for which the equation does not apply; empty where none is known."""
    said = {name: getattr(facts, name) for name in _SCOPE}
    return tuple(code for name, (code, out) in _SCOPE.items() if said[name] is not None and out(said[name]))


def unsaid(facts: Facts) -> tuple[str, ...]:
    return tuple(name for name in _SCOPE if getattr(facts, name) is None)


# ---- the multipliers ------------------------------------------------------------------------------------


def reach_multiplier(reach: int, of: Constants) -> Fraction:
    h = max(Fraction(reach, of.unit), Fraction(of.reach))
    return Fraction(0) if h > of.reach_most else of.reach / h


def height_multiplier(height: int, of: Constants) -> Fraction:
    v = Fraction(height, of.unit)
    return Fraction(0) if v > of.height_most else 1 - of.by_height * abs(v - of.knuckles)


def travel_multiplier(travel: int, of: Constants) -> Fraction:
    d = max(Fraction(travel, of.unit), Fraction(of.travel_least))
    return Fraction(0) if d > of.travel_most else Fraction("0.82") + of.by_travel / d


def twist_multiplier(twist: Fraction) -> Fraction:
    return Fraction(0) if twist > MOST_TWIST else 1 - Fraction("0.0032") * twist


def frequency_multiplier(lifts_a_minute: Fraction, hours: Fraction, low: bool) -> Fraction:
    """Between the rows of Table 5 along the straight line (p. 7). `low`: V at the start below the knuckles."""
    longest = next((n for n, most in enumerate(HOURS) if hours <= most), None)
    f = max(Fraction(lifts_a_minute), FREQUENCY[0][0])
    if longest is None or f > FREQUENCY[-1][0]:
        return Fraction(0)
    column = 1 + 2 * longest + (0 if low else 1)
    above = next(n for n, row in enumerate(FREQUENCY) if f <= row[0])
    if f == FREQUENCY[above][0]:
        return FREQUENCY[above][column]
    (x0, y0), (x1, y1) = ((row[0], row[column]) for row in FREQUENCY[above - 1:above + 1])
    return y0 + (y1 - y0) * (f - x0) / (x1 - x0)


def coupling_multiplier(coupling: str, low: bool) -> Fraction:
    """Table 7. A fair hold costs nothing from the knuckles up."""
    return {GOOD: Fraction(1), FAIR: Fraction("0.95") if low else Fraction(1), POOR: Fraction("0.90")}[coupling]


def _low(hands: Hands, of: Constants) -> bool:
    return hands.height < of.knuckles * of.unit


def multipliers(lift: Lift, at: Hands) -> dict[str, Fraction]:
    of = lift.constants
    return {
        "HM": reach_multiplier(at.reach, of),
        "VM": height_multiplier(at.height, of),
        "DM": travel_multiplier(lift.travel, of),
        "AM": twist_multiplier(at.twist),
        "FM": frequency_multiplier(lift.lifts_a_minute, lift.hours, _low(lift.start, of)),
        "CM": coupling_multiplier(lift.coupling, _low(at, of)),
    }


def as_on_the_worksheet(found: Mapping[str, Fraction], at: Hands, of: Constants) -> dict[str, Fraction]:
    """Each to two places, and HM as Table 1 prints it."""
    rounded = {name: to_places(value, 2) for name, value in found.items()}
    inches, rest = divmod(at.reach, INCH)
    if of is US and not rest and inches in _REACH_AS_PRINTED:
        rounded["HM"] = _REACH_AS_PRINTED[inches]
    return rounded


def limit_at(lift: Lift, at: Hands, worksheet: bool = False) -> Fraction:
    """The recommended weight limit in kilograms, at one end."""
    found = multipliers(lift, at)
    limit = lift.constants.load
    for value in (as_on_the_worksheet(found, at, lift.constants) if worksheet else found).values():
        limit *= value
    return limit


def weight_limit(lift: Lift, worksheet: bool = False) -> Fraction:
    return min(limit_at(lift, at, worksheet) for at in (lift.start, lift.end) if at is not None)


def index(load: Fraction, limit: Fraction) -> Fraction | None:
    """None where the limit is nothing: no load at all may be lifted so."""
    return load / limit if limit else None


# ---- the judgement --------------------------------------------------------------------------------------


def judge_lift(load: Fraction, lift: Lift | None, facts: Facts) -> Verdict:
    """Against the limit where the equation applies. An index of 1 is a goal for most healthy people (p. 19-20)."""
    reasons = why_not(facts)
    if reasons:
        return Verdict(DOES_NOT_APPLY, computed={"why": reasons})
    missing = tuple({"what": name, "for": "niosh"} for name in unsaid(facts))
    if lift is None or missing:
        return Verdict(NOT_ENOUGH_DATA, missing=missing or ({"what": "lift", "for": "niosh"},))
    finding = _within_its_limit(load, lift)
    return Verdict(overall((finding,)), (finding,), _computed(load, lift))


def _within_its_limit(load: Fraction, lift: Lift) -> Finding:
    limit = Limit(weight_limit(lift), SOURCE)
    remedy = Remedy("do_not_lift_by_hand", {"limit_kg": limit.value})
    return at_most("load_for_one_person", load, limit, unit="kg", remedy=remedy)


def _computed(load: Fraction, lift: Lift) -> dict[str, Any]:
    limit, sheet = weight_limit(lift), weight_limit(lift, worksheet=True)
    return {"limit_kg": limit, "index": _shown(index(load, limit)), "worksheet_limit_kg": sheet,
            "worksheet_index": _shown(index(load, sheet)), "means": "a_goal_for_most_healthy_people",
            "ends": [{"end": name, "limit_kg": limit_at(lift, at), "multipliers": _each(lift, at)}
                     for name, at in (("start", lift.start), ("end", lift.end)) if at is not None]}


def _each(lift: Lift, at: Hands) -> dict[str, Fraction]:
    return {name: to_places(value, 4) for name, value in multipliers(lift, at).items()}


def _shown(value: Fraction | None) -> Fraction | None:
    return None if value is None else to_places(value, 3)
