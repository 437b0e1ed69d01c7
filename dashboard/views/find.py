"""Finding the unit somebody calls about, from whatever they have of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from dashboard import phrases, words
from dashboard.drawings import record
from dashboard.drawings.elevation import Elevation, small
from dashboard.drawings.said import drawing_words
from dashboard.views.pages import page
from inspections.models import Acceptance, Callback
from jobs.models import Opening
from jobs.roles import reach
from jobs.services.finding import LONGEST, look_up, may_find_by_contacts
from jobs.stages import Stage


@dataclass(frozen=True, slots=True)
class Found:
    opening: Opening
    drawing: Elevation
    said: str
    stage: str
    accepted: str
    warranty: str
    call: Callback | None
    called: str
    severity: str

    @property
    def key(self) -> str:
        return f"d-{self.opening.pk}"


@require_safe
@page
def find_page(request: HttpRequest) -> HttpResponse:
    typed = request.GET.get("q", "").replace("\x00", "").strip()[:LONGEST]
    found = look_up(request.act, typed, request.office.holiday_region)
    rows = _rows(request, found.openings)
    near = [row.opening.pk for row in rows if row.opening.pk in found.near]
    all_near = bool(rows) and len(near) == len(rows)
    return render(request, "dashboard/find.html", {
        "q": typed, "longest": LONGEST, "rows": rows, "all_near": all_near,
        "first_near": near[0] if near and not all_near else None, "here": "find",
        "contacts": may_find_by_contacts(request.act),
        "calls": reach(request.act.role, "log a callback") is not None})


def _rows(request: HttpRequest, keys: Sequence[int]) -> list[Found]:
    """In the order they were found; read in a fixed number of statements."""
    if not keys:
        return []
    openings = Opening.objects.visible_to(request.act.user, request.act.role, request.act.today()).select_related(
        "job__owner", "unit").in_bulk(list(keys))
    accepted = {one.opening_id: one for one in Acceptance.objects.filter(
        opening__in=openings, change__advanced=True).order_by("taken_at")}
    called = {one.opening_id: one for one in Callback.objects.filter(opening__in=openings).order_by("called_at", "pk")}
    drawn = record.built(openings.values())
    widest = max((built.whole_width for built in drawn.values()), default=1)
    return [_found(request, openings[pk], small(drawn[pk], widest), drawing_words(drawn[pk]), accepted.get(pk),
                   called.get(pk)) for pk in keys if pk in openings]


def _found(request: HttpRequest, opening: Opening, drawing: Elevation, said: str, accepted: Acceptance | None,
           call: Callback | None) -> Found:
    reader = request.reader.at(opening.job.time_zone)
    stands = accepted is not None and opening.stage == Stage.ACCEPTED
    return Found(
        opening, drawing, said, words.stage(opening.stage), reader.day(accepted.taken_at) if stands else "",
        reader.whole_day(accepted.warranty_from) if stands else "", call,
        "" if call is None else reader.day(call.called_at),
        "" if call is None else str(phrases.SEVERITIES[call.severity]))
