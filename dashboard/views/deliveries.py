"""A job's deliveries in few words; one delivery by itself, with what it brings and stops; and receiving it."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from dashboard import words
from dashboard.forms.acts import after
from dashboard.forms.receiving import MOST_PARTS, ReceivingSheet
from dashboard.measures import Reader
from dashboard.opening.material import came_words, part_size, part_state
from dashboard.views.opening_acts import UNREADABLE, unreadable
from dashboard.views.pages import Told, may_read_contacts, page
from inspections.models import Photo
from inspections.services.deliveries import put_off, receive_delivery, stopped_by
from inspections.services.parts import MAY, RECEIVE
from inspections.services.photos import store_photo
from jobs.acts import Act, carry_out
from jobs.errors import AlreadyHasOther, Invalid, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Delivery, Job, OfficeSettings, Opening
from jobs.models.base import new_id
from jobs.roles import Reach, reach
from jobs.services.access import require
from units.models import Part, PartArrival

LATER = (1, 7, 14)  # days


@dataclass(frozen=True, slots=True)
class DeliveryLine:
    pk: int
    version: int
    what: str
    when: str
    late: str
    condition: str
    brings: tuple[str, ...]  # by opening, in few words
    lacks: tuple[str, ...]
    stops: tuple[str, ...]
    receive: bool
    later: tuple[tuple[str, str], ...]  # the days it may come instead


@dataclass(frozen=True, slots=True)
class PartLine:
    opening: str
    name: str
    size: str
    state: str
    lacks: bool
    said: tuple[str, ...]
    photos: tuple[Photo, ...]


@dataclass(frozen=True, slots=True)
class Other:
    """Another day it comes, as it was typed, and what would be right."""

    typed: str
    error: str


# ---- in few words ----------------------------------------------------------------------------------------


def delivery_lines(act: Act, openings: QuerySet[Opening], job: Job, reader: Reader) -> list[DeliveryLine]:
    """`openings`: those of the job this person may see; of others nothing is said."""
    found = list(Delivery.objects.filter(job=job).prefetch_related("openings"))
    parts = _parts([one.pk for one in found], openings)
    stops = stopped_by([one.pk for one in found], openings)
    own, days = (_receivable(act, job.pk), OfficeSettings.current().working_days) if found else (set(), "")
    return [_line(one, parts.get(one.pk, []), stops.get(one.pk, []), reader, act=act, own=own,
                  today=act.today(job.time_zone), working=days) for one in found]


def _parts(deliveries: list[int], openings: QuerySet[Opening]) -> dict[int, list[Part]]:
    found: dict[int, list[Part]] = {}
    for part in Part.objects.filter(delivery__in=deliveries, unit__opening__in=openings).select_related(
            "panel", "unit__opening").order_by("unit__opening__tag", "pk"):
        found.setdefault(part.delivery_id, []).append(part)
    return found


def _receivable(act: Act, job_id: int) -> set[int]:
    return set(Opening.objects.filter(job=job_id).open_to(RECEIVE, act.user, act.role, act.today())
               .values_list("pk", flat=True))


def _may(act: Act, one: Delivery, parts: Sequence[Part], own: set[int]) -> bool:
    """Offered where it may be done, as far as this page knows; the act itself decides."""
    how_far = reach(act.role, RECEIVE)
    named = {o.pk for o in one.openings.all()} | {part.unit.opening_id for part in parts}
    return how_far is Reach.ALL or (how_far is not None and bool(named & own))


def _line(one: Delivery, parts: list[Part], stops: list[dict[str, Any]], reader: Reader, *, act: Act, own: set[int],
          today: dt.date, working: str) -> DeliveryLine:
    lacking = [part for part in parts if part.missing]
    brings: dict[str, int] = {}
    for part in parts:
        brings[part.unit.opening.tag] = brings.get(part.unit.opening.tag, 0) + 1
    return DeliveryLine(
        one.pk, one.version, one.what, _when(one, reader), _late(one, today), one.condition,
        tuple(ngettext("%(count)d part of %(tag)s", "%(count)d parts of %(tag)s", count) % {"tag": tag, "count": count}
              for tag, count in brings.items()),
        tuple(f"{part.unit.opening.tag}, {part.name}: {part_state(part)}" for part in lacking), stopped_lines(stops),
        _may(act, one, parts, own) and (one.received_at is None or bool(lacking)),
        _later_days(one, reader, act, today, working))


def _when(one: Delivery, reader: Reader) -> str:
    if one.received_at is not None:
        return _("came %s") % reader.day(one.received_at)
    return _("expected %s") % reader.whole_day(one.expected_day) if one.expected_day else _("no day named")


def _day(one: Delivery, reader: Reader) -> str:
    if one.received_at is not None:
        return reader.moment(one.received_at)
    return reader.whole_day(one.expected_day) or _("no day named")


def _late(one: Delivery, today: dt.date) -> str:
    if one.received_at is not None or one.expected_day is None or one.expected_day >= today:
        return ""
    days = (today - one.expected_day).days
    return _("a day late") if days == 1 else _("%d days late") % days


def stopped_lines(stops: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Of each opening the first work that cannot begin; what comes after it waits with it."""
    return tuple(_("%(tag)s: %(stage)s cannot begin") % {
        "tag": row["opening_tag"], "stage": words.stage(row["work_steps"][0]["stage"]).lower()}
        for row in stops if row["work_steps"])


