"""What stands against giving a piece of work to a crew on these days. Everything at once, as codes with their values.

Nothing here forbids: the office decides, knowing. A second crew's work in the same opening is not looked at here.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from jobs.calc.brought_in import OnCart, along
from jobs.calc.days import is_worked, span

NOT_READY = "not_ready"
TOO_FEW_HANDS = "too_few_hands"
MISSING_SKILL = "missing_skill"
OVERLAP = "overlap"
DAY_OFF = "day_off"
BEFORE_EARLIEST = "before_earliest"
EQUIPMENT_BOOKED = "equipment_booked"
EQUIPMENT_UNKNOWN = "equipment_unknown"
INSPECTION_OVER = "inspection_over"
EQUIPMENT_OFF = "equipment_off"
LIFTING_SHORT = "lifting_short"
CART_SHORT = "cart_short"
WAY_IN_STOPS = "way_in_stops"
WAY_IN_UNKNOWN = "way_in_unknown"

CREW_OFF, NOT_A_WORKING_DAY, HOLIDAY = "crew_off", "not_a_working_day", "holiday"


@dataclass(frozen=True, slots=True)
class Days:
    """From first to last, both included; open-ended where `last` is None."""

    first: date
    last: date | None = None

    def holds(self, day: date) -> bool:
        return self.first <= day and (self.last is None or day <= self.last)

    def meets(self, first: date, last: date) -> bool:
        return self.first <= last and (self.last is None or first <= self.last)


@dataclass(frozen=True, slots=True)
class Work:
    """A piece of work and the days it is meant for. `earliest_day` already counts what has to cure before it."""

    start_day: date
    end_day: date
    ready: bool = True
    not_ready: tuple[Any, ...] = ()  # the reasons, as the floors above wrote them
    hands: int = 1
    skills: frozenset[str] = frozenset()
    lifting_grams: int | None = None  # None: nothing heavy to lift, or not known
    earliest_day: date | None = None
    on_carts: Mapping[str, OnCart] = field(default_factory=dict)  # by name, how the panels get in on it


@dataclass(frozen=True, slots=True)
class Person:
    name: str
    skills: frozenset[str] = frozenset()
    in_crew: Days | None = None  # None: all the time
    off: tuple[Days, ...] = ()

    def is_there(self, day: date) -> bool:
        return (self.in_crew is None or self.in_crew.holds(day)) and not any(days.holds(day) for days in self.off)


@dataclass(frozen=True, slots=True)
class Booking:
    """Other work that somebody or something is given to on these days."""

    days: Days
    opening: str  # its tag, to say where
    assignment: Hashable = None


@dataclass(frozen=True, slots=True)
class CrewAtHand:
    people: tuple[Person, ...]
    working_week: str = "1111100"  # Monday to Sunday
    off: tuple[Days, ...] = ()
    holidays: frozenset[date] = frozenset()
    bookings: tuple[Booking, ...] = ()


@dataclass(frozen=True, slots=True)
class EquipmentAtHand:
    """A lifter or cart that is to go along. `holds_grams`: what is left of its rating, of a vacuum with one circuit
    lost (None until all is known); `at_best_grams`: no more than that, whatever is still to be looked up."""

    name: str
    rated_grams: int | None = None
    holds_grams: int | None = None
    at_best_grams: int | None = None
    unknown: tuple[Mapping[str, Any], ...] = ()  # what its maker's manual must still be asked
    people_to_steer: int | None = None
    inspected_until: date | None = None
    lifts: bool = True  # a cart only rolls
    bookings: tuple[Booking, ...] = ()
    off: tuple[Days, ...] = ()  # out of use


@dataclass(frozen=True, slots=True)
class Objection:
    code: str
    values: Mapping[str, Any] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        return {"code": self.code, "values": dict(self.values)}


def against(work: Work, crew: CrewAtHand, equipment: Sequence[EquipmentAtHand] = ()) -> tuple[Objection, ...]:
    """Every objection, in the order the office would ask: the work, the days, the people, the equipment."""
    return (
        *_not_ready(work),
        *_before_earliest(work),
        *_days_off(work, crew),
        *_overlaps(work, crew),
        *_too_few_hands(work, crew, equipment),
        *_missing_skills(work, crew),
        *_equipment_booked(work, equipment),
        *_equipment_off(work, equipment),
        *_inspection_over(work, equipment),
        *_equipment_unknown(work, equipment),
        *_cart_short(work, equipment),
        *_lifting_short(work, equipment),
        *_way_in_stops(work, equipment),
        *_way_in_unknown(work, equipment),
    )


def _not_ready(work: Work) -> Iterable[Objection]:
    if not work.ready:
        yield Objection(NOT_READY, {"reasons": list(work.not_ready)})


def _before_earliest(work: Work) -> Iterable[Objection]:
    if work.earliest_day and work.start_day < work.earliest_day:
        yield Objection(BEFORE_EARLIEST, {"start_day": work.start_day.isoformat(),
                                          "earliest_day": work.earliest_day.isoformat()})


def _days_off(work: Work, crew: CrewAtHand) -> Iterable[Objection]:
    """The first and last day must be days the crew works; a weekend in between only makes the work longer."""
    closed = {day: why for day in span(work.start_day, work.end_day) if (why := _why_closed(day, crew))}
    told = {day: why for day, why in closed.items()
            if why != NOT_A_WORKING_DAY or day in (work.start_day, work.end_day)}
    if told:
        yield Objection(DAY_OFF, {"days": [{"day": day.isoformat(), "why": why} for day, why in told.items()]})


def _why_closed(day: date, crew: CrewAtHand) -> str | None:
    if not is_worked(day, crew.working_week):
        return NOT_A_WORKING_DAY  # first: a holiday on a Saturday takes nothing from a crew that is off anyway
    if day in crew.holidays:
        return HOLIDAY
    return CREW_OFF if any(days.holds(day) for days in crew.off) else None


def _open_days(work: Work, crew: CrewAtHand) -> tuple[date, ...]:
    """The days to find people for. None open: all of them, since somebody means to work then all the same."""
    days = span(work.start_day, work.end_day)
    return tuple(day for day in days if _why_closed(day, crew) is None) or days


def _overlaps(work: Work, crew: CrewAtHand) -> Iterable[Objection]:
    for booking in _meeting(work, crew.bookings):
        yield Objection(OVERLAP, _where_booked(booking))


def _too_few_hands(work: Work, crew: CrewAtHand, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    """Counted day by day: the day with the fewest people is told, with who is away on it. What takes more people to
    steer than the work asks for, asks for those."""
    needed = max([work.hands, *(one.people_to_steer or 0 for one in equipment)])
    there = {day: [p for p in crew.people if p.is_there(day)] for day in _open_days(work, crew)}
    day = min(there, key=lambda day: len(there[day]))
    if len(there[day]) < needed:
        away = [person.name for person in crew.people if person not in there[day]]
        yield Objection(TOO_FEW_HANDS, {"needed": needed, "there": len(there[day]), "day": day.isoformat(),
                                        "away": away})


def _missing_skills(work: Work, crew: CrewAtHand) -> Iterable[Objection]:
    """A skill must be there on every day of the work: the person who has it may be off on one of them."""
    for skill in sorted(work.skills):
        for day in _open_days(work, crew):
            if not any(skill in person.skills and person.is_there(day) for person in crew.people):
                yield Objection(MISSING_SKILL, {"skill": skill, "day": day.isoformat()})
                break


def _equipment_booked(work: Work, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    for one in equipment:
        for booking in _meeting(work, one.bookings):
            yield Objection(EQUIPMENT_BOOKED, {"equipment": one.name, **_where_booked(booking)})


def _equipment_off(work: Work, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    for one in equipment:
        for days in sorted((d for d in one.off if d.meets(work.start_day, work.end_day)), key=lambda d: d.first):
            yield Objection(EQUIPMENT_OFF, {"equipment": one.name, "from_day": days.first.isoformat(),
                                            "to_day": days.last and days.last.isoformat()})


def _inspection_over(work: Work, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    for one in equipment:
        if one.inspected_until is not None and one.inspected_until < work.end_day:
            yield Objection(INSPECTION_OVER, {"equipment": one.name, "until": one.inspected_until.isoformat()})


def _equipment_unknown(work: Work, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    """Where something heavy is to be lifted: of what might do, what is still to be asked of its manual."""
    for one in equipment:
        too_small = one.at_best_grams is not None and one.at_best_grams < (work.lifting_grams or 0)
        if work.lifting_grams is not None and one.unknown and not too_small:
            yield Objection(EQUIPMENT_UNKNOWN, {"equipment": one.name, "missing": [dict(lack) for lack in one.unknown]})


def _cart_short(work: Work, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    for one in equipment:
        known = None not in (work.lifting_grams, one.at_best_grams)
        if not one.lifts and known and one.at_best_grams < work.lifting_grams:
            yield Objection(CART_SHORT, {"equipment": one.name, "needed_grams": work.lifting_grams,
                                         "left_grams": one.at_best_grams})


def _lifting_short(work: Work, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    """One piece must carry the heaviest panel: two that share a load are an engineered lift, which this is not. What is
    left counts, not what the plate says; what is not known yet is not there."""
    lifters = [one for one in equipment if one.lifts]
    most = max((one.holds_grams or 0 for one in lifters), default=0)
    if work.lifting_grams is not None and most < work.lifting_grams:
        yield Objection(LIFTING_SHORT, {"needed_grams": work.lifting_grams, "left_grams": most,
                                        "rated_grams": max((one.rated_grams or 0 for one in lifters), default=0)})


def _way_in_stops(work: Work, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    """What stops a panel off its cart stops it on every cart: it is said also where none goes along yet."""
    for name, way in along(work.on_carts, [one.name for one in equipment]):
        if way.stops:
            yield Objection(WAY_IN_STOPS, {"equipment": name, "stops": [stop.as_dict() for stop in way.stops]})


def _way_in_unknown(work: Work, equipment: Iterable[EquipmentAtHand]) -> Iterable[Objection]:
    """Where nothing is known to stop: of which panels nobody can tell yet, and what is to be entered for it."""
    for name, way in along(work.on_carts, [one.name for one in equipment]):
        if name and way.in_doubt and not way.stops:
            yield Objection(WAY_IN_UNKNOWN, {"equipment": name, "panels": list(way.in_doubt),
                                             "missing": [dict(lack) for lack in way.missing]})


def _meeting(work: Work, bookings: Iterable[Booking]) -> list[Booking]:
    met = [booking for booking in bookings if booking.days.meets(work.start_day, work.end_day)]
    return sorted(met, key=lambda booking: (booking.days.first, booking.opening))


def _where_booked(booking: Booking) -> dict[str, Any]:
    last = booking.days.last
    return {"opening": booking.opening, "start_day": booking.days.first.isoformat(),
            "end_day": last and last.isoformat(), "assignment": booking.assignment}
