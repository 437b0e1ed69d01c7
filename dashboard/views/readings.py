"""Readings: the sheet they are entered on, and the verdict on them."""

from __future__ import annotations

import re
import uuid
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from dashboard import words
from dashboard.drawings.profile import SLIM, WIDE, plot
from dashboard.forms.acts import WaitForm
from dashboard.forms.sheets import SHEETS, Field, Filling, Sheet, Typed, is_blank, read, sheet_for, where_read
from dashboard.measures import Reader
from dashboard.opening.heights import highest_said, worked_heights
from dashboard.opening.read import name_of, reading_words, value_of
from dashboard.opening.said import plan_words
from dashboard.opening.sheet import OpeningSheet
from dashboard.views.opening_acts import UNREADABLE, unreadable
from dashboard.views.pages import Told, opening_of, page
from inspections.calc import floor
from inspections.models import Inspection, Reading
from inspections.services.datums import unit_of
from inspections.services.inspecting import record_inspection
from inspections.services.judging import correction_of
from inspections.services.waits import who_owes
from jobs.calc.verdict import BadInput
from jobs.errors import AlreadyHasOther, NotThere, Refusal
from jobs.models import Opening
from jobs.models.base import new_id
from jobs.services.access import require

FORECAST_HOUR = re.compile(r"forecast\[\d+\]\.at")


@require_http_methods(["GET", "HEAD", "POST"])
@page
def readings_page(request: HttpRequest, opening_id: int, key: str) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    require(request.act, "record readings", opening)
    if key not in SHEETS:
        raise Http404("There is no such sheet.")
    sheet = SHEETS[key]
    if request.method != "POST":
        return _sheet(request, opening, sheet, _filling(request, opening, request.GET.get("place", "")), str(new_id()))
    filling = _filling(request, opening, request.POST.get("place", ""), request.POST)
    entry = request.POST.get("entry", "")
    if request.POST.get("more"):  # more rows, please: nothing is recorded yet
        return _sheet(request, opening, sheet, filling, entry)
    return _recorded(request, opening, sheet, filling, entry)


def _filling(request: HttpRequest, opening: Opening, place: str, typed: Mapping[str, str] | None = None) -> Filling:
    unit = unit_of(opening)
    panels = [] if unit is None else list(unit.panels.order_by("hanging_order", "letter"))
    return Filling(opening, panels, request.reader.at(opening.job.time_zone), typed, place=place[:20],
                   now=request.act.now)


def _recorded(request: HttpRequest, opening: Opening, sheet: Sheet, filling: Filling, entry: str) -> HttpResponse:
    offered = dict(where_read(sheet, filling))
    if offered and filling.place not in offered:
        filling.errors = {"place": _("say where it was read")}
        return _sheet(request, opening, sheet, filling, entry, unreadable(), UNREADABLE)
    if is_blank(sheet, filling):  # by mistake: it would stand in the place of what was read before
        return _sheet(request, opening, sheet, filling, entry, Told(_("Nothing was read"), _(
            "Fill in at least one reading; an empty sheet is not kept.")), UNREADABLE)
    typed = read(sheet, filling)
    try:
        inspection = record_inspection(
            request.act, opening.pk, sheet.kind, typed.given, entry_id=_entry(entry), occasion=sheet.occasion,
            place=filling.place if offered else "", note=request.POST.get("note", "").strip()[:240])
    except NotThere:
        raise
    except BadInput as why:
        return _at_its_field(request, opening, sheet, typed, why, entry)
    except Refusal as why:
        again = str(new_id()) if isinstance(why, AlreadyHasOther) else entry
        return _sheet(request, opening, sheet, filling, again, Told.of(why, request.reader), why.status)
    messages.success(request, _("Recorded."))
    return redirect("inspection", opening_id=opening.pk, inspection_id=inspection.pk)


def _at_its_field(request: HttpRequest, opening: Opening, sheet: Sheet, typed: Typed, why: BadInput,
                  entry: str) -> HttpResponse:
    """What would be right, said at the field; at the top, where the sheet has no such field."""
    name, filling = typed.field(why.field), typed.filling
    right = _("an hour of the clock after the one above it, such as 18:00") if FORECAST_HOUR.fullmatch(name) else (
        _(why.right))
    filling.errors = {name: right}
    told = unreadable()
    if name not in {f.name for f in _fields(sheet, filling)}:
        told = Told(_("That cannot be right"), f"{words.quantity_words(why.field)}: {right}")
    return _sheet(request, opening, sheet, filling, entry, told, UNREADABLE)


def _fields(sheet: Sheet, filling: Filling) -> list[Field]:
    return [f for group in sheet.groups(filling) for f in group.all_fields]


