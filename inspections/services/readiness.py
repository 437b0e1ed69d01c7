"""Whether each work step of an opening is ready, written down for the floor below, which does not ask."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from inspections.calc.gate import ENDED, FAILED, STALE
from inspections.services.facts import Facts
from inspections.services.looking import judge, part_lacking
from jobs.acts import Act, Done, carry_out
from jobs.models import Change, Opening, WorkStep
from jobs.stages import NUMBER, ORDER, Stage
from units.calc.parts import holds_up
from units.models import Part


def refresh_at_end(act: Act, done: Done, opening: Opening) -> None:
    """Once for each opening an act touches, however often it touches it."""
    done.once_at_end(("readiness", opening.pk), lambda: refresh(opening.pk, act.now))


def refresh_by_the_clock(now: dt.datetime) -> int:
    """What was verified stops counting by itself, with no act of anybody's: for how many openings that just showed."""
    verified = Opening.objects.filter(stage=Stage.OPENING_VERIFIED.value).order_by("pk")
    return sum(_refreshed_alone(pk, now) for pk in list(verified.values_list("pk", flat=True)))


def _refreshed_alone(opening_id: int, now: dt.datetime) -> bool:
    with carry_out(None) as done:
        opening = Opening.objects.select_for_update(no_key=True).filter(pk=opening_id).first()
        changed = opening is not None and refresh(opening_id, now)
        if changed:
            done.lines.append(Change(at=now, what="readiness changed", record="work-steps", record_id="",
                                     opening=opening, job_id=opening.job_id))
    return changed


def refresh(opening_id: int, now: dt.datetime) -> bool:
    """Whether anything about it is another now."""
    changed = False
    opening = Opening.objects.select_related("job", "unit__system").get(pk=opening_id)
    facts = Facts.of(opening)
    standing = _stands_in_the_way(facts, now)
    lacking = [part for part in facts.parts if part.missing]
    for step in WorkStep.objects.filter(opening=opening):
        reasons = _earlier(opening, step) + standing + _material(opening, step, lacking)
        ready = not reasons and NUMBER[Stage(step.stage)] > NUMBER[Stage(opening.stage)]
        if (step.ready, step.not_ready) != (ready, reasons):
            WorkStep.objects.filter(pk=step.pk).update(ready=ready, not_ready=reasons)
            changed = True
    return changed


def _earlier(opening: Opening, step: WorkStep) -> list[dict[str, Any]]:
    before = ORDER[NUMBER[Stage(step.stage)] - 1]
    if NUMBER[Stage(opening.stage)] < NUMBER[before]:
        return [{"reason": "earlier-stage", "stage": before.value}]
    return []


def _material(opening: Opening, step: WorkStep, lacking: Sequence[Part]) -> list[dict[str, Any]]:
    """What this step cannot be done without and is not here, delivery by delivery; nothing of a step that is done."""
    stage = Stage(step.stage)
    if NUMBER[stage] <= NUMBER[Stage(opening.stage)]:
        return []
    by_delivery: dict[int | None, list[Part]] = {}
    for part in lacking:
        if holds_up(part.kind, stage):
            by_delivery.setdefault(part.delivery_id, []).append(part)
    return [{"reason": "material-missing", "delivery": delivery, "parts": [part.name for part in parts],
             "expected_day": part_lacking(parts[0])["expected_day"]} for delivery, parts in by_delivery.items()]


def _stands_in_the_way(facts: Facts, now: dt.datetime) -> list[dict[str, Any]]:
    """What is waited for, and what was verified but no longer counts."""
    reasons = [{"reason": "waiting", "what_for": w.what_for, "owed_by_kind": w.owed_by_kind} for w in facts.waits]
    stage = Stage(facts.opening.stage)
    if stage is not Stage.OPENING_VERIFIED:
        return reasons
    for asked in facts.checks:
        if asked.stage == stage.value and asked.fresh_days is not None:
            gone = [o for o in judge(facts, asked, now) if o.result in (STALE, ENDED, FAILED)]
            reasons += [{"reason": "no-longer-counts", "check": o.code, "title": o.title, "result": o.result}
                        for o in gone]
    return reasons
