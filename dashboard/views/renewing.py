"""Pages that stay open and renew themselves: asked again while nothing has happened, they say so and send nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.utils.cache import get_conditional_response
from django.utils.crypto import salted_hmac

from dashboard.written import written_as
from jobs.acts import position

QUARTER = 15  # minutes: a day begins somewhere at a quarter of an hour, and nowhere in between


def renewed(request: HttpRequest, template: str, made: Callable[[], dict[str, Any]]) -> HttpResponse:
    """The page, made only where it may be another than the one that is shown. The script beside it asks with `mark`."""
    mark = mark_of(request, template)
    unchanged = None if len(get_messages(request)) else get_conditional_response(request, etag=mark)
    if unchanged is not None and unchanged.status_code == 304:
        return unchanged
    answer = render(request, template, {**made(), "mark": mark})
    answer["ETag"] = mark
    return answer


def mark_of(request: HttpRequest, what: str) -> str:
    """Changes with whatever the page is made of: what happened, the day, who reads it and how, our own files."""
    user = request.user
    parts = (position(), _days(request), user.pk, user.role, user.units, user.language, user.time_zone,
             request.session.session_key, written_as(), request.GET.urlencode(), static("dashboard/sillbook.css"),
             static("dashboard/renew.js"))
    return f'"{salted_hmac(what, repr(parts)).hexdigest()}"'


def _days(request: HttpRequest) -> str:
    """A day is over at another hour at each job: whenever it may be over somewhere, the page is made again."""
    now = request.act.now
    return now.replace(minute=now.minute - now.minute % QUARTER, second=0, microsecond=0).isoformat()
