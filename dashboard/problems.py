"""Every refusal of the API as one kind of document (RFC 9457): what is wrong, with which field, what would be right."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from django.core.exceptions import (
    BadRequest,
    ObjectDoesNotExist,
    PermissionDenied,
    RequestDataTooBig,
    SuspiciousOperation,
    TooManyFieldsSent,
    TooManyFilesSent,
    ValidationError,
)
from django.db import DataError, IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, UnreadablePostError
from django.shortcuts import render
from django.views import defaults
from rest_framework import exceptions as rest
from rest_framework.request import Request

from dashboard.site.refused import problem_said
from inspections.imaging import MOST_BYTES
from jobs.calc.verdict import BadInput
from jobs.errors import Refusal
from jobs.rest.bodies import dumped

log = logging.getLogger(__name__)

MEDIA_TYPE = "application/problem+json"
KIND = "urn:sillbook:problem:"


def problem(status: int, code: str, title: str, detail: str, **more: Any) -> HttpResponse:
    """One problem document. `more`: fields, reasons, sent."""
    document = problem_said({"type": KIND + code, "title": title, "status": status, "detail": detail, "code": code,
                             **{name: value for name, value in more.items() if value}})
    response = HttpResponse(dumped(document), status=status, content_type=MEDIA_TYPE)
    response["Cache-Control"] = "no-store"
    return response


def problem_response(error: Exception, context: Mapping[str, Any]) -> HttpResponse | None:
    """The document for a refusal; None for what is our own fault."""
    if isinstance(error, Refusal):
        return _refusal(error)
    if isinstance(error, BadInput):
        return problem(422, "invalid", "That cannot be right", f"{error.field}: {error.right}",
                       fields={error.field: error.right}, sent={error.field: _short(error.sent)})
    if isinstance(error, rest.APIException):
        return _of_the_framework(error, context)
    for kinds, status, code, title, detail in _OTHERS:
        if isinstance(error, kinds):
            if status == 413:
                _hear_out(context["request"])
            if status >= 500 or status == 409:
                log.warning("Answered %s: %s", status, error.__class__.__name__)
            response = problem(status, code, title, detail)
            if status == 503:
                response["Retry-After"] = "1"
            return response
    if isinstance(error, ValidationError):
        return problem(422, "invalid", "That cannot be right", " ".join(error.messages))
    return None


HEARD_OUT = 64 * 1024 * 1024  # bytes; whoever sends more than that may be cut off


def _hear_out(request: Request) -> None:
    """Reads what is still being sent, and forgets it: most programs listen only once they have said all."""
    if int(request.META.get("CONTENT_LENGTH") or 0) > HEARD_OUT:
        return
    with suppress(OSError):
        while request._request.read(2**16):
            pass


_OTHERS: tuple[tuple[Any, int, str, str, str], ...] = (
    ((Http404, ObjectDoesNotExist), 404, "not-there", "No such record",
     "There is no such record among those you may see."),
    (PermissionDenied, 403, "not-allowed", "Not yours to do", "You may not do this."),
    (RequestDataTooBig, 413, "too-large", "Too much at once",
     "The body is larger than is taken at once. Send it in parts."),
    ((TooManyFieldsSent, TooManyFilesSent), 413, "too-large", "Too much at once", "There are too many fields in it."),
    ((SuspiciousOperation, BadRequest, UnreadablePostError), 400, "bad-request", "This cannot be read",
     "The request broke off or cannot be read. Send it again."),
    (IntegrityError, 409, "in-conflict", "Somebody came in between",
     "Something it stands on was changed in the same moment. Read it again, then send it again."),
    (DataError, 422, "invalid", "That cannot be right", "A value is too large or too long to be kept."),
    (OperationalError, 503, "busy", "Too busy just now", "The database is busy. Nothing was done; send it again."),
)


def _refusal(error: Refusal) -> HttpResponse:
    fields = {name or "record": words for name, words in error.fields.items()}
    return problem(error.status, error.code, error.title, error.detail, fields=fields, reasons=error.reasons)


_TITLES = {
    400: ("bad-request", "This cannot be read"),
    401: ("not-signed-in", "Sign in first"),
    403: ("not-allowed", "Not yours to do"),
    404: ("not-there", "No such record"),
    405: ("no-such-act", "That is not done here"),
    406: ("not-this-way", "It cannot be answered that way"),
    413: ("too-large", "Too much at once"),
    415: ("not-this-kind", "That kind of body is not read here"),
    429: ("too-often", "Too many requests"),
}


def _of_the_framework(error: rest.APIException, context: Mapping[str, Any]) -> HttpResponse:
    if isinstance(error, rest.ValidationError):
        fields = dict(_flat(error.detail))
        where = ", ".join(name for name in fields if name) or "the whole"
        return problem(422, "invalid", "That cannot be right", f"Look at: {where}.", fields=fields)
    code, title = _TITLES.get(error.status_code, ("refused", "Not done"))
    detail = str(error.detail)
    if isinstance(error, rest.UnsupportedMediaType):
        read = ", ".join(parser.media_type for parser in context["view"].get_parsers())
        detail = f"Send it with Content-Type: {read}."
    if isinstance(error, rest.NotAuthenticated):
        detail = "Sign in, or send a token: Authorization: Bearer sill_…. Tokens are made at /api/v1/tokens/."
    if isinstance(error, rest.NotAcceptable):
        detail = "Answers are application/json; leave Accept out, or name that."
    if isinstance(error, rest.MethodNotAllowed):
        detail = f"{context['request'].method} is not done here; what is: {', '.join(context['view'].allowed_methods)}."
    response = problem(error.status_code, code, title, detail)
    if getattr(error, "auth_header", None):
        response["WWW-Authenticate"] = error.auth_header
    if getattr(error, "wait", None):
        response["Retry-After"] = str(max(1, round(error.wait)))
    if error.status_code == 405 and "view" in context:
        response["Allow"] = ", ".join(context["view"].allowed_methods)
    return response


def _flat(detail: Any, within: str = "") -> list[tuple[str, str]]:
    """Nested errors as dotted names: `entries.3.given`."""
    if isinstance(detail, Mapping):
        return [pair for name, inner in detail.items()
                for pair in _flat(inner, within if name == "non_field_errors" else f"{within}.{name}".lstrip("."))]
    if isinstance(detail, list):
        if any(isinstance(inner, (Mapping, list)) for inner in detail):
            return [pair for n, inner in enumerate(detail) if inner
                    for pair in _flat(inner, f"{within}.{n}".lstrip("."))]
        return [(within, " ".join(str(words) for words in detail))]
    return [(within, str(detail))]


def _short(sent: object) -> str | bool | None:
    """What was sent, cut off where it is long; nothing, yes and no stay what they are in JSON."""
    if sent is None or isinstance(sent, bool):
        return sent
    text = str(sent)
    return text if len(text) <= 120 else text[:117] + "…"


# --- what no view answers

def page_not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    if request.path.startswith("/api/"):
        return problem(404, "not-there", "No such address",
                       "There is nothing at this address; /api/v1/docs/ lists what is.")
    return defaults.page_not_found(request, exception)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    if request.path.startswith("/api/"):
        return problem(400, "bad-request", "This cannot be read", "The request cannot be read.")
    if isinstance(exception, RequestDataTooBig):
        return render(request, "400.html", {"most": MOST_BYTES // 2**20}, status=413)
    return defaults.bad_request(request, exception)


def server_error(request: HttpRequest) -> HttpResponse:
    if request.path.startswith("/api/"):
        return problem(500, "our-fault", "Something broke here",
                       "This is our fault; nothing was done. It has been noted.")
    return defaults.server_error(request)
