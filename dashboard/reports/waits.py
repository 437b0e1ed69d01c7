"""What waits cost, in days and standby, and who owed them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from dashboard import words
from dashboard.drawings import bars
from dashboard.measures import hours as in_hours
from dashboard.reports.report import Drawn, Ground, Made, Report
from dashboard.reports.table import COUNT, DAY, MINUTES, TEXT, Column, Row, Table, summed
from inspections.services.reporting import WaitLine, names_of_jobs, waits
from jobs.calc.waited import Cost, costs, days_of, is_of, standby_of


def made(ground: Ground) -> Made:
    found = waits(ground.scope, ground.asked.first, ground.asked.last)
    table = _one_by_one(found, ground) if ground.asked.by == "wait" else _added_up(found, ground)
    table = table.stands_by(ground.asked.sort, "-days")
    legend = _("Calendar days at the job among the days asked for, the day of clearing not counted; two waits on one "
               "opening count each.")
    if ground.may("read hours"):
        legend = f"{legend} {_('Standby stands on the day its wait was cleared.')}"
    return Made(table, list(_plots(table, ground)) if table.rows else [], legend)


def _added_up(found: Iterable[WaitLine], ground: Ground) -> Table:
    first, last, by_job = ground.asked.first, ground.asked.last, ground.asked.by == "job"
    cost = costs(((line.job if by_job else (line.owed_by_kind, line.owed_by if _named(ground) else ""), line.waited)
                  for line in found), first, last)
    names = names_of_jobs(cost) if by_job else {}
    columns = (Column("who", _("Job") if by_job else _("Who owed it"), TEXT), Column("waits", _("Waits")),
               Column("open", _("Still open")), Column("days", _("Days waited")), Column("longest", _("Longest, days")),
               *_standby(ground))
    rows = tuple(Row((names[key] if by_job else _who(*key), *_cost(one, ground)),
                     ("job", key) if by_job else None) for key, one in cost.items())
    return Table(columns, rows, summed(rows, columns, ("waits", "open", "days", "standby")))


def _cost(one: Cost, ground: Ground) -> tuple[int, ...]:
    standby = (one.standby_minutes,) if ground.may("read hours") else ()
    return (one.waits, one.still_open, one.days, one.longest, *standby)


def _one_by_one(found: Iterable[WaitLine], ground: Ground) -> Table:
    first, last = ground.asked.first, ground.asked.last
    columns = (Column("opening", _("Opening"), TEXT), Column("what", _("Waited for"), TEXT),
               Column("who", _("Who owed it"), TEXT), Column("raised", _("Since"), DAY),
               Column("cleared", _("Cleared"), DAY), Column("days", _("Days waited"), COUNT), *_standby(ground))
    rows = []
    for line in found:
        if is_of(line.waited, first, last):
            values = (line.place, line.what_for, _who(line.owed_by_kind, line.owed_by if _named(ground) else ""),
                      line.waited.raised, line.waited.cleared, days_of(line.waited, first, last))
            standby = (standby_of(line.waited, first, last),) if ground.may("read hours") else ()
            rows.append(Row((*values, *standby), ("opening", line.opening)))
    return Table(columns, tuple(rows), summed(rows, columns, ("days", "standby")))


def _standby(ground: Ground) -> tuple[Column, ...]:
    return (Column("standby", _("Standby"), MINUTES),) if ground.may("read hours") else ()


def _named(ground: Ground) -> bool:
    return ground.may("read contacts")


def _who(kind: str, name: str) -> str:
    said = words.owes({"owed_by_kind": kind, "owed_by": ""})
    said = f"{name}, {said}" if name else said
    return said[:1].upper() + said[1:]


# ---- drawn -----------------------------------------------------------------------------------------------


def _plots(table: Table, ground: Ground) -> Iterable[Drawn]:
    keys = [column.key for column in table.columns]
    rows, of = table.rows[:bars.MOST], len(table.rows)
    names = [_name(row, keys) for row in rows]
    days = [_value(row, keys, "days") for row in rows]
    yield _plot("days", _("Days waited"), _("days"), [
        bars.Measured(name, (ngettext("%d day", "%d days", count) % count,), count)
        for name, count in zip(names, days, strict=True)], of)
    if ground.may("read hours") and any(_value(row, keys, "standby") for row in rows):
        minutes = [_value(row, keys, "standby") for row in rows]
        yield _plot("standby", _("Hours a crew stood by"), _("hours"), [
            bars.Measured(name, (_("%s hours") % in_hours(amount),), 0, amount / 60)
            for name, amount in zip(names, minutes, strict=True)], of)


def _name(row: Row, keys: list[str]) -> str:
    return f"{row.values[0]}: {_value(row, keys, 'what')}" if "what" in keys else row.values[0]


def _value(row: Row, keys: list[str], key: str) -> Any:
    return row.values[keys.index(key)]


def _plot(key: str, title: str, unit: str, drawn: list[bars.Measured], of: int) -> Drawn:
    return Drawn(key, title, _("A bar a line of the table, in its order. Every number is in the table below."), *(
        bars.bars(drawn, unit, paper, of=of) for paper in (bars.WIDE, bars.SLIM)))


WAITS = Report("waits", gettext_lazy("What waits cost"), gettext_lazy(
    "Days waited and hours a crew stood by, and who owed what was waited for."), made,
    (("owed", gettext_lazy("Who owed it")), ("job", gettext_lazy("Job")), ("wait", gettext_lazy("Each wait"))))
