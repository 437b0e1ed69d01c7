"""Judging kept readings: by the limits that stand for the opening now."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from inspections.calc import floor
from inspections.calc.gate import Asked
from inspections.calc.kinds import KINDS
from inspections.models import Inspection
from inspections.services.checks import checks_for, limits_of
from inspections.services.datums import limits_known
from jobs.calc.verdict import Limit, Verdict, plain
from jobs.models import Opening


def judged_again(inspection: Inspection, limits: Mapping[str, Limit]) -> Verdict:
    """The same readings by the limits that stand now; what was kept that day stays as it is."""
    payload = {**inspection.given, **inspection.asked_of}
    return KINDS[inspection.kind].judge(payload, limits)


def limits_for(kind: str, opening: Opening) -> dict[str, Limit]:
    return limits_at(kind, opening, checks_for(opening))


def limits_at(kind: str, opening: Opening, checks: Sequence[Asked], *, first: Asked | None = None,
              occasion: str = "") -> dict[str, Limit]:
    """Those of the checks, and over them what unit and system say of themselves; what the job sets stands over all."""
    known = limits_known(kind, opening)
    by_job = {name for check in checks if check.judged_by == kind for name in check.set_by_job}
    return {**limits_of(kind, checks, first=first, occasion=occasion),
            **{name: limit for name, limit in known.items() if name not in by_job}}


def limits_as_dict(kind: str, limits: Mapping[str, Limit]) -> dict[str, Any]:
    units = KINDS[kind].limits
    return {name: {**plain({f"value_{units.get(name, 'number')}": limit.value}), "source": limit.source}
            for name, limit in limits.items()}


def correction_of(inspection: Inspection) -> dict[str, Any] | None:
    """How the floor of this inspection can be put right for the least; None where there is nothing to correct."""
    if inspection.kind != floor.NAME:
        return None
    payload = {**inspection.given, **inspection.asked_of}
    verdict = floor.judge_with_correction(payload, limits_for(inspection.kind, inspection.opening)).as_dict()
    return verdict["computed"].get("correction")
