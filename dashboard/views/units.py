"""The unit of an opening: what follows from it as it stands, or as somebody tries it; kept by the office."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.db.models import prefetch_related_objects
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from dashboard import phrases, words
from dashboard.forms.unit_wish import AT_FIELD, NAMES, Trial
from dashboard.measures import Reader
from dashboard.opening.handling_shown import HandlingShown
from dashboard.opening.taken import TakenShown
from dashboard.opening.unit_shown import UnitShown
from dashboard.views.opening_acts import UNREADABLE, unreadable
from dashboard.views.pages import Told, opening_of, page
from inspections.services import planned
from inspections.services.datums import unit_of
from inspections.services.laying_out import keep_and_lay_out, measured_pocket
from inspections.services.taking_off import of_another_size, taken_off_as
from jobs.errors import NotThere, Refusal
from jobs.models import Opening
from jobs.roles import reach
from jobs.services.access import require
from units.models import Unit
from units.services.explaining import explain
from units.services.handling import handling_of, help_planned


@require_http_methods(["GET", "HEAD", "POST"])
@page
def unit_page(request: HttpRequest, opening_id: int) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    if request.method == "POST":
        return _kept(request, opening)
    trial = _trial(request, opening, request.GET)
    response = _page(request, opening, trial)
    patch_vary_headers(response, ["HX-Request"])
    return response


def _trial(request: HttpRequest, opening: Opening, sent: Mapping[str, str]) -> Trial | None:
    unit = unit_of(opening)
    if unit is None:
        return None
    unit.opening = opening  # with its job, as it was read
    prefetch_related_objects([unit], "panels")
    return Trial(unit, opening, request.reader.at(opening.job.time_zone), measured_pocket(opening),
                 {name: sent[name] for name in NAMES if name in sent})


def _kept(request: HttpRequest, opening: Opening) -> HttpResponse:
    require(request.act, planned.MAY, opening)
    trial = _trial(request, opening, request.POST)
    if trial is None:
        raise NotThere("There is no unit in this opening.")
    if trial.wish is None:
        return _page(request, opening, trial, told=unreadable(), status=UNREADABLE)
    try:
        unit = keep_and_lay_out(
            request.act, trial.unit.pk, trial.values(trial.wish), version=_version(request, "version"),
            pocket_side=trial.wish.pocket_side, opening_version=_version(request, "opening_version"))
    except NotThere:
        raise
    except Refusal as why:
        opening = opening_of(request.act, opening.pk)  # what was found at first may not stand any more
        trial = _trial(request, opening, request.POST)
        return _page(request, opening, trial, told=_told(why, trial.reader), status=why.status)
    count = unit.panels.count()
    messages.success(request, ngettext("Kept; %d panel is laid out.", "Kept; %d panels are laid out.", count) % count)
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
    if name in phrases.MISSING and name not in AT_FIELD:
        return words.missing({"what": name}, reader)
    return _("%(thing)s: %(right)s.") % {"thing": words.unit_field(name).capitalize(),
                                         "right": words.right(right, reader).rstrip(".")}


def _page(request: HttpRequest, opening: Opening, trial: Trial | None, told: Told | None = None,
          status: int = 200) -> HttpResponse:
    """Whole; or, asked for by a script on the page itself, only what follows."""
    context: dict[str, Any] = {"opening": opening, "told": told, "here": "jobs", "trial": trial}
    if trial is not None:
        context |= _shown(request, trial)
    swapped = bool(request.htmx) and not request.htmx.history_restore_request and trial is not None
    context["swapped"] = swapped
    if trial is not None and not swapped:
        context |= _handled(request, trial.unit, trial.reader)
    template = "dashboard/_unit_explained.html" if swapped else "dashboard/unit.html"
    return render(request, template, context, status=status)


def _shown(request: HttpRequest, trial: Trial) -> dict[str, Any]:
    unit, reader = trial.unit, trial.reader
    context: dict[str, Any] = {
        "unit": unit, "system": _system_words(unit), "may_keep": reach(request.act.role, planned.MAY) is not None,
        "frame": f"{reader.size(unit.frame_width)} × {reader.size(unit.frame_height)}",
        "in_inches": reader.in_inches, "u": None}
    if trial.wish is not None:
        explained = explain(trial.wish)
        if explained.refused is not None:
            trial.take(explained.refused)
        context["u"] = UnitShown(trial.wish, explained, unit.panels.all(), reader)
        if explained.refused is None:
            context["taken"] = TakenShown.of(taken_off_as(unit, trial.wish), reader,
                                             of_another_size=of_another_size(unit, trial.wish))
    context["wrong"] = [f for f in trial.fields if f.error]
    return context


def _handled(request: HttpRequest, unit: Unit, reader: Reader) -> dict[str, Any]:
    """Of the panels that are kept: what is tried has no crew."""
    if not unit.panels.all():
        return {}
    planned_for = help_planned(unit, request.act.today(unit.opening.job.time_zone))
    return {"handled": HandlingShown(handling_of(unit, planned_for), planned_for, reader),
            "lifting_caution": phrases.LIFTING_CAUTION}


def _system_words(unit: Unit) -> str:
    system = unit.system
    if system is None:
        return _("none entered yet")
    said = _("%(name)s, edition %(edition)s") % {"name": system.name, "edition": system.edition}
    return said if system.withdrawn_on is None else _("%s, made no more") % said
