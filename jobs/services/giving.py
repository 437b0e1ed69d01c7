"""Giving several steps of one opening in one go: all of them or none, and never over what somebody else just gave."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from jobs.acts import Act, carry_out
from jobs.errors import Invalid, SomeoneWasFaster
from jobs.models import Assignment, WorkStep
from jobs.services.access import locked, require
from jobs.services.planning import assign


@dataclass(frozen=True, slots=True)
class Lot:
    """One step and its days; `planned_minutes` None: as the step is planned."""

    work_step_id: int
    start_day: dt.date
    end_day: dt.date
    planned_minutes: int | None = None
    equipment: tuple[int, ...] = ()


def mark_of(given: Iterable[Assignment]) -> str:
    """What is given of some steps, as a page read it."""
    return ",".join(sorted(f"{one.pk}.{one.version}" for one in given))


def give(act: Act, opening_id: int, lots: Sequence[Lot], *, crew_id: int, stood: str, firmness: str = "pencilled",
         knowing: bool = False) -> list[Assignment]:
    """`stood`: the mark of what was given of these steps when it was decided. Sent twice, it is given once."""
    with carry_out(act):
        require(act, "keep office records")
        opening = locked(opening_id)
        if not lots:
            raise Invalid("Choose what is given.", fields={"step": "at least one step of the work"})
        steps = {step.pk: step for step in WorkStep.objects.filter(opening=opening)}
        if any(lot.work_step_id not in steps for lot in lots):
            raise Invalid("There is no such work step in this opening.", fields={"step": "a work step of this opening"})
        there = list(Assignment.objects.filter(work_step__in=[lot.work_step_id for lot in lots])
                     .prefetch_related("equipment"))
        if mark_of(there) != stood:
            had = _had(there, lots, steps, crew_id, firmness, stood)
            if had is not None:
                return had
            raise SomeoneWasFaster("Somebody gave or changed this work in the meantime. See what stands now, and "
                                   "give it again if it still holds.")
        return [assign(act, lot.work_step_id, crew_id=crew_id, start_day=lot.start_day, end_day=lot.end_day,
                       planned_minutes=lot.planned_minutes, firmness=firmness, equipment=lot.equipment,
                       knowing=knowing) for lot in lots]


def _had(there: Collection[Assignment], lots: Sequence[Lot], steps: dict[int, WorkStep], crew_id: int, firmness: str,
         stood: str) -> list[Assignment] | None:
    """What this very form gave the first time it was sent: nothing else came since, and nothing of it was changed."""
    before = set(stood.split(",")) if stood else set()
    new = [one for one in there if mark_of([one]) not in before]
    wanted = {(lot.work_step_id, crew_id, lot.start_day, lot.end_day, firmness,
               steps[lot.work_step_id].planned_minutes if lot.planned_minutes is None else lot.planned_minutes,
               frozenset(lot.equipment)) for lot in lots}
    given = {(one.work_step_id, one.crew_id, one.start_day, one.end_day, one.firmness, one.planned_minutes,
              frozenset(piece.pk for piece in one.equipment.all())) for one in new}
    untouched = len(new) == len(lots) and len(there) == len(before) + len(new)
    return new if untouched and given == wanted else None
