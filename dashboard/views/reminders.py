"""The reminders that were sent: what each said, to whom, when; the way to read them where no mail server is named."""

from __future__ import annotations

import uuid
from dataclasses import dataclass

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from dashboard.measures import Reader
from dashboard.views.pages import PAGE, page
from inspections.models import Message
from jobs.acts import Act
from jobs.errors import NotAllowed
from jobs.roles import Reach, reach


@dataclass(frozen=True, slots=True)
class Line:
    message: Message
    at: str
    state: str


@require_safe
@page
def reminders_page(request: HttpRequest) -> HttpResponse:
    rows = _readable(request.act)
    before = _id(request.GET.get("before", ""))
    if before is not None:
        rows = rows.filter(pk__lt=before)
    found = list(rows.select_related("user").order_by("-pk")[: PAGE + 1])
    return render(request, "dashboard/reminders.html", {
        "lines": [_line(message, request.reader) for message in found[:PAGE]],
        "more": found[PAGE - 1].pk if len(found) > PAGE else "",
        "everybodys": reach(request.act.role, "read reminders") is Reach.ALL,
        "by_mail": bool(settings.EMAIL_HOST), "here": "items"})


def _readable(act: Act) -> QuerySet[Message]:
    how_far = reach(act.role, "read reminders")
    if how_far is None:
        raise NotAllowed("Guests are not reminded of anything.")
    written = Message.objects.exclude(text="")
    return written if how_far is Reach.ALL else written.filter(user=act.user)


def _line(message: Message, reader: Reader) -> Line:
    return Line(message, reader.moment(message.sent_at or message.not_before), message.get_state_display())


def _id(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None
