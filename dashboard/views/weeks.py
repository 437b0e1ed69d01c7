"""The crews' weeks: the same rules one under another, week by week."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from dashboard.drawings.week import Columns
from dashboard.planning.weeks import WEEK, Eyes, WeekShown, changes_of, day_marks, week_shown, week_words
from dashboard.views.pages import page
from inspections.services.trips import trips_between
from jobs.acts import Act
from jobs.calc.days import monday_of
from jobs.errors import NotAllowed
from jobs.models import Assignment, Crew
from jobs.roles import LABELS, Reach, Role, reach
from jobs.services.ahead import Ahead, equipment_twice

READ = "read crews' weeks"
WEEKS, WEEKS_OF_ONE = 3, 8
CREWS = 12  # rules of one week on a page
FARTHEST = dt.timedelta(weeks=520)


@dataclass(frozen=True, slots=True)
class Week:
    monday: dt.date
    title: str
    is_now: bool
    crews: tuple[WeekShown, ...]


@require_safe
@page
def crews_weeks_page(request: HttpRequest) -> HttpResponse:
    act, reader = request.act, request.reader
    crews = _visible_crews(act)
    one = _one_of(crews, request.GET.get("crew", ""))
    today = act.now.astimezone(reader.zone).date()
    first = _monday(request.GET.get("from", ""), today)
    count = WEEKS_OF_ONE if one else WEEKS
    shown, after = ([one], "") if one else _paged(crews, request.GET.get("after", ""))
    mondays = [first + dt.timedelta(weeks=n) for n in range(count)]
    step = dt.timedelta(weeks=count)
    weeks = _weeks(request, shown, mondays, today)
    return render(request, "dashboard/crews_weeks.html", {
        "weeks": weeks, "here": "weeks", "crew": one,
        "crews": list(crews.values_list("pk", "name")), "first": first.isoformat(),
        "day_marks": day_marks(shown for week in weeks for shown in week.crews),
        "may_assign": reach(act.role, "keep office records") is Reach.ALL,
        "earlier": _query(first - step, one), "later": _query(first + step, one), "now": _query(None, one),
        "further": _query(first, None, after) if after else ""})


def _visible_crews(act: Act) -> QuerySet[Crew]:
    how_far = reach(act.role, READ)
    if how_far is None:
        raise NotAllowed(f"{LABELS[Role(act.role)]} may not {READ}.")
    crews = Crew.objects.filter(active=True)
    if how_far is Reach.ALL:
        return crews
    today = act.today()
    mine = Q(members__to_day=None) | Q(members__to_day__gte=today)
    return crews.filter(mine, members__user=act.user, members__from_day__lte=today).distinct()


def _one_of(crews: QuerySet[Crew], asked: str) -> Crew | None:
    if not asked:
        return None
    found = crews.filter(pk=int(asked)).first() if asked.isdecimal() and len(asked) < 19 else None
    if found is None:
        raise Http404("There is no such crew among yours.")
    return found


def _monday(asked: str, today: dt.date) -> dt.date:
    """The week that was asked for; what is no day, or out of reach, is this week."""
    try:
        day = dt.date.fromisoformat(asked)
    except ValueError:
        day = today
    return monday_of(day if abs(day - today) <= FARTHEST else today)


def _paged(crews: QuerySet[Crew], after: str) -> tuple[list[Crew], str]:
    found = list(crews.filter(name__gt=after.replace("\x00", "")[:80])[: CREWS + 1])
    return found[:CREWS], found[CREWS - 1].name if len(found) > CREWS else ""


def _query(monday: dt.date | None, one: Crew | None, after: str = "") -> str:
    asked: dict[str, Any] = {"from": monday, "crew": one and one.pk, "after": after}
    return "?" + urlencode({name: value for name, value in asked.items() if value})


def _weeks(request: HttpRequest, crews: Sequence[Crew], mondays: Sequence[dt.date], today: dt.date) -> list[Week]:
    act = request.act
    ahead = Ahead.of(crews, mondays[0], mondays[-1] + WEEK)
    given = [one for rows in ahead.given.values() for one in rows]
    changed, twice = changes_of(given), equipment_twice(_with_the_same(given, mondays[0], mondays[-1] + WEEK))
    trips = trips_between([crew.pk for crew in crews], mondays[0], mondays[-1] + WEEK)
    eyes = Eyes(request.reader, today, Columns.of(crew.working_days for crew in crews),
                reach(act.role, "read days off") is not None, reach(act.role, READ) is Reach.ALL)
    return [Week(monday, week_words(monday, eyes.reader), monday == monday_of(today), tuple(
        week_shown(ahead, crew, monday, eyes, changed=changed, twice=twice, trips=trips) for crew in crews))
        for monday in mondays]


def _with_the_same(given: Sequence[Assignment], first: dt.date, last: dt.date) -> list[Assignment]:
    """Whatever is done in that time with the same equipment, by whichever crew."""
    pieces = {piece.pk for one in given for piece in one.equipment.all()}
    if not pieces:
        return []
    return list(Assignment.objects.filter(equipment__in=pieces, start_day__lte=last, end_day__gte=first).distinct()
                .select_related("opening__job").prefetch_related("equipment"))
