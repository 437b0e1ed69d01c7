"""Giving an opening's work to a crew: it answers what stands against it, and the office decides, knowing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from math import floor
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import F, Q, QuerySet

from jobs.acts import Act, carry_out
from jobs.calc.against import Booking, CrewAtHand, Days, EquipmentAtHand, Person, Work, against
from jobs.calc.days import span
from jobs.calc.holidays import public_holidays
from jobs.errors import Invalid, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Assignment, Crew, DayOff, Equipment, OfficeSettings, StageChange, WorkStep
from jobs.services.access import require
from jobs.services.equipment import rated, unknown_of

CHANGEABLE = ("crew_id", "start_day", "end_day", "planned_minutes", "firmness", "equipment")


def assign(act: Act, work_step_id: int, *, crew_id: int, start_day: dt.date, end_day: dt.date,
           planned_minutes: int | None = None, firmness: str = "pencilled", equipment: Sequence[int] = (),
           knowing: bool = False) -> Assignment:
    """Gives one work step to a crew. Pencilled, what stands against it is written beside it; inked against
    something, it has to be said that one knows (`knowing`)."""
    with carry_out(act) as done:
        require(act, "keep office records")
        step = WorkStep.objects.select_related("opening__job").filter(pk=work_step_id).first()
        if step is None:
            raise Invalid("There is no such work step.", fields={"work_step": "the id of a work step"})
        assignment = Assignment(
            opening=step.opening, work_step=step, start_day=start_day, end_day=end_day, firmness=firmness,
            created_at=act.now,
            planned_minutes=step.planned_minutes if planned_minutes is None else planned_minutes)
        crew, gear = _crew(crew_id), _equipment(equipment)
        assignment.crew = crew
        _weigh(assignment, gear, knowing)
        assignment.save()
        assignment.equipment.set(gear)
        done.note(act, "work given", "assignments", assignment.pk, opening=step.opening, crew=crew.name)
    return assignment


def change_assignment(act: Act, assignment_id: int, values: Mapping[str, Any], *, version: int,
                      knowing: bool = False) -> Assignment:
    """Moves, inks or hands on; weighed again as it would stand then."""
    with carry_out(act) as done:
        require(act, "keep office records")
        unknown = [name for name in values if name not in CHANGEABLE]
        if unknown:
            raise Invalid("That cannot be changed here.", fields={name: "not changeable" for name in unknown})
        assignment = _claimed(assignment_id, version)
        stays = assignment.equipment.values_list("pk", flat=True)
        gear = _equipment(values["equipment"] if "equipment" in values else list(stays))
        for name in ("start_day", "end_day", "planned_minutes", "firmness"):
            setattr(assignment, name, values.get(name, getattr(assignment, name)))
        if "crew_id" in values:
            assignment.crew = _crew(values["crew_id"])
        _weigh(assignment, gear, knowing)
        assignment.save(update_fields=["crew", "start_day", "end_day", "planned_minutes", "firmness", "against"])
        assignment.equipment.set(gear)
        done.note(act, "assignment changed", "assignments", assignment.pk, opening=assignment.opening,
                  fields=sorted(values))
    return assignment


def take_back(act: Act, assignment_id: int, *, version: int) -> None:
    with carry_out(act) as done:
        require(act, "keep office records")
        assignment = _claimed(assignment_id, version)
        done.note(act, "work taken back", "assignments", assignment.pk, opening=assignment.opening,
                  crew=assignment.crew.name)
        assignment.delete()


def tell(act: Act, assignment_id: int, *, whom: str, version: int) -> Assignment:
    """Notes who has been told of it, and when."""
    with carry_out(act) as done:
        require(act, "keep office records")
        if not whom.strip():
            raise Invalid("Say who was told.", fields={"whom": "a name"})
        assignment = _claimed(assignment_id, version)
        Assignment.objects.filter(pk=assignment.pk).update(told_at=act.now, told_by=act.user, told_whom=whom.strip())
        assignment.refresh_from_db()
        done.note(act, "told", "assignments", assignment.pk, opening=assignment.opening)
    return assignment


def stands_against(assignment: Assignment, equipment: Sequence[Equipment] = ()) -> list[dict[str, Any]]:
    """What stands against this assignment, saved or not: readiness and hands were written down by the floors above."""
    step, crew = assignment.work_step, assignment.crew
    work = Work(
        start_day=assignment.start_day, end_day=assignment.end_day, ready=step.ready, not_ready=tuple(step.not_ready),
        hands=step.hands, skills=frozenset(step.skills), lifting_grams=step.lifting_grams,
        earliest_day=_earliest(step))
    others = Assignment.objects.exclude(pk=assignment.pk).filter(
        start_day__lte=assignment.end_day, end_day__gte=assignment.start_day).select_related("opening__job")
    at_hand = CrewAtHand(
        people=tuple(_people(crew, assignment.start_day, assignment.end_day)), working_week=crew.working_days,
        off=tuple(Days(d.from_day, d.to_day) for d in DayOff.objects.filter(crew=crew)),
        holidays=holidays_of(crew.holiday_region or OfficeSettings.current().holiday_region,
                             assignment.start_day, assignment.end_day),
        bookings=_bookings(others.filter(crew=crew).exclude(opening=assignment.opening)))
    gear = [_at_hand(one, _bookings(others.filter(equipment=one))) for one in equipment]
    return [objection.as_dict() for objection in against(work, at_hand, gear)]


def hands_on_the_first_day(assignment: Assignment) -> int:
    """Who of the crew is there when it starts."""
    day = assignment.start_day
    return sum(person.is_there(day) for person in _people(assignment.crew, day, day))


def _at_hand(one: Equipment, bookings: tuple[Booking, ...]) -> EquipmentAtHand:
    known = rated(one)
    return EquipmentAtHand(
        one.name, one.rated_grams, _grams(known.holds), _grams(known.holds_at_best), tuple(unknown_of(known)),
        one.people_to_steer, one.inspected_until, known.lifts, bookings)


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


def _weigh(assignment: Assignment, equipment: Sequence[Equipment], knowing: bool) -> None:
    if assignment.end_day < assignment.start_day:
        raise Invalid("It cannot end before it starts.", fields={"end_day": "the first day or later"})
    if assignment.firmness not in dict(Assignment.FIRMNESS):
        raise Invalid("Pencilled or inked.", fields={"firmness": "pencilled or inked"})
    _refuse_inked_twice(assignment, equipment)
    assignment.against = stands_against(assignment, equipment)
    if assignment.firmness == "inked" and assignment.against and not knowing:
        raise Refusal("Something stands against this. Pencil it in, or say that you know.",
                      reasons=assignment.against, code="stands-against")


def _refuse_inked_twice(assignment: Assignment, equipment: Sequence[Equipment]) -> None:
    """One lifter is in one opening at a time. Pencilled it may wait for what is decided; two in ink cannot both be so,
    whatever anybody knows."""
    if assignment.firmness != "inked":
        return
    taken = Assignment.objects.filter(
        firmness="inked", equipment__in=equipment, start_day__lte=assignment.end_day,
        end_day__gte=assignment.start_day).exclude(pk=assignment.pk).exclude(opening=assignment.opening)
    reasons = [{"code": "equipment_booked", "values": {
        "equipment": name, "opening": str(other.opening), "start_day": other.start_day.isoformat(),
        "end_day": other.end_day.isoformat(), "assignment": other.pk}}
        for other in taken.select_related("opening__job").distinct().order_by("start_day", "pk")
        for name in _shared(other, equipment)]
    if reasons:
        raise Refusal("It is inked elsewhere on these days. Take other days or other equipment, or pencil this in.",
                      reasons=reasons, code="booked-twice")


def _shared(other: Assignment, equipment: Sequence[Equipment]) -> list[str]:
    ours = {one.pk for one in equipment}
    return [one.name for one in other.equipment.all() if one.pk in ours]


def _claimed(assignment_id: int, version: int) -> Assignment:
    if not Assignment.objects.filter(pk=assignment_id).exists():
        raise NotThere("There is no such assignment.")
    if not Assignment.objects.filter(pk=assignment_id, version=version).update(version=F("version") + 1):
        raise SomeoneWasFaster("This assignment was changed by somebody else. Read it again.")
    return Assignment.objects.select_related("opening__job", "work_step", "crew").get(pk=assignment_id)


def _crew(crew_id: int) -> Crew:
    # Held until the act is done: two schedulers weighing the same crew see each other's work.
    crew = Crew.objects.select_for_update(no_key=True).filter(pk=crew_id).first()
    if crew is None:
        raise Invalid("There is no such crew.", fields={"crew": "the id of a crew"})
    return crew


def _equipment(ids: Sequence[int]) -> list[Equipment]:
    # Held likewise: of two who ink the same lifter in one moment the second sees the first.
    found = list(Equipment.objects.select_for_update(no_key=True).filter(pk__in=ids).order_by("pk"))
    if len(found) != len(set(ids)):
        raise Invalid("There is no such equipment.", fields={"equipment": "ids of equipment"})
    return found


def _people(crew: Crew, first: dt.date, last: dt.date) -> Iterable[Person]:
    members = crew.members.filter(from_day__lte=last).filter(Q(to_day=None) | Q(to_day__gte=first)) \
        .select_related("user").prefetch_related("user__days_off")
    for member in members:
        yield Person(member.user.name, frozenset(member.skills), Days(member.from_day, member.to_day),
                     tuple(Days(d.from_day, d.to_day) for d in member.user.days_off.all()))


def _bookings(assignments: QuerySet[Assignment]) -> tuple[Booking, ...]:
    return tuple(Booking(Days(a.start_day, a.end_day), str(a.opening), a.pk) for a in assignments)


def _earliest(step: WorkStep) -> dt.date | None:
    """The step's own earliest day, or when what the step before needs to cure is over: whichever is later."""
    days = [day for day in (step.earliest_day, _cured(step)) if day is not None]
    return max(days, default=None)


def _cured(step: WorkStep) -> dt.date | None:
    before = WorkStep.objects.filter(opening=step.opening, pk__lt=step.pk, wait_after_minutes__gt=0).order_by("-pk")
    for earlier in before[:1]:
        change = StageChange.objects.filter(opening=step.opening, to_stage=earlier.stage, advanced=True) \
            .order_by("-taken_at").first()
        if change is not None:
            over = change.taken_at + dt.timedelta(minutes=earlier.wait_after_minutes)
            return over.astimezone(ZoneInfo(step.opening.job.time_zone)).date()
    return None


