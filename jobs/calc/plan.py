"""Which crew could take an opening's work in which week, best first, each with its reasons for and against.

A crew works as one: a piece of so many person-minutes takes them all until it is worked off, day by day on the days
they work, as many minutes as there are people times their hours. Pieces follow each other; what must pass after one
keeps the next waiting, in whole days. In every week each day the crew works is tried as the first; the best stands
for the week. What `against` says of those days is what the office will read beside the work once it is given.

The order is nothing but the reasons: each has a weight, and two placings are compared cause by cause in `ORDER`, the
first cause in which they differ decides (`why_after` names it). A crew without the skill never stands above one with
it; after that, a week that keeps the promised date stands before one that does not. The order is ours, a starting
value: what cannot be done, then what somebody was promised, then what would have to be moved, then how soon, then how
far. Nothing here forbids.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cache
from typing import Any

from jobs.calc.against import (
    CART_SHORT,
    DAY_OFF,
    EQUIPMENT_BOOKED,
    EQUIPMENT_OFF,
    EQUIPMENT_UNKNOWN,
    INSPECTION_OVER,
    LIFTING_SHORT,
    MISSING_SKILL,
    OVERLAP,
    TOO_FEW_HANDS,
    WAY_IN_STOPS,
    WAY_IN_UNKNOWN,
    Booking,
    CrewAtHand,
    Days,
    EquipmentAtHand,
    Objection,
    Work,
    against,
)
from jobs.calc.brought_in import OnCart
from jobs.calc.days import is_worked
from jobs.calc.distance import minutes_on_the_road

DAY_MINUTES = 24 * 60
FAR_MINUTES = 90  # one way; ours
DRIVE_STEP_KM = 5  # closer than that an estimate tells nothing apart
FARTHEST = 10**4  # steps; a drive that is not known stands after any that is
LONGEST = 180  # days until work that was begun has to be over

LATE, OWN_LATER, FAR, TRIP = "late", "own_later", "far", "trip"
MEETS_INKED, PUSHES, SHARES = "meets_inked", "pushes", "shares"
WEEK, DRIVE, ENDS = "week", "drive", "ends"
KEEPS_PROMISE, SKILLS_THERE, HANDS_THERE, LIFTER_FREE = "keeps_promise", "skills_there", "hands_there", "lifter_free"
NOTHING_ELSE, SAME_JOB, GETS_IN = "nothing_else", "same_job", "gets_in"

# What is compared first stands first.
ORDER = (MISSING_SKILL, LATE, TOO_FEW_HANDS, LIFTING_SHORT, CART_SHORT, WAY_IN_STOPS, EQUIPMENT_UNKNOWN, WAY_IN_UNKNOWN,
         MEETS_INKED, OWN_LATER, EQUIPMENT_BOOKED, EQUIPMENT_OFF, INSPECTION_OVER, DAY_OFF, PUSHES, SHARES, FAR, WEEK,
         TRIP, DRIVE, ENDS)
AGAINST, FOR, FACT = "against", "for", "fact"


@dataclass(frozen=True, slots=True)
class Piece:
    """A work step that is to be given; `minutes` of one person. `on_carts`: by name, how its panels get in on it."""

    key: Hashable
    minutes: int
    hands: int = 1
    skills: frozenset[str] = frozenset()
    lifting_grams: int | None = None
    wait_after_minutes: int = 0
    earliest_day: date | None = None
    on_carts: Mapping[str, OnCart] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Standing:
    """Work that lies on a crew's days already; `minutes` of one person. `km`: by road from there to the new work.
    `trip`: a return trip, agreed with an owner; how long it takes nobody knows beforehand."""

    key: Hashable
    days: Days
    opening: str
    inked: bool = False
    minutes: int = 0
    km: float | None = None
    same_job: bool = False
    trip: bool = False


@dataclass(frozen=True, slots=True)
class Gear:
    key: Hashable
    at_hand: EquipmentAtHand


@dataclass(frozen=True, slots=True)
class CrewAhead:
    """A crew and what stands on its days; its bookings are made of `standing`."""

    key: Hashable
    name: str
    at_hand: CrewAtHand
    minutes_a_day: int = 480
    base_km: float | None = None
    standing: tuple[Standing, ...] = ()

    def capacity(self, day: date) -> int:
        """Person-minutes; none where the crew does not work."""
        crew = self.at_hand
        if not is_worked(day, crew.working_week) or day in crew.holidays or any(off.holds(day) for off in crew.off):
            return 0
        return sum(person.is_there(day) for person in crew.people) * self.minutes_a_day


@dataclass(frozen=True, slots=True)
class Wanted:
    """`pieces` are to be given now, `then` what the opening takes after them. `first_day`: not before it. `later`: of
    the pieces after them, what is given already."""

    pieces: tuple[Piece, ...]
    first_day: date
    then: tuple[Piece, ...] = ()
    promised: date | None = None
    later: tuple[Standing, ...] = ()


@dataclass(frozen=True, slots=True)
class Laid:
    piece: Piece
    first: date
    last: date
    gear: tuple[Hashable, ...] = ()


@dataclass(frozen=True, slots=True)
class Reason:
    code: str
    values: Mapping[str, Any] = field(default_factory=dict)
    side: str = AGAINST
    weight: int = 1


@dataclass(frozen=True, slots=True)
class Placing:
    """The work laid on one crew's days, from a day of one week on."""

    crew: CrewAhead
    monday: date
    laid: tuple[Laid, ...]
    reasons: tuple[Reason, ...]

    @property
    def first(self) -> date:
        return self.laid[0].first

    @property
    def last(self) -> date:
        return self.laid[-1].last

    @property
    def rank(self) -> tuple[int, ...]:
        return tuple(_weight(self.reasons, code) for code in ORDER)

    def of(self, side: str) -> tuple[Reason, ...]:
        return tuple(reason for reason in self.reasons if reason.side == side)


