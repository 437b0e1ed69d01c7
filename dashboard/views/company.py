"""What the company decides once for everybody, the limits checks are held to, and what each decides for themselves."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import models
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from dashboard import phrases
from dashboard.forms.company import CompanyForm, LimitsForm, OwnSettingsForm
from dashboard.office.limits import changes_of, shown_checks
from dashboard.views.crew_records import today_of
from dashboard.views.pages import page
from dashboard.views.records import Sheet, show_form
from inspections.models import Check
from inspections.services.checks import change_check
from jobs.calc.holidays import named_holidays
from jobs.models import OfficeSettings, User
from jobs.services.access import require
from jobs.services.company import change_settings
from jobs.services.people import change_own_settings

MAY, HERE = "keep office records", "settings"
YEAR = dt.timedelta(days=365)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def settings_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)
    base = OfficeSettings.current()

    def carry(values: dict[str, Any], version: int) -> models.Model:
        return change_settings(request.act, values, version=version)

    return show_form(request, Sheet(
        _("Settings of the company"), base, CompanyForm, carry, reverse("crew-progress"),
        lambda kept: reverse("settings"), HERE, "dashboard/settings.html",
        said=lambda kept: _("Kept. It holds from now on."),
        context={"holidays": _holidays(request, base), "may_be_empty": True}))


def _holidays(request: HttpRequest, base: OfficeSettings) -> list[tuple[str, str]]:
    """Those that come in the year ahead, weekends too: crews that work then rest on them."""
    today = today_of(request)
    try:
        found = named_holidays(base.holiday_region, today, today + YEAR)
    except ValueError:
        return []
    return [(request.reader.day(day), name) for day, name in found]


# ---- limits ----------------------------------------------------------------------------------------------


@require_safe
@page
def limits_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)
    return render(request, "dashboard/limits.html", {
        "stages": shown_checks(request.reader), "caution": phrases.LIMITS_CAUTION, "here": HERE})


@require_http_methods(["GET", "HEAD", "POST"])
@page
def change_limits_page(request: HttpRequest, check_id: int) -> HttpResponse:
    """Of a check as it is shipped; a door system's own and a job's own go over them."""
    require(request.act, MAY)
    base = Check.objects.filter(pk=check_id, system=None, job=None).first()
    if base is None or not base.limits:
        raise Http404("There is no such check with limits.")

    def carry(values: dict[str, Any], version: int) -> models.Model:
        return change_check(request.act, base, values, version=version)

    return show_form(request, Sheet(
        _("Limits: %s") % _(base.title), base, LimitsForm, carry, reverse("limits"), lambda kept: reverse("limits"),
        HERE, "dashboard/limits_form.html",
        said=lambda kept: _("Kept: %s. What was verified before stays as it was.") % _(base.title),
        context={"changes": changes_of(base, request.reader), "caution": phrases.LIMITS_CAUTION}))


# ---- one's own -------------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@page
def your_settings_page(request: HttpRequest) -> HttpResponse:
    base = User.objects.get(pk=request.user.pk)

    def carry(values: dict[str, Any], version: int) -> models.Model:
        return change_own_settings(request.act, values, version=version)

    return show_form(request, Sheet(
        _("Your settings"), base, OwnSettingsForm, carry, reverse("crew-progress"),
        lambda kept: reverse("your-settings"), "you", "dashboard/your_settings.html",
        said=lambda kept: _("Kept. It holds from now on.")))
