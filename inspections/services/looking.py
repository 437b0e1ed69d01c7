"""Looks at the gate of an opening: what it asks, what there is, and every reason why it does not pass."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

from inspections.calc import gate as judging
from inspections.calc.gate import Asked, Evidence, Outcome
from inspections.services.checks import BY_THEIR_RECORDS
from inspections.services.facts import HOLD_POINT, HOLD_POINT_STANDS_ON, Facts, members_of
from jobs.errors import Invalid
from jobs.models import Opening
from jobs.stages import NUMBER, Stage, following
from units.models import Part

# Never passed over, whatever their class: the thing itself is not there.
NOT_PASSABLE = BY_THEIR_RECORDS | {"acceptance"}
# Asked whatever the office's checks say: nobody has accepted what nobody accepted.
ACCEPTANCE = Asked("acceptance", "Acceptance recorded", Stage.ACCEPTED, "acceptance")


@dataclass(frozen=True)
class Accepting:
    """An acceptance in hand: who takes the work, how, subject to which items."""

    accepted_by: str
    how: str
    subject_to: tuple[uuid.UUID, ...] = ()

    def as_sent(self) -> list[Any]:
        return [self.accepted_by, self.how, sorted(map(str, self.subject_to))]


@dataclass(frozen=True)
class Gate:
    """What stands between an opening and a stage. `blocks` are no checks: waits, the hold point, another order."""

    from_stage: str
    to_stage: str
    outcomes: tuple[Outcome, ...]
    blocks: tuple[Mapping[str, Any], ...] = ()
    never_passed: frozenset[str] = frozenset()  # codes of checks that nobody can pass over

    @property
    def passes(self) -> bool:
        return not self.blocks and all(o.passes for o in self.outcomes)

    @property
    def can_be_passed_over(self) -> bool:
        return not self.blocks and not self.passes and not self.guarded

    @property
    def guarded(self) -> list[Outcome]:
        return [o for o in self.outcomes if not o.passes and (o.guarded or o.code in self.never_passed)]

    @property
    def reasons(self) -> list[dict[str, Any]]:
        """Every reason at once."""
        return [dict(b) for b in self.blocks] + [
            {"reason": "check", **o.as_dict()} for o in self.outcomes if not o.passes]

    def as_dict(self) -> dict[str, Any]:
        return {
            "from_stage": self.from_stage, "to_stage": self.to_stage, "passes": self.passes,
            "can_be_passed_over": self.can_be_passed_over, "blocks": [dict(b) for b in self.blocks],
            "checks": [o.as_dict() for o in self.outcomes],
        }


# ---- looking ---------------------------------------------------------------------------------------------


def look_at(opening: Opening, now: dt.datetime, to: str | None = None, *, facts: Facts | None = None,
            accepting: Accepting | None = None) -> Gate:
    """Asked beforehand: whether the opening may go on to `to` (the next stage when None), and every reason why not."""
    stage = Stage(opening.stage)
    after = following(stage)
    target = stage_named(to) if to is not None else after
    if target is None:
        return Gate(stage.value, stage.value, (), ({"reason": "already-there", "stage": stage.value},))
    facts = facts or Facts.of(opening)
    asked = [check for check in facts.checks if check.stage == target.value]
    if target is Stage.ACCEPTED and not any(check.judged_by == "acceptance" for check in asked):
        asked.append(ACCEPTANCE)
    outcomes = tuple(o for check in asked for o in judge(facts, check, now, accepting))
    blocks = _out_of_turn(stage, target) + _waited_for(facts) + _held(facts, target)
    never = frozenset(check.code for check in asked if check.judged_by in NOT_PASSABLE)
    return Gate(stage.value, target.value, outcomes, tuple(blocks), never)


def look_at_hold_point(opening: Opening, now: dt.datetime, *, facts: Facts | None = None) -> Gate:
    facts = facts or Facts.of(opening)
    asked = [check for check in facts.checks if check.stage == HOLD_POINT]
    outcomes = tuple(o for check in asked for o in judge(facts, check, now))
    blocks = _waited_for(facts)
    if NUMBER[Stage(opening.stage)] < NUMBER[HOLD_POINT_STANDS_ON]:
        blocks.append({"reason": "frame-not-set", "stage": opening.stage})
    return Gate(opening.stage, HOLD_POINT, outcomes, tuple(blocks))


def judge(facts: Facts, asked: Asked, now: dt.datetime, accepting: Accepting | None = None) -> list[Outcome]:
    """The outcomes of one check: one for each place it is asked at."""
    if asked.judged_by == "acceptance":
        return [_simple(asked, [] if accepting else [{"what": "acceptance"}])]
    if asked.judged_by == "punch-items":
        return [_punch_items(facts, asked, accepting)]
    if asked.judged_by == "set-aside-parts":
        return [_simple(asked, [{"what": "set_aside_part", "part": p.what} for p in facts.parts_away])]
    if asked.judged_by == "panels":
        return [_panels(facts, asked)]
    endings = facts.endings(asked.stage)
    if asked.judged_by == "joints":
        return _joints(facts, asked, endings, now)
    if facts.counts_material(asked):
        return [_simple(asked, [part_lacking(part) for part in facts.parts if part.missing])]
    seen = [judging.judge_check(asked, facts.evidence_for(asked, place), endings, now, place)
            for place in facts.places_of(asked)]
    return seen + [_joint(facts, asked, splice_spot(place), endings, now) for place in facts.spliced(asked)]


def _simple(asked: Asked, missing: Sequence[Mapping[str, Any]]) -> Outcome:
    result = judging.MISSING if missing else judging.PASSES
    return Outcome(asked.code, asked.title, result, guards=asked.guards, source=asked.source, missing=tuple(missing))


def _punch_items(facts: Facts, asked: Asked, accepting: Accepting | None) -> Outcome:
    named = set(accepting.subject_to) if accepting else set()
    return _simple(asked, [
        {"what": "punch_item", "number": item.number, "item": item.what, "owner": str(item.owner),
         "due_day": item.due_day.isoformat()}
        for item in facts.punch_items_open if item.pk not in named])


def part_lacking(part: Part) -> dict[str, Any]:
    """What is lacking of it, how many, and which delivery brings it when."""
    delivery = part.delivery
    return {"what": "part", "part": part.pk, "name": part.name, "count": part.missing, "damaged": _lies_here(part),
            "delivery": None if delivery is None else delivery.pk,
            "expected_day": None if delivery is None or delivery.expected_day is None
            else delivery.expected_day.isoformat()}


def _lies_here(part: Part) -> int:
    """How many of those lacking came damaged."""
    return int(part.panel.damaged) if part.panel is not None else min(part.broken, part.missing)


def splice_spot(place: str) -> str:
    return f"seal:{place}:"


def _panels(facts: Facts, asked: Asked) -> Outcome:
    if not facts.panels:
        return _simple(asked, [{"what": "unit"}])
    return _simple(asked, [
        {"what": "panel", "letter": p.letter, "state": p.state, "damaged": p.damaged}
        for p in facts.panels if p.state not in ("hung", "adjusted") or p.damaged])


def joint_spots(facts: Facts, asked: Asked) -> Sequence[str]:
    """Which joints are asked for, as rule:place:side: those the job says, else its door system's, else the usual."""
    if "places" in asked.set_by_job or not facts.panels:
        return asked.places
    unit = facts.opening.unit
    own = [f"{j['rule']}:{j['place']}:{j.get('side', '')}" for j in (unit.system.joints if unit.system else [])]
    spots = ((*spot.split(":"), "", "")[:3] for spot in own or asked.places)
    return [f"{rule}:{member}:{side}" for rule, place, side in spots for member in members_of((place,), facts.opening)]


