"""Taking in a copy of a telephone's outbox."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from dashboard import phrases
from dashboard.site.copies import Became, counted, read_copy, take_in_copy
from dashboard.views.opening_acts import UNREADABLE
from dashboard.views.pages import Told, page
from jobs.errors import Invalid
from jobs.services.access import require

MAY = "keep office records"


@require_http_methods(["GET", "HEAD", "POST"])
@page
def site_copies_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)
    if request.method != "POST":
        return render(request, "dashboard/site_copies.html", {"here": "people"})
    sent = request.FILES.get("copy")
    try:
        if sent is None:
            raise Invalid(_("Choose the file first."), fields={"copy": _("the file that was kept on the telephone")})
        copy = read_copy(sent.read())
        became = take_in_copy(request.act, copy)
    except Invalid as why:
        return render(request, "dashboard/site_copies.html", {
            "here": "people", "told": Told.of(why, request.reader), "error": why.fields.get("copy", "")},
            status=UNREADABLE)
    counts = [(str(phrases.TAKEN_IN.get(result, result)), n) for result, n in counted(became).items()]
    return render(request, "dashboard/site_copies.html", {
        "here": "people", "person": copy.person, "counts": counts, "lines": [_line(one) for one in _first(became)]})


def _first(became: list[Became]) -> list[Became]:
    """What has to be looked at, before what went in."""
    return sorted(became, key=lambda one: ("refused", "recorded, not advanced").index(one.result) if one.result in (
        "refused", "recorded, not advanced") else 2)[:500]


def _line(one: Became) -> tuple[str, str, str]:
    return one.what, str(phrases.TAKEN_IN.get(one.result, one.result)), one.why
