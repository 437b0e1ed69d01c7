"""What reports are made of, each in a fixed number of queries that the database adds up."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Case, Count, Exists, F, IntegerField, Min, OuterRef, Q, QuerySet, Subquery, Value, When

from inspections.models import PunchItem
from inspections.services.progress import Sum3, ledgers, minutes
from inspections.services.readers import zone_of
from jobs.acts import Act
from jobs.calc.over_time import Moved, Period, standing
from jobs.calc.waited import Waited
from jobs.models import Assignment, Crew, Job, Opening, StageChange, Wait
from jobs.models.jobs import OpeningQuerySet
from jobs.roles import Reach, reach
from jobs.stages import Stage

ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Scope:
    """Which openings a report is of, and which crews' hours; None: all of them. `crew` is the one asked for."""

    openings: OpeningQuerySet | None
    crews: frozenset[int] | None = None
    crew: int | None = None


@dataclass(frozen=True, slots=True)
class WaitLine:
    """One wait: who owes it, for which job, and from when to when on the clock of that job."""

    owed_by_kind: str
    owed_by: str
    what_for: str
    job: int
    opening: int
    place: str
    waited: Waited


@dataclass(frozen=True, slots=True)
class ItemCount:
    """So many items with one cause, of one crew, job or period."""

    key: Any
    cause: str
    raised: int
    still_open: int
    overdue: int


def scope_of(act: Act, *, crew: int | None = None, job: str = "") -> Scope:
    """What this person may see of it: those who read only their own, the hours of the crews they are on."""
    today = act.today()
    openings, own = Opening.objects.visible_to(act.user, act.role, today), None
    whole = reach(act.role, "read") is Reach.ALL
    if reach(act.role, "read hours") is not Reach.ALL:
        own = frozenset(crews_of(act).values_list("pk", flat=True))
    if crew is not None:
        own = frozenset([crew] if own is None or crew in own else [])
        openings, whole = openings.filter(Exists(Assignment.objects.filter(opening=OuterRef("pk"), crew=crew))), False
    if job:
        openings = openings.filter(job__in=Job.objects.filter(Q(number__icontains=job) | Q(title__icontains=job)))
        whole = False
    return Scope(None if whole else openings, own, crew)


def crews_of(act: Act) -> QuerySet[Crew]:
    """The crews whose work this person may ask about."""
    if reach(act.role, "read hours") is Reach.ALL:
        return Crew.objects.all()
    today = act.today()
    return Crew.objects.filter(Q(members__to_day=None) | Q(members__to_day__gte=today), members__user=act.user,
                               members__from_day__lte=today).distinct()


# ---- openings by stage -----------------------------------------------------------------------------------


def openings_over_time(scope: Scope, periods: Sequence[Period], zone: dt.tzinfo) -> tuple[dict[Stage, int], ...]:
    """By stage, as the record stood at the end of each period: when it came to us counts, as in *stands since*."""
    if not periods:
        return ()
    ends, openings = [midnight(period.last + ONE_DAY, zone) for period in periods], Opening.objects.all()
    changes = StageChange.objects.filter(advanced=True, server_time__gte=ends[0])
    if scope.openings is not None:
        openings, changes = scope.openings, changes.filter(opening__in=scope.openings)
    moved = changes.order_by().values_list(_period("server_time", ends), "from_stage", "to_stage").annotate(Count("pk"))
    return standing(_now(openings),
                    [Moved(number, Stage(origin), Stage(to), count) for number, origin, to, count in moved],
                    _entered(openings, ends), len(periods))


def _now(openings: OpeningQuerySet) -> dict[Stage, int]:
    """Most are accepted, and what is not is read by an index of its own: accepted is what is left of all of them."""
    active = dict(openings.active().order_by().values_list("stage").annotate(Count("pk")))
    found = {Stage(stage): count for stage, count in active.items()}
    accepted = openings.count() - sum(active.values())
    return {**found, Stage.ACCEPTED: accepted} if accepted > 0 else found


def _entered(openings: QuerySet, ends: Sequence[dt.datetime]) -> list[int]:
    """How many openings are new in each period. One that moved before it was entered was there when it moved."""
    first = StageChange.objects.filter(opening=OuterRef("pk"), advanced=True).order_by().values("opening").annotate(
        first=Min("server_time")).values("first")
    new = openings.filter(created_at__gte=ends[0]).order_by().annotate(moved=Subquery(first)).annotate(
        entered=Case(When(moved__lt=F("created_at"), then=F("moved")), default=F("created_at")))
    counts = dict(new.values_list(_period("entered", ends)).annotate(Count("pk")))
    return [counts.get(number, 0) if number else 0 for number in range(len(ends) + 1)]


