"""What stands open in the office: countersignatures owed, and entries recorded but not advanced."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from operator import attrgetter
from typing import Any

from django.db.models import F

from inspections.models import Countersignature, HoldPoint, Settlement
from inspections.services.gates import accept_opening, advance_opening, go_back, release_hold_point
from inspections.services.panels import handle_panel
from jobs.acts import Act, carry_out
from jobs.errors import Invalid, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Opening, StageChange
from jobs.services.access import locked, require
from jobs.stages import NUMBER, ORDER, Stage
from units.models import PanelChange

HOW = [how for how, _ in Settlement.HOW]


def countersign(act: Act, countersignature_id: int, *, give: bool, reason: str = "",
                version: int) -> Countersignature:
    """The office's word on a gate a lead passed over. A refusal puts the opening back, with its reason."""
    reason = reason.strip()
    with carry_out(act) as done:
        found = Countersignature.objects.select_related("change").filter(pk=countersignature_id).first()
        if found is None:
            raise NotThere("There is no such countersignature.")
        opening = locked(found.change.opening_id)
        require(act, "countersign", opening)
        if not give and not reason:
            raise Invalid("A refusal says why.", fields={"reason": "say why"})
        found.refresh_from_db(fields=["state", "by", "reason", "put_back", "version"])  # held now
        if (found.state, found.by_id, found.reason) == ("given" if give else "refused", act.user.pk, reason):
            return found  # said twice
        found.put_back = None if give else _put_back(act, done, opening, found.change, reason)
        claimed = Countersignature.objects.filter(pk=found.pk, state="owed", version=version).update(
            state="given" if give else "refused", by=act.user, at=act.now, reason=reason, put_back=found.put_back,
            version=F("version") + 1)
        if not claimed:
            raise SomeoneWasFaster("This countersignature was dealt with already, or changed. Read it again.")
        found.refresh_from_db()
        done.note(act, f"countersignature {found.state}", "countersignatures", found.pk, opening=opening)
    return found


def _put_back(act: Act, done: object, opening: Opening, passed: StageChange, reason: str) -> StageChange | None:
    """To where the opening stood before the gate was passed over, however far it has got since; unless it went back
    there since: then what it stands on now is not what was passed over."""
    before = Stage(passed.from_stage)
    since = StageChange.objects.filter(opening=opening, advanced=True, server_time__gt=passed.server_time,
                                       to_stage__in=ORDER[:NUMBER[before] + 1])
    if NUMBER[Stage(opening.stage)] <= NUMBER[before] or since.exists():
        return None
    return go_back(act, done, opening, before, "put-back", f"Countersignature refused: {reason}")


def settle(act: Act, *, how: str, note: str, stage_change_id: uuid.UUID | None = None,
           panel_change_id: uuid.UUID | None = None, hold_point_id: uuid.UUID | None = None) -> Settlement:
    """Deals with one thing recorded and not advanced. *Advanced since* tries the gate again, now."""
    with carry_out(act) as done:
        about, kept, opening = _kept({"stage_change": stage_change_id, "panel_change": panel_change_id,
                                      "hold_point": hold_point_id})
        require(act, "settle", opening)
        if how not in HOW or not note.strip():
            raise Invalid("Say how it was dealt with.", fields={"how": "one of: " + ", ".join(HOW), "note": "a note"})
        if hasattr(kept, "settlement"):
            return kept.settlement
        if kept.advanced:
            raise Refusal("That one advanced; there is nothing to settle.", code="nothing-to-settle")
        if how == "advanced":
            _try_again(act, kept, opening)
        settlement = Settlement.objects.create(how=how, note=note.strip(), by=act.user, at=act.now, **{about: kept})
        done.note(act, "settled", "settlements", settlement.pk, opening=opening, how=how)
    return settlement


# What may be recorded and not advanced, and the way from there to its opening.
KEPT = {"stage_change": (StageChange, "opening_id"), "panel_change": (PanelChange, "panel.unit.opening_id"),
        "hold_point": (HoldPoint, "opening_id")}


def _kept(ids: Mapping[str, uuid.UUID | None]) -> tuple[str, Any, Opening]:
    named = [(about, key) for about, key in ids.items() if key is not None]
    if len(named) != 1:
        raise Invalid("Name one: a stage change, a panel change or a hold point.", fields={"stage_change": "its id"})
    about, key = named[0]
    model, path = KEPT[about]
    kept = model.objects.filter(pk=key).first()
    if kept is None:
        raise NotThere("There is no such entry.")
    return about, kept, locked(attrgetter(path)(kept))


def _try_again(act: Act, kept: object, opening: Opening) -> None:
    if isinstance(kept, HoldPoint):
        release_hold_point(act, opening.pk)
        return
    if isinstance(kept, PanelChange):
        hung_and_more = kept.to_state == "hung" and kept.panel.state == "adjusted"
        if kept.panel.state != kept.to_state and not hung_and_more:
            handle_panel(act, kept.panel_id, kept.act, reason=kept.reason)
        return
    if NUMBER[Stage(opening.stage)] >= NUMBER[Stage(kept.to_stage)]:
        return
    if hasattr(kept, "acceptance"):
        taken = kept.acceptance
        still_open = [item.pk for item in taken.subject_to.still_open()]
        accept_opening(act, opening.pk, accepted_by=taken.accepted_by, how=taken.how, subject_to=still_open)
    else:
        advance_opening(act, opening.pk, to=kept.to_stage)
