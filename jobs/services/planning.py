"""Giving an opening's work to a crew: it answers what stands against it, and the office decides, knowing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import F

from jobs.acts import Act, Done, carry_out
from jobs.calc.days import is_a_slip
from jobs.errors import RIGHT_DAY, Invalid, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Assignment, Crew, Equipment, WorkStep
from jobs.services.access import require
from jobs.services.objections import stands_against

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
        _note(done, act, "work given", assignment)
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
        _note(done, act, "assignment changed", assignment, fields=sorted(values))
    return assignment


def take_back(act: Act, assignment_id: int, *, version: int) -> None:
    with carry_out(act) as done:
        require(act, "keep office records")
        assignment = _claimed(assignment_id, version)
        _note(done, act, "work taken back", assignment)
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
        _note(done, act, "told", assignment)
    return assignment


def _note(done: Done, act: Act, what: str, assignment: Assignment, **more: Any) -> None:
    done.note(act, what, "assignments", assignment.pk, opening=assignment.opening, crew=assignment.crew.name,
              stage=assignment.work_step.stage, from_day=assignment.start_day.isoformat(),
              to_day=assignment.end_day.isoformat(), **more)


def _weigh(assignment: Assignment, equipment: Sequence[Equipment], knowing: bool) -> None:
    slips = {name: RIGHT_DAY for name in ("start_day", "end_day") if is_a_slip(getattr(assignment, name))}
    if slips:
        raise Invalid("Nobody works on such a day.", fields=slips)
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