def _later_days(one: Delivery, reader: Reader, act: Act, today: dt.date, working: str) -> tuple[tuple[str, str], ...]:
    """From the day it was to come, or from today where that is over; on days the office works."""
    if one.received_at is not None or reach(act.role, MAY) is None:
        return ()
    start = max(one.expected_day or today, today)
    found = dict.fromkeys(_worked(start + dt.timedelta(days=days), working) for days in LATER)
    return tuple((day.isoformat(), reader.day(day)) for day in found)


def _worked(day: dt.date, working: str) -> dt.date:
    off = next((n for n in range(7) if working[(day.weekday() + n) % 7:][:1] == "1"), 0)
    return day + dt.timedelta(days=off)


# ---- one by itself ---------------------------------------------------------------------------------------


@require_safe
@page
def delivery_page(request: HttpRequest, delivery_id: int) -> HttpResponse:
    return _shown(request, _found(request, delivery_id), None)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def receive_delivery_page(request: HttpRequest, delivery_id: int) -> HttpResponse:
    delivery = _found(request, delivery_id)
    if request.method != "POST":  # the address of a refusal, opened again
        return redirect("delivery", delivery.pk)
    sheet = _sheet(request, delivery, request.POST)
    came = sheet.came()
    if came is None:
        return _shown(request, delivery, sheet, _slips(sheet), UNREADABLE)
    try:
        _receive(request.act, delivery, sheet, came)
    except NotThere:
        raise
    except Refusal as why:
        return _refused(request, delivery, sheet, why)
    messages.success(request, _("Received: %s") % delivery.what)
    return redirect("delivery", delivery.pk)


def _found(request: HttpRequest, delivery_id: int) -> Delivery:
    act = request.act
    delivery = Delivery.objects.select_related("job", "supplier", "received_by").prefetch_related("openings").filter(
        pk=delivery_id).first()
    if delivery is None or not (reach(act.role, "read") is Reach.ALL or _visible(act, delivery).exists()):
        raise Http404("There is no such delivery among yours.")
    return delivery


def _visible(act: Act, delivery: Delivery) -> QuerySet[Opening]:
    return Opening.objects.visible_to(act.user, act.role, act.today()).filter(job=delivery.job_id)


def _receive(act: Act, delivery: Delivery, sheet: ReceivingSheet, came: list[dict[str, Any]]) -> None:
    """With its photos, or not at all."""
    with carry_out(act):
        receive_delivery(act, delivery.pk, condition=sheet.text("condition"), parts=came, version=sheet.version)
        said = {one["part_id"] for one in came}
        for part, photo in sheet.photos:
            if part.pk in said:
                _keep_photo(act, sheet, part, photo.read())


def _keep_photo(act: Act, sheet: ReceivingSheet, part: Part, data: bytes) -> None:
    arrival = sheet.entry_of(part)
    caption = f"{part.name}: {sheet.text(f'note.{part.pk}') or _('as it came')}"[:240]
    try:
        store_photo(act, part.unit.opening_id, data, about="part-arrival", about_id=arrival, caption=caption,
                    entry_id=after(arrival))
    except Invalid as why:
        why.fields = {f"photo.{part.pk}": why.detail}
        raise


def _sheet(request: HttpRequest, delivery: Delivery, typed: Any = None) -> ReceivingSheet:
    """Those parts this person may speak of, as they stand now."""
    act, reader = request.act, request.reader.at(delivery.job.time_zone)
    parts = _spoken_of(act, delivery, typed)
    arrivals = _arrivals(parts)
    if typed is None:
        return ReceivingSheet(parts, reader, arrivals, version=delivery.version)
    return ReceivingSheet(parts, reader, arrivals, typed=typed, files=request.FILES, entry=_entry(typed.get("entry")),
                          version=_number(typed.get("version")))


def _spoken_of(act: Act, delivery: Delivery, typed: Any) -> list[Part]:
    own = Opening.objects.filter(job=delivery.job_id).open_to(RECEIVE, act.user, act.role, act.today())
    parts = Part.objects.filter(delivery=delivery, unit__opening__in=own).select_related(
        "panel", "unit__opening").order_by("unit__opening__tag", "pk")
    if typed is None:
        return list(parts.lacking()[:MOST_PARTS])
    return [part for part in parts if f"seen.{part.pk}" in typed][:MOST_PARTS]


def _arrivals(parts: Iterable[Part]) -> dict[int, list[PartArrival]]:
    found: dict[int, list[PartArrival]] = {}
    for one in PartArrival.objects.filter(part__in=[part.pk for part in parts]).select_related("by", "delivery"):
        found.setdefault(one.part_id, []).append(one)
    return found


