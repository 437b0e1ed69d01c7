"""Refusals that only the API has: a query nobody can read, a precondition, a key used twice."""

from __future__ import annotations

from jobs.errors import Refusal


class BadQuery(Refusal):
    """A parameter of the address cannot be read."""

    status, code, title = 400, "bad-query", "The address asks for something that cannot be"

    def __init__(self, name: str, right: str) -> None:
        super().__init__(f"{name}: {right}.", fields={name: right})


class BadHeader(Refusal):
    status, code, title = 400, "bad-header", "A header cannot be read"


class KeyHasOther(Refusal):
    status, code, title = 422, "key-with-other-request", "This key was used for another request"


class StillAtWork(Refusal):
    status, code, title = 409, "still-at-work", "The first request with this key is still at work"


class LockedOut(Refusal):
    status, code, title = 429, "locked-out", "Too many wrong passwords"
