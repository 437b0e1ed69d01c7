"""The only place that writes an opening's stage."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from jobs.acts import Act, Done
from jobs.errors import NotAllowed, SomeoneWasFaster
from jobs.gate import GateResult, is_sealed
from jobs.models import Assignment, Crew, Opening, StageChange
from jobs.models.base import new_id
from jobs.models.crews import of_a_crew_of
from jobs.stages import NUMBER, TRANSITIONS


def move(act: Act, done: Done, opening: Opening, gate: GateResult, *, reason: str = "",
         entry_id: uuid.UUID | None = None, fingerprint: str = "") -> StageChange:
    """Moves the opening as the gate's result allows, once, and writes its one stage change.

    Refuses a result that was not sealed by the gate, or that is about another opening or stage, and says so
    when somebody else moved the opening in the same moment.
    """
    if not is_sealed(gate):
        raise NotAllowed("An opening moves only on what its gate has judged.")
    forward = gate.kind in ("advance", "pass-over")
    allowed = TRANSITIONS.get(gate.from_stage) == gate.to_stage if forward else (
        NUMBER[gate.to_stage] < NUMBER[gate.from_stage])
    if gate.opening_id != opening.pk or not allowed:
        raise NotAllowed("The gate judged another opening or another step.")
    moved = Opening.objects.filter(pk=opening.pk, stage=gate.from_stage.value).update(
        stage=gate.to_stage.value, stage_since=act.now, passed_over=_passed_over(opening, gate, reason))
    if not moved:
        raise SomeoneWasFaster("Somebody else moved this opening just now. Look again.")
    opening.refresh_from_db(fields=["stage", "stage_since", "passed_over"])
    change = StageChange.objects.create(
        id=entry_id or new_id(), opening=opening, kind=gate.kind, from_stage=gate.from_stage.value,
        to_stage=gate.to_stage.value, advanced=True, crew=crew_of(act, opening), reason=reason,
        gate=dict(gate.stands_on), by=act.user, taken_at=act.taken_at, device_time=act.device_time,
        server_time=act.now, fingerprint=fingerprint)
    done.note(act, f"opening {change.get_kind_display().lower()}", "stage-changes", change.pk, opening=opening,
              from_stage=change.from_stage, to_stage=change.to_stage)
    return change


def _passed_over(opening: Opening, gate: GateResult, reason: str) -> str:
    """Why the gate to this stage was passed over, if it was; also of a stage that is come back to."""
    if gate.kind in ("advance", "pass-over"):
        return reason if gate.kind == "pass-over" else ""
    through = StageChange.objects.filter(opening=opening, to_stage=gate.to_stage.value, advanced=True,
                                         kind__in=("advance", "pass-over")).order_by("server_time", "pk").last()
    return through.reason if through is not None and through.kind == "pass-over" else ""


def keep_unadvanced(act: Act, done: Done, opening: Opening, to_stage: str, *,
                    reasons: Sequence[Mapping[str, Any]], gate: Mapping[str, Any] | None = None, reason: str = "",
                    entry_id: uuid.UUID | None = None, fingerprint: str = "") -> StageChange:
    """What happened on site is never refused: it is recorded, not advanced, with every reason."""
    change = StageChange.objects.create(
        id=entry_id or new_id(), opening=opening, kind="advance", from_stage=opening.stage, to_stage=to_stage,
        advanced=False, crew=crew_of(act, opening), reason=reason, reasons=list(reasons), gate=dict(gate or {}),
        by=act.user, taken_at=act.taken_at, device_time=act.device_time, server_time=act.now, fingerprint=fingerprint)
    done.note(act, "recorded, not advanced", "stage-changes", change.pk, opening=opening, to_stage=to_stage)
    return change


def crew_of(act: Act, opening: Opening) -> Crew | None:
    """The crew the person is on at this opening; else the crew that has the opening now."""
    given = Assignment.objects.filter(opening=opening).select_related("crew").order_by("-start_day", "-id")
    today = act.today(opening.job.time_zone)
    own = given.filter(of_a_crew_of(act.user, today)).first()
    if own is not None:
        return own.crew
    current = given.filter(start_day__lte=today).first() or given.last()
    return None if current is None else current.crew