def placings(wanted: Wanted, crews: Iterable[CrewAhead], gear: Sequence[Gear],
             mondays: Sequence[date]) -> tuple[Placing, ...]:
    """One for each crew and week in which the work can begin, the best first."""
    if not wanted.pieces:
        return ()
    found = [best for crew in crews for best in _by_week(wanted, crew, gear, mondays)]
    return tuple(sorted(found, key=lambda placing: (placing.rank, placing.crew.name, placing.first)))


def why_after(above: Placing, below: Placing) -> str:
    """The first cause in which the two differ; "" where there is none, and only the name decides."""
    pairs = zip(ORDER, above.rank, below.rank, strict=True)
    return next((code for code, one, other in pairs if one != other), "")


def _weight(reasons: Iterable[Reason], code: str) -> int:
    return sum(reason.weight for reason in reasons if reason.code == code)


def _by_week(wanted: Wanted, crew: CrewAhead, gear: Sequence[Gear], mondays: Sequence[date]) -> Iterable[Placing]:
    capacity = cache(crew.capacity)
    for monday in mondays:
        tried: list[Placing] = []
        for day in (monday + timedelta(days=n) for n in range(7)):
            if day < wanted.first_day or not capacity(day):
                continue
            one = _placing(wanted, crew, gear, day, monday, mondays[0], capacity)
            tried += [] if one is None else [one]
            if one is not None and not one.of(AGAINST):
                break  # a later day of the week could only end later
        if tried:
            yield min(tried, key=lambda one: (one.rank, one.first))


def _placing(wanted: Wanted, crew: CrewAhead, gear: Sequence[Gear], start: date, monday: date, from_monday: date,
             capacity: Callable[[date], int]) -> Placing | None:
    until = start + timedelta(days=LONGEST)
    all_laid = lay((*wanted.pieces, *wanted.then), capacity, start, until)
    count = len(wanted.pieces)
    if len(all_laid) < count or all_laid[0].first - monday >= timedelta(days=7):
        return None
    laid = tuple(replace(one, gear=(*_lifter_for(one, gear), *_cart_for(one, gear))) for one in all_laid[:count])
    finish = all_laid[-1].last if len(all_laid) == count + len(wanted.then) else until
    objections = [objection for one in laid for objection in _against(one, crew, gear)]
    room, codes = _has_room(laid, crew, capacity), {objection.code for objection in objections}
    reasons = (*_objections(objections, crew, room), *_promise(wanted, finish), *_own_later(wanted, laid[-1]),
               *_good(laid, crew, gear, codes), *_drive(crew, monday), *_facts(laid[-1].last, monday, from_monday))
    return Placing(crew, monday, laid, reasons)


# ---- days ------------------------------------------------------------------------------------------------------


def lay(pieces: Iterable[Piece], capacity: Callable[[date], int], start: date, until: date) -> tuple[Laid, ...]:
    """The pieces one after the other from `start` on; as many of them as are over by `until`."""
    laid: list[Laid] = []
    day, used = start, 0
    for piece in pieces:
        if piece.earliest_day is not None and piece.earliest_day > day:
            day, used = piece.earliest_day, 0
        worked = _worked_off(piece.minutes, capacity, day, used, until)
        if worked is None:
            break
        first, day, used = worked
        laid.append(Laid(piece, first, day))
        if piece.wait_after_minutes:
            day, used = day + passed_after(piece.wait_after_minutes), 0
    return tuple(laid)


