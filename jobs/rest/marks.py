"""Marks (ETags) and what is asked of them: *only if it changed*, *only if nobody changed it*.

A list's mark is where the feed stands and what the reader may see that day: it costs two short queries, and no page
is built to say that nothing changed. A record's mark is its content; that of an office record starts with its
version, and of an `If-Match` it is the version that counts.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable

from django.http import HttpResponse, HttpResponseNotModified

from jobs.errors import SomeoneWasFaster, VersionMissing

_ONE = re.compile(r'(W/)?"([\x21\x23-\x7e]*)"')
_VERSION = re.compile(r"([0-9]{1,9})(?:-[0-9a-f]+)?")


def mark_of(*content: object) -> str:
    return hashlib.sha256(repr(content).encode()).hexdigest()[:32]


def content_mark(body: bytes, version: int | None = None) -> str:
    short = hashlib.sha256(body).hexdigest()[:20]
    return short if version is None else f"{version}-{short}"


def is_known(sent: str | None, mark: str) -> bool:
    """Whether `If-None-Match` names this mark (compared weakly, as RFC 9110 says for it)."""
    if not sent:
        return False
    return sent.strip() == "*" or any(found[2] == mark for found in _ONE.finditer(sent))


def marked(response: HttpResponse, mark: str) -> HttpResponse:
    response["ETag"] = f'"{mark}"'
    # One reader's answer is nobody else's, and is asked for again each time.
    response["Cache-Control"] = "private, no-cache"
    return response


def unchanged(mark: str) -> HttpResponse:
    return marked(HttpResponseNotModified(), mark)


def version_named(sent: str | None, current: int) -> int:
    """The version in `If-Match`: `"3"`, or the whole mark it came with."""
    versions = set(_versions(sent or ""))
    if not sent or sent.strip() == "*":
        raise VersionMissing(f'Send If-Match with the ETag you read, such as "{current}", so that nobody\'s change '
                             "is lost.")
    if current in versions:
        return current
    raise SomeoneWasFaster("This was changed by somebody else. Read it again, then change it.")


def _versions(sent: str) -> Iterable[int]:
    for found in _ONE.finditer(sent):
        number = _VERSION.fullmatch(found[2])
        if number and not found[1]:  # a weak mark proves nothing to a change
            yield int(number[1])
