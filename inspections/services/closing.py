"""Punch items and set-aside parts: raised, changed, closed, put back."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping
from typing import Any

from django.db.models import F, Max

from inspections.models import PunchItem, SetAsidePart
from inspections.services.gates import accept_opening
from inspections.services.inspecting import panel_in, when
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, carry_out
from jobs.calc.days import is_a_slip
from jobs.errors import Invalid, NotAllowed, NotThere, SomeoneWasFaster
from jobs.models import Opening, User
from jobs.models.base import new_id
from jobs.roles import Reach
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already

CAUSES = [cause for cause, _ in PunchItem.CAUSES]
CHANGEABLE = ("what", "place", "cause", "owner_id", "due_day")


def raise_punch_item(act: Act, opening_id: int, *, what: str, owner_id: int, due_day: dt.date,
                     panel_id: int | None = None, place: str = "", cause: str = "",
                     entry_id: uuid.UUID | None = None) -> PunchItem:
    """What is left to put right, whose, by when. Its number is the next of its opening."""
    mark = fingerprint("punch-item", opening_id, what, owner_id, due_day, panel_id, place, cause)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "raise a punch item", opening)
        had = had_already(PunchItem, entry_id, mark)
        if had is not None:
            return had
        values = _checked({"what": what, "place": place, "cause": cause, "owner_id": owner_id, "due_day": due_day})
        last = PunchItem.objects.filter(opening=opening).aggregate(last=Max("number"))["last"] or 0
        item = PunchItem.objects.create(id=entry_id or new_id(), opening=opening, number=last + 1,
                                        panel=panel_in(opening, panel_id), **values, **when(act), fingerprint=mark)
        done.note(act, "punch item raised", "punch-items", item.pk, opening=opening, number=item.number)
        refresh_at_end(act, done, opening)
    return item


def close_punch_item(act: Act, item_id: uuid.UUID, *, how: str, version: int | None = None) -> PunchItem:
    """Closed by somebody, at a time, and how. The same said twice is no change; said otherwise of one that was read
    open (`version`), somebody else was faster, and what they said stays."""
    with carry_out(act) as done:
        item, opening = _item(item_id)
        reach = require(act, "close a punch item", opening)
        if reach is Reach.THEIRS and item.owner_id != act.user.pk:
            raise NotAllowed("That item is somebody else's to close.")
        if not how.strip():
            raise Invalid("Say how it was put right.", fields={"how": "what was done"})
        if item.closed_at is not None:
            if version is not None and item.closed_how != how.strip():
                raise SomeoneWasFaster(f"This item was closed already: {item.closed_how}")
            return item
        _claim(item, version, closed_at=max(act.taken_at, item.taken_at), closed_by=act.user, closed_how=how.strip())
        done.note(act, "punch item closed", "punch-items", item.pk, opening=opening, number=item.number)
        refresh_at_end(act, done, opening)
    return item


def change_punch_item(act: Act, item_id: uuid.UUID, values: Mapping[str, Any], *, version: int) -> PunchItem:
    with carry_out(act) as done:
        item, opening = _item(item_id)
        require(act, "change a punch item", opening)
        unknown = [name for name in values if name not in CHANGEABLE]
        if unknown:
            raise Invalid("That cannot be changed.", fields={name: "not changeable" for name in unknown})
        if item.closed_at is not None:
            raise Invalid("This item is closed; raise a new one.", fields={"closed_at": "closed"})
        whole = {name: getattr(item, name) for name in CHANGEABLE}
        _claim(item, version, **_checked({**whole, **values}))
        done.note(act, "punch item changed", "punch-items", item.pk, opening=opening, fields=sorted(values))
    return item


def _item(item_id: uuid.UUID) -> tuple[PunchItem, Opening]:
    opening_id = PunchItem.objects.filter(pk=item_id).values_list("opening", flat=True).first()
    if opening_id is None:
        raise NotThere("There is no such punch item.")
    opening = locked(opening_id)
    return PunchItem.objects.select_related("owner").get(pk=item_id), opening


def _claim(item: PunchItem, version: int | None, **values: Any) -> None:
    rows = PunchItem.objects.filter(pk=item.pk, version=version if version is not None else item.version)
    if not rows.update(version=F("version") + 1, **values):
        raise SomeoneWasFaster("This item was changed by somebody else. Read it again.")
    item.refresh_from_db()


def _checked(values: dict[str, Any]) -> dict[str, Any]:
    wrong = {}
    if not str(values["what"]).strip():
        wrong["what"] = "say what is left to put right"
    if values["cause"] not in CAUSES:
        wrong["cause"] = "one of: " + ", ".join(c for c in CAUSES if c)
    if not isinstance(values["due_day"], dt.date) or is_a_slip(values["due_day"]):
        wrong["due_day"] = "a day, such as 2026-03-31"
    if not User.objects.filter(pk=values["owner_id"], is_active=True).exists():
        wrong["owner"] = "somebody who signs in here"
    if wrong:
        raise Invalid("A punch item needs somebody, and a day.", fields=wrong)
    return {**values, "what": str(values["what"]).strip()}


def set_part_aside(act: Act, opening_id: int, *, what: str, where_kept: str = "",
                   entry_id: uuid.UUID | None = None) -> SetAsidePart:
    """Taken off and must go back. Nobody signs a door off with parts in the van."""
    mark = fingerprint("set-aside", opening_id, what, where_kept)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "set a part aside", opening)
        had = had_already(SetAsidePart, entry_id, mark)
        if had is not None:
            return had
        if not what.strip():
            raise Invalid("Say what was set aside.", fields={"what": "track cover, head block, screw plugs"})
        part = SetAsidePart.objects.create(id=entry_id or new_id(), opening=opening, what=what.strip(),
                                           where_kept=where_kept, **when(act), fingerprint=mark)
        done.note(act, "part set aside", "set-aside-parts", part.pk, opening=opening, part=part.what)
    return part


def put_part_back(act: Act, part_id: uuid.UUID, *, note: str = "") -> SetAsidePart:
    """Put back; doing it again changes nothing."""
    with carry_out(act) as done:
        opening_id = SetAsidePart.objects.filter(pk=part_id).values_list("opening", flat=True).first()
        if opening_id is None:
            raise NotThere("There is no such part.")
        opening = locked(opening_id)
        require(act, "set a part aside", opening)
        part = SetAsidePart.objects.get(pk=part_id)
        if part.back_at is not None:
            return part
        SetAsidePart.objects.filter(pk=part.pk, back_at=None).update(
            back_at=max(act.taken_at, part.taken_at), back_by=act.user, back_note=note, version=F("version") + 1)
        part.refresh_from_db()
        done.note(act, "part put back", "set-aside-parts", part.pk, opening=opening, part=part.what)
    return part


__all__ = ["accept_opening", "change_punch_item", "close_punch_item", "put_part_back", "raise_punch_item",
           "set_part_aside"]
