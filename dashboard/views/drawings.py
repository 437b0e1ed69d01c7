"""The drawings of an opening: elevation, plan, the sill and the pocket wall cut across, the floor."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from dashboard.opening.drawn import Drawings
from dashboard.opening.sheet import OpeningSheet
from dashboard.views.pages import opening_of, page


@require_safe
@page
def drawings_page(request: HttpRequest, opening_id: int) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    sheet = OpeningSheet.of(request, opening)
    return render(request, "dashboard/drawings.html", {
        "o": sheet, "d": Drawings(sheet), "opening": opening, "here": "jobs"})
