"""What every page has: somebody signed in, their words and units, and refusals told in plain words."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.db import DataError, IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse
from django.middleware.gzip import GZipMiddleware
from django.shortcuts import render
from django.utils import timezone, translation
from django.utils.cache import patch_vary_headers
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _

from dashboard import words
from dashboard.contents import EVERY_DAY, NOW_AND_THEN, lines
from dashboard.languages import of_the_office
from dashboard.measures import Reader
from dashboard.views.sign_in import ask_again
from dashboard.written import written_for
from jobs.acts import Act
from jobs.errors import NotThere, Refusal
from jobs.models import Job, OfficeSettings, Opening
from jobs.roles import LABELS, Reach, Role, reach

log = logging.getLogger(__name__)

View = Callable[..., HttpResponse]
PAGE = 50  # rows of a list at once
# Pages only: of what the API sends the mark must stay the one it was sent with, to be sent back with a change.
_GZIP = GZipMiddleware(lambda request: HttpResponse())


@dataclass(frozen=True)
class Told:
    """A refusal, as a page shows it."""

    title: str
    detail: str
    reasons: tuple[str, ...] = ()
    typed: Sequence[tuple[str, str]] = ()  # into a form that has no place on the page any more

    @classmethod
    def of(cls, why: Refusal, reader: Reader, named: bool = True) -> Told:
        return cls(_(why.title), _(why.detail), words.unique(words.reason(r, reader, named) for r in why.reasons))


def page(view: View) -> View:
    """Signed in, in the reader's language; a refusal that the view does not show itself gets a page of its own."""
    @wraps(view)
    def shown(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.user.is_authenticated:
            typed = request.method == "POST"
            return ask_again(request) if typed else redirect_to_login(request.get_full_path())
        request.act = Act.of(request.user, timezone.now())
        request.office = SimpleLazyObject(OfficeSettings.current)
        request.reader = Reader.of(request.user, request.act.now, request.office)
        language = of_the_office(request.user.language)
        with translation.override(language), written_for(request.headers.get("Accept-Language", "")):
            response = _answered(view, request, *args, **kwargs)
        patch_vary_headers(response, ["Accept-Language"])
        if "Cache-Control" not in response:
            response["Cache-Control"] = "private, no-cache"
        is_text = response.get("Content-Type", "").startswith("text/")
        return packed(request, response) if is_text else response
    return shown


def packed(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    return _GZIP.process_response(request, response)


def _answered(view: View, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
    try:
        return view(request, *args, **kwargs)
    except NotThere as why:
        raise Http404(why.detail) from why
    except Refusal as why:
        return refused(request, why)
    except (IntegrityError, DataError, OperationalError) as why:
        log.warning("Answered 409: %s", why.__class__.__name__)
        return refused(request, Refusal(_("Somebody else was at it in the same moment, or the database is busy. "
                                          "Nothing was done; try again.")))


def refused(request: HttpRequest, why: Refusal) -> HttpResponse:
    return render(request, "dashboard/refused.html", {"told": Told.of(why, request.reader)}, status=why.status)


def office_line(request: HttpRequest) -> dict[str, Any]:
    """For the title block of every page; whose sheet it is and what day they have."""
    reader = getattr(request, "reader", None)
    if reader is None:
        return {}
    today = timezone.now().astimezone(reader.zone).date()
    role = request.user.role
    return {"company": request.office.company, "today": reader.day(today), "week": today.isocalendar().week,
            "role": LABELS[Role(role)], "every_day": lines(EVERY_DAY, role), "now_and_then": lines(NOW_AND_THEN, role)}


def opening_of(act: Act, opening_id: int) -> Opening:
    """The opening, if it is among those this person may see; otherwise there is none."""
    found = Opening.objects.visible_to(act.user, act.role, act.today()).select_related(
        "job__builder", "job__owner", "unit__system").filter(pk=opening_id).first()
    if found is None:
        raise Http404("There is no such opening among yours.")
    return found


def may_read_contacts(act: Act, job: Job) -> bool:
    how_far = reach(act.role, "read contacts")
    if how_far is Reach.ALL or how_far is None:
        return how_far is Reach.ALL
    return Opening.objects.filter(job=job).open_to("read contacts", act.user, act.role, act.today()).exists()