def _joints(facts: Facts, asked: Asked, endings: Sequence[judging.Ending], now: dt.datetime) -> list[Outcome]:
    return [_joint(facts, asked, spot, endings, now) for spot in joint_spots(facts, asked)]


def _joint(facts: Facts, asked: Asked, spot: str, endings: Sequence[judging.Ending], now: dt.datetime) -> Outcome:
    """A joint to seal: the latest time it was done, in conditions that pass. One never to seal: that nobody has."""
    rule, place, side = (*spot.split(":"), "", "")[:3]
    where = f"{place} {side}".strip()
    done = next((j for j in facts.joints if _named(j.place, j.side) == _named(place, side)), None)
    if rule == "never-seal":
        sealed = done is not None and (done.rule == "seal" or not done.done)
        result = judging.FAILED if sealed else judging.PASSES
        return Outcome(asked.code, asked.title, result, where, asked.guards, asked.source,
                       missing=({"what": "open_the_joint"},) if sealed else ())
    other = facts.other_evidence(asked, where, None if done is None else done.taken_at)
    if other is not None:
        return judging.judge_check(asked, other, endings, now, where)
    if done is None or not done.done:
        return replace(judging.judge_check(asked, None, endings, now, where), missing=({"what": "joint"},))
    if done.conditions is None or not _same_day(facts.opening, done.conditions.taken_at, done.taken_at):
        seen = Evidence("joints", str(done.pk), done.taken_at, str(done.by), done.product)
        return Outcome(asked.code, asked.title, judging.NOT_ENOUGH, where, asked.guards, asked.source, seen,
                       missing=({"what": "sealing_conditions"},))
    verdict = facts.judged(done.conditions, asked)
    seen = Evidence("joints", str(done.pk), done.taken_at, str(done.by), "", verdict, None, done.product)
    return judging.judge_check(asked, seen, endings, now, where)


def _named(place: str, side: str) -> tuple[str, str]:
    """*Sill, Outside* is the sill outside: a joint that must stay open is not hidden by a capital letter."""
    return place.strip().casefold(), side.strip().casefold()


def _same_day(opening: Opening, *times: dt.datetime) -> bool:
    """On the job's calendar: what the air was like another day says nothing about this joint."""
    zone = ZoneInfo(opening.job.time_zone)
    return len({time.astimezone(zone).date() for time in times}) == 1


def stage_named(name: str) -> Stage:
    try:
        return Stage(name)
    except ValueError as why:
        raise Invalid("There is no such stage.", fields={"to": "one of: " + ", ".join(Stage)}) from why


def _out_of_turn(stage: Stage, target: Stage) -> list[dict[str, Any]]:
    if NUMBER[target] <= NUMBER[stage]:
        return [{"reason": "already-there", "stage": stage.value}]
    if following(stage) != target:
        return [{"reason": "not-next", "stage": stage.value, "next": following(stage).value}]
    return []


def _waited_for(facts: Facts) -> list[dict[str, Any]]:
    return [{"reason": "waiting", "wait": str(w.pk), "what_for": w.what_for, "owed_by_kind": w.owed_by_kind,
             "owed_by": "" if w.owed_by is None else w.owed_by.name, "since": w.taken_at.isoformat(),
             "expected_day": None if w.expected_day is None else w.expected_day.isoformat()} for w in facts.waits]


def _held(facts: Facts, target: Stage) -> list[dict[str, Any]]:
    if target == Stage.PANELS_HUNG and facts.hold_point is None:
        return [{"reason": "hold-point", "name": HOLD_POINT}]
    if NUMBER[target] > NUMBER[Stage.PANELS_HUNG]:  # damaged since it was hung: it has to be replaced all the same
        return [{"reason": "panel-damaged", "letter": p.letter} for p in facts.panels if p.damaged]
    return []
