"""What stands against work that is given to a crew, as it stands now: read once for however many assignments."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import floor
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, Q

from jobs.calc.against import Booking, CrewAtHand, Days, EquipmentAtHand, Person, Work, against
from jobs.calc.days import span
from jobs.calc.fitting import is_new
from jobs.calc.holidays import public_holidays
from jobs.models import (
    Assignment,
    CrewMember,
    DayOff,
    Equipment,
    OfficeSettings,
    Opening,
    OutOfUse,
    StageChange,
    Visit,
    WorkStep,
)
from jobs.services.equipment import rated, unknown_of
from jobs.services.way_in import on_carts


def stands_against(assignment: Assignment, equipment: Sequence[Equipment] = ()) -> list[dict[str, Any]]:
    """What stands against this assignment, saved or not: readiness and hands were written down by the floors above."""
    return Known.of([assignment], equipment).weigh(assignment, equipment)


def standing_now(found: Iterable[int], today: dt.date) -> dict[int, list[dict[str, Any]]]:
    """Of these assignments, by id, what stands against each today; of those that are over nothing is said."""
    rows = list(Assignment.objects.filter(pk__in=list(found), end_day__gte=today).select_related(
        "crew", "work_step", "opening__job").prefetch_related("equipment"))
    if not rows:
        return {}
    known = Known.of(rows, {piece for one in rows for piece in one.equipment.all()})
    return {one.pk: known.weigh(one, one.equipment.all()) for one in rows}


def new_since(given: Iterable[Any], now: Iterable[Any]) -> list[Any]:
    """Those that were not there, or not so, when the assignment was last saved."""
    had = list(given)
    return [one for one in now if is_new(one, had)]


@dataclass
class Known:
    region: str = ""  # whose holidays count where the crew names none
    of_crew: dict[int, list[Assignment]] = field(default_factory=dict)
    with_it: dict[int, list[Assignment]] = field(default_factory=dict)  # by equipment
    goes_back: dict[int, list[Visit]] = field(default_factory=dict)  # by crew
    members: dict[int, list[CrewMember]] = field(default_factory=dict)
    off: dict[int, list[DayOff]] = field(default_factory=dict)
    out: dict[int, list[OutOfUse]] = field(default_factory=dict)  # equipment, while it is out of use
    curing: dict[int, list[WorkStep]] = field(default_factory=dict)  # by opening, the last first
    reached: dict[tuple[int, str], dt.datetime] = field(default_factory=dict)  # by opening and stage

    @classmethod
    def of(cls, found: Sequence[Assignment], equipment: Iterable[Equipment]) -> Known:
        """Of other work only what the same crews or the same equipment are on, and where these crews go back to: the
        rest stands in nobody's way."""
        first, last = min(one.start_day for one in found), max(one.end_day for one in found)
        gear = list(equipment)
        crews, openings = {one.crew_id for one in found}, {one.opening_id for one in found}
        with_it = Assignment.equipment.through.objects.filter(equipment__in=gear).values("assignment")
        others = Assignment.objects.filter(Q(crew__in=crews) | Q(pk__in=with_it), start_day__lte=last,
                                           end_day__gte=first)
        known = cls(OfficeSettings.current().holiday_region)
        for other in others.select_related("opening__job").prefetch_related("equipment"):
            known.of_crew.setdefault(other.crew_id, []).append(other)
            for piece in other.equipment.all():
                known.with_it.setdefault(piece.pk, []).append(other)
        for visit in Visit.objects.filter(crew__in=crews, day__lte=last, day__gte=first).select_related("opening__job"):
            known.goes_back.setdefault(visit.crew_id, []).append(visit)
        for member in members_between(crews, first, last):
            known.members.setdefault(member.crew_id, []).append(member)
        for off in DayOff.objects.filter(crew__in=crews):
            known.off.setdefault(off.crew_id, []).append(off)
        for out in OutOfUse.objects.filter(equipment__in=gear, from_day__lte=last, to_day__gte=first) if gear else ():
            known.out.setdefault(out.equipment_id, []).append(out)
        known.read_curing(openings)
        return known

    def read_curing(self, openings: Iterable[int]) -> None:
        """What has to cure before more is done, and since when it does."""
        for step in WorkStep.objects.filter(opening__in=openings, wait_after_minutes__gt=0).order_by("-pk"):
            self.curing.setdefault(step.opening_id, []).append(step)
        stages = {step.stage for steps in self.curing.values() for step in steps}
        for change in StageChange.objects.filter(opening__in=list(self.curing), to_stage__in=stages, advanced=True) \
                .order_by("taken_at"):
            self.reached[change.opening_id, change.to_stage] = change.taken_at

    def weigh(self, assignment: Assignment, equipment: Iterable[Equipment]) -> list[dict[str, Any]]:
        step, crew = assignment.work_step, assignment.crew
        first, last = assignment.start_day, assignment.end_day
        work = Work(
            start_day=first, end_day=last, ready=step.ready, not_ready=tuple(step.not_ready), hands=step.hands,
            skills=frozenset(step.skills), lifting_grams=step.lifting_grams,
            earliest_day=self.earliest(step, assignment.opening),
            on_carts=on_carts(step, assignment.opening.job, equipment))
        at_hand = CrewAtHand(
            people=tuple(person_of(member) for member in self.members.get(crew.pk, ())
                         if Days(member.from_day, member.to_day).meets(first, last)),
            working_week=crew.working_days,
            off=tuple(Days(d.from_day, d.to_day) for d in self.off.get(crew.pk, ())),
            holidays=holidays_of(crew.holiday_region or self.region, first, last),
            bookings=(*_elsewhere(assignment, self.of_crew.get(crew.pk, ())),
                      *_goes_back(assignment, self.goes_back.get(crew.pk, ()))))
        gear = [at_hand_of(one, _elsewhere(assignment, self.with_it.get(one.pk, ())),
                           self.out.get(one.pk, ()))
                for one in equipment]
        return [objection.as_dict() for objection in against(work, at_hand, gear)]

    def earliest(self, step: WorkStep, opening: Opening) -> dt.date | None:
        """The step's own earliest day, or when what the step before needs to cure is over: whichever is later."""
        days = [day for day in (step.earliest_day, self.cured(step, opening)) if day is not None]
        return max(days, default=None)

    def cured(self, step: WorkStep, opening: Opening) -> dt.date | None:
        before = next((one for one in self.curing.get(step.opening_id, ()) if one.pk < step.pk), None)
        taken_at = None if before is None else self.reached.get((step.opening_id, before.stage))
        if taken_at is None:
            return None
        over = taken_at + dt.timedelta(minutes=before.wait_after_minutes)
        return over.astimezone(ZoneInfo(opening.job.time_zone)).date()


