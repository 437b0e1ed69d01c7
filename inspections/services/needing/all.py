"""What needs somebody: everything that stands open and is this person's to deal with, worst first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import groupby

from inspections.calc import needs
from inspections.services.needing import owed, work
from inspections.services.needing.failed import failed_checks
from inspections.services.needing.rows import MOST, Need, Scope, Wanted
from jobs.acts import Act
from jobs.errors import NotAllowed
from jobs.models import Assignment
from jobs.roles import LABELS, Role

FOUND_BY: dict[str, Callable[[Scope], Iterable[Need]]] = {
    needs.FAILED: failed_checks, needs.WAIT: owed.waits, needs.DELIVERY: owed.deliveries,
    needs.SHORT: owed.parts_short, needs.KEPT: owed.kept,
    needs.COUNTERSIGN: owed.countersignatures, needs.UNFIT: work.unfit, needs.UNASSIGNED: work.unassigned,
    needs.PROMISE: work.promises, needs.ITEM: owed.items, needs.ASIDE: owed.parts_aside,
    needs.CALLBACK: owed.callbacks, needs.CORRECTED: owed.corrections,
}


@dataclass(frozen=True, slots=True)
class Found:
    rows: list[Need]
    and_more: bool  # of some kind there is more than is ever read


def theirs(act: Act) -> list[str]:
    """The kinds that this person may do something about."""
    return Scope(act, Wanted()).kinds


def what_needs_somebody(act: Act, wanted: Wanted | None = None) -> Found:
    """A fixed number of queries; what is over is not read."""
    if not theirs(act):
        raise NotAllowed(f"{LABELS[Role(act.role)]}: there is nothing here that is theirs to deal with.")
    scope = Scope(act, wanted or Wanted())
    rows: list[Need] = []
    and_more = False
    for kind in scope.kinds:
        found = list(FOUND_BY[kind](scope))
        and_more |= len(found) >= MOST
        rows += _one_an_opening(found)
    _who_has_them(rows, act.today())
    return Found(sorted(rows, key=lambda row: needs.order(row.standing)), and_more)


def _one_an_opening(found: list[Need]) -> list[Need]:
    """Many of the same at one opening are one row, led by the one that has been so for longest."""
    found.sort(key=lambda row: (row.opening.pk, not row.urgent, -row.days))
    rows = []
    for _opening, same in groupby(found, key=lambda row: row.opening.pk):
        first, *others = same
        first.count += len(others)
        if others:
            first.values = {**first.values, "others": [other.values for other in others]}
        rows.append(first)
    return rows


def _who_has_them(rows: list[Need], today: dt.date) -> None:
    """The crew with the latest work at each opening, and in how many days one comes next."""
    given = Assignment.objects.filter(opening__in={row.opening.pk for row in rows}).order_by("start_day", "pk")
    crews: dict[int, str] = {}
    comes: dict[int, dt.date] = {}
    for opening, crew, start, end in given.values_list("opening", "crew__name", "start_day", "end_day"):
        crews[opening] = crew
        if end >= today:
            comes.setdefault(opening, start)
    for row in rows:
        row.crew = crews.get(row.opening.pk, "")
        if row.crew_in is None and row.opening.pk in comes:
            row.crew_in = max((comes[row.opening.pk] - today).days, 0)
