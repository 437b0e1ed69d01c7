"""Work that is given and no longer fits, work that is ready and nobody's, and promised days in danger."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db.models import Exists, OuterRef, Q, Subquery

from inspections.calc import needs
from inspections.services.lately import LOOKS_AHEAD
from inspections.services.needing.rows import MOST, Need, Scope, day_at
from jobs.calc.fitting import undecided
from jobs.calc.promise import Danger, Left, Working, danger
from jobs.models import Assignment, Crew, OfficeSettings, Opening, StageChange, Wait, WorkStep
from jobs.services.objections import holidays_of, standing_now
from jobs.stages import NUMBER, TRANSITIONS, Stage

PROMISES_AHEAD = dt.timedelta(days=60)


# ---- given, and no longer right --------------------------------------------------------------------------


def unfit(scope: Scope) -> Iterable[Need]:
    """Work given for these four weeks against which something stands that nobody has decided on; an opening once."""
    today = scope.act.today()
    rows = scope.within(needs.UNFIT, Assignment.objects.filter(
        crew__in=list(Crew.objects.values_list("pk", flat=True)), end_day__gte=today,
        start_day__lte=today + LOOKS_AHEAD))
    given = [one for one in rows.select_related("opening__job", "work_step", "crew").order_by("start_day", "pk")[:MOST]
             if _is_to_come(one)]
    now = standing_now([one.pk for one in given], today)
    by_opening: dict[int, list[tuple[Assignment, list]]] = defaultdict(list)
    for one in given:
        found = undecided(now.get(one.pk, ()), one.against, start_day=one.start_day, today=scope.today(one.opening),
                          inked=one.firmness == "inked")
        if found:
            by_opening[one.opening_id].append((one, found))
    for pairs in by_opening.values():
        yield _unfit(scope, pairs)


def _is_to_come(given: Assignment) -> bool:
    return NUMBER[Stage(given.work_step.stage)] > NUMBER[Stage(given.opening.stage)]


def _unfit(scope: Scope, pairs: Sequence[tuple[Assignment, list]]) -> Need:
    """Led by what begins first."""
    one, found = pairs[0]
    today = scope.today(one.opening)
    return Need(needs.UNFIT, one.opening, one.start_day, (today - one.start_day).days, str(one.pk),
                count=len(pairs), crew_in=max((one.start_day - today).days, 0), values={
                    "stage": one.work_step.stage, "crew": one.crew.name, "start": one.start_day, "end": one.end_day,
                    "objections": found, "more": [other.work_step.stage for other, _found in pairs[1:]]})


# ---- ready, and nobody's ---------------------------------------------------------------------------------


def unassigned(scope: Scope) -> Iterable[Need]:
    """The next step is ready and no crew has it, today or later. What was done on site already is settled first."""
    done = StageChange.objects.filter(opening=OuterRef("opening"), to_stage=OuterRef("stage"), advanced=False,
                                      settlement=None)
    given = Assignment.objects.filter(work_step=OuterRef("pk"))
    to_come = given.filter(end_day__gte=scope.act.today())
    last = given.order_by("-end_day", "-pk")
    rows = scope.within(needs.UNASSIGNED, WorkStep.objects.filter(
        _is_next(), ~Exists(to_come), ~Exists(done), ready=True))
    rows = rows.annotate(had_it=Subquery(last.values("crew__name")[:1]), until=Subquery(last.values("end_day")[:1]))
    for step in rows.select_related("opening__job").order_by("opening__stage_since", "pk")[:MOST]:
        reached = day_at(step.opening, step.opening.stage_since)
        since = max(reached, step.until) if step.until else reached
        yield Need(needs.UNASSIGNED, step.opening, since, (scope.today(step.opening) - since).days, str(step.pk),
                   values={"stage": step.stage, "minutes": step.planned_minutes, "had_it": step.had_it or "",
                           "until": step.until})


def _is_next() -> Q:
    found = Q()
    for before, after in TRANSITIONS.items():
        found |= Q(opening__stage=before.value, stage=after.value)
    return found


# ---- promised days ---------------------------------------------------------------------------------------


def promises(scope: Scope) -> Iterable[Need]:
    """One row a job: of its openings the one that ends last, and how many there are."""
    rows = scope.within(needs.PROMISE, Opening.objects.active().filter(
        job__promised_date__lte=scope.latest_today + PROMISES_AHEAD), "")
    openings = list(rows.select_related("job").order_by("job__promised_date", "pk")[:MOST])
    left = _left(openings, scope)
    working = _working(scope.act.today())
    by_job: dict[int, list[tuple[Danger, Opening]]] = defaultdict(list)
    for opening in openings:
        found = danger(opening.job.promised_date, left[opening.pk], scope.today(opening), working)
        if found is not None:
            by_job[opening.job_id].append((found, opening))
    for found in by_job.values():
        yield _promise(scope, max(found, key=lambda pair: pair[0].ends), len(found))


def _promise(scope: Scope, worst: tuple[Danger, Opening], count: int) -> Need:
    found, opening = worst
    promised = opening.job.promised_date
    return Need(needs.PROMISE, opening, promised, (scope.today(opening) - promised).days, str(opening.job_id),
                count=count, values={"why": found.why, "ends": found.ends, "promised": promised})


def _left(openings: Sequence[Opening], scope: Scope) -> dict[int, list[Left]]:
    """The steps still to do, in order, each with what it waits for and until when it is given."""
    found: dict[int, list[Left]] = {one.pk: [] for one in openings}
    at = {one.pk: NUMBER[Stage(one.stage)] for one in openings}
    until = dict(Assignment.objects.filter(opening__in=at, end_day__gte=scope.act.today()).order_by("end_day")
                 .values_list("work_step", "end_day"))
    expected = dict(Wait.objects.filter(opening__in=at, cleared_at=None).exclude(expected_day=None)
                    .order_by("expected_day").values_list("opening", "expected_day"))
    steps = WorkStep.objects.filter(opening__in=at).only(
        "opening", "stage", "planned_minutes", "hands", "wait_after_minutes", "earliest_day", "not_ready")
    for step in sorted(steps, key=lambda step: NUMBER[Stage(step.stage)]):
        if NUMBER[Stage(step.stage)] > at[step.opening_id]:
            days = [step.earliest_day, expected.get(step.opening_id), *_material_days(step)]
            found[step.opening_id].append(Left(
                step.planned_minutes, step.hands, step.wait_after_minutes,
                max((day for day in days if day is not None), default=None), until.get(step.pk)))
    return found


def _material_days(step: WorkStep) -> list[dt.date]:
    return [dt.date.fromisoformat(one["expected_day"]) for one in step.not_ready
            if one.get("reason") == "material-missing" and one.get("expected_day")]


def _working(today: dt.date) -> Working:
    office = OfficeSettings.current()
    return Working(office.working_days, holidays_of(office.holiday_region, today, today + PROMISES_AHEAD))
