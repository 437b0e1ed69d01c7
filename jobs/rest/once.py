"""`Idempotency-Key`: a request that carries no id of its own is carried out once, however often it is sent.

The claim is a row of its own, committed first, so that a second process sees it. The act and the answer kept for it
are one transaction: a process that dies leaves both or neither, and a claim left behind may be taken over after
`STALE`. Only what was done is kept: after a refusal nothing was done, and the same request is judged anew.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable

from django.db import IntegrityError, transaction
from django.http import HttpResponse
from django.utils import timezone
from django.utils.crypto import salted_hmac
from rest_framework.request import Request

from jobs.models import IdempotentAnswer
from jobs.rest.errors import BadHeader, KeyHasOther, StillAtWork

KEPT = dt.timedelta(hours=24)
STALE = dt.timedelta(seconds=60)  # longer than the web server lets a request run
HEADERS = ("ETag", "Location", "Content-Type", "Cache-Control")
_KEY = re.compile(r"[\x21-\x7e]{1,120}")

Handler = Callable[[], HttpResponse]


def carried_out_once(request: Request, key: str, handler: Handler) -> HttpResponse:
    """The handler's answer, or the one kept from the first time."""
    if not _KEY.fullmatch(key):
        raise BadHeader("Idempotency-Key: 1 to 120 printable letters without spaces, such as a UUID.")
    claim = _claimed(request, key)
    if claim.finished_at is not None:
        return _replayed(claim)
    try:
        with transaction.atomic():
            response = handler()
            _keep(claim, response)
    except BaseException:
        _released(claim)
        raise
    return response


def _mark(request: Request) -> str:
    """What makes two requests the same: method, address and body. Keyed, since a body may hold a code."""
    content = b"\n".join((request.method.encode(), request.get_full_path().encode(), request._request.body))
    return salted_hmac("jobs.rest.once", content, algorithm="sha256").hexdigest()


def _claimed(request: Request, key: str) -> IdempotentAnswer:
    """A fresh claim of ours, or the finished answer; refuses another request under the key, and a second runner."""
    mark, now = _mark(request), timezone.now()
    kept = IdempotentAnswer.objects.filter(user=request.user, key=key)
    kept.filter(started_at__lt=now - KEPT).delete()
    try:
        with transaction.atomic():
            return IdempotentAnswer.objects.create(user=request.user, key=key, request=mark, started_at=now)
    except IntegrityError:
        found = kept.first()
    if found is None:
        raise StillAtWork("The first request with this key has just ended. Send it again.")
    if found.request != mark:
        raise KeyHasOther("This Idempotency-Key came with another method, address or body before. Use a new key.")
    if found.finished_at is None and not _taken_over(found, now):
        raise StillAtWork("The first request with this key is still at work. Send it again in a moment.")
    return found


def _taken_over(claim: IdempotentAnswer, now: dt.datetime) -> bool:
    if claim.started_at > now - STALE:
        return False
    mine = IdempotentAnswer.objects.filter(pk=claim.pk, finished_at=None, started_at=claim.started_at)
    taken = bool(mine.update(started_at=now))
    claim.started_at = now
    return taken


def _keep(claim: IdempotentAnswer, response: HttpResponse) -> None:
    kept = IdempotentAnswer.objects.filter(pk=claim.pk, finished_at=None, started_at=claim.started_at).update(
        finished_at=timezone.now(), status=response.status_code,
        headers={name: response[name] for name in HEADERS if name in response},
        body=getattr(response, "to_keep", response.content).decode())
    if not kept:  # somebody took the claim over: theirs counts, ours is undone
        raise StillAtWork("This took too long, and the same request was started again. Ask for its answer.")


def _released(claim: IdempotentAnswer) -> None:
    IdempotentAnswer.objects.filter(pk=claim.pk, finished_at=None, started_at=claim.started_at).delete()


def _replayed(claim: IdempotentAnswer) -> HttpResponse:
    response = HttpResponse(claim.body, status=claim.status, headers=claim.headers)
    response["Idempotent-Replayed"] = "true"
    return response


def forget_old_answers(now: dt.datetime) -> int:
    """Answers older than a day are not needed any more."""
    return IdempotentAnswer.objects.filter(started_at__lt=now - KEPT).delete()[0]
