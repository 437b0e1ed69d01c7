"""Door systems: what each edition says and still lacks; entered, changed and withdrawn by the office."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from dashboard import phrases
from dashboard.drawings.elevation import Built, BuiltPanel, Elevation, small
from dashboard.forms.door_systems import STOPS, SystemForm, differences, label
from dashboard.forms.site_limits import SiteLimits
from dashboard.opening.unit_shown import UnitShown
from dashboard.views.opening_acts import UNREADABLE, unreadable
from dashboard.views.pages import PAGE, Told, page
from inspections.services.checks import keep_own_limits
from inspections.services.editions import make_edition
from jobs.acts import carry_out
from jobs.errors import Refusal, SomeoneWasFaster
from jobs.models.base import new_id
from jobs.roles import reach
from jobs.services import office
from jobs.services.access import require
from jobs.services.once import made_once
from units.models import DoorSystem
from units.services.example import PANELS, example_of, lacking
from units.services.explaining import explain
from units.services.systems import MAY, RECORD, change_system

Carry = Callable[[dict[str, Any]], DoorSystem]


@dataclass(frozen=True, slots=True)
class Line:
    system: DoorSystem
    units: str
    lacks: tuple[str, ...]
    withdrawn: str


@require_safe
@page
def door_systems_page(request: HttpRequest) -> HttpResponse:
    after = _number(request.GET.get("after", ""))
    rows = DoorSystem.objects.annotate(standing=Count("units")).order_by("name", "edition", "pk")
    found = list(rows[after:after + PAGE + 1])
    return render(request, "dashboard/door_systems.html", {
        "lines": [_line(system, request) for system in found[:PAGE]], "may_keep": _may_keep(request),
        "more": after + PAGE if len(found) > PAGE else "", "here": "systems"})


def _line(system: DoorSystem, request: HttpRequest) -> Line:
    return Line(system, _units(system.standing), _lacks(system), _withdrawn(system, request))


def _units(count: int) -> str:
    return ngettext("%d unit", "%d units", count) % count if count else _("no unit yet")


def _lacks(system: DoorSystem) -> tuple[str, ...]:
    """`Panels: meeting lap, interlock lap.`"""
    return tuple(_("For %(what)s: %(fields)s.") % {
        "what": phrases.SYSTEM_LACKS[what], "fields": ", ".join(_small(label(name)) for name in names)}
        for what, names in lacking(system).items() if names)


def _small(said: str) -> str:
    return said[:1].lower() + said[1:]


def _withdrawn(system: DoorSystem, request: HttpRequest) -> str:
    day = system.withdrawn_on
    if day is None:
        return ""
    said = request.reader.whole_day(day)
    return _("made no more since %s") % said if day <= request.act.today() else _("made no more from %s") % said


def _may_keep(request: HttpRequest) -> bool:
    return reach(request.act.role, MAY) is not None


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


def _found(system_id: int) -> DoorSystem:
    found = DoorSystem.objects.annotate(standing=Count("units")).filter(pk=system_id).first()
    if found is None:
        raise Http404("There is no such door system.")
    return found


@require_safe
@page
def door_system_page(request: HttpRequest, system_id: int) -> HttpResponse:
    system, reader = _found(system_id), request.reader
    wish, form = example_of(system), SystemForm(system, reader)
    built = Built("panels hung", "left", wish.frame_width, wish.frame_height,
                  panels=tuple(BuiltPanel(letter, "hung") for letter in "ABCD"[:PANELS]))
    return render(request, "dashboard/door_system.html", {
        "system": system, "form": form, "said": _said(form), "tables": _tables(form), "units": _units(system.standing),
        "lacks": _lacks(system), "withdrawn": _withdrawn(system, request), "may_keep": _may_keep(request),
        "site": SiteLimits(system, reader).checks,
        "u": UnitShown(wish, explain(wish), (), reader), "drawing": _drawing(built),
        "frame": f"{reader.size(wish.frame_width)} × {reader.size(wish.frame_height)}", "here": "systems"})


def _said(form: SystemForm) -> list[tuple[Any, ...]]:
    """Each value with where it stands, and what is not worked out without it."""
    groups = [(key, title, asked, STOPS[asked[0].value.name]) for key, title, asked in form.groups]
    return groups + [(key, title, asked, _("as shipped")) for key, title, asked in form.limits]


def _tables(form: SystemForm) -> list[tuple[Any, ...]]:
    return [(name, title, where, [row for row in rows if row.was.value], STOPS[name])
            for name, title, where, rows in form.tables]


def _drawing(built: Built) -> Elevation:
    return small(built, built.whole_width)


# ---- kept by the office ----------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_door_system_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)

    def carry(values: dict[str, Any]) -> DoorSystem:
        return office.create(request.act, DoorSystem, values, record=RECORD, may=MAY)

    return _form_page(request, DoorSystem(edition="1"), carry, {"title": _("New door system")})


@require_http_methods(["GET", "HEAD", "POST"])
@page
def change_door_system_page(request: HttpRequest, system_id: int) -> HttpResponse:
    require(request.act, MAY)
    system = _found(system_id)
    version = _number(request.POST.get("version", ""))

    def carry(values: dict[str, Any]) -> DoorSystem:
        return change_system(request.act, system, values, version=version)

    return _form_page(request, system, carry, {"title": _("Change %s") % system, "version": system.version,
                                               "standing": _units(system.standing) if system.standing else ""})


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_edition_page(request: HttpRequest, system_id: int) -> HttpResponse:
    """Starts from what the former edition says."""
    require(request.act, MAY)
    former = _found(system_id)

    def carry(values: dict[str, Any]) -> DoorSystem:
        return make_edition(request.act, former, values)

    base = copy(former)
    base.edition = _next_edition(former)
    return _form_page(request, base, carry, {"title": _("New edition of %s") % former, "former": former})


def _next_edition(former: DoorSystem) -> str:
    """The number after the last one that counts; where they are not counted, for the office to write."""
    said = DoorSystem.objects.filter(code=former.code).values_list("edition", flat=True)
    counted = [int(edition) for edition in said if edition.isascii() and edition.isdecimal() and len(edition) < 6]
    return str(max(counted) + 1) if counted and former.edition.isdecimal() else ""


def _form_page(request: HttpRequest, base: DoorSystem, carry: Carry, context: dict[str, Any]) -> HttpResponse:
    if request.method != "POST":
        return _form(request, SystemForm(base, request.reader), SiteLimits(base, request.reader), context)
    typed = request.POST.dict()
    form, site = SystemForm(base, request.reader, typed), SiteLimits(base, request.reader, typed)
    values, limits = form.values(), site.wanted()
    if values is None or limits is None:
        return _form(request, form, site, context, unreadable(), UNREADABLE)
    try:
        with carry_out(request.act):
            kept = carry(values) if "version" in context else made_once(
                request.act, _entry(request), DoorSystem, lambda: carry(values))
            keep_own_limits(request.act, kept, limits, site.versions if kept.pk == base.pk else {})
    except SomeoneWasFaster as why:
        return _faster(request, base, form, site, context, why)
    except Refusal as why:
        form.refused(why.fields)
        site.refused(why.fields)
        return _form(request, form, site, context, Told.of(why, request.reader), why.status)
    messages.success(request, _("Kept: %s.") % kept)
    return redirect("door-system", kept.pk)


def _entry(request: HttpRequest) -> str:
    return request.POST.get("entry") or str(new_id())


def _faster(request: HttpRequest, base: DoorSystem, form: SystemForm, site: SiteLimits, context: dict[str, Any],
            why: SomeoneWasFaster) -> HttpResponse:
    """Both are shown; what is sent after that is sent by somebody who has read what stands."""
    now = _found(base.pk)
    told = Told.of(why, request.reader)
    stands, typed = SiteLimits(now, request.reader), SiteLimits(now, request.reader, site.typed)
    both = (*differences(SystemForm(now, request.reader), form), *differences(stands, typed))
    if not both:  # a double click, or both wrote the same
        messages.success(request, _("Kept: %s.") % now)
        return redirect("door-system", now.pk)
    detail = _("What the other kept and what was typed here stand side by side below. Put right what is typed here, "
               "then keep it.")
    return _form(request, form, typed, {**context, "version": now.version}, Told(told.title, detail, both), why.status)


def _form(request: HttpRequest, form: SystemForm, site: SiteLimits, context: dict[str, Any], told: Told | None = None,
          status: int = 200) -> HttpResponse:
    return render(request, "dashboard/door_system_form.html", {
        "form": form, "site": site.checks, "told": told, "here": "systems", "base": form.base,
        "in_inches": request.reader.in_inches, "entry": _entry(request), **context}, status=status)


@require_POST
@page
def withdraw_page(request: HttpRequest, system_id: int) -> HttpResponse:
    """No new unit takes it from today on; or it is made again."""
    require(request.act, MAY)
    system = _found(system_id)
    day = None if request.POST.get("again") else request.act.today()
    if system.withdrawn_on != day:  # otherwise it was pressed twice
        change_system(request.act, system, {"withdrawn_on": day}, version=_number(request.POST.get("version", "")))
    messages.success(request, _("%s is made no more.") % system if day else _("%s is made again.") % system)
    return redirect("door-system", system.pk)
