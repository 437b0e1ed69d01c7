"""Moves an opening through its gate. Nowhere else is a result made that lets an opening move."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import replace

from inspections.models import Acceptance, Countersignature, HoldPoint, PunchItem
from inspections.services.earning import settle_earned
from inspections.services.facts import HOLD_POINT, undoes
from inspections.services.looking import Accepting, Gate, look_at, look_at_hold_point, stage_named
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, Done, carry_out
from jobs.errors import GateSaysNo, Invalid, NotAllowed, Refusal
from jobs.gate import GateResult, seal
from jobs.models import Opening, StageChange
from jobs.models.base import new_id
from jobs.roles import Role
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from jobs.services.stages import keep_unadvanced, move
from jobs.stages import Stage, following, is_step_back
from units.models import Panel
from units.services.panels import write_state


def advance_opening(act: Act, opening_id: int, *, to: str | None = None, entry_id: uuid.UUID | None = None,
                    done_on_site: bool = False, accepting: Accepting | None = None,
                    seen_at: str | None = None) -> StageChange:
    """Moves the opening on if its gate passes, once. Otherwise refuses with every reason; told that it was done on
    site, keeps it as recorded and not advanced instead. `seen_at`: the stage that whoever names no other went on from;
    of two who press in the same moment the second does not move it one further."""
    mark = fingerprint("advance", opening_id, to, done_on_site, accepting and accepting.as_sent())
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "accept" if to == Stage.ACCEPTED else "advance", opening)
        had = had_already(StageChange, entry_id, mark)
        if had is not None:
            return had
        gate = look_at(opening, act.now, to or _after(seen_at), accepting=accepting)
        if gate.to_stage == Stage.ACCEPTED != gate.from_stage:
            require(act, "accept", opening)
        if not gate.passes:
            return _not_advanced(act, done, opening, gate, entry_id, mark, done_on_site)
        change = move(act, done, opening, _sealed(opening, gate, "advance"), entry_id=entry_id, fingerprint=mark)
        after_move(act, done, opening, change)
    return change


def _after(seen_at: str | None) -> str | None:
    return None if seen_at is None else following(Stage(seen_at))


def _not_advanced(act: Act, done: Done, opening: Opening, gate: Gate, entry_id: uuid.UUID | None, mark: str,
                  done_on_site: bool) -> StageChange:
    if not done_on_site:
        raise GateSaysNo(f"{opening} cannot be called {gate.to_stage!r} yet.", reasons=gate.reasons)
    return keep_unadvanced(act, done, opening, gate.to_stage, reasons=gate.reasons, gate=gate.as_dict(),
                           entry_id=entry_id, fingerprint=mark)


def pass_over(act: Act, opening_id: int, reason: str, *, to: str | None = None,
              entry_id: uuid.UUID | None = None, seen_at: str | None = None) -> StageChange:
    """Passes over a failed gate with a written reason. A lead's is countersigned by the office; a check that guards
    against water, structure, lifting or the pocket is passed over by nobody."""
    reason = reason.strip()
    mark = fingerprint("pass-over", opening_id, to, reason)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "pass over", opening)
        had = had_already(StageChange, entry_id, mark)
        if had is not None:
            return had
        if not reason:
            raise Invalid("A gate is passed over only with a written reason.", fields={"reason": "say why"})
        gate = look_at(opening, act.now, to or _after(seen_at))
        _check_passable(gate)
        change = move(act, done, opening, _sealed(opening, gate, "pass-over"), reason=reason, entry_id=entry_id,
                      fingerprint=mark)
        if act.role == Role.LEAD:
            Countersignature.objects.create(change=change, owed_since=act.now)
        after_move(act, done, opening, change)
    return change


def _check_passable(gate: Gate) -> None:
    if gate.passes:
        raise Refusal("The gate passes: advance, there is nothing to pass over.", code="nothing-to-pass-over")
    if gate.to_stage == Stage.ACCEPTED:
        raise NotAllowed("Acceptance is recorded, never passed over.", reasons=gate.reasons)
    if not gate.can_be_passed_over:
        raise NotAllowed("This cannot be passed over by anybody: what guards against water, structure, lifting or "
                         "the pocket, and what is waited for, has to be put right.", reasons=gate.reasons,
                         code="never-passed-over")


def step_back(act: Act, opening_id: int, to: str, reason: str, *, entry_id: uuid.UUID | None = None,
              may: str = "step back") -> StageChange:
    """Goes back to an earlier stage, with a reason; re-opens what that undoes."""
    reason = reason.strip()
    mark = fingerprint("step-back", opening_id, to, reason)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, may, opening)
        had = had_already(StageChange, entry_id, mark)
        if had is not None:
            return had
        target = stage_named(to)
        if not reason:
            raise Invalid("Going back needs a reason.", fields={"reason": "say what has to be done again"})
        if not is_step_back(Stage(opening.stage), target):
            raise Refusal(f"The opening stands at {opening.stage!r}; that is not a step back.", code="not-a-step-back")
        change = go_back(act, done, opening, target, "step-back", reason, entry_id=entry_id, fingerprint=mark)
    return change


def go_back(act: Act, done: Done, opening: Opening, target: Stage, kind: str, reason: str, *,
            entry_id: uuid.UUID | None = None, fingerprint: str = "") -> StageChange:
    """The step itself, for a step back and for a refused countersignature (`put-back`)."""
    result = _seal(GateResult(opening.pk, Stage(opening.stage), target, kind, {"reason": reason}))
    change = move(act, done, opening, result, reason=reason, entry_id=entry_id, fingerprint=fingerprint)
    if undoes(change, HOLD_POINT):
        released = HoldPoint.objects.filter(opening=opening, undone_at=None, advanced=True)
        released.update(undone_at=act.now, undone_by=change)
        if kind == "step-back":
            _panels_out(act, done, opening, reason)
    after_move(act, done, opening, change)
    return change


def _panels_out(act: Act, done: Done, opening: Opening, reason: str) -> None:
    """With the frame out, no panel hangs in it."""
    for panel in Panel.objects.filter(unit__opening=opening, state__in=("hung", "adjusted")):
        write_state(act, done, opening, panel, "take-out", reason=f"The frame came out: {reason}")


def after_move(act: Act, done: Done, opening: Opening, change: StageChange) -> None:
    settle_earned(act, opening, change.to_stage, change.pk)
    refresh_at_end(act, done, opening)


def _sealed(opening: Opening, gate: Gate, kind: str) -> GateResult:
    return _seal(GateResult(opening.pk, Stage(gate.from_stage), Stage(gate.to_stage), kind, gate.as_dict()))


def _seal(result: GateResult) -> GateResult:
    return replace(result, seal=seal(result))


def release_hold_point(act: Act, opening_id: int, *, entry_id: uuid.UUID | None = None,
                       done_on_site: bool = False) -> HoldPoint:
    """*The pocket closes*: released once all that will be hidden has been seen. Told that it is closed already,
    keeps that as recorded and not advanced."""
    mark = fingerprint("hold-point", opening_id, done_on_site)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "release the hold point", opening)
        had = had_already(HoldPoint, entry_id, mark)
        if had is not None:
            return had
        standing = HoldPoint.objects.filter(opening=opening, undone_at=None, advanced=True).first()
        if standing is not None:
            return standing
        gate = look_at_hold_point(opening, act.now)
        if not gate.passes and not done_on_site:
            raise GateSaysNo("The pocket must stay open.", reasons=gate.reasons)
        released = HoldPoint.objects.create(
            id=entry_id or new_id(), opening=opening, advanced=gate.passes, reasons=gate.reasons, gate=gate.as_dict(),
            by=act.user, taken_at=act.taken_at, device_time=act.device_time, server_time=act.now, fingerprint=mark)
        done.note(act, "hold point released" if gate.passes else "recorded, not advanced", "hold-points", released.pk,
                  opening=opening)
        refresh_at_end(act, done, opening)
    return released


def accept_opening(act: Act, opening_id: int, *, accepted_by: str, how: str, subject_to: Sequence[uuid.UUID] = (),
                   entry_id: uuid.UUID | None = None, done_on_site: bool = False) -> StageChange:
    """Accepted, or accepted subject to the items named: the warranty starts, the items stay open. Where the gate says
    no, who accepted and how is kept all the same, beside what is recorded and not advanced."""
    if not accepted_by.strip() or not how.strip():
        raise Invalid("An acceptance says who accepted, and how.",
                      fields={"accepted_by": "a name", "how": "signed on site, by letter"})
    accepting = Accepting(accepted_by.strip(), how.strip(), tuple(subject_to))
    with carry_out(act):
        opening = locked(opening_id)
        sent_before = StageChange.objects.filter(pk=entry_id).exists()  # then its items may be closed by now
        items = [] if sent_before else _items_of(opening, accepting.subject_to, closed_too=done_on_site)
        change = advance_opening(act, opening_id, to=Stage.ACCEPTED.value, entry_id=entry_id, accepting=accepting,
                                 done_on_site=done_on_site)
        if not hasattr(change, "acceptance"):
            acceptance = Acceptance.objects.create(
                opening=opening, change=change, accepted_by=accepting.accepted_by, how=accepting.how, by=act.user,
                taken_at=act.taken_at, device_time=act.device_time, server_time=act.now,
                warranty_from=act.today(opening.job.time_zone))
            acceptance.subject_to.set(items)
    return change


def _items_of(opening: Opening, ids: Sequence[uuid.UUID], *, closed_too: bool) -> list[PunchItem]:
    """The open ones of those named. One closed meanwhile does not undo what somebody signed on site."""
    items = list(PunchItem.objects.filter(opening=opening, pk__in=ids))
    still_open = [item for item in items if item.closed_at is None]
    if len(items if closed_too else still_open) != len(set(ids)):
        raise Invalid("Only open punch items of this opening can be named.",
                      fields={"subject_to": "ids of open punch items"})
    return still_open
