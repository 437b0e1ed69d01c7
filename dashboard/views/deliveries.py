"""A job's deliveries: what each brings and lacks, what that stops, and receiving one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from dashboard import words
from dashboard.forms.acts import hidden, line
from dashboard.measures import Reader
from dashboard.opening.material import part_state
from dashboard.views.pages import page
from inspections.services.deliveries import receive_delivery, stopped_by
from inspections.services.parts import RECEIVE
from jobs.acts import Act
from jobs.errors import Invalid
from jobs.models import Delivery, Opening
from jobs.roles import Reach, reach
from units.models import Part


class ReceiveForm(forms.Form):
    required_css_class = "needed"
    button = gettext_lazy("Received")
    version = hidden(kind=forms.IntegerField)
    condition = line(gettext_lazy("In what condition"), required=False)
    all_whole = forms.BooleanField(label=gettext_lazy("All it still brings came whole"), required=False)


@dataclass(frozen=True, slots=True)
class DeliveryLine:
    pk: int
    what: str
    when: str
    condition: str
    brings: tuple[str, ...]  # by opening, in few words
    lacks: tuple[str, ...]
    stops: tuple[str, ...]
    form: ReceiveForm | None


def delivery_lines(act: Act, openings: QuerySet[Opening], job_id: int, reader: Reader) -> list[DeliveryLine]:
    """`openings`: those of the job this person may see; of others nothing is said."""
    found = list(Delivery.objects.filter(job=job_id).prefetch_related("openings"))
    parts = _parts([one.pk for one in found], openings)
    stops = stopped_by([one.pk for one in found], openings)
    own = _receivable(act, job_id) if found else set()
    return [_line(one, parts.get(one.pk, []), stops.get(one.pk, []), reader, may=_may(act, one, parts, own))
            for one in found]


def _parts(deliveries: list[int], openings: QuerySet[Opening]) -> dict[int, list[Part]]:
    found: dict[int, list[Part]] = {}
    for part in Part.objects.filter(delivery__in=deliveries, unit__opening__in=openings).select_related(
            "panel", "unit__opening").order_by("unit__opening__tag", "pk"):
        found.setdefault(part.delivery_id, []).append(part)
    return found


def _receivable(act: Act, job_id: int) -> set[int]:
    return set(Opening.objects.filter(job=job_id).open_to(RECEIVE, act.user, act.role, act.today())
               .values_list("pk", flat=True))


def _may(act: Act, one: Delivery, parts: dict[int, list[Part]], own: set[int]) -> bool:
    """Offered where it may be done, as far as this page knows; the act itself decides."""
    how_far = reach(act.role, RECEIVE)
    named = {o.pk for o in one.openings.all()} | {part.unit.opening_id for part in parts.get(one.pk, [])}
    return how_far is Reach.ALL or (how_far is not None and bool(named) and named <= own)


def _line(one: Delivery, parts: list[Part], stops: list[dict[str, Any]], reader: Reader, *, may: bool) -> DeliveryLine:
    lacking = [part for part in parts if part.missing]
    if one.received_at is not None:
        when = _("came %s") % reader.day(one.received_at)
    else:
        when = _("expected %s") % reader.whole_day(one.expected_day) if one.expected_day else _("no day named")
    brings: dict[str, int] = {}
    for part in parts:
        brings[part.unit.opening.tag] = brings.get(part.unit.opening.tag, 0) + 1
    form = ReceiveForm(initial={"version": one.version}, auto_id=f"receive-{one.pk}-%s") if may and (
        one.received_at is None or lacking) else None
    if form is not None and not lacking:
        del form.fields["all_whole"]
    return DeliveryLine(
        one.pk, one.what, when, one.condition,
        tuple(_("%(tag)s: parts %(count)d") % {"tag": tag, "count": count} for tag, count in brings.items()),
        tuple(f"{part.unit.opening.tag}, {part.name}: {part_state(part)}" for part in lacking),
        tuple(_("%(tag)s: %(stage)s cannot begin") % {
            "tag": row["opening_tag"], "stage": words.stage(step["stage"]).lower()}
            for row in stops for step in row["work_steps"]), form)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def receive_delivery_page(request: HttpRequest, delivery_id: int) -> HttpResponse:
    act = request.act
    visible = Opening.objects.visible_to(act.user, act.role, act.today())
    delivery = Delivery.objects.filter(pk=delivery_id).first()
    if delivery is None or not (reach(act.role, "read") is Reach.ALL or visible.filter(job=delivery.job_id).exists()):
        raise Http404("There is no such delivery among yours.")
    back = redirect(reverse("job", args=[delivery.job_id]) + "#deliveries")
    if request.method != "POST":  # the address of a refusal, opened again
        return back
    form = ReceiveForm(request.POST)
    if not form.is_valid():
        raise Invalid(_("That could not be read."), fields={name: errors[0] for name, errors in form.errors.items()})
    whole = [{"part_id": part.pk, "whole": part.missing} for part in Part.objects.lacking().filter(
        delivery=delivery).select_related("panel")] if form.cleaned_data["all_whole"] else []
    receive_delivery(act, delivery.pk, condition=form.cleaned_data["condition"], parts=whole,
                     version=form.cleaned_data["version"])
    messages.success(request, _("Received: %s") % delivery.what)
    return back
