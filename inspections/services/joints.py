"""Joints, sealed at any stage: where, with what, in which conditions."""

from __future__ import annotations

import uuid

from inspections.models import Inspection, Joint
from inspections.services.inspecting import when
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, carry_out
from jobs.errors import Invalid
from jobs.models.base import new_id
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from jobs.services.stages import crew_of


def do_joint(act: Act, opening_id: int, *, place: str, side: str = "", rule: str = "seal", product: str = "",
             conditions_id: uuid.UUID | None = None, done: bool = True, note: str = "",
             entry_id: uuid.UUID | None = None) -> Joint:
    """A joint sealed (`seal`, done), or seen to be open because it must never be sealed (`never-seal`, done)."""
    mark = fingerprint("joint", opening_id, place, side, rule, product, conditions_id, done, note)
    with carry_out(act) as noted:
        opening = locked(opening_id)
        require(act, "do a joint", opening)
        had = had_already(Joint, entry_id, mark)
        if had is not None:
            return had
        if not place.strip() or rule not in dict(Joint.RULES):
            raise Invalid("Say which joint.", fields={"place": "head, lock-jamb, interlock, sill",
                                                      "rule": "seal or never-seal"})
        conditions = None
        if conditions_id is not None:
            conditions = Inspection.objects.filter(pk=conditions_id, opening=opening, kind="sealing-conditions").first()
            if conditions is None:
                raise Invalid("Those are no sealing conditions of this opening.",
                              fields={"conditions": "the id of an inspection of kind sealing-conditions"})
        joint = Joint.objects.create(
            id=entry_id or new_id(), opening=opening, place=place.strip(), side=side.strip(), rule=rule,
            product=product, conditions=conditions, done=done, note=note, crew=crew_of(act, opening), **when(act),
            fingerprint=mark)
        noted.note(act, "joint done", "joints", joint.pk, opening=opening, place=place, side=side)
        refresh_at_end(act, noted, opening)
    return joint
