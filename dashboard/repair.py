"""Repair: what stands in the tables, for whoever keeps the installation, where no page reaches. Nobody works here.

Everything may be looked at but what is secret. Only office records may be changed, by the same act as on their pages:
under their version, noted in the feed. Stages, readings and whatever else was recorded on site stay as they are, and
nothing is made or removed.
"""

from __future__ import annotations

from typing import Any

from django import forms
from django.apps import apps
from django.contrib import admin, messages
from django.contrib.auth.views import redirect_to_login
from django.db import models
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from inspections.services import planned
from inspections.services.deliveries import change_delivery
from jobs.acts import Act
from jobs.errors import Refusal
from jobs.models import (
    AccessCode,
    AccessToken,
    Crew,
    CrewMember,
    DayOff,
    Delivery,
    Equipment,
    Job,
    Opening,
    Party,
    User,
    WorkStep,
)
from jobs.models.base import OfficeRecord
from jobs.roles import Role
from jobs.services import office
from units.models import DoorSystem, Panel, Unit
from units.services.systems import change_system

OURS = ("jobs", "units", "inspections")
SECRET = (User, AccessToken, AccessCode)
CHANGED: dict[type[OfficeRecord], str] = {
    Party: "parties", Job: "jobs", Opening: "openings", Crew: "crews", CrewMember: "crew-members", DayOff: "days-off",
    Equipment: "equipment", Delivery: "deliveries", WorkStep: "work-steps", DoorSystem: "door-systems", Unit: "units",
    Panel: "panels"}
OWN_ACTS = {Opening: planned.change_opening, Delivery: change_delivery, DoorSystem: change_system}


class RepairSite(admin.AdminSite):
    site_header = site_title = "Sillbook: repair"
    index_title = "For repair only; work is done on the pages"
    enable_nav_sidebar = False

    def has_permission(self, request: HttpRequest) -> bool:
        return request.user.is_active and request.user.is_superuser

    def login(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:
        """One place to sign in, where guessing locks."""
        if request.user.is_authenticated:
            return redirect("/")
        return redirect_to_login(request.get_full_path())


class AsItIs(admin.ModelAdmin):
    """Looked at, and left alone."""

    actions = None
    list_per_page = 50
    show_full_result_count = False

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: models.Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: models.Model | None = None) -> bool:
        return False


def _change(act: Act, found: Any, values: dict[str, Any], version: int) -> None:
    """What follows from a record is put right with it, as on its page."""
    kind = type(found)
    if kind in OWN_ACTS:
        OWN_ACTS[kind](act, found, values, version=version)
    else:
        change = planned.change if kind in (WorkStep, Unit, Panel) else office.change
        change(act, found, values, version=version, record=CHANGED[kind])


class SeenForm(forms.ModelForm):
    """With the version that was read: what somebody else changed since is not written over."""

    seen_version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["seen_version"].initial = self.instance.version

    def _save_m2m(self) -> None:
        """Rows that belong to it are written by the act, with the rest."""


class ByItsAct(AsItIs):
    """Whoever keeps the installation may here what the office may, whatever their role on the pages."""

    form = SeenForm

    def has_change_permission(self, request: HttpRequest, obj: models.Model | None = None) -> bool:
        return True

    def save_model(self, request: HttpRequest, obj: Any, form: forms.ModelForm, change: bool) -> None:
        values = {name: form.cleaned_data[name] for name in form.changed_data if name != "seen_version"}
        act = Act.of(request.user, timezone.now(), role=Role.OFFICE.value)
        _change(act, type(obj)._default_manager.get(pk=obj.pk), values, form.cleaned_data["seen_version"])

    def changeform_view(self, request: HttpRequest, object_id: str | None = None, form_url: str = "",
                        extra_context: Any = None) -> HttpResponse:
        try:
            return super().changeform_view(request, object_id, form_url, extra_context)
        except Refusal as why:
            right = (f"{name}: {said}." for name, said in why.fields.items())
            messages.error(request, " ".join([why.detail, *right]))
            return redirect(request.path)


def _site() -> RepairSite:
    site = RepairSite(name="repair")
    for app in OURS:
        for model in apps.get_app_config(app).get_models():
            if model not in SECRET:
                site.register(model, ByItsAct if model in CHANGED else AsItIs)
    return site


repair = _site()
