"""What lies ahead of the crews: their days, who is there, and what stands on them; read once for however many weeks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from jobs.calc.against import CREW_OFF, HOLIDAY, NOT_A_WORKING_DAY, CrewAtHand, Days
from jobs.calc.days import is_worked, span
from jobs.models import Assignment, Crew, DayOff, OfficeSettings
from jobs.services.objections import holidays_of, members_between, person_of


@dataclass(frozen=True, slots=True)
class DayAhead:
    """One day of a crew: who is there, who of it is away, and why nobody works, where nobody does."""

    day: dt.date
    there: int
    away: tuple[str, ...]
    closed: str  # a code, or ""
    minutes: int  # of all who are there


@dataclass
class Ahead:
    first: dt.date
    last: dt.date
    crews: list[Crew]
    at_hand: dict[int, CrewAtHand] = field(default_factory=dict)
    given: dict[int, list[Assignment]] = field(default_factory=dict)

    @classmethod
    def of(cls, crews: Iterable[Crew], first: dt.date, last: dt.date) -> Ahead:
        ahead = cls(first, last, list(crews))
        ids = [crew.pk for crew in ahead.crews]
        people: dict[int, list] = {}
        for member in members_between(ids, first, last):
            people.setdefault(member.crew_id, []).append(person_of(member))
        off: dict[int, list[Days]] = {}
        for one in DayOff.objects.filter(crew__in=ids, to_day__gte=first, from_day__lte=last):
            off.setdefault(one.crew_id, []).append(Days(one.from_day, one.to_day))
        region = OfficeSettings.current().holiday_region
        for crew in ahead.crews:
            ahead.at_hand[crew.pk] = CrewAtHand(
                tuple(people.get(crew.pk, ())), crew.working_days, tuple(off.get(crew.pk, ())),
                holidays_of(crew.holiday_region or region, first, last))
        for one in Assignment.objects.filter(crew__in=ids, end_day__gte=first, start_day__lte=last).select_related(
                "opening__job", "work_step").prefetch_related("equipment").order_by("start_day", "pk"):
            ahead.given.setdefault(one.crew_id, []).append(one)
        return ahead

    def days(self, crew: Crew, first: dt.date, last: dt.date) -> tuple[DayAhead, ...]:
        return tuple(self._day(crew, day) for day in span(first, last))

    def standing(self, crew: Crew, first: dt.date, last: dt.date) -> list[Assignment]:
        return [one for one in self.given.get(crew.pk, ()) if one.start_day <= last and one.end_day >= first]

    def _day(self, crew: Crew, day: dt.date) -> DayAhead:
        at_hand = self.at_hand[crew.pk]
        on_it = [person for person in at_hand.people if person.in_crew is None or person.in_crew.holds(day)]
        away = tuple(person.name for person in on_it if not person.is_there(day))
        there, closed = len(on_it) - len(away), _why_closed(at_hand, day)
        return DayAhead(day, there, away, closed, 0 if closed else there * crew.minutes_a_day)


def _why_closed(crew: CrewAtHand, day: dt.date) -> str:
    if not is_worked(day, crew.working_week):
        return NOT_A_WORKING_DAY
    if day in crew.holidays:
        return HOLIDAY
    return CREW_OFF if any(off.holds(day) for off in crew.off) else ""


def equipment_twice(found: Sequence[Assignment]) -> dict[int, list[tuple[str, Assignment]]]:
    """Of these assignments, by id: which of its equipment is at another opening on one of its days, and with whom."""
    twice: dict[int, list[tuple[str, Assignment]]] = {}
    by_piece: dict[int, list[tuple[str, Assignment]]] = {}
    for one in found:
        for piece in one.equipment.all():
            by_piece.setdefault(piece.pk, []).append((piece.name, one))
    for name, one, other in ((name, one, other) for uses in by_piece.values() for name, one in uses
                             for _, other in uses):
        if one.opening_id != other.opening_id and one.start_day <= other.end_day and other.start_day <= one.end_day:
            twice.setdefault(one.pk, []).append((name, other))
    return twice
