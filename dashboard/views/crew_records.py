"""Crews as the office keeps them: made and changed, who is on each, and days off."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.contrib import messages
from django.db import models
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from dashboard.forms.crews import CrewForm, DayOffForm, MemberForm
from dashboard.office.crews import said_days, shown_crews
from dashboard.views.pages import PAGE, page
from dashboard.views.records import Sheet, gone, number, show_form
from jobs.models import Assignment, Crew, CrewMember, DayOff, OfficeSettings, User
from jobs.services import office
from jobs.services.access import require

MAY, HERE = "keep office records", "crew-records"


def today_of(request: HttpRequest) -> dt.date:
    """By the clock of whoever looks."""
    return request.act.now.astimezone(request.reader.zone).date()


@require_safe
@page
def crews_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)
    after = number(request.GET.get("after", ""))
    found = list(Crew.objects.order_by("-active", "name", "pk")[after:after + PAGE + 1])
    return render(request, "dashboard/crews.html", {
        "crews": shown_crews(found[:PAGE], request.reader, today_of(request), request.office),
        "more": after + PAGE if len(found) > PAGE else "", "here": HERE})


@require_safe
@page
def crew_page(request: HttpRequest, crew_id: int) -> HttpResponse:
    require(request.act, MAY)
    shown = shown_crews([_crew(crew_id)], request.reader, today_of(request), request.office)[0]
    return render(request, "dashboard/crew.html", {"c": shown, "here": HERE})


def _crew(crew_id: int) -> Crew:
    found = Crew.objects.filter(pk=crew_id).first()
    if found is None:
        raise Http404("There is no such crew.")
    return found


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_crew_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)
    company: OfficeSettings = request.office
    base = Crew(time_zone=company.time_zone, working_days=company.working_days)
    return _crew_form(request, base, _("New crew"), reverse("crews"))


@require_http_methods(["GET", "HEAD", "POST"])
@page
def change_crew_page(request: HttpRequest, crew_id: int) -> HttpResponse:
    require(request.act, MAY)
    base = _crew(crew_id)
    return _crew_form(request, base, _("Change crew %s") % base, reverse("crew", args=[base.pk]))


def _crew_form(request: HttpRequest, base: Crew, title: str, leave: str) -> HttpResponse:
    def carry(values: dict[str, Any], version: int) -> models.Model:
        if base.pk:
            return office.change(request.act, base, values, version=version, record="crews", may=MAY)
        return office.create(request.act, Crew, values, record="crews", may=MAY)

    return show_form(request, Sheet(title, base, CrewForm, carry, leave, lambda kept: reverse("crew", args=[kept.pk]),
                                    HERE, context={"may_be_empty": True}))


# ---- who is on it ----------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_member_page(request: HttpRequest, crew_id: int) -> HttpResponse:
    require(request.act, MAY)
    crew = _crew(crew_id)
    return _member_form(request, CrewMember(crew=crew, from_day=today_of(request)),
                        _("Somebody comes to crew %s") % crew)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def member_page(request: HttpRequest, member_id: int) -> HttpResponse:
    require(request.act, MAY)
    base = _member(member_id)
    return _member_form(request, base, _("%(who)s on crew %(crew)s") % {"who": base.user, "crew": base.crew},
                        "dashboard/member_form.html")


def _member(member_id: int) -> CrewMember:
    found = CrewMember.objects.select_related("crew", "user").filter(pk=member_id).first()
    if found is None:
        raise Http404("Nobody is on a crew so.")
    return found


def _member_form(request: HttpRequest, base: CrewMember, title: str,
                 template: str = "dashboard/record_form.html") -> HttpResponse:
    leave = reverse("crew", args=[base.crew_id])

    def carry(values: dict[str, Any], version: int) -> models.Model:
        if base.pk:
            return office.change(request.act, base, values, version=version, record="crew-members", may=MAY)
        return office.create(request.act, CrewMember, values, record="crew-members", may=MAY)

    return show_form(request, Sheet(title, base, MemberForm, carry, leave, lambda kept: leave, HERE, template))


@require_POST
@page
def remove_member_page(request: HttpRequest, member_id: int) -> HttpResponse:
    """For one entered by mistake; who leaves a crew has a last day on it."""
    require(request.act, MAY)
    found = CrewMember.objects.select_related("crew", "user").filter(pk=member_id).first()
    if found is None:
        return gone(request, "crews")
    office.remove(request.act, found, version=number(request.POST.get("version", "")), record="crew-members", may=MAY)
    messages.success(request, _("Taken off: %(who)s was not on crew %(crew)s.") % {
        "who": found.user, "crew": found.crew})
    return redirect("crew", found.crew_id)


# ---- days off --------------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_day_off_page(request: HttpRequest) -> HttpResponse:
    """Of a crew or somebody, named in the address where one comes from their page."""
    require(request.act, MAY)
    today = today_of(request)
    crew, user = _named(request, Crew, "crew"), _named(request, User, "person")
    base = DayOff(crew=crew, user=None if crew else user, from_day=today, to_day=today)
    leave = reverse("crew", args=[crew.pk]) if crew else reverse("crews")
    return _day_off_form(request, base, _("Days off"), leave, "dashboard/record_form.html")


@require_http_methods(["GET", "HEAD", "POST"])
@page
def day_off_page(request: HttpRequest, day_off_id: int) -> HttpResponse:
    require(request.act, MAY)
    base = _day_off(day_off_id)
    leave = reverse("crew", args=[base.crew_id]) if base.crew_id else reverse("crews")
    return _day_off_form(request, base, _("Days off: %s") % (base.crew or base.user), leave,
                         "dashboard/day_off_form.html")


def _day_off(day_off_id: int) -> DayOff:
    found = DayOff.objects.select_related("crew", "user").filter(pk=day_off_id).first()
    if found is None:
        raise Http404("There are no such days off.")
    return found


def _named(request: HttpRequest, model: type[models.Model], name: str) -> Any:
    key = number(request.GET.get(name, ""))
    return model._default_manager.filter(pk=key).first() if key else None


def _day_off_form(request: HttpRequest, base: DayOff, title: str, leave: str, template: str) -> HttpResponse:
    def carry(values: dict[str, Any], version: int) -> models.Model:
        if base.pk:
            return office.change(request.act, base, values, version=version, record="days-off", may=MAY)
        return office.create(request.act, DayOff, values, record="days-off", may=MAY)

    return show_form(request, Sheet(title, base, DayOffForm, carry, leave, lambda kept: leave, HERE, template,
                                    said=lambda kept: _said(request, kept)))


def _said(request: HttpRequest, off: DayOff) -> str:
    """With how much work lies on these days: that is what somebody has to look at now."""
    said = _("Kept: %(who)s, %(days)s.") % {
        "who": off.crew or off.user, "days": said_days(off.from_day, off.to_day, request.reader)}
    crews = [off.crew_id] if off.crew_id else CrewMember.objects.filter(
        models.Q(to_day=None) | models.Q(to_day__gte=off.from_day), user=off.user_id,
        from_day__lte=off.to_day).values("crew_id")
    count = Assignment.objects.filter(crew__in=crews, start_day__lte=off.to_day, end_day__gte=off.from_day).count()
    if not count:
        return said
    return said + " " + ngettext("%d piece of work lies on these days: look at it.",
                                 "%d pieces of work lie on these days: look at them.", count) % count


@require_POST
@page
def remove_day_off_page(request: HttpRequest, day_off_id: int) -> HttpResponse:
    require(request.act, MAY)
    found = DayOff.objects.select_related("crew", "user").filter(pk=day_off_id).first()
    if found is None:
        return gone(request, "crews")
    office.remove(request.act, found, version=number(request.POST.get("version", "")), record="days-off", may=MAY)
    messages.success(request, _("Taken off: %s works on these days.") % (found.crew or found.user))
    return redirect(reverse("crew", args=[found.crew_id]) if found.crew_id else reverse("crews"))
