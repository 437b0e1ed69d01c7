"""Openings by stage over time."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import words
from dashboard.drawings import strips
from dashboard.reports.report import Drawn, Ground, Made, Report
from dashboard.reports.table import DAY, Column, Row, Table
from inspections.services.reporting import openings_over_time
from jobs.stages import ORDER


def made(ground: Ground) -> Made:
    periods, reader = ground.asked.periods, ground.reader
    stands = openings_over_time(ground.scope, periods, reader.zone)
    columns = (Column("end", _("At the end of"), DAY), *(Column(s.name.lower(), words.stage(s.value)) for s in ORDER),
               Column("all", _("All")))
    rows = tuple(Row((period.last, *(one[s] for s in ORDER), sum(one.values())))
                 for period, one in zip(periods, stands, strict=True))
    counts = [(words.stage(stage.value), [one[stage] for one in stands]) for stage in ORDER]
    days = [reader.short(period.last) for period in periods]
    plot = Drawn("stages", _("Openings by stage over time"), _desc(ground, counts), *(
        strips.strips(counts, periods, days, paper) for paper in (strips.WIDE, strips.SLIM)))
    return Made(Table(columns, rows).stands_by(ground.asked.sort, "end"), [plot], _(
        "One strip a stage, a step a period, all to one scale; only the accepted, which grow without end, have a scale "
        "of their own. As the record stood at the end of each day, by your clock."))


def _desc(ground: Ground, counts: list[tuple[str, list[int]]]) -> str:
    """The first and the last of each, in words."""
    said = "; ".join(_("%(stage)s from %(first)d to %(last)d") % {
        "stage": name, "first": values[0], "last": values[-1]} for name, values in counts if values)
    return _("From %(first)s to %(last)s: %(said)s. Every number is in the table below.") % {
        "first": ground.reader.whole_day(ground.asked.first), "last": ground.reader.whole_day(ground.asked.last),
        "said": said}


STAGES = Report("openings-by-stage", gettext_lazy("Openings by stage over time"), gettext_lazy(
    "How many openings stood at each stage, day by day or week by week, and where they pile up."), made, each=True)
