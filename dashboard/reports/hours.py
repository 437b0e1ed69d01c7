"""Hours earned against hours used, and planned: of the ledgers that crew progress is made of."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard.drawings import bars
from dashboard.measures import hours as in_hours
from dashboard.reports.report import Drawn, Ground, Made, Report
from dashboard.reports.table import DAY, MINUTES, RATIO, TEXT, Column, Row, Table, summed
from inspections.services.progress import Sum3
from inspections.services.reporting import hours, names_of_crews, names_of_jobs

PARTS = {"crew": ("crew",), "job": ("job",), "week": ("week",), "crew-week": ("crew", "week"),
         "job-week": ("job", "week")}
ADDS = ("earned", "planned", "used", "ahead")


def made(ground: Ground) -> Made:
    by = PARTS[ground.asked.by]
    found = hours(ground.scope, by, ground.asked.first, ground.asked.last)
    names = _names(by, {key[0] for key in found})
    named = {"crew": Column("crew", _("Crew"), TEXT), "job": Column("job", _("Job"), TEXT),
             "week": Column("week", _("Week from"), DAY)}
    columns = (*(named[one] for one in by), Column("earned", _("Earned"), MINUTES),
               Column("planned", _("Planned"), MINUTES), Column("used", _("Used"), MINUTES),
               Column("ahead", _("Earned less used"), MINUTES), Column("rate", _("Earned for each hour used"), RATIO))
    rows = tuple(_row(by, key, sums, names) for key, sums in found.items())
    table = Table(columns, rows, summed(rows, columns, ADDS)).stands_by(ground.asked.sort, by[0])
    drawn = [_drawn(row, len(by), ground) for row in table.rows[:bars.MOST]]
    plot = Drawn("hours", _("Hours earned, planned and used"), _(
        "A bar a line of the table, in its order, with the hours earned, planned and used. Every number is in the "
        "table below."), *(bars.bars(drawn, _("hours"), paper, of=len(rows)) for paper in (bars.WIDE, bars.SLIM)))
    return Made(table, [plot] if drawn else [], _(
        "Filled, earned; ▼ planned; thick line, used. Person-hours, of the same ledgers as crew progress: what is "
        "taken off again counts in the week it happens."))


def _names(by: tuple[str, ...], keys: set[Any]) -> Mapping[Any, str]:
    if by[0] == "week":
        return {}
    return names_of_crews(keys) if by[0] == "crew" else names_of_jobs(keys)


def _row(by: tuple[str, ...], key: tuple[Any, ...], sums: Sum3, names: Mapping[Any, str]) -> Row:
    of = tuple(part if one == "week" else names.get(part, _("no crew")) for one, part in zip(by, key, strict=True))
    rate = sums.earned / sums.used if sums.used else None
    return Row((*of, sums.earned, sums.planned, sums.used, sums.earned - sums.used, rate),
               ("job", key[0]) if by[0] == "job" else None)


def _drawn(row: Row, count: int, ground: Ground) -> bars.Measured:
    earned, planned, used = row.values[count:count + 3]
    name = ", ".join(said if isinstance(said, str) else _("week from %s") % ground.reader.whole_day(said)
                     for said in row.values[:count])
    figures = (_("%s earned") % in_hours(earned), _("%s planned") % in_hours(planned), _("%s used") % in_hours(used))
    return bars.Measured(name[:1].upper() + name[1:], figures, earned / 60, planned=planned / 60 if planned else None,
                         used=used / 60 if used else None)


HOURS = Report("hours", gettext_lazy("Hours earned against hours used"), gettext_lazy(
    "What the work was sold for, what it took and what was planned: by crew, by job and by week."), made,
    (("crew", gettext_lazy("Crew")), ("job", gettext_lazy("Job")), ("week", gettext_lazy("Week")),
     ("crew-week", gettext_lazy("Crew, week by week")), ("job-week", gettext_lazy("Job, week by week"))),
    may="read hours")
