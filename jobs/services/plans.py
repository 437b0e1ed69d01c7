"""What an opening still takes, and which crews could take it in which weeks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from jobs.calc.against import Days
from jobs.calc.brought_in import OnCart
from jobs.calc.days import monday_of
from jobs.calc.distance import by_road_km, place
from jobs.calc.plan import LONGEST, CrewAhead, Gear, Piece, Placing, Standing, Wanted, passed_after, placings
from jobs.models import Assignment, Crew, Equipment, Job, Opening, OutOfUse, Wait, WorkStep
from jobs.services.ahead import Ahead
from jobs.services.objections import Known, at_hand_of, bookings_of
from jobs.services.way_in import on_carts
from jobs.stages import NUMBER, Stage

WEEKS = 8
CURED, EARLIEST, EXPECTED = "cured", "earliest", "expected"
GIVEN_BEFORE, CURING = "given_before", "curing"


@dataclass(frozen=True, slots=True)
class NotBefore:
    """Why work cannot begin before a day, and for which step of it."""

    why: str
    day: dt.date
    step: WorkStep
    what: str = ""


@dataclass(frozen=True, slots=True)
class Booked:
    """A day of a crew that is promised to somebody else: what it is, and at which job. Told by the floors above."""

    key: int
    crew: int
    day: dt.date
    name: str
    job: Job


@dataclass(frozen=True, slots=True)
class Plan:
    opening: Opening
    left: tuple[WorkStep, ...]  # first to last
    chosen: tuple[WorkStep, ...]
    given: tuple[Assignment, ...]  # of what is left
    not_before: tuple[NotBefore, ...]
    mondays: tuple[dt.date, ...]
    found: tuple[Placing, ...]
    ahead: Ahead
    equipment: tuple[Equipment, ...]
    gear: tuple[Gear, ...]


def plan_for(opening: Opening, today: dt.date, steps: Collection[int] | None = None, *, weeks: int = WEEKS,
             trips: Iterable[Booked] = ()) -> Plan:
    """`steps`: which of those that are left; None: those of the next visit that nobody has. `trips`: return trips."""
    left = steps_left(opening)
    given = given_of(left)
    has = {one.work_step_id for one in given if one.end_day >= today}
    chosen = next_visit(left, has) if steps is None else [step for step in left if step.pk in steps]
    not_before = list(_not_before(opening, left, chosen, given))
    mondays = tuple(monday_of(today) + dt.timedelta(weeks=n) for n in range(weeks))
    last = mondays[-1] + dt.timedelta(days=6 + LONGEST)
    ahead = Ahead.of(Crew.objects.filter(active=True), mondays[0], last)
    equipment = tuple(Equipment.objects.all())
    wanted = _wanted(opening, left, chosen, given, not_before, today, equipment)
    gear = tuple(_gear(equipment, opening, today, last))
    found = placings(wanted, _crews(ahead, opening, list(trips)), gear, mondays)
    return Plan(opening, tuple(left), tuple(chosen), tuple(given), tuple(not_before), mondays, found, ahead, equipment,
                gear)


def given_of(steps: Collection[WorkStep]) -> list[Assignment]:
    return list(Assignment.objects.filter(work_step__in=steps).select_related("crew", "work_step", "opening__job")
                .prefetch_related("equipment").order_by("start_day", "pk"))


def steps_left(opening: Opening) -> list[WorkStep]:
    steps = [step for step in WorkStep.objects.filter(opening=opening)
             if NUMBER[Stage(step.stage)] > NUMBER[Stage(opening.stage)]]
    for step in steps:
        step.opening = opening
    return sorted(steps, key=lambda step: NUMBER[Stage(step.stage)])


def next_visit(left: Sequence[WorkStep], has: Collection[int]) -> list[WorkStep]:
    """From the first step nobody has, those that one crew does in one go: until something must pass, or until it was
    measured, since what is made by the measures comes later."""
    chosen: list[WorkStep] = []
    for step in left:
        if step.pk in has:
            if chosen:
                break
            continue
        chosen.append(step)
        if step.wait_after_minutes or step.stage == Stage.OPENING_VERIFIED.value:
            break
    return chosen


# ---- what holds it up --------------------------------------------------------------------------------------------


def _not_before(opening: Opening, left: Sequence[WorkStep], chosen: Sequence[WorkStep],
                given: Sequence[Assignment]) -> Iterable[NotBefore]:
    known = Known()
    known.read_curing([opening.pk])
    for step in chosen:
        cured = known.cured(step, opening) if step is left[0] else None
        if cured is not None:
            yield NotBefore(CURED, cured, step)
        if step.earliest_day is not None:
            yield NotBefore(EARLIEST, step.earliest_day, step)
        yield from _material(step)
    if chosen:
        yield from _waits(opening, chosen[0])
        yield from _earlier_given(chosen[0], given)


def _material(step: WorkStep) -> Iterable[NotBefore]:
    for reason in step.not_ready:
        if reason.get("expected_day"):
            what = ", ".join(reason.get("parts") or ())
            yield NotBefore(EXPECTED, dt.date.fromisoformat(reason["expected_day"]), step, what)


def _waits(opening: Opening, first: WorkStep) -> Iterable[NotBefore]:
    for wait in Wait.objects.filter(opening=opening, cleared_at=None, expected_day__isnull=False):
        yield NotBefore(EXPECTED, wait.expected_day, first, wait.what_for)


def _earlier_given(first: WorkStep, given: Sequence[Assignment]) -> Iterable[NotBefore]:
    """What comes before it and is given: it has to be over, and to have cured where it does."""
    for one in given:
        if NUMBER[Stage(one.work_step.stage)] < NUMBER[Stage(first.stage)]:
            free = one.end_day + passed_after(one.work_step.wait_after_minutes)
            yield NotBefore(CURING if free > one.end_day else GIVEN_BEFORE, free, first, one.work_step.stage)


# ---- as the sum reads it -----------------------------------------------------------------------------------------


def _wanted(opening: Opening, left: Sequence[WorkStep], chosen: Sequence[WorkStep], given: Sequence[Assignment],
            not_before: Iterable[NotBefore], today: dt.date, equipment: Sequence[Equipment]) -> Wanted:
    earliest: dict[int, dt.date] = {}
    for one in not_before:
        earliest[one.step.pk] = max(one.day, earliest.get(one.step.pk, one.day))
    pieces = tuple(_piece(step, earliest.get(step.pk), on_carts(step, opening.job, equipment)) for step in chosen)
    last = NUMBER[Stage(chosen[-1].stage)] if chosen else 0
    then = [step for step in left if NUMBER[Stage(step.stage)] > last]
    first_day = max([today, *(piece.earliest_day for piece in pieces[:1] if piece.earliest_day)])
    later = tuple(_standing(one, None) for one in given if one.work_step in then)
    return Wanted(pieces, first_day, tuple(_piece(step) for step in then), opening.job.promised_date, later)


def _piece(step: WorkStep, earliest: dt.date | None = None, rolled_in: Mapping[str, OnCart] | None = None) -> Piece:
    return Piece(step.pk, step.planned_minutes, step.hands, frozenset(step.skills), step.lifting_grams,
                 step.wait_after_minutes, earliest, rolled_in or {})


def _standing(one: Assignment, to: Job | None) -> Standing:
    """`to`: the job from which the drive is asked; of the opening's own work, what it is instead of where."""
    days, inked = Days(one.start_day, one.end_day), one.firmness == "inked"
    if to is None:
        return Standing(one.pk, days, one.work_step.stage, inked, one.planned_minutes)
    job = one.opening.job
    return Standing(one.pk, days, str(one.opening), inked, one.planned_minutes, by_road_km(_place(job), _place(to)),
                    job.pk == to.pk)


