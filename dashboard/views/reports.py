"""Reports: the list of them, each on its page, and the rows behind it as a file."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from dashboard.reports.asked import NAMES, Asked
from dashboard.reports.files import CSV, TYPES, XLSX, written
from dashboard.reports.known import REPORTS
from dashboard.reports.report import Ground, Made, Report
from dashboard.reports.table import MOST_ROWS
from dashboard.views.opening_acts import UNREADABLE
from dashboard.views.pages import page
from inspections.services.reporting import crews_of, scope_of
from jobs.acts import Act
from jobs.calc.over_time import DAY, WEEK
from jobs.roles import reach
from jobs.services.access import require


@require_safe
@page
def reports_page(request: HttpRequest) -> HttpResponse:
    return render(request, "dashboard/reports.html", {"reports": _for(request.act), "here": "reports"})


@require_safe
@page
def report_page(request: HttpRequest, key: str) -> HttpResponse:
    report, asked = _asked(request, key)
    context: dict[str, Any] = {
        "report": report, "reports": _for(request.act), "asked": asked, "here": "reports",
        "ways": [(way, str(said)) for way, said in asked.ways], "crews": asked.crews,
        "eaches": [(DAY, _("day")), (WEEK, _("week"))] if report.each else [],
        "values": {name: asked.shown(name) for name in NAMES if name != "sort"}}
    if not asked.errors:
        context.update(_shown(report.make(_ground(request, asked)), request, asked))
    return render(request, "dashboard/report.html", context, status=UNREADABLE if asked.errors else 200)


def _shown(made: Made, request: HttpRequest, asked: Asked) -> dict[str, Any]:
    table, count = made.table, len(made.table.rows)
    return {"made": made, "rows": table.shown(request.reader), "total": table.total_shown(request.reader),
            "headings": [(heading, asked.sorted(heading.asks)) for heading in table.headings],
            "left_out": {"shown": MOST_ROWS, "all": count} if count > MOST_ROWS else None,
            "file_query": asked.sorted(table.by), "kinds": [(CSV, "CSV"), (XLSX, "XLSX")]}


@require_safe
@page
def report_file(request: HttpRequest, key: str, kind: str) -> HttpResponse:
    report, asked = _asked(request, key)
    if kind not in TYPES:
        raise Http404("There are files of two kinds: csv and xlsx.")
    if asked.errors:
        return redirect(f"{reverse('report', args=[key])}?{request.GET.urlencode()}")
    table = report.make(_ground(request, asked)).table
    answer = HttpResponse(written(kind, table, str(report.title), _about(request, report, asked)),
                          content_type=TYPES[kind])
    name = f"{report.key}-{asked.first.isoformat()}-to-{asked.last.isoformat()}.{kind}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _for(act: Act) -> list[Report]:
    return [report for report in REPORTS.values() if reach(act.role, report.may) is not None]


def _asked(request: HttpRequest, key: str) -> tuple[Report, Asked]:
    """What is asked of which report; crews are offered to those who may know who works where."""
    report = REPORTS.get(key)
    if report is None:
        raise Http404("There is no such report.")
    act = request.act
    if reach(act.role, report.may) is None:
        require(act, report.may)
    named = reach(act.role, "read people") is not None
    crews = [(str(pk), name) for pk, name in crews_of(act).order_by("name").values_list("pk", "name")] if named else []
    today = act.now.astimezone(request.reader.zone).date()
    return report, Asked(request.GET.dict(), today, report.ways_for(act), crews)


def _ground(request: HttpRequest, asked: Asked) -> Ground:
    return Ground(request.act, request.reader, asked, scope_of(request.act, crew=asked.crew, job=asked.job))


def _about(request: HttpRequest, report: Report, asked: Asked) -> list[tuple[str, str]]:
    """What somebody who is sent the file has to know of it."""
    crew = dict(asked.crews).get(asked.shown("crew"), "")
    said = [(_("Report"), str(report.title)), (_("From"), asked.first.isoformat()), (_("To"), asked.last.isoformat()),
            (_("By"), str(dict(asked.ways).get(asked.by, ""))), (_("Crew"), crew), (_("Job"), asked.job),
            (_("Of"), str(request.office)), (_("Made"), request.act.now.astimezone(request.reader.zone).isoformat(
                timespec="minutes")), (_("For"), str(request.user))]
    return [(name, value) for name, value in said if value]
