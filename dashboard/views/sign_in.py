"""Signing in and out."""

from __future__ import annotations

from typing import Any
from urllib.parse import parse_qsl

from django.conf import settings
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import translation
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.csrf import csrf_failure
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from dashboard.forms.sign_in import SignInForm
from dashboard.measures import Reader
from dashboard.written import written_for
from jobs.models import OfficeSettings

SECRETS = ("password", "old", "again")  # do not wait in a form: they are typed again


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Name and password; afterwards on to where one wanted to go, if that is a page of ours."""
    with _as_where_it_leads(request):
        return _signed_in(request)


def _signed_in(request: HttpRequest) -> HttpResponse:
    onward = _onward(request)
    if request.method != "POST":
        return redirect(onward) if request.user.is_authenticated else _form(request, SignInForm(), onward)
    form = SignInForm(request.POST)
    if not form.is_valid():
        return _form(request, form, onward, status=422)
    user = authenticate(request, username=form.cleaned_data["username"], password=form.cleaned_data["password"])
    if user is None:
        form.add_error(None, _("That name and password do not go together. Mind capitals."))
        return _form(request, form, onward, status=422)
    login(request, user)
    return _led_on(request, onward)


def _as_where_it_leads(request: HttpRequest) -> translation.override:
    """On the way to the site page in the telephone's language, as that is; else as all other pages."""
    to_site = _onward(request).startswith(reverse("site"))
    return translation.override(translation.get_language_from_request(request) if to_site else settings.LANGUAGE_CODE)


def _led_on(request: HttpRequest, onward: str) -> HttpResponse:
    """With what waited in the form, if something did."""
    kept = request.POST.get("kept")
    if kept is None:
        return redirect(onward)
    return _to_be_sent(request, onward, kept, request.POST.get("photo") == "1")


def _to_be_sent(request: HttpRequest, onward: str, kept: str, photo: bool, status: int = 200) -> HttpResponse:
    request.office = OfficeSettings.current()
    request.reader = Reader.of(request.user, office=request.office)
    values = parse_qsl(kept, keep_blank_values=True)
    own_words = [value for _name, value in values if any(char.isspace() for char in value.strip())]
    with written_for(request.headers.get("Accept-Language", "")):
        return render(request, "dashboard/kept.html", {
            "onward": onward, "kept": values, "own_words": own_words, "as_whom": request.user, "photo": photo},
            status=status)


def ask_again(request: HttpRequest) -> HttpResponse:
    """The session ended while somebody typed: what they sent waits in the form until they have signed in."""
    return _form(request, SignInForm(), request.get_full_path(), status=403, kept=_typed(request).urlencode(),
                 photo=bool(request.FILES))


def _typed(request: HttpRequest) -> QueryDict:
    typed = request.POST.copy()
    for name in ("csrfmiddlewaretoken", *SECRETS):
        typed.pop(name, None)
    return typed


@sensitive_post_parameters(*SECRETS)
@never_cache
def opened_before(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form opened before the last sign-in, which may have been in another window: its token holds no more. It is our
    own page all the same, and what was typed waits to be sent by whoever is signed in now."""
    if not _from_our_page(request) or request.path == reverse("sign-out"):
        return csrf_failure(request, reason)
    if request.path == reverse("sign-in"):
        onward = _onward(request)
        return _led_on(request, onward) if request.user.is_authenticated else _form(
            request, SignInForm(), onward, status=403)
    if not request.user.is_authenticated:
        return ask_again(request)
    return _to_be_sent(request, request.get_full_path(), _typed(request).urlencode(), bool(request.FILES), 403)


def _from_our_page(request: HttpRequest) -> bool:
    """As the browser says, whom no page can make say otherwise (RFC 6454)."""
    return request.headers.get("Origin") == f"{request.scheme}://{request.get_host()}"


def locked_out(request: HttpRequest, response: HttpResponse | None = None,
               credentials: dict[str, Any] | None = None) -> HttpResponse:
    """Told in place of any answer once too many passwords were guessed for this name from this address."""
    form = SignInForm(request.POST)
    minutes = int(settings.AXES_COOLOFF_TIME.total_seconds() // 60)
    with _as_where_it_leads(request):
        form.is_valid()
        form.add_error(None, _("Too many wrong passwords for this name from here. Wait %d minutes, or ask the office "
                               "for a new password.") % minutes)
        answer = _form(request, form, _onward(request), status=429)
    answer["Retry-After"] = str(minutes * 60)
    answer["Cache-Control"] = "no-store"
    return answer


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("sign-in")


def _onward(request: HttpRequest) -> str:
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    ours = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
    return wanted if ours else settings.LOGIN_REDIRECT_URL


def _form(request: HttpRequest, form: SignInForm, onward: str, status: int = 200, kept: str | None = None,
          photo: bool = False) -> HttpResponse:
    """`kept`: what waits in it; none: nobody was asked again. A button alone has nothing typed, and waits too."""
    answer = render(request, "dashboard/sign_in.html", {
        "form": form, "next": onward, "kept": request.POST.get("kept") if kept is None else kept,
        "photo": photo or request.POST.get("photo") == "1"}, status=status)
    answer["Content-Language"] = translation.get_language()
    return answer
