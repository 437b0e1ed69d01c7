"""The unit of an opening: what follows from it as it stands, or as somebody tries it; kept by the office."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.db.models import prefetch_related_objects
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from dashboard import phrases, words
from dashboard.forms.unit_wish import AT_FIELD, BESIDES, NAMES, WIND, Trial, system_words
from dashboard.forms.weighing import Weighing
from dashboard.measures import Reader
from dashboard.opening.handling_shown import HandlingShown
from dashboard.opening.taken import TakenShown
from dashboard.opening.unit_shown import ASKED_AS, UnitShown, larger_than
from dashboard.views.opening_acts import UNREADABLE, unreadable
from dashboard.views.pages import Told, opening_of, page
from inspections.services import planned
from inspections.services.datums import unit_of
from inspections.services.laying_out import (
    keep_and_lay_out,
    keep_as_tried,
    measured_pocket,
    put_in,
    put_in_and_lay_out,
)
from inspections.services.taking_off import of_another_size, taken_off_as
from inspections.services.weighing import weigh_panels
from jobs.errors import NotThere, Refusal, SomeoneWasFaster
from jobs.models import Change, Equipment, Opening
from jobs.roles import reach
from jobs.services.access import require
from units.calc.layout import BOTH, ONE_WAY, TWO_WAY
from units.models import DoorSystem, Panel, Unit
from units.services.explaining import Wish, explain
from units.services.handling import ToCarry, help_planned, to_carry


@require_http_methods(["GET", "HEAD", "POST"])
@page
def unit_page(request: HttpRequest, opening_id: int) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    if request.method == "POST":
        return _weighed(request, opening) if "weigh" in request.POST else _kept(request, opening)
    response = _page(request, opening, _trial(request, opening, request.GET))
    patch_vary_headers(response, ["HX-Request"])
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_unit_page(request: HttpRequest, opening_id: int) -> HttpResponse:
    """A unit for an opening that has none."""
    opening = opening_of(request.act, opening_id)
    require(request.act, planned.MAY, opening)
    if unit_of(opening) is not None:
        return _there_already(request, opening)
    if request.method == "POST":
        return _put_in(request, opening)
    response = _page(request, opening, _trial(request, opening, request.GET, _new(opening)))
    patch_vary_headers(response, ["HX-Request"])
    return response


def _new(opening: Opening) -> Unit:
    """It opens into the pockets that the opening has."""
    return Unit(opening=opening, ways=TWO_WAY if opening.pocket_side == BOTH else ONE_WAY)


def _trial(request: HttpRequest, opening: Opening, sent: Mapping[str, str], new: Unit | None = None) -> Trial | None:
    unit = unit_of(opening) or new
    if unit is None:
        return None
    unit.opening = opening  # with its job, as it was read
    if unit.pk is not None:
        prefetch_related_objects([unit], "panels")
    return Trial(unit, opening, request.reader.at(opening.job.time_zone), measured_pocket(opening),
                 {name: sent[name] for name in (*NAMES, WIND, *BESIDES) if name in sent}, request.act.today())


# ---- kept ------------------------------------------------------------------------------------------------


def _kept(request: HttpRequest, opening: Opening) -> HttpResponse:
    require(request.act, planned.MAY, opening)
    trial = _trial(request, opening, request.POST)
    if trial is None:
        raise NotThere("There is no unit in this opening.")
    if "see" in request.POST:
        return _page(request, opening, trial)
    if not trial.can_be_read:
        return _page(request, opening, trial, told=unreadable(), status=UNREADABLE)
    keep = keep_as_tried if "keep" in request.POST else keep_and_lay_out
    try:
        unit = keep(
            request.act, trial.unit.pk, trial.values(trial.wish), version=_version(request, "version"),
            pocket_side=trial.wish.pocket_side, opening_version=_version(request, "opening_version"))
    except NotThere:
        raise
    except Refusal as why:
        return _refused(request, opening_of(request.act, opening.pk), why)
    return _done(request, opening, unit)


def _put_in(request: HttpRequest, opening: Opening) -> HttpResponse:
    trial = _trial(request, opening, request.POST, _new(opening))
    if "see" in request.POST:
        return _page(request, opening, trial)
    if not trial.can_be_read:
        return _page(request, opening, trial, told=unreadable(), status=UNREADABLE)
    put = put_in if "keep" in request.POST else put_in_and_lay_out
    try:
        unit = put(request.act, opening.pk, trial.values(trial.wish), pocket_side=trial.wish.pocket_side,
                   opening_version=_version(request, "opening_version"))
    except NotThere:
        raise
    except Refusal as why:
        again = opening_of(request.act, opening.pk)
        return _refused(request, again, why) if unit_of(again) is None else _there_already(request, again)
    return _done(request, opening, unit)


def _there_already(request: HttpRequest, opening: Opening) -> HttpResponse:
    """Sent twice it is one unit; what was typed for another is tried on the one there is, and not lost."""
    if request.method != "POST":
        messages.info(request, _("This opening has its unit already. Change that one, or try another on it."))
        return redirect("unit", opening.pk)
    trial = _trial(request, opening, request.POST)
    if trial.can_be_read and trial.is_as_it_stands:
        return _done(request, opening, trial.unit)
    told = Told(_("Not done"), _("This opening has its unit already; an opening has one. What was typed is tried on it "
                                 "below: keep it so to change that unit."))
    return _page(request, opening, trial, told=told, status=Refusal.status)


def _refused(request: HttpRequest, opening: Opening, why: Refusal) -> HttpResponse:
    """`opening`: read again, for what was found at first may not stand any more."""
    trial = _trial(request, opening, request.POST, _new(opening) if unit_of(opening) is None else None)
    if isinstance(why, SomeoneWasFaster) and trial.can_be_read and trial.is_as_it_stands and _theirs(request, trial):
        return _done(request, opening, trial.unit)
    return _page(request, opening, trial, told=_told(why, trial.reader), status=why.status)


def _theirs(request: HttpRequest, trial: Trial) -> bool:
    """Whether what stands since the page was shown is of whoever sends this: then it is sent twice."""
    last = Change.objects.filter(record="units", record_id=str(trial.unit.pk)).order_by("-position").first()
    return 0 < _version(request, "version") < trial.unit.version and last is not None and last.by == request.user


def _done(request: HttpRequest, opening: Opening, unit: Unit) -> HttpResponse:
    count = unit.panels.count()
    messages.success(request, ngettext("Kept; %d panel is laid out.", "Kept; %d panels are laid out.", count) % count
                     if count else _("Kept; no panels are laid out yet."))
    return redirect("unit", opening.pk)


def _version(request: HttpRequest, name: str) -> int:
    text = request.POST.get(name, "")
    return int(text) if text.isdecimal() and len(text) < 10 else 0


def _told(why: Refusal, reader: Reader) -> Told:
    """With every reason: what failed, what is lacking, what would be right."""
    told = Told.of(why, reader)
    of_fields = tuple(_lacking(name, right, reader) for name, right in why.fields.items())
    return Told(told.title, told.detail, (*told.reasons, *of_fields))


def _lacking(name: str, right: str, reader: Reader) -> str:
    name = ASKED_AS.get(name, name)
    if name in phrases.MISSING and name not in AT_FIELD:
        return words.missing({"what": name}, reader)
    return _("%(thing)s: %(right)s.") % {"thing": words.unit_field(name).capitalize(),
                                         "right": words.right(right, reader).rstrip(".")}


def _weighed(request: HttpRequest, opening: Opening) -> HttpResponse:
    require(request.act, planned.MAY, opening)
    trial = _trial(request, opening, {})
    if trial is None:
        raise NotThere("There is no unit in this opening.")
    form = Weighing(list(trial.unit.panels.all()), trial.reader, request.POST)
    said = form.said()
    if said is None:
        return _page(request, opening, trial, told=unreadable(), status=UNREADABLE, weighing=form)
    versions = {panel.pk: _version(request, f"version-{panel.pk}") for panel in form.panels}
    try:
        weigh_panels(request.act, trial.unit.pk, said, versions=versions)
    except NotThere:
        raise
    except Refusal as why:
        again = opening_of(request.act, opening.pk)
        trial = _trial(request, again, {})
        form = Weighing(list(trial.unit.panels.all()), trial.reader, request.POST)
        return _page(request, again, trial, told=_told(why, trial.reader), status=why.status, weighing=form)
    messages.success(request, _("Kept: what the scale said."))
    return redirect("unit", opening.pk)


# ---- shown -----------------------------------------------------------------------------------------------


def _page(request: HttpRequest, opening: Opening, trial: Trial | None, told: Told | None = None,
          status: int = 200, weighing: Weighing | None = None) -> HttpResponse:
    """Whole; or, asked for by a script on the page itself, only what follows."""
    may_keep = reach(request.act.role, planned.MAY) is not None
    context: dict[str, Any] = {"opening": opening, "told": told, "here": "jobs", "trial": trial, "may_keep": may_keep}
    if trial is not None:
        context["url"] = reverse("unit-new" if trial.is_new else "unit", args=[opening.pk])
        context |= _shown(request, trial)
    context["swapped"] = bool(request.htmx) and not request.htmx.history_restore_request and trial is not None
    if may_keep and not context["swapped"] and trial is not None and not trial.is_new:
        context["weighing"] = weighing or Weighing(list(trial.unit.panels.all()), trial.reader)
    template = "dashboard/_unit_explained.html" if context["swapped"] else "dashboard/unit.html"
    return render(request, template, context, status=status)


def _shown(request: HttpRequest, trial: Trial) -> dict[str, Any]:
    unit, reader, opening = trial.unit, trial.reader, trial.opening
    sizes = ((opening.rough_width, opening.rough_height), (unit.frame_width, unit.frame_height))
    rough, frame = (f"{reader.size(width)} × {reader.size(height)}" for width, height in sizes)
    system = _("none entered yet") if unit.system is None else system_words(unit.system)
    context: dict[str, Any] = {"unit": unit, "system": system, "frame": frame, "rough": rough,
                               "in_inches": reader.in_inches, "u": None}
    if trial.wish is not None:
        context |= _follows(request, trial, trial.wish)
    context["wrong"] = trial.wrong
    return context


def _follows(request: HttpRequest, trial: Trial, wish: Wish) -> dict[str, Any]:
    unit, reader = trial.unit, trial.reader
    explained, kept = explain(wish), [] if trial.is_new else list(unit.panels.all())
    shown = UnitShown(wish, explained, kept, reader)
    context: dict[str, Any] = {"u": shown, "larger": larger_than(trial.opening, wish, reader),
                               "lifting_caution": phrases.LIFTING_CAUTION}
    if explained.refused is not None:
        trial.take(explained.refused)
    else:
        context["taken"] = TakenShown.of(taken_off_as(unit, wish), reader,
                                         of_another_size=of_another_size(unit, wish))
    tried = to_carry(explained)
    if tried or kept:
        context |= _handled(request, trial, wish, tried, [] if shown.is_kept_so else kept)
    return context


def _handled(request: HttpRequest, trial: Trial, wish: Wish, tried: Sequence[ToCarry],
             kept: Sequence[Panel]) -> dict[str, Any]:
    """Of the panels that follow; of those that are kept too, where they are others."""
    today, way_in = request.act.today(trial.opening.job.time_zone), trial.opening.job.way_in
    planned_for = replace(help_planned(trial.unit, today), wind=trial.wind)
    gear = list(Equipment.objects.order_by("name"))

    def of(panels: Sequence[Panel | ToCarry], system: DoorSystem | None) -> HandlingShown | None:
        return HandlingShown.of(panels, system, way_in, planned_for, gear, today, trial.reader) if panels else None

    return {"handled": of(tried, wish.system), "kept_handled": of(kept, trial.unit.system)}
