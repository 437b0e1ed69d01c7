"""A copy of a telephone's outbox, taken in by the office: when a telephone is broken, lost its sign-in, or cannot send.

What stands in it is recorded in the name of whoever entered it, by their rights, with the telephone's times and ids, as
if the telephone had sent it: taken in twice, or sent by the telephone as well, it is there once.
"""

from __future__ import annotations

import base64
import binascii
import datetime as dt
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import orjson
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from inspections.models import Photo
from inspections.services.entries import MOST, take_in
from inspections.services.photos import store_photo
from jobs.acts import Act, carry_out
from jobs.errors import Invalid, Refusal
from jobs.models import User

SHAPE = 1  # of the file; the page that writes it says so
PHOTO = ("about", "about_id", "check_code", "caption")


@dataclass(frozen=True, slots=True)
class Copy:
    person: User
    entries: list[Any]
    photos: list[Any]


@dataclass(frozen=True, slots=True)
class Became:
    """What became of one of them."""

    what: str
    result: str
    why: str = ""


def read_copy(data: bytes) -> Copy:
    """Refuses a file that is none, and one of somebody who is not here."""
    try:
        sent = orjson.loads(data)
    except orjson.JSONDecodeError:
        sent = None
    if not isinstance(sent, Mapping) or sent.get("outbox") != SHAPE:
        raise Invalid(_("This is no copy of a telephone's outbox."), fields={"copy": _("the file that was kept there")})
    person = User.objects.filter(pk=sent.get("person") if isinstance(sent.get("person"), int) else None).first()
    if person is None:
        raise Invalid(_("Nobody here entered that."), fields={"copy": _("a copy from a telephone of this company")})
    lists = {name: sent.get(name, []) for name in ("entries", "photos")}
    if not all(isinstance(rows, list) for rows in lists.values()):
        raise Invalid(_("This copy is damaged."), fields={"copy": _("the file as it was kept, not opened and saved")})
    return Copy(person, **lists)


def take_in_copy(act: Act, copy: Copy) -> list[Became]:
    """Entry by entry, then photo by photo; one that is refused holds up no other."""
    theirs = Act.of(copy.person, act.now)
    became: list[Became] = []
    for first in range(0, len(copy.entries), MOST):
        part = copy.entries[first:first + MOST]
        became += [_entry(sent, told) for sent, told in zip(part, take_in(theirs, part), strict=True)]
    became += [_photo(theirs, sent) for sent in copy.photos]
    with carry_out(act) as done:
        done.note(act, "copy taken in", "people", copy.person.pk, entries=len(copy.entries), photos=len(copy.photos))
    return became


def _entry(sent: Any, told: Mapping[str, Any]) -> Became:
    problem = told.get("problem") or {}
    why = " ".join([str(problem.get("detail", "")), *(f"{n}: {r}." for n, r in (problem.get("fields") or {}).items())])
    return Became(str(sent.get("entry", "")) if isinstance(sent, Mapping) else "", told["result"], why.strip())


def _photo(act: Act, sent: Any) -> Became:
    try:
        given = _photo_given(sent)
        had = Photo.objects.filter(pk=given["entry_id"]).exists()
        store_photo(act.at_device_time(given.pop("at")), **given)
    except Refusal as why:
        return Became("photo", "refused", why.detail)
    return Became("photo", "had already" if had else "stored")


def _photo_given(sent: Any) -> dict[str, Any]:
    try:
        at = parse_datetime(sent["taken_at"]) if sent.get("taken_at") else None
        return {"opening_id": int(sent["opening"]), "data": base64.b64decode(sent["picture"], validate=True),
                "entry_id": uuid.UUID(sent["id"]), "at": at if at is None or at.tzinfo else at.replace(tzinfo=dt.UTC),
                **{name: str(sent.get(name, "")) for name in PHOTO}}
    except (AttributeError, KeyError, TypeError, ValueError, binascii.Error) as why:
        raise Invalid(_("This photo of the copy is damaged.")) from why


def counted(became: Iterable[Became]) -> dict[str, int]:
    found: dict[str, int] = {}
    for one in became:
        found[one.result] = found.get(one.result, 0) + 1
    return found
