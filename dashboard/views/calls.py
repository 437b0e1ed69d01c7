"""Calls after acceptance: taking one while talking, the open ones worst first, and each with its story."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from dashboard import phrases
from dashboard.calls.page import CallbackSheet
from dashboard.calls.rows import after, lines, visible_calls, with_trips, worst_first
from dashboard.calls.sheet import CallSheet
from dashboard.forms.calls import CallForm, OnCall
from dashboard.opening.lists import Lists
from dashboard.opening.sheet import OpeningSheet
from dashboard.views.opening_acts import UNREADABLE, as_refusal, asked_of, unreadable, with_what_was_typed
from dashboard.views.pages import PAGE, Told, View, opening_of, page
from inspections.models import Callback
from jobs.calc.verdict import BadInput
from jobs.errors import Refusal
from jobs.services.access import require
from jobs.stages import Stage

STATES = ("open", "closed")


# ---- taking a call ---------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@page
def call_page(request: HttpRequest, opening_id: int) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    require(request.act, CallForm.may, opening)
    sheet = OpeningSheet.of(request, opening)
    if request.method != "POST":
        return _call(request, sheet, CallForm.fresh(sheet.ground))
    form = CallForm(request.POST, at=sheet.ground)
    if not form.is_valid():
        return _call(request, sheet, form, unreadable(), UNREADABLE)
    try:
        said = form.carry_out(request.act, opening)
    except Refusal as why:
        form.take_refusal(why)
        told, status = Told.of(why, request.reader), why.status
        sheet = OpeningSheet.of(request, opening_of(request.act, opening_id))  # it may stand elsewhere by now
        return with_what_was_typed(form, told, lambda told: _call(request, sheet, form, told, status))
    messages.success(request, said)
    return redirect("callback", form.made.pk)


def _call(request: HttpRequest, sheet: OpeningSheet, form: CallForm, told: Told | None = None,
          status: int = 200) -> HttpResponse:
    taken = sheet.opening.stage == Stage.ACCEPTED
    lists = Lists.asked(request, reverse("call", args=[sheet.opening.pk]), ())
    return render(request, "dashboard/call.html", {
        "o": sheet, "opening": sheet.opening, "s": CallSheet(sheet, lists, form if taken else None), "told": told,
        "caution": phrases.MEANWHILE_CAUTION, "here": "callbacks"}, status=status)


# ---- the list --------------------------------------------------------------------------------------------


@require_safe
@page
def callbacks_page(request: HttpRequest) -> HttpResponse:
    state = request.GET.get("state", "open")
    state = state if state in STATES else "open"
    rows = with_trips(_of_state(visible_calls(request.act), state))
    last = _last(request)
    found = list((_after(rows, last, state) if last else rows)[: PAGE + 1])
    shown = found[:PAGE]
    return render(request, "dashboard/callbacks.html", {
        "rows": lines(shown, request.reader, request.act), "state": state, "here": "callbacks",
        "more": shown[-1].pk if len(found) > PAGE else ""})


def _of_state(calls: QuerySet[Callback], state: str) -> QuerySet[Callback]:
    if state == "open":
        return worst_first(calls.filter(closed_at=None))
    return calls.exclude(closed_at=None).order_by("-pk")


def _last(request: HttpRequest) -> Callback | None:
    asked = request.GET.get("after", "")
    if not (asked.isascii() and asked.isdecimal() and len(asked) < 19):
        return None
    return visible_calls(request.act).filter(pk=int(asked)).first()


def _after(rows: QuerySet[Callback], last: Callback, state: str) -> QuerySet[Callback]:
    return after(rows, last) if state == "open" else rows.filter(pk__lt=last.pk)


# ---- one of them -----------------------------------------------------------------------------------------


@require_safe
@page
def callback_page(request: HttpRequest, callback_id: int) -> HttpResponse:
    return _callback(request, _call_of(request, callback_id))


def callback_act_page(kind: type[OnCall]) -> View:
    """The page that this form is sent to. Done, it leads back; refused, it shows why, with what was typed."""
    @require_http_methods(["GET", "HEAD", "POST"])
    @page
    def done(request: HttpRequest, callback_id: int) -> HttpResponse:
        call = _call_of(request, callback_id)
        if request.method != "POST":  # the address of a refusal, opened again
            return redirect(asked_of(request, reverse("callback", args=[callback_id])))
        require(request.act, kind.may, call.opening)
        form = kind(request.POST, request.FILES, at=CallbackSheet.of(request, call).ground)
        if not form.is_valid():
            return _callback(request, call, form, unreadable(), UNREADABLE)
        try:
            said = form.carry_out(request.act, call.opening)
        except (Refusal, BadInput) as why:
            refusal = as_refusal(why)
            form.take_refusal(refusal)
            # Read again: what was found at first may not stand any more.
            again = _call_of(request, callback_id)
            return with_what_was_typed(form, Told.of(refusal, request.reader),
                                       lambda told: _callback(request, again, form, told, refusal.status))
        messages.success(request, said)
        return redirect(f"{reverse('callback', args=[callback_id])}#{kind.section}")
    return done


def _call_of(request: HttpRequest, callback_id: int) -> Callback:
    found = with_trips(visible_calls(request.act)).select_related(
        "opening__job__owner", "opening__job__builder", "opening__unit__system", "panel", "taken_by",
        "closed_by").filter(pk=callback_id).first()
    if found is None:
        raise Http404("There is no such callback among yours.")
    return found


def _callback(request: HttpRequest, call: Callback, form: OnCall | None = None, told: Told | None = None,
              status: int = 200) -> HttpResponse:
    sheet = CallbackSheet.of(request, call, form)
    return render(request, "dashboard/callback.html", {
        "c": sheet, "call": call, "opening": call.opening, "told": told, "caution": phrases.MEANWHILE_CAUTION,
        "here": "callbacks"}, status=status)
