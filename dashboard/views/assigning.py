"""Giving an opening's work: what it takes, who could take it, best first; pencil in, ink, change, take back, tell."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from dashboard import phrases, words
from dashboard.forms.assigning import OF_ASSIGNMENT, ChangeForm, GiveForm, OfAssignment, PlanForm, TakeBackForm
from dashboard.measures import Reader
from dashboard.opening.said import objection_words
from dashboard.planning import assigning as rows
from dashboard.planning.way_in import ways_in
from dashboard.planning.weeks import day_marks
from dashboard.views.opening_acts import UNREADABLE, as_refusal, unreadable
from dashboard.views.pages import Told, opening_of, page
from inspections.services.trips import booked_from
from jobs.calc.verdict import BadInput
from jobs.errors import Gone, Invalid, NotThere, Refusal
from jobs.models import Assignment, Crew, Equipment, Opening
from jobs.services.access import require
from jobs.services.giving import mark_of
from jobs.services.plans import WEEKS, given_of, plan_for, steps_left

MAY = "keep office records"


@require_http_methods(["GET", "HEAD", "POST"])
@page
def assign_page(request: HttpRequest, opening_id: int) -> HttpResponse:
    opening = opening_of(request.act, opening_id)
    require(request.act, MAY, opening)
    if request.method != "POST":
        return _show(request, opening)
    form = _bound(request, opening)
    reader = request.reader.at(opening.job.time_zone)
    if not form.is_valid():
        return _show(request, opening, form, unreadable(), UNREADABLE)
    if isinstance(form, OfAssignment) and form.of is None and not isinstance(form, TakeBackForm):
        return _show(request, opening, None, _gone(form, reader), Gone.status)
    try:
        said = form.carry_out(request.act, opening, reader)
    except (Refusal, BadInput) as why:
        refusal = as_refusal(why)
        return _show(request, opening, _again(form, refusal, opening), _told(refusal, reader), refusal.status)
    messages.success(request, said)
    return redirect(reverse("assign", args=[opening.pk]) + "#given")


def _bound(request: HttpRequest, opening: Opening) -> PlanForm:
    """The form that was sent, as far as it can be told which."""
    crews, equipment = list(Crew.objects.filter(active=True)), list(Equipment.objects.all())
    do, sent = request.POST.get("do", ""), request.POST
    if do == GiveForm.do:
        asked = _numbers(sent, "step")
        chosen = [step for step in steps_left(opening) if step.pk in asked]
        if "taken" in sent:
            sent = GiveForm.taken(sent, chosen)
        return GiveForm(sent, steps=chosen, crews=crews, equipment=equipment, given=given_of(chosen))
    kind = OF_ASSIGNMENT.get(do)
    if kind is None:
        raise Invalid("That could not be read.", fields={"do": "one of the buttons of the page"})
    return _of_assignment(kind, sent, opening, crews, equipment)


def _of_assignment(kind: type[OfAssignment], sent: QueryDict, opening: Opening, crews: list[Crew],
                   equipment: list[Equipment]) -> OfAssignment:
    """`of` is None where it was taken back since. What is given of another opening is not there."""
    found = Assignment.objects.filter(pk__in=_numbers(sent, "assignment")).select_related("crew", "work_step").first()
    if found is not None and found.opening_id != opening.pk:
        raise NotThere("There is no such assignment in this opening.")
    more = {"crews": crews, "equipment": equipment} if kind is ChangeForm else {}
    return kind(sent, of=found, **more)


def _numbers(sent: QueryDict, name: str) -> set[int]:
    return {int(text) for text in sent.getlist(name) if text.isdecimal() and len(text) < 19}


def _told(why: Refusal, reader: Reader) -> Told:
    """What stands against work is said as it is beside it."""
    return Told(_(why.title), _(why.detail), words.unique(
        objection_words(one, reader, True) if "code" in one else words.reason(one, reader) for one in why.reasons))


def _gone(form: OfAssignment, reader: Reader) -> Told:
    """Somebody took it back while this was typed: it is told, with what was typed."""
    return Told(_(Gone.title), _("This work was taken back by somebody else in the meantime. Nothing was changed; give "
                                 "it anew below if it still holds."), tuple(form.typed(reader)))


def _again(form: PlanForm, why: Refusal, opening: Opening) -> PlanForm:
    """With what was typed, and on what stands now: sent again, it is meant knowing that."""
    form.take_refusal(why)
    if isinstance(form, GiveForm):
        form.put("stood", mark_of(given_of(form.steps)))
    elif isinstance(form, OfAssignment):
        found = Assignment.objects.filter(pk=form.of.pk, opening=opening).first() if form.of is not None else None
        if found is not None:
            form.put("version", found.version)
    return form


def _show(request: HttpRequest, opening: Opening, bound: PlanForm | None = None, told: Told | None = None,
          status: int = 200) -> HttpResponse:
    act, reader = request.act, request.reader.at(opening.job.time_zone)
    today = act.today(opening.job.time_zone)
    more = "more" in request.GET
    plan = plan_for(opening, today, _asked(request, bound), weeks=2 * WEEKS if more else WEEKS,
                    trips=booked_from(today))
    of = bound if isinstance(bound, OfAssignment) else None
    give = bound if isinstance(bound, GiveForm) and plan.chosen else rows.give_form(plan, request.GET.dict())
    most = rows.SHOWN_MORE if more else rows.SHOWN
    candidates = rows.candidate_rows(plan, reader, today, most)
    return render(request, "dashboard/assign.html", {
        "opening": opening, "told": told, "here": "jobs", "promised": reader.whole_day(opening.job.promised_date),
        **_to_go(opening, today), "steps": rows.step_rows(plan, reader, True),
        "not_before": rows.not_before(plan, reader, today), "lifters": rows.lifter_lines(plan, reader),
        "ways": ways_in(opening, plan.left, plan.equipment, reader),
        "given": rows.given_rows(plan, reader, today, of), "candidates": candidates,
        "chosen": rows.chosen_words(plan.chosen), "chosen_steps": plan.chosen, "give": give,
        "give_open": isinstance(bound, GiveForm) or "crew" in request.GET, "weeks": len(plan.mondays),
        "is_more": more, "left_over": max(0, len(plan.found) - most),
        "day_marks": day_marks(one.week for one in candidates),
        "caution": phrases.LIFTING_CAUTION if any(step.lifting_grams for step in plan.left) else "",
        "stood": mark_of(one for one in plan.given if one.work_step in plan.chosen)}, status=status)


def _asked(request: HttpRequest, bound: PlanForm | None) -> set[int] | None:
    """Which steps: those that were ticked; of none ticked, what is left is for the plan to choose."""
    if isinstance(bound, GiveForm):
        return {step.pk for step in bound.steps}
    return _numbers(request.GET, "step") or None


def _to_go(opening: Opening, today: dt.date) -> dict[str, Any]:
    if opening.job.promised_date is None:
        return {}
    days = (opening.job.promised_date - today).days
    return {"to_go": words.days_to_go(days), "late": days < 0}
