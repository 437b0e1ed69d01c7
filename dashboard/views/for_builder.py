"""The builder's page: one opening's site report, for whoever has its address. No account, no session, no cookie."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from functools import wraps
from typing import Any

import segno
from django.conf import settings
from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.db import DataError, IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from dashboard.address import client_address
from dashboard.forms.builders_link import CorrectedForm
from dashboard.measures import Reader
from dashboard.sheets import site_report
from dashboard.views.opening_acts import UNREADABLE
from dashboard.views.pages import opening_of, page
from dashboard.written import written_for
from inspections.imaging import MOST_BYTES
from inspections.models import BuilderLink
from inspections.services import builders_link
from jobs.acts import Act
from jobs.calc.verdict import BadInput
from jobs.errors import AlreadyHasOther, Gone, NotThere, Refusal
from jobs.models import OfficeSettings
from jobs.models.base import new_id
from jobs.rest.throttles import MINUTE, counted
from jobs.services.access import require

TOO_LARGE = (RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent)
UNITS = {"in": "mm", "mm": "in"}
SHUT = {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer",
        "X-Robots-Tag": "noindex, nofollow, noarchive, nosnippet"}


def by_address(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Answered in English, with dates as the browser asks for them; kept by nobody, found by no search; each address
    so many times a minute."""
    @wraps(view)
    def shown(request: HttpRequest, token: str) -> HttpResponse:
        with translation.override("en"), written_for(request.headers.get("Accept-Language", "")):
            rate = "builder-reports" if request.method == "POST" else "builder-pages"
            if counted(f"{rate}:{client_address(request)}", 1) > settings.RATES[rate]:
                answer = _told(request, _("Too often in one minute"), _("Wait a minute, then open it again."), 429)
                answer["Retry-After"] = str(max(1, round(MINUTE - time.time() % MINUTE)))
            else:
                answer = _answered(view, request, token)
        for name, value in SHUT.items():
            answer[name] = value
        return answer
    return shown


