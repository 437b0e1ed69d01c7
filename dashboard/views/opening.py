"""One opening: its drawing, its stages and what each stood on, the next gate with every reason, and all its records."""

from __future__ import annotations

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from dashboard import phrases
from dashboard.forms.acts import ActForm
from dashboard.opening.lists import Lists
from dashboard.opening.sheet import OpeningSheet
from dashboard.views.pages import Told, opening_of, page
from jobs.models import Opening
from jobs.roles import reach
from jobs.stages import Stage

ASSIGN = "keep office records"  # what giving work to a crew asks for


@require_safe
@page
def opening_page(request: HttpRequest, opening_id: int) -> HttpResponse:
    return show_opening(request, opening_of(request.act, opening_id))


def show_opening(request: HttpRequest, opening: Opening, *, told: Told | None = None, status: int = 200,
                 bound: Sequence[ActForm] = (), keep: ActForm | None = None) -> HttpResponse:
    """The page; with what was refused, and the form as it was typed."""
    before = request.GET.get("before", "")
    came_back = {form.key: form for form in bound}
    sheet = OpeningSheet.of(request, opening, bound=came_back,
                            lists=Lists.asked(request, reverse("opening", args=[opening.pk]), came_back),
                            before=int(before) if before.isdecimal() and len(before) < 19 else None,
                            all="all" in request.GET, at=request.GET.get("at", ""))
    return render(request, "dashboard/opening.html", {
        "o": sheet, "opening": opening, "told": told, "keep": keep, "here": "jobs",
        "may_assign": reach(request.act.role, ASSIGN) is not None and opening.stage != Stage.ACCEPTED.value,
        "caution": phrases.LIFTING_CAUTION}, status=status)