def hands_on_the_first_day(assignment: Assignment) -> int:
    """Who of the crew is there when it starts."""
    day = assignment.start_day
    return sum(person_of(member).is_there(day) for member in members_between([assignment.crew_id], day, day))


def members_between(crews: Iterable[int], first: dt.date, last: dt.date) -> Iterable[CrewMember]:
    """With the days off they have in that time: what is past is most of them."""
    off = DayOff.objects.filter(to_day__gte=first, from_day__lte=last)
    return CrewMember.objects.filter(crew__in=crews, from_day__lte=last).filter(
        Q(to_day=None) | Q(to_day__gte=first)).select_related("user").prefetch_related(
        Prefetch("user__days_off", queryset=off))


def person_of(member: CrewMember) -> Person:
    return Person(member.user.name, frozenset(member.skills), Days(member.from_day, member.to_day),
                  tuple(Days(d.from_day, d.to_day) for d in member.user.days_off.all()))


def at_hand_of(one: Equipment, bookings: tuple[Booking, ...], out: Iterable[OutOfUse] = ()) -> EquipmentAtHand:
    known = rated(one)
    return EquipmentAtHand(
        one.name, one.rated_grams, _grams(known.holds), _grams(known.holds_at_best), tuple(unknown_of(known)),
        one.people_to_steer, one.inspected_until, known.lifts, bookings,
        tuple(Days(days.from_day, days.to_day) for days in out))


def _grams(kilograms: Fraction | None) -> int | None:
    """Whole grams, never more than there are."""
    return None if kilograms is None else floor(kilograms * 1000)


def holidays_of(region: str, first: dt.date, last: dt.date) -> frozenset[dt.date]:
    """Public holidays of a region such as `US` or `US-CA`, as observed; none where no region is named."""
    try:
        calendar = public_holidays(region)
    except ValueError:
        return frozenset()
    return frozenset(day for day in span(first, last) if day in calendar)


def _elsewhere(assignment: Assignment, others: Iterable[Assignment]) -> tuple[Booking, ...]:
    """Of these, what lies on the same days at another opening."""
    return bookings_of(other for other in others if other.opening_id != assignment.opening_id
                       and other.start_day <= assignment.end_day and other.end_day >= assignment.start_day)


def _goes_back(assignment: Assignment, visits: Iterable[Visit]) -> tuple[Booking, ...]:
    """Where the crew is promised for a day: how long that takes nobody knows beforehand."""
    return tuple(Booking(Days(one.day, one.day), str(one.opening)) for one in visits
                 if one.opening_id != assignment.opening_id)


def bookings_of(assignments: Iterable[Assignment]) -> tuple[Booking, ...]:
    return tuple(Booking(Days(a.start_day, a.end_day), str(a.opening), a.pk) for a in assignments)