def _entry(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


def _sheet(request: HttpRequest, opening: Opening, sheet: Sheet, filling: Filling, entry: str,
           told: Told | None = None, status: int = 200) -> HttpResponse:
    places = where_read(sheet, filling)
    place = filling.one("place", _("Where"), choices=[("", "–"), *places]) if places else None
    if place is not None:
        place = Field("place", place.label, filling.place, "", filling.errors.get("place", ""), place.choices)
    note = filling.one("note", _("Note"))
    wrong = [("", f) for f in (place, note) if f is not None and f.error]
    wrong += [(group.title, f) for group in sheet.groups(filling) for f in group.all_fields if f.error]
    return render(request, "dashboard/readings.html", {
        "opening": opening, "sheet": sheet, "place": place, "groups": sheet.groups(filling), "entry": entry,
        "note": note, "told": told, "cautions": words.sheet_cautions(sheet.key), "wrong": wrong, "here": "jobs",
        "unit": _("inches") if request.reader.in_inches else _("millimetres")}, status=status)


# ---- the verdict -----------------------------------------------------------------------------------------


@require_safe
@page
def inspection_page(request: HttpRequest, opening_id: int, inspection_id: uuid.UUID) -> HttpResponse:
    """One set of readings: the verdict as it stood that day, the readings, and for a floor how to put it right."""
    opening = opening_of(request.act, opening_id)
    found = Inspection.objects.filter(pk=inspection_id, opening=opening).select_related("by", "crew").first()
    if found is None:
        raise Http404("There is no such set of readings.")
    found.opening = opening
    reader = request.reader.at(opening.job.time_zone)
    said = words.verdict(found.verdict, reader)
    context: dict[str, Any] = {
        "opening": opening, "inspection": found, "said": said, "what": _what(found),
        "when": reader.moment(found.taken_at), "as_read": as_read(found.readings.all(), reader),
        "follows": words.follows(found.verdict, reader), "here": "jobs",
        "cautions": words.unique([*filter(None, [said.caution]), *words.sheet_cautions(
            sheet_for(found.kind, found.occasion))]),
        "wait": _wait(request, opening, found) if said.beyond else None, "other": _other(found),
        **floor_of(found, reader)}
    return render(request, "dashboard/inspection.html", context)


def _other(inspection: Inspection) -> uuid.UUID | None:
    """Of the same kind and place, to be compared with: the one before it; of the first, the one after it."""
    same = Inspection.objects.filter(opening=inspection.opening_id, kind=inspection.kind, place=inspection.place)
    keys = list(same.order_by("taken_at", "pk").values_list("pk", flat=True))
    n = keys.index(inspection.pk)
    if len(keys) == 1:
        return None
    return keys[n - 1] if n else keys[1]


def _what(inspection: Inspection) -> str:
    said = words.kind(inspection.kind, inspection.occasion)
    return f"{said}, {words.place(inspection.place)}" if inspection.place else said


def _wait(request: HttpRequest, opening: Opening, inspection: Inspection) -> Any:
    sheet = OpeningSheet.of(request, opening)
    return sheet.form(
        WaitForm, about=str(inspection.pk), inspection=inspection.pk,
        owed_by_kind=who_owes(inspection.kind, inspection.verdict["findings"]),
        what_for=_("Put right: %s") % _what(inspection).lower())


@dataclass(frozen=True, slots=True)
class AsRead:
    """The readings: lines of stations side by side, a row a place; the others one by one."""

    lines: tuple[str, ...]
    stations: tuple[tuple[str, tuple[str, ...]], ...]
    others: tuple[tuple[str, str], ...]


def as_read(rows: Iterable[Reading], reader: Reader) -> AsRead:
    rows = list(rows)
    several = {q for q, count in Counter(r.quantity for r in rows if r.at is not None).items() if count > 1}
    lines = tuple(dict.fromkeys(r.quantity for r in rows if r.quantity in several))
    places = {(r.quantity, r.at): value_of(r, reader) for r in rows if r.quantity in several}
    at = sorted({place for _line, place in places})
    return AsRead(
        tuple(reading_words(line) for line in lines),
        tuple((reader.place(x), tuple(places.get((line, x), "–") for line in lines)) for x in at),
        tuple((name_of(r, reader), value_of(r, reader)) for r in rows if r.quantity not in several))


def floor_of(inspection: Inspection, reader: Reader) -> dict[str, Any]:
    if inspection.kind != floor.NAME:
        return {}
    payload = {**inspection.given, **inspection.asked_of}
    correction = correction_of(inspection)
    drawn = {name: plot(payload, inspection.verdict, correction, reader, sheet)
             for name, sheet in (("plot", WIDE), ("slim_plot", SLIM))}
    drawn["highest"] = highest_said(payload, reader)
    if correction is None:
        return drawn
    return {
        **drawn, "correction": correction, "heights": worked_heights(payload, correction, reader),
        "plan": [plan_words(p, reader) for p in correction["plan"]],
        "other_ways": [(title, [plan_words(p, reader) for p in correction[key]["plan"]]) for key, title in (
            ("grind_only", _("By grinding only")), ("fill_only", _("By filling only")))
            if correction.get(key) and correction[key]["plan"] != correction["plan"]],
        "plan_cautions": words.plan_cautions(p["act"] for key in ("plan", "grind_only", "fill_only") for p in (
            correction["plan"] if key == "plan" else (correction.get(key) or {}).get("plan") or ()))}
