"""Punch items of all openings one may see: whose, by when; and closing one from the list."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from dashboard import words
from dashboard.forms.acts import ActForm, ClosePunchForm, Ground
from dashboard.views.opening_acts import UNREADABLE, unreadable, with_what_was_typed
from dashboard.views.pages import PAGE, Told, opening_of, page
from inspections.models import PunchItem
from jobs.acts import Act
from jobs.errors import Refusal
from jobs.models import Opening, User
from jobs.roles import Reach, reach
from jobs.services.access import require

STATES = ("open", "overdue", "closed")
FILTERS = ("owner", "state", "job")


@dataclass(frozen=True, slots=True)
class Row:
    item: PunchItem
    place: str
    opening: str
    due: str
    overdue: bool
    closed: str
    close: ActForm | None


@dataclass(frozen=True, slots=True)
class Filter:
    """What is asked for; anything that cannot be is as if it were not there."""

    owner: str = ""
    state: str = "open"
    job: str = ""
    after: tuple[dt.date, uuid.UUID] | None = None

    @classmethod
    def of(cls, request: HttpRequest) -> Filter:
        asked = {name: request.GET.get(name, "").strip().replace("\x00", "")[:80] for name in (*FILTERS, "after")}
        owner = asked["owner"] if asked["owner"] == "me" or (asked["owner"].isdecimal() and len(
            asked["owner"]) < 10) else ""
        return cls(owner, asked["state"] if asked["state"] in STATES else "open", asked["job"], _cursor(asked["after"]))

    @property
    def query(self) -> str:
        return urlencode({name: getattr(self, name) for name in FILTERS if getattr(self, name)})


def _cursor(text: str) -> tuple[dt.date, uuid.UUID] | None:
    day, _sep, key = text.partition("~")
    try:
        return dt.date.fromisoformat(day), uuid.UUID(key)
    except ValueError:
        return None


@require_safe
@page
def punch_items_page(request: HttpRequest) -> HttpResponse:
    return _list(request)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def close_punch_item_page(request: HttpRequest, item_id: uuid.UUID) -> HttpResponse:
    if request.method != "POST":  # the address of a refusal, opened again
        return redirect("punch-items")
    item = PunchItem.objects.filter(pk=item_id).first()
    if item is None:
        raise Http404("There is no such punch item.")
    opening = opening_of(request.act, item.opening_id)
    require(request.act, ClosePunchForm.may, opening)
    form = ClosePunchForm({**request.POST.dict(), "item": str(item_id)}, at=Ground(opening))
    if not form.is_valid():
        return _list(request, form, unreadable(), UNREADABLE)
    try:
        said = form.carry_out(request.act, opening)
    except Refusal as why:
        form.take_refusal(why)
        status = why.status
        return with_what_was_typed(form, Told.of(why, request.reader), lambda told: _list(request, form, told, status))
    messages.success(request, f"{opening}: {said}")
    asked = Filter.of(request).query
    return redirect(reverse("punch-items") + (f"?{asked}" if asked else ""))


def _list(request: HttpRequest, form: ActForm | None = None, told: Told | None = None,
          status: int = 200) -> HttpResponse:
    asked = Filter.of(request)
    found = list(_found(request.act, asked)[: PAGE + 1])
    shown = found[:PAGE]
    last = shown[-1] if len(found) > PAGE else None
    return render(request, "dashboard/punch_items.html", {
        "rows": _rows(request, shown, form), "asked": asked, "told": told, "owners": _owners(request.act),
        "states": (("open", _("Open")), ("overdue", _("Overdue")), ("closed", _("Closed"))), "here": "items",
        "reminded": reach(request.act.role, "read reminders") is not None,
        "more": f"{last.due_day.isoformat()}~{last.pk}" if last else ""}, status=status)


def _visible(act: Act) -> QuerySet[PunchItem]:
    openings = Opening.objects.visible_to(act.user, act.role, act.today())
    return PunchItem.objects.filter(opening__in=openings)


def _found(act: Act, asked: Filter) -> QuerySet[PunchItem]:
    rows = _visible(act).select_related("opening__job", "owner", "panel", "closed_by").order_by("due_day", "id")
    if asked.owner:
        rows = rows.filter(owner=act.user if asked.owner == "me" else int(asked.owner))
    rows = rows.exclude(closed_at=None) if asked.state == "closed" else rows.still_open()
    if asked.state == "overdue":
        rows = rows.filter(due_day__lt=act.today())
    if asked.job:
        rows = rows.filter(Q(opening__job__number__icontains=asked.job) | Q(opening__job__title__icontains=asked.job))
    if asked.after:
        day, key = asked.after
        rows = rows.filter(Q(due_day__gt=day) | Q(due_day=day, id__gt=key))
    return rows


def _owners(act: Act) -> list[tuple[str, str]]:
    """Who owns something that one may see."""
    found = User.objects.filter(pk__in=_visible(act).still_open().values("owner")).order_by("name", "pk")
    return [(str(pk), name) for pk, name in found.values_list("pk", "name")]


def _rows(request: HttpRequest, items: list[PunchItem], form: ActForm | None) -> list[Row]:
    mine = _closable(request.act, items)
    return [_row(request, item, form, item.opening_id in mine) for item in items]


def _closable(act: Act, items: list[PunchItem]) -> set[int]:
    """The openings on which this person may close items."""
    openings = {item.opening_id for item in items}
    if reach(act.role, ClosePunchForm.may) is Reach.ALL:
        return openings
    return set(Opening.objects.filter(pk__in=openings).open_to(
        ClosePunchForm.may, act.user, act.role, act.today()).values_list("pk", flat=True))


def _row(request: HttpRequest, item: PunchItem, form: ActForm | None, may: bool) -> Row:
    act, reader = request.act, request.reader.at(item.opening.job.time_zone)
    theirs_only = reach(act.role, ClosePunchForm.may) is Reach.THEIRS and item.owner_id != act.user.pk
    close = None
    if may and not theirs_only and item.closed_at is None:
        fresh = ClosePunchForm.fresh(Ground(item.opening), item=item.pk, version=item.version)
        close = form.on_what_stands(fresh) if form is not None and form.key == fresh.key else fresh
    closed = "" if item.closed_at is None else _("Closed %(day)s: %(how)s") % {
        "day": reader.day(item.closed_at), "how": item.closed_how}
    overdue = item.closed_at is None and item.due_day < act.today(item.opening.job.time_zone)
    return Row(item, words.place(item.place), str(item.opening), reader.day(item.due_day), overdue, closed, close)
