"""What is done to an opening from its page: one plain form post an act."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from dashboard.forms.acts import ActForm
from dashboard.opening.sheet import OpeningSheet
from dashboard.views.opening import show_opening
from dashboard.views.pages import Told, View, opening_of, page
from jobs.calc.verdict import BadInput
from jobs.errors import Refusal
from jobs.services.access import require

UNREADABLE = 422


def act_page(kind: type[ActForm]) -> View:
    """The page that this form is sent to. Done, it leads back; refused, it shows why, with what was typed."""
    @require_http_methods(["GET", "HEAD", "POST"])
    @page
    def done(request: HttpRequest, opening_id: int) -> HttpResponse:
        if request.method != "POST":  # the address of a refusal, opened again
            return redirect(asked_of(request, reverse("opening", args=[opening_id])))
        opening = opening_of(request.act, opening_id)
        require(request.act, kind.may, opening)
        form = kind(request.POST, request.FILES, at=OpeningSheet.of(request, opening).ground)
        if not form.is_valid():
            return show_opening(request, opening, bound=[form], told=unreadable(), status=UNREADABLE)
        try:
            said = form.carry_out(request.act, opening)
        except (Refusal, BadInput) as why:
            return _refused(request, opening_id, form, as_refusal(why))
        messages.success(request, said)
        return redirect(f"{reverse('opening', args=[opening_id])}#{kind.section}")
    return done


def _refused(request: HttpRequest, opening_id: int, form: ActForm, why: Refusal) -> HttpResponse:
    form.take_refusal(why)
    opening = opening_of(request.act, opening_id)  # read again: what was found at first may not stand any more
    sheet = OpeningSheet.of(request, opening)
    told = Told.of(why, sheet.reader, sheet.named)
    # Somebody else was faster: there is nothing to keep.
    stands = all(r["reason"] in ("already-there", "panel-already") for r in why.reasons)
    keep = form if form.can_be_kept and not stands and why.code == "gate-says-no" else None
    return with_what_was_typed(form, told, lambda told: show_opening(
        request, opening, bound=[form], told=told, status=why.status, keep=keep))


def with_what_was_typed(form: ActForm | None, told: Told | None,
                        draw: Callable[[Told | None], HttpResponse]) -> HttpResponse:
    """A page with its refusal. If the form has no place on it any more, what was written stands in the refusal."""
    answer = draw(told)
    if form is None or told is None or f'id="{form.key}-' in answer.content.decode():
        return answer
    return draw(replace(told, typed=form.typed))


def asked_of(request: HttpRequest, page: str) -> str:
    """The page with what is asked of it: a link of a page that came back refused leads to the page itself."""
    asked = request.META["QUERY_STRING"]
    return f"{page}?{asked}" if asked else page


def as_refusal(why: Refusal | BadInput) -> Refusal:
    if isinstance(why, Refusal):
        return why
    refusal = Refusal(_("Look at the fields marked below."), fields={why.field: why.right})
    refusal.status, refusal.title = UNREADABLE, _("That cannot be right")
    return refusal


def unreadable() -> Told:
    return Told(_("Not done yet"), _("Look at the fields marked below; what you typed is still there."))
