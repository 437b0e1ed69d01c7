"""Refusals in the trade's words, raised by services and mapped once to problem documents and page messages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

RIGHT_DAY = "a day such as 2026-03-31: look at the year"


class Refusal(Exception):
    """The act was not done. `detail` says what would be right; `fields` names the fields at fault."""

    status = 409
    code = "refused"
    title = "Not done"

    def __init__(self, detail: str, *, fields: Mapping[str, str] | None = None,
                 reasons: Sequence[Mapping[str, Any]] = (), code: str | None = None) -> None:
        self.detail, self.fields, self.reasons = detail, dict(fields or {}), list(reasons)
        self.code = code or self.code
        super().__init__(detail)


class Invalid(Refusal):
    status, code, title = 422, "invalid", "That cannot be right"


class NotAllowed(Refusal):
    status, code, title = 403, "not-allowed", "Not yours to do"


class NotThere(Refusal):
    status, code, title = 404, "not-there", "No such record"


class GateSaysNo(Refusal):
    """The gate does not pass; `reasons` has every one of them at once."""

    status, code, title = 409, "gate-says-no", "The gate does not pass"


class SomeoneWasFaster(Refusal):
    """The record changed under the one who acts."""

    status, code, title = 412, "someone-was-faster", "Someone else changed this first"


class VersionMissing(Refusal):
    status, code, title = 428, "version-missing", "Say which version you change"


class AlreadyHasOther(Refusal):
    """The same id came with other content: the first stays."""

    status, code, title = 409, "same-id-other-content", "That id is taken by another entry"


class Gone(Refusal):
    """It was there once and no longer holds."""

    status, code, title = 410, "gone", "That no longer holds"