def passed_after(minutes: int) -> timedelta:
    """Whole days: when in its day the work ended nobody knows beforehand."""
    return timedelta(days=-(-minutes // DAY_MINUTES))


def _worked_off(minutes: int, capacity: Callable[[date], int], day: date, used: int,
                until: date) -> tuple[date, date, int] | None:
    first = None
    while day <= until:
        free = capacity(day) - used
        if free > 0:
            first = first or day
            if minutes <= free:
                return first, day, used + minutes
            minutes -= free
        day, used = day + timedelta(days=1), 0
    return None


# ---- equipment -------------------------------------------------------------------------------------------------


def _lifter_for(laid: Laid, gear: Sequence[Gear]) -> tuple[Hashable, ...]:
    """What could lift the heaviest panel: the smallest that holds it and is free on these days; else one that is given
    elsewhere; else the strongest there is."""
    grams = laid.piece.lifting_grams
    lifters = [one for one in gear if one.at_hand.lifts]
    if grams is None or not lifters:
        return ()
    best = min(lifters, key=lambda one: _unfit(one.at_hand, grams, laid))
    return (best.key,)


def _unfit(one: EquipmentAtHand, grams: int, laid: Laid) -> tuple[int, ...]:
    holds = one.holds_grams or 0
    short = holds < grams
    return (short, *_away(one, laid), -holds if short else holds)


def _away(one: EquipmentAtHand, laid: Laid) -> tuple[bool, bool]:
    """Given elsewhere or out of use on these days; not inspected until the last."""
    taken = (*one.off, *(booking.days for booking in one.bookings))
    return (any(days.meets(laid.first, laid.last) for days in taken),
            one.inspected_until is not None and one.inspected_until < laid.last)


def _cart_for(laid: Laid, gear: Sequence[Gear]) -> tuple[Hashable, ...]:
    """What could roll its panels in: one on which all get past every leg and that is free on these days; else one that
    is given elsewhere; else one that stops where nothing better is there."""
    carts = [one for one in gear if one.at_hand.name in laid.piece.on_carts]
    best = min(carts, key=lambda one: _unfit_to_roll(one.at_hand, laid), default=None)
    return () if best is None else (best.key,)


def _unfit_to_roll(one: EquipmentAtHand, laid: Laid) -> tuple[Any, ...]:
    way, grams = laid.piece.on_carts[one.name], laid.piece.lifting_grams
    short = None not in (grams, one.at_best_grams) and one.at_best_grams < grams
    return (bool(way.stops), short, bool(way.in_doubt), bool(one.unknown), *_away(one, laid), one.people_to_steer or 0,
            one.name)


# ---- reasons against -------------------------------------------------------------------------------------------


def _has_room(laid: Sequence[Laid], crew: CrewAhead, capacity: Callable[[date], int]) -> bool:
    """Whether the days of the work, and of all that it meets, have hours for everything that lies on them."""
    first, last = laid[0].first, laid[-1].last
    met = [one for one in crew.standing if one.days.meets(first, last)]
    first = min([first, *(one.days.first for one in met)])
    last = max([last, *(one.days.last or last for one in met)])
    taken = sum(one.piece.minutes for one in laid)
    taken += sum(one.minutes for one in crew.standing if one.days.meets(first, last))
    return taken <= sum(capacity(first + timedelta(days=n)) for n in range((last - first).days + 1))


def _objections(objections: Iterable[Objection], crew: CrewAhead, room: bool) -> Iterable[Reason]:
    """Each cause once, however many of the pieces meet it; the worst of it where it has a measure."""
    standing = {one.key: one for one in crew.standing}
    found: dict[Hashable, Reason] = {}
    for objection in objections:
        reason = _reason(objection, standing, room)
        cause = _cause(reason)
        if cause not in found or found[cause].weight < reason.weight:
            found[cause] = reason
    return found.values()


def _against(laid: Laid, crew: CrewAhead, gear: Sequence[Gear]) -> tuple[Objection, ...]:
    piece = laid.piece
    work = Work(laid.first, laid.last, hands=piece.hands, skills=piece.skills, lifting_grams=piece.lifting_grams,
                on_carts=piece.on_carts)
    people = tuple(person for person in crew.at_hand.people
                   if person.in_crew is None or person.in_crew.meets(laid.first, laid.last))
    booked = tuple(Booking(one.days, one.opening, one.key) for one in crew.standing)
    return against(work, replace(crew.at_hand, people=people, bookings=booked),
                   [one.at_hand for one in gear if one.key in laid.gear])


def _reason(objection: Objection, standing: Mapping[Hashable, Standing], room: bool) -> Reason:
    code, values = objection.code, objection.values
    if code == OVERLAP:
        met = standing[values["assignment"]]
        if met.trip:
            return Reason(TRIP, values)
        if room:
            return Reason(SHARES, values, weight=2 if met.inked else 1)
        return Reason(MEETS_INKED if met.inked else PUSHES, values)
    if code == TOO_FEW_HANDS:
        return Reason(code, values, weight=values["needed"] - values["there"])
    if code == DAY_OFF:
        return Reason(code, values, weight=len(values["days"]))
    return Reason(code, values)


def _cause(reason: Reason) -> Hashable:
    return (reason.code, *(reason.values.get(name) for name in ("skill", "assignment", "equipment")))


def _promise(wanted: Wanted, finish: date) -> Iterable[Reason]:
    """By when all of the opening would be done, if what comes after followed at once."""
    if wanted.promised is None:
        return
    finish = max([finish, *(one.days.last or finish for one in wanted.later)])
    values = {"ends": finish.isoformat(), "promised": wanted.promised.isoformat(),
              "days": abs((wanted.promised - finish).days), "and_then": bool(wanted.then)}
    if finish > wanted.promised:
        yield Reason(LATE, values, weight=values["days"])
    else:
        yield Reason(KEEPS_PROMISE, values, FOR, 0)


def _own_later(wanted: Wanted, last: Laid) -> Iterable[Reason]:
    """What comes after it in the same opening, and is given to begin before this would be done and have cured."""
    free = last.last + passed_after(last.piece.wait_after_minutes)
    for one in wanted.later:
        if one.days.first < free:
            yield Reason(OWN_LATER, {"what": one.opening, "start_day": one.days.first.isoformat(),
                                     "assignment": one.key}, weight=2 if one.inked else 1)


# ---- reasons for it, and plain facts ---------------------------------------------------------------------------


def _good(laid: Sequence[Laid], crew: CrewAhead, gear: Sequence[Gear], codes: set[str]) -> Iterable[Reason]:
    """What is as it should be; `codes` are those of what is not."""
    skills = sorted({skill for one in laid for skill in one.piece.skills})
    if skills and MISSING_SKILL not in codes:
        yield Reason(SKILLS_THERE, {"skills": skills}, FOR, 0)
    if TOO_FEW_HANDS not in codes:
        there = min(sum(person.is_there(one.first) for person in crew.at_hand.people) for one in laid)
        yield Reason(HANDS_THERE, {"there": there, "needed": max(one.piece.hands for one in laid)}, FOR, 0)
    taken = [one.at_hand for one in gear if any(one.key in piece.gear for piece in laid)]
    if not codes & {LIFTING_SHORT, EQUIPMENT_BOOKED, EQUIPMENT_OFF, EQUIPMENT_UNKNOWN, INSPECTION_OVER}:
        yield from (Reason(LIFTER_FREE, {"equipment": one.name, "left_grams": one.holds_grams}, FOR, 0)
                    for one in taken if one.lifts)
    if not codes & {WAY_IN_STOPS, WAY_IN_UNKNOWN}:
        yield from (Reason(GETS_IN, {"equipment": one.name}, FOR, 0) for one in taken if not one.lifts)
    if OVERLAP not in codes:
        yield Reason(NOTHING_ELSE, {}, FOR, 0)


def _drive(crew: CrewAhead, monday: date) -> Iterable[Reason]:
    """From wherever it is nearest: the home base, or another opening the crew is at in that week."""
    near = [one for one in crew.standing if one.days.meets(monday, monday + timedelta(days=6))]
    yield from (Reason(SAME_JOB, {"opening": one.opening}, FOR, 0) for one in near if one.same_job)
    known = [(one.km, one.opening) for one in near if one.km is not None]
    known += [] if crew.base_km is None else [(crew.base_km, "")]
    if not known:
        yield Reason(DRIVE, {}, FACT, FARTHEST)
        return
    km, opening = min(known)
    values = {"km": km, "minutes": minutes_on_the_road(km), "opening": opening}
    yield Reason(DRIVE, values, FACT, round(km / DRIVE_STEP_KM))
    if values["minutes"] > FAR_MINUTES:
        yield Reason(FAR, {**values, "most": FAR_MINUTES})


def _facts(last: date, monday: date, from_monday: date) -> Iterable[Reason]:
    yield Reason(WEEK, {"monday": monday.isoformat()}, FACT, (monday - from_monday).days // 7)
    yield Reason(ENDS, {"day": last.isoformat()}, FACT, (last - from_monday).days)
