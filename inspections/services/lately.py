"""What each crew earned, planned and used week by week, and what stands against the work that is given to it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inspections.services.progress import Sum3, ledgers, minutes
from jobs.calc.days import monday_of
from jobs.calc.fitting import Sent, is_new, standing
from jobs.models import Assignment
from jobs.services.objections import standing_now
from jobs.stages import NUMBER, Stage

WEEK = dt.timedelta(days=7)
LOOKS_AHEAD = 4 * WEEK  # what is given for later is weighed when it comes nearer


@dataclass(frozen=True, slots=True)
class Week:
    monday: dt.date
    minutes: Sum3


def weeks_before(crews: Sequence[int], today: dt.date, count: int) -> dict[int, list[Week]]:
    """The weeks before this one, the earliest first: every crew has each, with nothing where nothing was done."""
    this = monday_of(today)
    mondays = [this - WEEK * n for n in range(count, 0, -1)]
    rows = {name: found.filter(crew__in=crews) for name, found in
            ledgers(first=mondays[0], last=this - dt.timedelta(days=1)).items()}
    # Planned up to the last day of each: of work that goes on this week, only what lies before it.
    sums = minutes(("crew", "week"), rows, this - dt.timedelta(days=1), first=mondays[0])
    return {crew: [Week(monday, sums.get((crew, monday), Sum3())) for monday in mondays] for crew in crews}


@dataclass(frozen=True, slots=True)
class Objected:
    """Work given and still to be done, with what stands against it today, and whether that came since it was given."""

    given: Assignment
    objections: tuple[tuple[Sent, bool], ...]


def objected(openings: Iterable[int], today: dt.date) -> dict[int, list[Objected]]:
    """By opening, of the work of these four weeks; what begins first first."""
    rows = Assignment.objects.filter(
        opening__in=list(openings), end_day__gte=today, start_day__lte=today + LOOKS_AHEAD).select_related(
        "opening", "work_step", "crew").order_by("start_day", "pk")
    given = [one for one in rows if NUMBER[Stage(one.work_step.stage)] > NUMBER[Stage(one.opening.stage)]]
    now = standing_now([one.pk for one in given], today)
    found: dict[int, list[Objected]] = {}
    for one in given:
        stands = standing(now.get(one.pk, ()), start_day=one.start_day, today=today)
        if stands:
            found.setdefault(one.opening_id, []).append(
                Objected(one, tuple((sent, is_new(sent, one.against)) for sent in stands)))
    return found
