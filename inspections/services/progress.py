"""How far each crew, job and opening has got: minutes earned, planned and used, and what is waited for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Case, Count, F, Q, QuerySet, Sum, Value, When

from jobs.acts import Act
from jobs.calc.days import monday_of, worked
from jobs.calc.progress import Assigned, day_by_day, sums
from jobs.models import (
    Assignment,
    Crew,
    EarnedMinutes,
    Job,
    OfficeSettings,
    Opening,
    StageChange,
    TimeReport,
    Wait,
    WorkStep,
)
from jobs.services.objections import holidays_of
from jobs.stages import ORDER, TRANSITIONS
from units.models import Panel


@dataclass
class Sum3:
    """Person-minutes. `planned` is what was assigned up to the day asked for."""

    earned: int = 0
    planned: int = 0
    used: int = 0

    def as_dict(self) -> dict[str, int]:
        return {"earned_minutes": self.earned, "planned_minutes": self.planned, "used_minutes": self.used}


@dataclass
class CrewStanding:
    crew: Crew
    week: Sum3
    openings: list[Opening] = field(default_factory=list)


def minutes(by: str | tuple[str, ...], rows: dict[str, QuerySet], today: dt.date, *,
            first: dt.date | None = None) -> dict[Any, Sum3]:
    """Sums by "crew", "opening", "job" or "week" of the three ledgers in `rows`, which hold the days from `first`; by
    several of them at once the keys are tuples."""
    found: dict[Any, Sum3] = {}
    for name, key, amount in _rows((by,) if isinstance(by, str) else by, rows, first, today):
        total = found.setdefault(key[0] if isinstance(by, str) else key, Sum3())
        setattr(total, name, getattr(total, name) + amount)
    return found


KEYS = {"crew": "crew", "opening": "work_step__opening", "job": "work_step__opening__job", "week": "day"}
GIVEN = {"crew": "crew", "opening": "opening", "job": "opening__job"}
Line = tuple[str, tuple[Any, ...], int]  # which ledger, of what, how many minutes


def _rows(by: tuple[str, ...], rows: dict[str, QuerySet], first: dt.date | None, today: dt.date) -> Iterable[Line]:
    for name in ("earned", "used"):
        for *key, amount in rows[name].order_by().values_list(*(KEYS[one] for one in by)).annotate(Sum("minutes")):
            yield name, tuple(monday_of(part) if one == "week" else part
                              for one, part in zip(by, key, strict=True)), amount
    yield from _planned(by, rows["planned"], first, today)


ALIKE = ("planned_minutes", "start_day", "end_day", "crew__working_days", "crew__holiday_region")


def _planned(by: tuple[str, ...], assignments: QuerySet, first: dt.date | None, today: dt.date) -> Iterable[Line]:
    """Each assignment's minutes on each of its worked days, from `first` up to today: one that began before, too.
    Those that lie within these days are summed as they are; of the others those that are alike are spread once."""
    whose = tuple(one for one in by if one != "week")
    within = Q(end_day__lte=today) if first is None else Q(end_day__lte=today, start_day__gte=first)
    alike = ALIKE if "week" in by else [Case(When(within, then=Value(None)), default=F(name)) for name in ALIKE]
    found = assignments.order_by().values_list(*alike, *(GIVEN[one] for one in whose)).annotate(
        Count("pk"), whole=Sum("planned_minutes"))
    region = OfficeSettings.current().holiday_region
    spread: dict[tuple[Any, ...], dict[dt.date, int]] = {}
    for *row, count, whole in found:
        one, key = tuple(row[: len(ALIKE)]), row[len(ALIKE):]
        if one[1] is None:
            yield "planned", tuple(key), whole
            continue
        if one not in spread:
            spread[one] = _by_week(*one[:4], one[4] or region, first, today)
        names = dict(zip(whose, key, strict=True))
        for week, amount in spread[one].items():
            yield "planned", tuple(names.get(part, week) for part in by), amount * count


def _by_week(amount: int, start: dt.date, end: dt.date, working_week: str, region: str, first: dt.date | None,
             today: dt.date) -> dict[dt.date, int]:
    days = worked(start, end, working_week, holidays_of(region, start, end)) or (start,)
    return sums((row for row in day_by_day(Assigned(amount, tuple(days)))
                 if (first is None or first <= row.day) and row.day <= today), "week")


def ledgers(openings: QuerySet | None = None, *, crew: int | None = None, first: dt.date | None = None,
            last: dt.date | None = None) -> dict[str, QuerySet]:
    """The three ledgers, for these openings, this crew and these days; all where nothing is named."""
    earned, used = EarnedMinutes.objects.all(), TimeReport.objects.all()
    planned = Assignment.objects.all()
    if openings is not None:
        earned = earned.filter(work_step__opening__in=openings)
        used = used.filter(work_step__opening__in=openings)
        planned = planned.filter(opening__in=openings)
    if crew is not None:
        earned, used, planned = earned.filter(crew=crew), used.filter(crew=crew), planned.filter(crew=crew)
    if first is not None:
        earned, used, planned = earned.filter(day__gte=first), used.filter(day__gte=first), \
            planned.filter(end_day__gte=first)
    if last is not None:
        earned, used, planned = earned.filter(day__lte=last), used.filter(day__lte=last), \
            planned.filter(start_day__lte=last)
    return {"earned": earned, "used": used, "planned": planned}


def crew_progress(act: Act, today: dt.date) -> list[dict[str, Any]]:
    """Every crew and how far each has got: its openings in hand, this week's minutes, what is waited for and who
    owes it. A fixed number of queries, whose cost follows the work in hand and not the history."""
    crews = list(_crews(act))
    openings = _in_hand(act, [c.pk for c in crews])
    waits = _waits(openings)
    hung = _hung(openings)
    steps = _next_steps(openings)
    passed_over = _passed_over(crews)
    monday = monday_of(today)
    week = _week(crews, monday, today)
    by_crew: dict[int, list[dict[str, Any]]] = {}
    for opening in openings.values():
        by_crew.setdefault(opening.crew_in_hand, []).append(
            _opening_line(opening, waits.get(opening.pk, []), hung.get(opening.pk), steps.get(opening.pk)))
    return [{
        "crew": c.pk, "name": c.name, "people": [m.user.name for m in c.members_now],
        "lead": next((m.user.name for m in c.members_now if m.leads), None),
        "week": week.get(c.pk, Sum3()).as_dict(), "week_from": monday.isoformat(),
        "passed_over": passed_over.get(c.pk, 0),
        "openings": by_crew.get(c.pk, []),
    } for c in crews]


def _crews(act: Act) -> Iterable[Crew]:
    crews = Crew.objects.filter(active=True)
    today = act.today()
    if act.role in ("lead", "installer"):
        crews = crews.filter(members__user=act.user, members__from_day__lte=today).filter(
            Q(members__to_day=None) | Q(members__to_day__gte=today)).distinct()
    for crew in crews.prefetch_related("members__user"):
        crew.members_now = [m for m in crew.members.all()
                            if m.from_day <= today and (m.to_day is None or m.to_day >= today)]
        yield crew


def _in_hand(act: Act, crews: list[int]) -> dict[int, Opening]:
    """Active openings given to these crews; the crew with the latest assignment has it."""
    visible = Opening.objects.active().visible_to(act.user, act.role, act.today())
    given = Assignment.objects.filter(opening__in=visible, crew__in=crews).order_by("start_day", "pk")
    crew_of = dict(given.values_list("opening", "crew"))
    # Found by key alone and ordered here: ordered in SQL, a planner may walk a job's whole past instead.
    found = Opening.objects.filter(pk__in=crew_of).select_related("job", "unit").order_by()
    openings = {o.pk: o for o in sorted(found, key=lambda o: (o.job.number, o.tag, o.pk))}
    for opening in openings.values():
        opening.crew_in_hand = crew_of[opening.pk]
    return openings


def _waits(openings: Iterable[int]) -> dict[int, list[Wait]]:
    found: dict[int, list[Wait]] = {}
    for wait in Wait.objects.filter(opening__in=list(openings), cleared_at=None).select_related("owed_by"):
        found.setdefault(wait.opening_id, []).append(wait)
    return found


def _hung(openings: Iterable[int]) -> dict[int, tuple[int, int]]:
    rows = Panel.objects.filter(unit__opening__in=list(openings)).order_by().values_list("unit__opening").annotate(
        hung=Count("pk", filter=Q(state__in=["hung", "adjusted"])), panels=Count("pk"))
    return {opening: (hung, panels) for opening, hung, panels in rows}


def _passed_over(crews: list[Crew]) -> dict[int, int]:
    """How many gates each crew has passed over, ever."""
    rows = StageChange.objects.filter(kind="pass-over", crew__in=[c.pk for c in crews])
    return dict(rows.order_by().values_list("crew").annotate(Count("pk")))


def _next_steps(openings: dict[int, Opening]) -> dict[int, WorkStep]:
    """The one step that comes next for each: asked of the database by stage, since the others are most of the rows."""
    is_next = Q()
    for before, after in TRANSITIONS.items():
        is_next |= Q(opening__stage=before.value, stage=after.value)
    steps = WorkStep.objects.filter(is_next, opening__in=list(openings)).order_by()
    return {s.opening_id: s for s in steps.only("opening", "stage", "ready", "not_ready")}


def _week(crews: list[Crew], monday: dt.date, today: dt.date) -> dict[int, Sum3]:
    rows = ledgers(first=monday, last=monday + dt.timedelta(days=6))
    ids = [c.pk for c in crews]
    rows = {name: q.filter(crew__in=ids) for name, q in rows.items()}
    return minutes("crew", rows, today, first=monday)


def _opening_line(opening: Opening, waits: list[Wait], hung: tuple[int, int] | None,
                  step: WorkStep | None) -> dict[str, Any]:
    return {
        "opening": opening.pk, "job": opening.job.number, "tag": opening.tag, "location": opening.location,
        "stage": opening.stage, "stage_since": opening.stage_since, "passed_over": opening.passed_over,
        "panels_hung": None if hung is None else hung[0], "panels": None if hung is None else hung[1],
        "next_stage": None if step is None else step.stage, "ready": None if step is None else step.ready,
        "not_ready": [] if step is None else step.not_ready,
        "waits": [{"what_for": w.what_for, "owed_by_kind": w.owed_by_kind, "since": w.taken_at,
                   "owed_by": "" if w.owed_by is None else w.owed_by.name, "expected_day": w.expected_day}
                  for w in waits],
        "pocket_side": opening.pocket_side,
    }


def stages_of(job: Job) -> dict[str, int]:
    """A job's openings by stage, as counts: never one word for all."""
    counts = dict(Opening.objects.filter(job=job).order_by().values_list("stage").annotate(Count("pk")))
    return {stage.value: counts.get(stage.value, 0) for stage in ORDER}