def _period(moment: str, ends: Sequence[dt.datetime]) -> Case | Value:
    """The number of the period in which it was; after the last, their number. Halved again and again, so that of a
    hundred periods seven are looked at."""
    return _halved(moment, ends, 0, len(ends))


def _halved(moment: str, ends: Sequence[dt.datetime], least: int, most: int) -> Case | Value:
    if least == most:
        return Value(least, output_field=IntegerField())
    half = (least + most) // 2
    return Case(When(**{f"{moment}__lt": ends[half]}, then=_halved(moment, ends, least, half)),
                default=_halved(moment, ends, half + 1, most), output_field=IntegerField())


def midnight(day: dt.date, zone: dt.tzinfo) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(), zone).astimezone(dt.UTC)


# ---- hours -----------------------------------------------------------------------------------------------


def hours(scope: Scope, by: tuple[str, ...], first: dt.date, last: dt.date) -> dict[tuple[Any, ...], Sum3]:
    """Minutes of the same ledgers that crew progress adds up, by any of "crew", "job", "week"."""
    rows = ledgers(scope.openings, first=first, last=last)
    if scope.crews is not None:
        rows = {name: found.filter(crew__in=scope.crews) for name, found in rows.items()}
    return minutes(by, rows, last, first=first)


# ---- waits -----------------------------------------------------------------------------------------------


def waits(scope: Scope, first: dt.date, last: dt.date) -> Iterable[WaitLine]:
    """Those that were open on one of these days; where clocks differ, of a day more on either side."""
    found = Wait.objects.filter(taken_at__lt=midnight(last + 2 * ONE_DAY, dt.UTC)).filter(
        Q(cleared_at=None) | Q(cleared_at__gte=midnight(first - ONE_DAY, dt.UTC)))
    if scope.openings is not None:
        found = found.filter(opening__in=scope.openings)
    rows = found.order_by("taken_at", "pk").values_list(
        "owed_by_kind", "owed_by__name", "what_for", "opening__job", "opening", "opening__job__number", "opening__tag",
        "opening__job__time_zone", "taken_at", "cleared_at", "standby_minutes")
    for kind, name, what, job, opening, number, tag, clock, raised, cleared, standby in rows.iterator():
        zone = zone_of(clock)
        yield WaitLine(kind, name or "", what, job, opening, f"{number} · {tag}", Waited(
            raised.astimezone(zone).date(), None if cleared is None else cleared.astimezone(zone).date(), standby))


# ---- punch items -----------------------------------------------------------------------------------------


def punch_items(scope: Scope, by: str, periods: Sequence[Period], zone: dt.tzinfo, today: dt.date) -> list[ItemCount]:
    """Items raised in these periods, by cause and by "crew", "job" or "period". A crew's are those raised on what it
    was on last by then."""
    ends = [midnight(period.last + ONE_DAY, zone) for period in periods]
    found = PunchItem.objects.filter(taken_at__gte=midnight(periods[0].first, zone), taken_at__lt=ends[-1])
    if scope.openings is not None:
        found = found.filter(opening__in=scope.openings)
    by_then = Assignment.objects.filter(opening=OuterRef("opening"), start_day__lte=OuterRef("taken_at"))
    if by == "crew" or scope.crew is not None:
        found = found.annotate(crew=Subquery(by_then.order_by("-start_day", "-pk").values("crew")[:1]))
    if scope.crew is not None:
        found = found.filter(crew=scope.crew)
    key = {"crew": F("crew"), "job": F("opening__job"), "period": _period("taken_at", ends)}[by]
    still_open = Q(closed_at=None)
    rows = found.order_by().annotate(key=key).values_list("key", "cause").annotate(
        raised=Count("pk"), still_open=Count("pk", filter=still_open),
        overdue=Count("pk", filter=still_open & Q(due_day__lt=today)))
    return [ItemCount(*row) for row in rows]


# ---- names -----------------------------------------------------------------------------------------------


def names_of_crews(keys: Iterable[Any]) -> Mapping[Any, str]:
    return dict(Crew.objects.filter(pk__in=list(keys)).values_list("pk", "name"))


def names_of_jobs(keys: Iterable[Any]) -> Mapping[Any, str]:
    wanted = set(keys)
    rows = Job.objects.all() if len(wanted) > 500 else Job.objects.filter(pk__in=wanted)
    return {pk: f"{number} {title}" for pk, number, title in rows.values_list("pk", "number", "title") if pk in wanted}
