"""A delivery as the office makes and changes it: what, from whom, when, and which parts of which openings."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from dashboard.forms.deliveries import DeliveryForm
from dashboard.views.opening_acts import UNREADABLE, unreadable
from dashboard.views.pages import Told, page
from inspections.services.deliveries import plan_delivery
from inspections.services.parts import MAY
from jobs.errors import Refusal, SomeoneWasFaster
from jobs.models import Delivery, Job
from jobs.models.base import new_id
from jobs.services.access import require
from jobs.services.once import made_once
from units.models import Part


@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_delivery_page(request: HttpRequest, job_id: int) -> HttpResponse:
    require(request.act, MAY)
    job = Job.objects.filter(pk=job_id).first()
    if job is None:
        raise Http404("There is no such job.")
    return _form_page(request, job, None)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def change_delivery_page(request: HttpRequest, delivery_id: int) -> HttpResponse:
    require(request.act, MAY)
    delivery = _found(delivery_id)
    return _form_page(request, delivery.job, delivery)


def _found(delivery_id: int) -> Delivery:
    found = Delivery.objects.select_related("job", "supplier").prefetch_related("openings").filter(
        pk=delivery_id).first()
    if found is None:
        raise Http404("There is no such delivery.")
    return found


def _offered(delivery: Delivery | None) -> list[Part]:
    """The parts of the openings it names, and those it brings."""
    if delivery is None:
        return []
    return list(Part.objects.filter(Q(unit__opening__deliveries=delivery) | Q(delivery=delivery)).distinct()
                .select_related("panel", "delivery", "unit__opening").order_by("unit__opening__tag", "pk"))


def _with(request: HttpRequest, job: Job, delivery: Delivery | None) -> dict[str, Any]:
    return {"job": job, "today": request.act.today(job.time_zone), "offered": _offered(delivery)}


def _form_page(request: HttpRequest, job: Job, delivery: Delivery | None) -> HttpResponse:
    if request.method != "POST":
        return _shown(request, DeliveryForm.fresh(delivery, **_with(request, job, delivery)))
    form = DeliveryForm(request.POST, delivery=delivery, **_with(request, job, delivery))
    if not form.is_valid():
        return _shown(request, form, unreadable(), UNREADABLE)
    try:
        kept = _kept(request, form) if delivery is not None else made_once(
            request.act, form.cleaned_data["entry"] or str(new_id()), Delivery, lambda: _kept(request, form))
    except SomeoneWasFaster as why:
        return _faster(request, job, delivery, why)
    except Refusal as why:
        for name, right in why.fields.items():
            form.add_error(name if name in form.fields else None, _(right))
        return _shown(request, form, Told.of(why, request.reader), why.status)
    messages.success(request, _("Kept: %s.") % kept)
    return redirect("delivery", kept.pk)


def _kept(request: HttpRequest, form: DeliveryForm) -> Delivery:
    return plan_delivery(request.act, form.delivery, form.values(), on=form.ticked - form.was,
                         off=form.was - form.ticked, kinds=form.kinds_chosen, version=form.cleaned_data["version"] or 0)


def _faster(request: HttpRequest, job: Job, delivery: Delivery | None, why: SomeoneWasFaster) -> HttpResponse:
    """Both are shown; what is sent after that is sent by somebody who has read what stands."""
    now = _found(delivery.pk)
    typed = request.POST.copy()
    typed["version"] = str(now.version)
    form = DeliveryForm(typed, delivery=now, **_with(request, job, now))
    stands = DeliveryForm.fresh(now, **_with(request, job, now))
    differs = _differences(stands, form)
    if not differs:  # a double click, or both wrote the same
        return redirect("delivery", now.pk)
    told = Told(Told.of(why, request.reader).title, _(
        "What stands now and what was typed here stand side by side. Put right what is typed here, then keep it."),
        tuple(differs))
    return _shown(request, form, told, why.status)


def _differences(stands: DeliveryForm, typed: DeliveryForm) -> list[str]:
    now, here = stands.said, typed.said
    return [_("%(field)s: now “%(theirs)s”, typed here “%(mine)s”.") % {
        "field": name, "theirs": now[name], "mine": here[name]} for name in now if now[name] != here[name]]


def _shown(request: HttpRequest, form: DeliveryForm, told: Told | None = None, status: int = 200) -> HttpResponse:
    title = _("New delivery") if form.delivery is None else _("Change %s") % form.delivery
    return render(request, "dashboard/delivery_form.html", {
        "form": form, "job": form.job, "delivery": form.delivery, "told": told, "title": title, "here": "jobs"},
        status=status)