def _entry(text: str | None) -> uuid.UUID:
    try:
        return uuid.UUID(text or "")
    except ValueError:
        return new_id()


def _number(text: str | None) -> int:
    return int(text) if text and text.isascii() and text.isdecimal() and len(text) < 10 else 0


def _slips(sheet: ReceivingSheet) -> Told:
    if not sheet.too_many:
        return unreadable()
    return Told(_("More than is lacking"), _("Nothing is stored yet. Put the count right, or say at the part that so "
                                             "many came; what you typed is still there."))


def _refused(request: HttpRequest, delivery: Delivery, sheet: ReceivingSheet, why: Refusal) -> HttpResponse:
    """What was typed stays; what the others said meanwhile stands beside it."""
    now, typed = _found(request, delivery.pk), request.POST.copy()
    if isinstance(why, AlreadyHasOther):
        typed["entry"] = str(new_id())
    again = _sheet(request, now, typed)
    again.version = now.version
    again.errors = {name: _(right) for name, right in why.fields.items()}
    again.too_many = sheet.too_many
    told = _meanwhile(request, now) if isinstance(why, SomeoneWasFaster) else Told.of(why, request.reader)
    return _shown(request, now, again, told, why.status)


def _meanwhile(request: HttpRequest, now: Delivery) -> Told:
    reader = request.reader.at(now.job.time_zone)
    if now.received_at is None:
        said = _("The office changed this delivery meanwhile.")
    else:
        said = _("%(who)s received it meanwhile, %(when)s.") % {
            "who": now.received_by, "when": reader.moment(now.received_at)}
    return Told(_("Somebody was faster"), said + " " + _(
        "What was said of each part stands beside it now; what you typed is still there. Put it right, then send it."))


def _shown(request: HttpRequest, delivery: Delivery, sheet: ReceivingSheet | None, told: Told | None = None,
           status: int = 200, other: Other | None = None) -> HttpResponse:
    act, reader = request.act, request.reader.at(delivery.job.time_zone)
    openings = _visible(act, delivery)
    parts = _parts([delivery.pk], openings).get(delivery.pk, [])
    may = _may(act, delivery, parts, _receivable(act, delivery.job_id))
    open_still = delivery.received_at is None or any(part.missing for part in parts)
    if may and sheet is None and open_still:
        sheet = _sheet(request, delivery)
    today = act.today(delivery.job.time_zone)
    return render(request, "dashboard/delivery.html", {
        "delivery": delivery, "here": "jobs", "told": told, "sheet": sheet if may else None,
        "when": _day(delivery, reader), "late": _late(delivery, today), "came": delivery.received_at is not None,
        "supplier": delivery.supplier if may_read_contacts(act, delivery.job) else None,
        "stops": stopped_lines(stopped_by([delivery.pk], openings).get(delivery.pk, [])),
        "parts": len(parts), "lines": _part_lines(parts, reader) if sheet is None or told or any(
            part.looked_through or not part.missing for part in parts) else [],
        "lacking": sum(bool(part.missing) for part in parts),
        "shown_first": MOST_PARTS if sheet is not None and len(sheet.parts) == MOST_PARTS else 0,
        "may_plan": reach(act.role, MAY) is not None, "other": other,
        "later": _later_days(delivery, reader, act, today, request.office.working_days)}, status=status)


def _part_lines(parts: Sequence[Part], reader: Reader) -> list[PartLine]:
    arrivals = _arrivals(parts)
    about = {str(one.pk): one.part_id for found in arrivals.values() for one in found}
    photos: dict[int, list[Photo]] = {}
    for photo in Photo.objects.filter(about="part-arrival", about_id__in=list(about)).order_by("taken_at", "pk"):
        photos.setdefault(about[photo.about_id], []).append(photo)
    return [PartLine(part.unit.opening.tag, part.name, part_size(part, reader) or "1", part_state(part),
                     bool(part.missing), tuple(came_words(one, reader) for one in arrivals.get(part.pk, ())),
                     tuple(photos.get(part.pk, ()))) for part in parts]


# ---- it comes later --------------------------------------------------------------------------------------


@require_POST
@page
def put_off_page(request: HttpRequest, delivery_id: int) -> HttpResponse:
    """One of the days that are offered, or one that is typed."""
    delivery = _found(request, delivery_id)
    require(request.act, MAY)
    typed = request.POST.get("day") or request.POST.get("other", "")
    try:
        day = dt.date.fromisoformat(typed)
    except ValueError:
        return _shown(request, delivery, None, unreadable(), UNREADABLE,
                      other=Other(typed, _("a day such as 2026-03-31")))
    try:
        put_off(request.act, delivery.pk, day, version=_number(request.POST.get("version")))
    except Refusal as why:
        return _shown(request, _found(request, delivery.pk), None, Told.of(why, request.reader), why.status,
                      other=Other(typed, _(why.fields.get("day", ""))))
    messages.success(request, _("%(what)s: expected %(day)s.") % {
        "what": delivery.what, "day": request.reader.whole_day(day)})
    return redirect("delivery", delivery.pk)
