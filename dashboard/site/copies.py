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
GATES = ("stage-change", "acceptance", "hold-point")


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
    """Entries, then photos; one that is refused holds up no other. A gate asks for the photos taken before it: it comes
    after them, as from the telephone, and what was entered at its opening since comes after it."""
    theirs = Act.of(copy.person, act.now)
    first, held = _in_turn(copy)
    theirs_too = {_of(sent, "id") for sent in held}
    since = [sent for sent in copy.photos if _of(sent, "about_id") in theirs_too]
    became = _entries(theirs, first)
    became += [_photo(theirs, sent) for sent in copy.photos if sent not in since]
    became += _entries(theirs, held)
    became += [_photo(theirs, sent) for sent in since]
    with carry_out(act) as done:
        done.note(act, "copy taken in", "people", copy.person.pk, entries=len(copy.entries), photos=len(copy.photos))
    return became


def _in_turn(copy: Copy) -> tuple[list[Any], list[Mapping[str, Any]]]:
    """What goes at once, and what waits for photos."""
    with_photos = {_of(sent, "opening") for sent in copy.photos}
    first, held, behind_a_gate = [], [], set()
    for sent in copy.entries:
        opening = _of(sent, "opening")
        if _of(sent, "entry") in GATES and opening in with_photos:
            behind_a_gate.add(opening)
        (held if opening in behind_a_gate else first).append(sent)
    return first, held


def _of(sent: Any, name: str) -> str:
    return str(sent.get(name, "")) if isinstance(sent, Mapping) else ""


def _entries(theirs: Act, entries: list[Any]) -> list[Became]:
    parts = (entries[first:first + MOST] for first in range(0, len(entries), MOST))
    return [_entry(sent, told) for part in parts for sent, told in zip(part, take_in(theirs, part), strict=True)]


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
