"""Lifters and carts: what each can be trusted with, where it goes, and when it goes nowhere."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import models
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from dashboard import phrases
from dashboard.forms.equipment import EquipmentForm, OutOfUseForm
from dashboard.office.equipment import shown
from dashboard.views.pages import PAGE, page
from dashboard.views.records import Sheet, gone, number, show_form
from jobs.models import Equipment, Opening, OutOfUse
from jobs.roles import Reach, reach
from jobs.services import office
from jobs.services.access import require

MAY, HERE = "keep office records", "equipment"


@require_safe
@page
def equipment_page(request: HttpRequest) -> HttpResponse:
    after = number(request.GET.get("after", ""))
    found = list(Equipment.objects.order_by("name", "pk")[after:after + PAGE + 1])
    return render(request, "dashboard/equipment.html", {
        "lines": shown(found[:PAGE], request.reader, request.act.today(), _openings(request)),
        "may_keep": _may_keep(request), "more": after + PAGE if len(found) > PAGE else "", "here": HERE,
        "caution": phrases.RATING_CAUTION})


def _openings(request: HttpRequest) -> Any:
    """Those whose work may be named here; None: all of them."""
    if reach(request.act.role, "read") is Reach.ALL:
        return None
    return Opening.objects.visible_to(request.act.user, request.act.role, request.act.today())


def _may_keep(request: HttpRequest) -> bool:
    return reach(request.act.role, MAY) is not None


def _found(equipment_id: int) -> Equipment:
    found = Equipment.objects.filter(pk=equipment_id).first()
    if found is None:
        raise Http404("There is no such equipment.")
    return found


@require_safe
@page
def one_equipment_page(request: HttpRequest, equipment_id: int) -> HttpResponse:
    found = shown([_found(equipment_id)], request.reader, request.act.today(), _openings(request))[0]
    return render(request, "dashboard/equipment_one.html", {
        "e": found, "may_keep": _may_keep(request), "here": HERE, "caution": phrases.RATING_CAUTION})


# ---- kept by the office ----------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_equipment_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)
    return _equipment_form(request, Equipment(kind="vacuum lifter"), _("New equipment"), reverse("equipment"))


@require_http_methods(["GET", "HEAD", "POST"])
@page
def change_equipment_page(request: HttpRequest, equipment_id: int) -> HttpResponse:
    require(request.act, MAY)
    found = _found(equipment_id)
    return _equipment_form(request, found, _("Change %s") % found, reverse("equipment-one", args=[found.pk]))


def _equipment_form(request: HttpRequest, base: Equipment, title: str, leave: str) -> HttpResponse:
    def carry(values: dict[str, Any], version: int) -> models.Model:
        if base.pk:
            return office.change(request.act, base, values, version=version, record="equipment", may=MAY)
        return office.create(request.act, Equipment, values, record="equipment", may=MAY)

    return show_form(request, Sheet(
        title, base, EquipmentForm, carry, leave, lambda kept: reverse("equipment-one", args=[kept.pk]), HERE,
        "dashboard/equipment_form.html", context={"caution": phrases.RATING_CAUTION, "may_be_empty": True}))


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_out_of_use_page(request: HttpRequest, equipment_id: int) -> HttpResponse:
    require(request.act, MAY)
    equipment = _found(equipment_id)
    base = OutOfUse(equipment=equipment, from_day=request.act.today(), to_day=request.act.today())
    return _out_of_use_form(request, base, _("%s: out of use") % equipment)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def out_of_use_page(request: HttpRequest, out_id: int) -> HttpResponse:
    """The days are changed, or it is back."""
    require(request.act, MAY)
    base = _found_out(out_id)
    return _out_of_use_form(request, base, _("%s: out of use") % base.equipment)


def _found_out(out_id: int) -> OutOfUse:
    found = OutOfUse.objects.select_related("equipment").filter(pk=out_id).first()
    if found is None:
        raise Http404("There is no such time out of use.")
    return found


def _out_of_use_form(request: HttpRequest, base: OutOfUse, title: str) -> HttpResponse:
    leave = reverse("equipment-one", args=[base.equipment_id])

    def carry(values: dict[str, Any], version: int) -> models.Model:
        if base.pk:
            return office.change(request.act, base, values, version=version, record="out-of-use", may=MAY)
        return office.create(request.act, OutOfUse, {**values, "equipment": base.equipment}, record="out-of-use",
                             may=MAY)

    return show_form(request, Sheet(title, base, OutOfUseForm, carry, leave, lambda kept: leave, HERE,
                                    "dashboard/out_of_use_form.html"))


@require_POST
@page
def remove_out_of_use_page(request: HttpRequest, out_id: int) -> HttpResponse:
    require(request.act, MAY)
    found = OutOfUse.objects.select_related("equipment").filter(pk=out_id).first()
    if found is None:
        return gone(request, "equipment")
    where = reverse("equipment-one", args=[found.equipment_id])
    office.remove(request.act, found, version=number(request.POST.get("version", "")), record="out-of-use", may=MAY)
    messages.success(request, _("Taken off: %s is in use on these days.") % found.equipment)
    return redirect(where)
