"""Who has the opening: handed over, with the condition it is in."""

from __future__ import annotations

import uuid

from inspections.services.inspecting import when
from inspections.services.work import note_event
from jobs.acts import Act, carry_out
from jobs.errors import Invalid
from jobs.models import Crew, Custody, Opening
from jobs.models.base import new_id
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from jobs.services.stages import crew_of

CREW, OTHER_TRADES = "crew", "other-trades"
HOLDERS = [holder for holder, _ in Custody.HOLDERS]


def hand_over(act: Act, opening_id: int, *, holder: str, condition: str, who: str = "", crew_id: int | None = None,
              entry_id: uuid.UUID | None = None) -> Custody:
    """From now on they have it, and it was handed over in this condition. Other trades in the opening end what was
    verified for a time."""
    mark = fingerprint("custody", opening_id, holder, condition, who, crew_id)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "hand over an opening", opening)
        had = had_already(Custody, entry_id, mark)
        if had is not None:
            return had
        if holder not in HOLDERS or not condition.strip():
            raise Invalid("Say who has it now, and in what condition.",
                          fields={"holder": "one of: " + ", ".join(HOLDERS), "condition": "what state it is in"})
        custody = Custody.objects.create(
            id=entry_id or new_id(), opening=opening, holder=holder, crew=_crew(act, opening, holder, crew_id),
            who=who.strip(), condition=condition.strip(), **when(act), fingerprint=mark)
        done.note(act, "handed over", "custody", custody.pk, opening=opening, holder=holder)
        if holder == OTHER_TRADES:
            note_event(act, opening_id, OTHER_TRADES, note=f"Handed over: {who or condition}"[:240])
    return custody


def _crew(act: Act, opening: Opening, holder: str, crew_id: int | None) -> Crew | None:
    """The crew named; else that of who takes it over."""
    if holder != CREW:
        if crew_id is not None:
            raise Invalid("Only our own crew is named by its id.", fields={"crew": "leave it out; say who in words"})
        return None
    if crew_id is None:
        return crew_of(act, opening)
    crew = Crew.objects.filter(pk=crew_id).first()
    if crew is None:
        raise Invalid("There is no such crew.", fields={"crew": "the id of a crew"})
    return crew
