"""One's own password, changed by whoever knows the old one."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import authenticate, update_session_auth_hash
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from dashboard.forms.sign_in import PasswordForm
from dashboard.views.pages import page
from jobs.errors import Invalid
from jobs.services.people import change_own_password


@sensitive_post_parameters("old", "password", "again")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@login_required  # before all else: passwords do not wait in a form until somebody has signed in
@page
def your_password(request: HttpRequest) -> HttpResponse:
    """The old one, then the new one twice. One stays signed in here, and nowhere else."""
    form = PasswordForm(request.POST if request.method == "POST" else None)
    if not form.is_valid():
        return _shown(request, form)
    if authenticate(request, username=request.user.username, password=form.cleaned_data["old"]) is None:
        form.add_error("old", _("That is not your password until now. Mind capitals."))
        return _shown(request, form)
    try:
        person = change_own_password(request.act, form.cleaned_data["password"])
    except Invalid as why:
        form.add_error("password", why.fields["password"])
        return _shown(request, form)
    update_session_auth_hash(request, person)
    messages.success(request, _("Your password is changed."))
    return redirect("crew-progress")


def _shown(request: HttpRequest, form: PasswordForm) -> HttpResponse:
    return render(request, "dashboard/your_password.html", {"form": form, "here": "you"},
                  status=422 if form.is_bound else 200)
