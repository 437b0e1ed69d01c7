"""People and who may sign in: kept by the office. A first password is shown to whoever gave it, and never again."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import models
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from dashboard.forms.people import PASSWORD_AT, NewPersonForm, PasswordForm, PersonForm
from dashboard.office.people import shown_people
from dashboard.views.crew_records import today_of
from dashboard.views.pages import PAGE, page
from dashboard.views.records import Sheet, number, show_form
from jobs.models import AccessToken, User
from jobs.services.access import require
from jobs.services.people import change_person, make_person
from jobs.services.tokens import revoke_token

MAY, HERE = "keep people", "people"


@require_safe
@page
def people_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)
    after, search = number(request.GET.get("after", "")), request.GET.get("search", "").replace("\x00", "").strip()[:80]
    rows = User.objects.order_by("-is_active", "name", "pk")
    if search:
        rows = rows.filter(Q(name__icontains=search) | Q(username__icontains=search) | Q(phone__icontains=search))
    found = list(rows[after:after + PAGE + 1])
    return render(request, "dashboard/people.html", {
        "people": shown_people(found[:PAGE], request.reader, today_of(request)), "search": search,
        "more": after + PAGE if len(found) > PAGE else "", "here": HERE})


def _person(person_id: int) -> User:
    found = User.objects.filter(pk=person_id).first()
    if found is None:
        raise Http404("There is no such person.")
    return found


@require_safe
@page
def person_page(request: HttpRequest, person_id: int) -> HttpResponse:
    require(request.act, MAY)
    shown = shown_people([_person(person_id)], request.reader, today_of(request), past=True)[0]
    return render(request, "dashboard/person.html", {"p": shown, "here": HERE})


@require_http_methods(["GET", "HEAD", "POST"])
@page
def change_person_page(request: HttpRequest, person_id: int) -> HttpResponse:
    require(request.act, MAY)
    base = _person(person_id)
    where = reverse("person", args=[base.pk])

    def carry(values: dict[str, Any], version: int) -> models.Model:
        return change_person(request.act, base, values, version=version)

    return show_form(request, Sheet(_("Change %s") % base, base, PersonForm, carry, where, lambda kept: where, HERE))


@require_POST
@page
def access_page(request: HttpRequest, person_id: int) -> HttpResponse:
    """Ends somebody's access from the next request on, their tokens' too; or gives it back."""
    require(request.act, MAY)
    base, back = _person(person_id), request.POST.get("back") == "1"
    if base.is_active != back:  # otherwise it was pressed twice
        change_person(request.act, base, {"is_active": back}, version=number(request.POST.get("version", "")))
    messages.success(request, (_("%s may sign in again.") if back else _("%s may not sign in any more.")) % base)
    return redirect("person", base.pk)


@require_POST
@page
def revoke_token_page(request: HttpRequest, token_id: uuid.UUID) -> HttpResponse:
    """For a telephone that is lost: what it carries opens nothing any more; whoever lost it still signs in."""
    require(request.act, MAY)
    found = AccessToken.objects.filter(public_id=token_id).first()
    if found is None:
        raise Http404("There is no such token.")
    revoke_token(request.act, found)
    messages.success(request, _("%s opens nothing any more.") % (found.name or _("The token")))
    return redirect("person", found.user_id)


# ---- first passwords -------------------------------------------------------------------------------------


@sensitive_post_parameters(PASSWORD_AT)
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@page
def new_person_page(request: HttpRequest) -> HttpResponse:
    require(request.act, MAY)
    base = User(time_zone="UTC", role="installer")

    def carry(values: dict[str, Any], version: int) -> models.Model:
        return make_person(request.act, values, request.POST.get(PASSWORD_AT, ""))

    return show_form(request, Sheet(_("Somebody new"), base, NewPersonForm, carry, reverse("people"),
                                    lambda kept: reverse("person", args=[kept.pk]), HERE, answer=_handed_over))


def _handed_over(request: HttpRequest, kept: models.Model) -> HttpResponse:
    """The password as it was typed, while it is still theirs: sent twice, this is the answer to both."""
    password = request.POST.get(PASSWORD_AT, "")
    if not isinstance(kept, User) or not kept.check_password(password):
        messages.success(request, _("It was given before and has been changed since."))
        return redirect("person", kept.pk)
    return render(request, "dashboard/first_password.html", {"person": kept, "password": password, "here": HERE})


@sensitive_post_parameters(PASSWORD_AT)
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@login_required  # a password does not wait in a form until somebody has signed in, and here is nothing else
@page
def password_page(request: HttpRequest, person_id: int) -> HttpResponse:
    """For whoever has forgotten theirs: another first one. Wherever they are signed in, they are signed out."""
    require(request.act, MAY)
    base = _person(person_id)
    where = reverse("person", args=[base.pk])
    if base == request.user:
        return redirect("your-password")

    def carry(values: dict[str, Any], version: int) -> models.Model:
        if base.check_password(values[PASSWORD_AT]):  # sent twice
            return base
        return change_person(request.act, base, {}, version=version, password=values[PASSWORD_AT])

    return show_form(request, Sheet(_("A new password for %s") % base, base, PasswordForm, carry, where,
                                    lambda kept: where, HERE, button=_("Give it"), answer=_handed_over))
