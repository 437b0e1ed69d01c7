"""Punch items by cause, and whose work they were on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import phrases
from dashboard.drawings import bars
from dashboard.reports.report import Drawn, Ground, Made, Report
from dashboard.reports.table import DAY, TEXT, Column, Row, Table, summed
from inspections.services.reporting import ItemCount, names_of_crews, names_of_jobs, punch_items
from jobs.calc.over_time import WEEK, periods

ALSO = ("raised", "closed", "open", "overdue")


def made(ground: Ground) -> Made:
    asked = ground.asked
    weeks = periods(asked.first, asked.last, WEEK)
    by = {"crew": "crew", "job": "job"}.get(asked.by, "period")
    today = ground.act.now.astimezone(ground.reader.zone).date()
    found = punch_items(ground.scope, by, weeks, ground.reader.zone, today)
    table = _by_cause(found) if asked.by == "cause" else _by(asked.by, found, [week.first for week in weeks])
    table = table.stands_by(asked.sort, "week" if asked.by == "week" else "-raised")
    drawn = [_drawn(row, table, ground) for row in table.rows[:bars.MOST]]
    plot = Drawn("items", _("Punch items raised"), _(
        "A bar a line of the table, in its order. Every number is in the table below."), *(
        bars.bars(drawn, _("items"), paper, of=len(table.rows)) for paper in (bars.WIDE, bars.SLIM)))
    return Made(table, [plot] if drawn else [], _(
        "Filled, closed; hatched, still open. Items raised on the days asked for. A crew's are those raised on what it "
        "was given last by then."))


def _by_cause(found: Iterable[ItemCount]) -> Table:
    columns = (Column("cause", _("Cause"), TEXT), *_also())
    rows = tuple(Row((str(phrases.CAUSES[cause]), *_counted(items)))
                 for cause, items in _grouped(found, "cause").items())
    return Table(columns, rows, summed(rows, columns, ALSO))


def _by(way: str, found: Iterable[ItemCount], weeks: list[Any]) -> Table:
    """A line a crew, job or week, with its items by cause beside each other."""
    groups = _grouped(found, "key")
    names = _names(way, groups, weeks)
    columns = (Column(way, {"crew": _("Crew"), "job": _("Job"), "week": _("Week from")}[way],
                      DAY if way == "week" else TEXT),
               *(Column(cause or "unsaid", str(said)) for cause, said in phrases.CAUSES.items()), *_also())
    rows = tuple(Row((names.get(key, _("no crew")), *(sum(i.raised for i in items if i.cause == cause)
                                                       for cause in phrases.CAUSES), *_counted(items)),
                     ("job", key) if way == "job" else None) for key, items in groups.items())
    return Table(columns, rows, summed(rows, columns, [column.key for column in columns[1:]]))


def _also() -> tuple[Column, ...]:
    return (Column("raised", _("Raised")), Column("closed", _("Closed")), Column("open", _("Still open")),
            Column("overdue", _("Overdue")))


def _counted(items: list[ItemCount]) -> tuple[int, ...]:
    raised, still_open = sum(i.raised for i in items), sum(i.still_open for i in items)
    return raised, raised - still_open, still_open, sum(i.overdue for i in items)


def _grouped(found: Iterable[ItemCount], by: str) -> dict[Any, list[ItemCount]]:
    groups: dict[Any, list[ItemCount]] = {}
    for one in found:
        groups.setdefault(getattr(one, by), []).append(one)
    return groups


def _names(way: str, keys: Iterable[Any], weeks: list[Any]) -> Mapping[Any, Any]:
    if way == "week":
        return dict(enumerate(weeks))
    return names_of_crews(keys) if way == "crew" else names_of_jobs(keys)


def _drawn(row: Row, table: Table, ground: Ground) -> bars.Measured:
    raised, closed, still_open, overdue = row.values[-4:]
    name = row.values[0] if isinstance(row.values[0], str) else _("Week from %s") % ground.reader.whole_day(
        row.values[0])
    figures = (_("%d raised") % raised, _("%d open") % still_open, *([_("%d overdue") % overdue] if overdue else []))
    return bars.Measured(name, figures, closed, still_open)


PUNCH = Report("punch-items", gettext_lazy("Punch items by cause"), gettext_lazy(
    "What was left to put right and what had caused it: by cause, crew, job and week."), made,
    (("cause", gettext_lazy("Cause")), ("crew", gettext_lazy("Crew")), ("job", gettext_lazy("Job")),
     ("week", gettext_lazy("Week"))), of_crews=("crew",))
