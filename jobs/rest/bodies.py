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
            return orjson.loads(body) if body else {}
        except orjson.JSONDecodeError as why:
            raise ParseError(f"This is not JSON: {why}. Send one JSON object, in UTF-8.") from why


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
