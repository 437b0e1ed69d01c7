"""JSON in and out: read whole and strictly, written fast."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import IO, Any

import orjson
from django.http import HttpResponse
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.renderers import JSONRenderer

OPTIONS = orjson.OPT_UTC_Z | orjson.OPT_NON_STR_KEYS

# What is sent is kept and handed out again inside something else; the writer reaches 254 levels and no further.
_LEVELS_AROUND = 200

# A NUL is a letter no column of a PostgreSQL table can hold.
_NUL = re.compile(rb"(?<!\\)(?:\\\\)*\\u0000")


class StrictJSON(BaseParser):
    """Reads `request.body`, and not the stream: only so does the limit on a body's size hold."""

    media_type = "application/json"

    def parse(self, stream: IO[bytes], media_type: str | None = None,
              parser_context: Mapping[str, Any] | None = None) -> Any:
        body = (parser_context or {})["request"]._request.body
        if _NUL.search(body):
            raise ParseError("There is a null character (\\u0000) in the text. Take it out.")
        try:
            read = orjson.loads(body) if body else {}
        except orjson.JSONDecodeError as why:
            raise ParseError(f"This is not JSON: {why}. Send one JSON object, in UTF-8.") from why
        if _lies_too_deep(read):
            raise ParseError("Objects lie too deep within each other: a few levels at most.")
        return read


def _lies_too_deep(read: Any) -> bool:
    """Whether it could not be written again with room to spare; asked of the writer, which is quicker than walking."""
    for _ in range(_LEVELS_AROUND):
        read = [read]
    try:
        orjson.dumps(read)
    except orjson.JSONEncodeError:
        return True
    return False


def dumped(data: Any) -> bytes:
    """Times as RFC 3339 in UTC with a Z, dates and UUIDs as text."""
    return orjson.dumps(data, default=str, option=OPTIONS)


class FastJSON(JSONRenderer):
    """For the few answers that are not made by `answer`."""

    charset = None

    def render(self, data: Any, accepted_media_type: str | None = None,
               renderer_context: Mapping[str, Any] | None = None) -> bytes:
        return b"" if data is None else dumped(data)


def answer(data: Any, status: int = 200, **headers: str) -> HttpResponse:
    """A finished answer: what it says is known at once, for its mark and for a replay."""
    return HttpResponse(dumped(data), status=status, content_type="application/json", headers=headers)