def _place(where: Job | Crew) -> Any:
    return place(where.latitude, where.longitude)


def _trip(one: Booked, to: Job) -> Standing:
    return Standing(("trip", one.key), Days(one.day, one.day), one.name, inked=True,
                    km=by_road_km(_place(one.job), _place(to)), same_job=one.job.pk == to.pk, trip=True)


def _crews(ahead: Ahead, opening: Opening, trips: Sequence[Booked]) -> list[CrewAhead]:
    return [CrewAhead(
        crew.pk, crew.name, ahead.at_hand[crew.pk], crew.minutes_a_day, by_road_km(_place(crew), _place(opening.job)),
        (*(_standing(one, opening.job) for one in ahead.given.get(crew.pk, ()) if one.opening_id != opening.pk),
         *(_trip(one, opening.job) for one in trips if one.crew == crew.pk))) for crew in ahead.crews]


def _gear(equipment: Sequence[Equipment], opening: Opening, first: dt.date, last: dt.date) -> list[Gear]:
    """With whatever crew it is, also one that is no more: equipment is where it was given to."""
    out: dict[int, list[OutOfUse]] = {}
    for one in OutOfUse.objects.filter(equipment__in=equipment, to_day__gte=first, from_day__lte=last):
        out.setdefault(one.equipment_id, []).append(one)
    booked: dict[int, list[Assignment]] = {}
    for use in Assignment.equipment.through.objects.filter(
            equipment__in=equipment, assignment__end_day__gte=first, assignment__start_day__lte=last).exclude(
            assignment__opening=opening).select_related("assignment__opening__job"):
        booked.setdefault(use.equipment_id, []).append(use.assignment)
    return [Gear(one.pk, at_hand_of(one, bookings_of(booked.get(one.pk, ())), out.get(one.pk, ())))
            for one in equipment]