def _answered(view: Callable[..., HttpResponse], request: HttpRequest, token: str) -> HttpResponse:
    try:
        return view(request, token)
    except NotThere:
        return _told(request, _("This address opens nothing"), _(
            "Perhaps a letter of it was lost on the way. Open it again from the message it came in, or ask for a new "
            "one."), 404)
    except Gone as why:
        return _told(request, *_gone(why), why.status, _typed(request))
    except TOO_LARGE:
        return _told(request, _("That is too large"), _("Go back, and send one photo of at most %d MB.") % (
            MOST_BYTES // 2**20), 413)
    except (IntegrityError, DataError, OperationalError):
        return _told(request, _("Not done"), _("Too much at once. Nothing was kept; send it again."), 503)


def _typed(request: HttpRequest) -> str:
    """What somebody had written when the link ended: they need not write it again."""
    try:
        return request.POST.get("note", "").strip()[:builders_link.LONGEST_NOTE]
    except TOO_LARGE:
        return ""


def _gone(why: Gone) -> tuple[str, str]:
    if why.code == builders_link.EXPIRED:
        until = Reader().whole_day(dt.date.fromisoformat(why.fields["until"]))
        return _("This link has ended"), _("It held until the end of %s. Ask for a new one.") % until
    if why.code == builders_link.READ_AGAIN:
        return _("The opening was read again since"), _(
            "What stood here no longer holds. Ask what was read, and for a new link if something is left to do.")
    return _("This link was taken back"), _("It opens nothing any more. Ask for a new one.")


def _told(request: HttpRequest, title: str, detail: str, status: int, typed: str = "") -> HttpResponse:
    return render(request, "dashboard/for_the_builder_told.html", {
        "title": title, "detail": detail, "office": OfficeSettings.current(), "typed": typed}, status=status)


# No cookie goes with the form: whoever has the address may send it, and nobody else can.
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
@by_address
def for_the_builder_page(request: HttpRequest, token: str) -> HttpResponse:
    now = timezone.now()
    link = builders_link.link_of(token, now)
    if request.method == "POST":
        return _reported(request, link, token, now)
    if request.method == "GET":
        builders_link.note_opened(link, now)
    return _report(request, link, now, CorrectedForm(initial={"entry": new_id()}))


def _reported(request: HttpRequest, link: BuilderLink, token: str, now: dt.datetime) -> HttpResponse:
    form = CorrectedForm(request.POST, request.FILES)
    if not form.is_valid():
        return _report(request, link, now, form, UNREADABLE)
    sent = form.cleaned_data
    try:
        if sent["photo"] and sent["photo"].size > MOST_BYTES:
            raise BadInput("photo", "", _("at most %d MB") % (MOST_BYTES // 2**20))
        builders_link.report_corrected(token, now, note=sent["note"].strip(), entry_id=sent["entry"],
                                       picture=sent["photo"].read() if sent["photo"] else b"")
    except (NotThere, Gone):
        raise
    except BadInput as why:
        form.add_error(why.field, why.right)
        return _report(request, link, now, form, UNREADABLE)
    except Refusal as why:
        return _report(request, link, now, _with(form, why), why.status)
    return redirect(f"{request.path}?units={_units(request)}#said")


def _with(form: CorrectedForm, why: Refusal) -> CorrectedForm:
    """What would be right at its field; at the top, where it is no field of the form."""
    form.add_error(None, _(why.detail))
    for name, right in why.fields.items():
        form.add_error("note" if name == "note" else "photo", right)
    if isinstance(why, AlreadyHasOther):  # what was sent first stays: this would be a report of its own
        form.data = form.data.copy()
        form.data["entry"] = str(new_id())
    return form


def _units(request: HttpRequest) -> str:
    asked = request.GET.get("units", "in")
    return asked if asked in UNITS else "in"


def _report(request: HttpRequest, link: BuilderLink, now: dt.datetime, form: CorrectedForm,
            status: int = 200) -> HttpResponse:
    units = _units(request)
    reader = Reader(units, dt.UTC, now.year).at(link.opening.job.time_zone)
    said = [{"when": reader.moment(r.at), "note": r.note, "photo": r.photo_id is not None} for r in link.reports.all()]
    return render(request, "dashboard/for_the_builder.html", {
        "opening": link.opening, "office": (office := OfficeSettings.current()), "form": form, "said": said,
        "until": reader.whole_day(builders_link.last_day(link)), "in_inches": units == "in",
        "action": f"{request.path}?units={units}", "other_units": f"{request.path}?units={UNITS[units]}",
        **site_report.on_a_page(link.opening, reader, office)}, status=status)


# ---- where we see the address -----------------------------------------------------------------------------


@require_safe
@page
def builder_link_page(request: HttpRequest, opening_id: int, link_id: Any) -> HttpResponse:
    """The address to be sent, and as a code to be read by a telephone: for those who may make one."""
    opening = opening_of(request.act, opening_id)
    act: Act = request.act
    require(act, builders_link.MAY_KEEP, opening)
    link = builders_link.told_whether_read_again().filter(pk=link_id, opening=opening).select_related("by").first()
    if link is None:
        raise Http404("There is no such link.")
    link.opening = opening
    address = request.build_absolute_uri(reverse("for-the-builder", args=[builders_link.token_of(link)]))
    holds = not builders_link.why_ended(link, act.now)
    answer = render(request, "dashboard/builder_link.html", {
        "opening": opening, "link": link, "holds": holds, "here": "jobs", "address": address if holds else "",
        "code": _code(address) if holds else "",
        "until": request.reader.whole_day(builders_link.last_day(link))})
    answer["Cache-Control"] = "no-store"
    return answer


def _code(address: str) -> str:
    """Dark on light with its margin, by night as well: a telephone reads no other."""
    return segno.make(address, error="m").svg_data_uri(scale=5, border=4, dark="#000", light="#fff")
