"""Sheets to print: PDF, on the paper one has."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from dashboard.sheets import material as material_sheet
from dashboard.sheets import opening as opening_sheet
from dashboard.sheets import site_report, wall
from dashboard.sheets.typeset import PAPERS, typeset
from dashboard.views.pages import opening_of, page
from jobs.models import Opening
from units.models import Unit


@require_safe
@page
def opening_sheet_pdf(request: HttpRequest, opening_id: int, paper: str) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    address = request.build_absolute_uri(reverse("opening", args=[opening.pk]))
    shown = opening_sheet.shown(opening, request.act, request.reader, request.office.company, address)
    return _pdf("opening", shown, paper, f"{opening.job.number} {opening.tag}")


@require_safe
@page
def site_report_pdf(request: HttpRequest, opening_id: int, paper: str) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    shown = site_report.shown(opening, request.act, request.reader, request.office)
    return _pdf("site-report", shown, paper, f"{opening.job.number} {opening.tag} site report")


@require_safe
@page
def wall_sheet_pdf(request: HttpRequest, opening_id: int, paper: str) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    shown = wall.shown(opening, request.act, request.reader, request.office.company)
    return _pdf("wall", shown, paper, f"{opening.job.number} {opening.tag} wall")


@require_safe
@page
def material_sheet_pdf(request: HttpRequest, job_id: int, paper: str) -> HttpResponse:
    """Of the openings this person may see."""
    act = request.act
    units = list(Unit.objects.filter(opening__in=Opening.objects.filter(job=job_id).visible_to(
        act.user, act.role, act.today())).select_related("opening__job", "system").order_by("opening__tag"))
    if not units:
        raise Http404("There is no unit in this job among yours.")
    job = units[0].opening.job
    shown = material_sheet.shown(job, units, act, request.reader, request.office.company)
    return _pdf("material", shown, paper, f"{job.number} material")


def _pdf(sheet: str, shown: Mapping[str, Any], paper: str, named: str) -> HttpResponse:
    if paper not in PAPERS:
        raise Http404("There is paper of two sizes: letter and a4.")
    answer = HttpResponse(typeset(sheet, shown, paper), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{(slugify(named) or sheet)[:80]}.pdf"'
    return answer
