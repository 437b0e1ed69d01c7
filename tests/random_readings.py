"""Readings at random, as people send them: every third within one mark of a limit, some of the others spoilt."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import hypot
from random import Random
from typing import Any

from inspections.calc import floor, frame, opening
from jobs.calc import reading
from jobs.calc.lengths import FOOT, INCH, MM, format_inches
from jobs.calc.verdict import BadInput, half_away, printed

COUNT, SEED = 2000, 5
NEAR, SPOILT = 3, 20  # every third, every twentieth
SIXTEENTH = INCH // 16
NONSENSE = (None, "", "about an eighth", "1,5", "-1/2", -1, 0, 1.5, True, [], {}, "12 12", [7], {"at": 0})


@dataclass
class Case:
    given: dict[str, Any]
    limits: dict[str, Any]


@dataclass
class Person:
    """Somebody who reads in inches or in millimetres, and writes a length now one way, now another. What the careful
    ones install is true, and they leave nothing out."""

    random: Random
    unit: str = field(init=False)
    mark: int = field(init=False)
    careful: bool = field(init=False)

    def __post_init__(self) -> None:
        self.unit = self.random.choice(("in", "mm"))
        self.mark = self.random.choice((SIXTEENTH, INCH // 32, INCH // 64) if self.unit == "in" else (MM, MM // 10))
        self.careful = self.random.random() < 0.25

    def says(self, nm: int) -> str | float:
        way = self.random.random()
        if self.unit == "mm" or way < 0.2:
            return nm / MM if way < 0.6 else f"{printed(nm, 'mm')} mm"
        return format_inches(nm, 64, feet=way < 0.5)

    def marks(self, nm: float) -> int:
        return round(nm / self.mark) * self.mark

    def near(self, nm: int, by: int) -> int:
        return self.marks(nm + self.random.randint(-by, by))

    def reads(self, nm: float, by: int) -> str | float:
        return self.says(self.near(round(nm), min(by, MM) if self.careful else by))

    def lacks(self, chance: float = 0.15) -> bool:
        return not self.careful and self.seldom(chance)

    def seldom(self, chance: float = 0.15) -> bool:
        return self.random.random() < chance

    def line(self, places: list[int], height: int, by: int, lean: float = 0.0) -> list[dict[str, Any]]:
        return [{"at": self.says(at), "reading": self.reads(height + lean * at, by)} for at in places]

    def places(self, step: int, fewest: int = 3, most: int = 7) -> list[int]:
        """Mostly even, now and then not."""
        start, apart = self.near(0, FOOT) if self.seldom() else 0, self.marks(self.random.choice((step, step // 2)))
        steps = [apart * 2 if self.seldom(0.05) else self.near(apart, apart // 3) if self.seldom(0.3) else apart
                 for _ in range(self.random.randint(fewest, most) - 1)]
        return [start + sum(steps[:n]) for n in range(len(steps) + 1)]

    def some(self, names: tuple[str, ...], nm: int, by: int, lacking: float = 0.1) -> dict[str, Any]:
        return {name: self.reads(nm, by) for name in names if not self.lacks(lacking)}


def floors(count: int = COUNT) -> Iterator[Case]:
    return judged_cases(floor, _floor, count)


def openings(count: int = COUNT) -> Iterator[Case]:
    return judged_cases(opening, _opening, count)


def frames(count: int = COUNT) -> Iterator[Case]:
    return judged_cases(frame, _frame, count)


CASES: dict[str, Callable[[int], Iterator[Case]]] = {floor.NAME: floors, opening.NAME: openings, frame.NAME: frames}


def judged_cases(module: Any, make: Callable[[Person], Case], count: int) -> Iterator[Case]:
    random = Random(f"{module.NAME} {SEED}")
    for n in range(count):
        person = Person(random)
        case = make(person)
        case.given["unit"] = person.unit
        if n % NEAR == 0:
            _to_a_limit(person, case, module)
        elif n % SPOILT == 1:
            spoil(random, case.given)
        yield case


PIECES = (
    "1", "12", "8", "0", "96", "1/2", "3/8", "11/2", "1/61", "1/", "½", "⅜", "¾", "5⁄16", "¹/₂", "⁵/₁₆", ".5", "2.25",
    "2451.1", "1e3", "٣", "²", ",", "x", "999999999", "'", "''", "’", '"', "″", "′", "ft", "ft.", "Feet", "in", "in.",
    "inch", "IN", "mm", "cm", "m", "-", "−", "–", "/", "+", " ", " - ", "\u00a0", "\u200b", "\u2028", "\t",
)


def written(count: int = COUNT) -> Iterator[tuple[str, str]]:
    """What a thumb makes of a length, and what a bare number means."""
    random = Random(SEED)
    for _ in range(count):
        yield "".join(random.choices(PIECES, k=random.randint(1, 7))), random.choice(("in", "mm"))


# ---- what is read ----------------------------------------------------------------------------------------


def _floor(person: Person) -> Case:
    random, places = person.random, person.places(FOOT)
    height, by, lean = person.near(40 * INCH, 9 * INCH), random.choice((SIXTEENTH, INCH // 8, INCH)), _lean(random)
    given: dict[str, Any] = {"stations": person.line(places, height, by, lean)}
    if person.seldom(0.5):
        inner = places if person.seldom(0.6) else person.places(FOOT)
        given["inner"] = person.line(inner, height, by, lean)
    if person.seldom(0.4):
        given |= {"read_as": random.choice(("height", "down_from_level")), "benchmark_reading": person.says(height)}
    _sill(person, given, places)
    limits = limits_set(person, rise_in_a_foot=SIXTEENTH, total_range=INCH // 4, cross_fall=SIXTEENTH, wind=SIXTEENTH,
                     window=FOOT, widest_spacing=FOOT, bed_least=INCH // 8, bead=INCH // 2)
    return Case(given, limits | {"squeeze_least": random.choice((25, 30.5, None))})


def _opening(person: Person) -> Case:
    random, by = person.random, person.random.choice((SIXTEENTH, INCH // 4, INCH))
    width, height = person.near(20 * FOOT, 15 * FOOT), person.near(9 * FOOT, 2 * FOOT)
    across, slid = round(hypot(width, height)), 0 if person.careful else random.randint(-by, by)
    taped = {"widths": person.some(("top", "middle", "bottom"), width, by, 0.05),
             "heights": person.some(("left", "middle", "right"), height, by, 0.05),
             "diagonals": {name: person.reads(across + way * slid, by // 4)
                           for name, way in (("rising", 1), ("falling", -1)) if not person.lacks(0.03)}}
    plumb = {jamb: person.some(("edge", "face"), 0, SIXTEENTH * 3) for jamb in ("left", "right")
             if not person.lacks()}
    given = taped | {"required": person.some(("width", "height"), 0, 0, 0.05) and {
        "width": person.says(width - 3 * INCH // 4), "height": person.says(height - 3 * INCH // 4)}}
    if not person.lacks(0.4):
        given["plumb"] = plumb | {"over": person.says(person.near(height - FOOT, FOOT // 2))}
    if person.seldom(0.3):
        given["drawing"] = {"width": person.says(person.near(width, 4 * INCH)), "height": person.says(height)}
    if person.seldom(0.2):
        given["tape_deviation"] = {"a": person.says(person.mark), "b": random.choice((0, 0.1, 0.25))}
    limits = limits_set(person, clearance_least=INCH // 2, clearance_most=INCH, rack=INCH // 8, out_of_plumb=INCH // 8,
                     twist=INCH // 8, tape_deviation=INCH // 32)
    return Case(given, limits | {"tape_deviation_per_m": random.choice((0.1, None))})


def _frame(person: Person) -> Case:
    random, places, by, lean = person.random, person.places(2 * FOOT, most=6), SIXTEENTH, _lean(person.random)
    under, tall = places[-1] - places[0], person.near(9 * FOOT, FOOT)
    given: dict[str, Any] = {}
    for part, height in (("sill", 0), ("head", tall), ("gaps", tall)):
        if not person.lacks(0.5):
            line = person.line(places if person.seldom(0.8) else person.places(2 * FOOT, most=6), height, by, lean)
            given[part] = {"stations": line} if person.seldom(0.5) else line
            if isinstance(given[part], dict) and person.seldom(0.6):
                given[part]["inner"] = person.line(places, height, by, lean)
    names = random.choice((("lock_jamb", "interlock"), ("interlock_left", "interlock_right")))
    given["members"] = {name: {"height": person.says(person.near(tall, INCH))}
                        | person.some(("edge", "face", "bow", "twist"), 0, INCH // 8)
                        | ({"at": person.says(person.near(under // 2, under))} if person.seldom(0.5) else {})
                        for name in names if not person.lacks()}
    given["end_gaps"] = person.some(("left", "right"), INCH // 2, INCH // 8)
    given["head_over_sill"] = person.some(("left", "right"), 0, INCH // 8)
    if not person.lacks(0.5):
        given["roller_spacing"] = person.says(person.near(6 * FOOT, 3 * FOOT))
    if person.seldom(0.3):
        given |= {"tracks": random.choice((1, 3)), "parts": random.sample(frame.PARTS, random.randint(1, 7))}
    if person.seldom(0.25):
        given["watch"] = _watch(person, places, tall)
    _sill(person, given, places)
    eighths = ("sill_level", "end_gaps", "head_level", "head_flat", "head_parallel", "head_over_sill", "member_plumb",
               "members_apart", "member_bow", "member_twist", "roller_travel")
    limits = limits_set(person, sill_rise_in_a_foot=SIXTEENTH, window=FOOT, widest_spacing=2 * FOOT,
                     sill_across=INCH // 32, roller_spacing=1910 * MM, left_above_panels=0,
                     reading_deviation=INCH // 64, **dict.fromkeys(eighths, INCH // 8))
    return Case(given, limits)


def _watch(person: Person, places: list[int], tall: int) -> dict[str, Any]:
    random, came = person.random, 0
    readings = []
    for when in ("frame_set", "weight_on", "panels_hung", "acceptance", "callback")[:random.randint(1, 4)]:
        gaps = person.line(places, tall - came, SIXTEENTH)
        both = {"head": gaps, "sill": person.line(places, 0, SIXTEENTH)}
        readings.append({"when": when} | (both if person.seldom(0.3) else {"gaps": gaps}))
        came = person.near(came + INCH // 8, INCH // 8)
    design = person.some(("panel_clearance",), INCH, INCH // 4) | person.some(("planned_raise",), INCH // 8, 0)
    allowed = {"span": person.says(20 * FOOT), "divided_by": random.choice((720, 360, 333.3))}
    design["deflection_allowed"] = allowed if person.seldom(0.5) else person.says(person.marks(INCH / 2))
    if person.seldom(0.5):
        design["reading_deviation"] = person.says(person.mark)
    return {"readings": readings} | design


def _lean(random: Random) -> float:
    """Of a whole line: mostly level, else up to a sixteenth in two feet."""
    return random.choice((0.0, 0.0, random.uniform(-1, 1) * SIXTEENTH / (2 * FOOT)))


def _sill(person: Person, given: dict[str, Any], places: list[int]) -> None:
    """Its ends on a station, beside one, or left out."""
    if person.seldom(0.4):
        given["sill_from"] = person.says(places[0] if person.seldom(0.5) else person.near(places[0], FOOT // 2))
    if person.seldom(0.4):
        given["sill_to"] = person.says(places[-1] if person.seldom(0.5) else person.near(places[-1], FOOT // 2))


def limits_set(person: Person, **shipped: int) -> dict[str, Any]:
    """Mostly set; now and then not, or left out."""
    return {name: None if person.lacks(0.03) else {"value": f"{printed(nm, 'mm')} mm", "source": "as shipped"}
            for name, nm in shipped.items() if not person.lacks(0.02)}


# ---- to a limit, and beyond sense ------------------------------------------------------------------------

# The limit that a finding is judged by, where it has another name.
JUDGED_BY = {
    "worst_rise_in_a_foot": "rise_in_a_foot", "tightest_width": "clearance_least", "tightest_height": "clearance_least",
    "loosest_width": "clearance_most", "loosest_height": "clearance_most", "jamb_plumb_left": "out_of_plumb",
    "jamb_plumb_right": "out_of_plumb", "roller_use": "roller_travel", "squeeze": "squeeze_least",
    "misclosure": "tape_deviation",
}


def _to_a_limit(person: Person, case: Case, module: Any) -> None:
    """Moves one of the limits to within one mark of what it judges: onto it, one nanometre off, or anywhere there."""
    try:
        judged = module.judge(case.given, reading.limits(case.limits, module.LIMITS, {}))
    except BadInput:
        return
    found = [finding for finding in judged.findings if finding.value is not None]
    if not found:
        return
    finding = person.random.choice(found)
    off = person.random.choice((0, 0, 1, -1, person.random.randint(-person.mark, person.mark)))
    name = JUDGED_BY.get(finding.quantity) or next(n for n in module.LIMITS if finding.quantity.startswith(n))
    case.limits[name] = _limit_near(finding, off, case)


def _limit_near(finding: Any, off: int, case: Case) -> Any:
    if finding.unit == "pct":
        return min(100, max(0, half_away(finding.value * 10**6) / 10**6 + off / (INCH // 2) * 100))
    nm = half_away(finding.value) + off
    if finding.quantity == "misclosure":  # its limit is 3.29 of its deviations: of equal tapes about twice one's
        case.given.pop("tape_deviation", None)
        case.limits["tape_deviation_per_m"] = 0
        nm = max(1, half_away(Fraction(nm * 100, 658)))
    if finding.quantity.startswith(("tightest", "loosest")):
        side = finding.quantity.partition("_")[2]
        nm -= reading.length(case.given["required"][side], side, unit=case.given["unit"])
    return f"{printed(max(0, nm), 'mm')} mm"


def spoil(random: Random, given: dict[str, Any]) -> None:
    """One thing of it is nonsense, lacking, or under a name that nobody knows."""
    holder, key = random.choice(list(_everything(given)))
    way = random.random()
    if way < 0.7:
        holder[key] = copy.deepcopy(random.choice(NONSENSE))
    elif isinstance(holder, dict):
        value = holder.pop(key)
        if way < 0.85:
            holder["middle"] = value


def _everything(value: Any) -> Iterator[tuple[Any, Any]]:
    entries = value.items() if isinstance(value, Mapping) else enumerate(value) if isinstance(value, list) else ()
    for key, inside in entries:
        yield value, key
        yield from _everything(inside)
