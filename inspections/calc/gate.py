"""Judges one check from the evidence there is. Pure: the facts come in, the outcome goes out.

A check passes when its latest evidence that still counts passes: evidence counts when nothing since has ended it
(a step back that re-opened the stage, a re-pour, work on the structure, other trades) and, where the check has a
freshness, when it is not older than that.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from jobs.calc.verdict import PASS

PASSES = "passes"
MISSING = "missing"
STALE = "stale"
ENDED = "ended"
FAILED = "failed"
UNSET = "no limit set"
NOT_ENOUGH = "not enough read"
NO_PHOTO = "photo missing"

GUARDED = frozenset({"water", "structure", "lifting", "pocket"})


@dataclass(frozen=True, slots=True)
class Asked:
    """A check as it stands for one opening: shipped, overridden by its door system, then by its job."""

    code: str
    title: str
    stage: str
    judged_by: str
    findings: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    occasion: str = ""
    photo: bool = False
    maker_may_forbid: bool = False
    by_office: bool = False
    limits: Mapping[str, Any] = field(default_factory=dict)
    source: str = ""
    guards: str = ""
    fresh_days: int | None = None
    order: int = 0
    set_by_job: frozenset[str] = frozenset()  # which of its limits and fields the job sets


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was recorded about a check: its verdict, or the answer of somebody who looked."""

    record: str  # the API's name of the record: "inspections", "confirmations"
    id: str
    taken_at: dt.datetime
    by: str
    answer: str = ""  # for confirmations
    verdict: Mapping[str, Any] | None = None  # Verdict.as_dict()
    photo_at: dt.datetime | None = None  # when the latest photo of it was taken
    note: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one check says at the gate, and on what."""

    code: str
    title: str
    result: str
    place: str = ""
    guards: str = ""
    source: str = ""
    evidence: Evidence | None = None
    since: dt.datetime | None = None  # when it went stale, or what ended it happened
    ended_by: str = ""
    findings: tuple[Mapping[str, Any], ...] = ()  # those that this check looks at
    missing: tuple[Mapping[str, Any], ...] = ()

    @property
    def passes(self) -> bool:
        return self.result == PASSES

    @property
    def guarded(self) -> bool:
        return self.guards in GUARDED

    def as_dict(self) -> dict[str, Any]:
        seen = self.evidence
        return {
            "code": self.code, "title": self.title, "result": self.result, "place": self.place,
            "guards": self.guards, "source": self.source,
            "since": None if self.since is None else self.since.isoformat(), "ended_by": self.ended_by,
            "findings": list(self.findings), "missing": list(self.missing),
            "evidence": None if seen is None else {
                "record": seen.record, "id": seen.id, "taken_at": seen.taken_at.isoformat(), "by": seen.by,
                "answer": seen.answer, "note": seen.note},
        }


@dataclass(frozen=True, slots=True)
class Ending:
    """Something that ended evidence taken before it. `all_checks` False: only those that have a freshness."""

    at: dt.datetime
    what: str
    all_checks: bool = False


def judge_check(asked: Asked, evidence: Evidence | None, endings: Sequence[Ending], now: dt.datetime,
                place: str = "") -> Outcome:
    def outcome(result: str, **more: Any) -> Outcome:
        return Outcome(asked.code, asked.title, result, place, asked.guards, asked.source, evidence, **more)

    def with_photo() -> str:
        shown = not asked.photo or photo_counts(asked, evidence.photo_at, endings, now)
        return PASSES if shown else NO_PHOTO

    if evidence is None:
        return outcome(MISSING)
    ended = ending_after(asked, evidence.taken_at, endings)
    if ended is not None:
        return outcome(ENDED, since=ended.at, ended_by=ended.what)
    if asked.fresh_days is not None:
        until = evidence.taken_at + dt.timedelta(days=asked.fresh_days)
        if now > until:
            return outcome(STALE, since=until)
    if evidence.answer == "other-evidence":
        return outcome(PASSES)
    if evidence.verdict is not None:
        result, findings, missing = read_verdict(asked, evidence.verdict)
        if result != PASSES:
            return outcome(result, findings=findings, missing=missing)
        return outcome(with_photo(), findings=findings)
    if evidence.answer == "maker-forbids":
        return outcome(PASSES if asked.maker_may_forbid else FAILED)
    if evidence.answer != "yes":
        return outcome(FAILED)
    return outcome(with_photo())


def photo_counts(asked: Asked, photo_at: dt.datetime | None, endings: Sequence[Ending], now: dt.datetime) -> bool:
    """A photo ends and goes stale as what it shows does: an old one proves nothing about a floor poured since."""
    if photo_at is None:
        return False
    fresh = asked.fresh_days is None or now <= photo_at + dt.timedelta(days=asked.fresh_days)
    return fresh and ending_after(asked, photo_at, endings) is None


def ending_after(asked: Asked, taken_at: dt.datetime, endings: Sequence[Ending]) -> Ending | None:
    """The first thing that ended what was taken then."""
    for ending in sorted(endings, key=lambda e: e.at):
        if ending.at >= taken_at and (ending.all_checks or asked.fresh_days is not None):
            return ending
    return None


def read_verdict(asked: Asked, verdict: Mapping[str, Any]) -> tuple[str, tuple[Any, ...], tuple[Any, ...]]:
    """What the verdict says about the findings this check looks at: (result, those findings, what is missing)."""
    wanted = tuple(f for f in verdict["findings"] if looks_at(asked, f["quantity"]))
    missing = tuple(m for m in verdict.get("missing") or () if _concerns(asked, m))
    if any(f["within"] is False for f in wanted):
        return FAILED, wanted, missing
    if any(f["within"] is None for f in wanted):
        return UNSET, wanted, missing
    found = {f["quantity"] for f in wanted}
    spared = verdict["computed"].get("does_not_apply", ())  # across a sill of one track there is nothing to judge
    lacking = [q for q in asked.findings if q not in spared and not any(_covers(q, f) for f in found)]
    if lacking or (missing and verdict["result"] != PASS):
        return NOT_ENOUGH, wanted, missing or tuple({"what": _FOR_WANT_OF.get(q, q)} for q in lacking)
    if not asked.findings and verdict["result"] != PASS:
        return NOT_ENOUGH, wanted, ({"what": verdict["result"]},)
    return PASSES, wanted, ()


def at_panel(verdict: Mapping[str, Any], letter: str) -> dict[str, Any]:
    """Of a verdict on several panels, what it says about one."""
    return {**verdict, "findings": [f for f in verdict["findings"] if f["where"].get("panel") == letter],
            "missing": [m for m in verdict.get("missing") or () if m.get("panel") == letter]}


# Found only where that is known, which is no reading: nobody can tell from the finding what they could do.
_FOR_WANT_OF = {"roller_use": "roller_spacing"}
# What is lacking, and the only findings it is lacking for; anything not named here is lacking for all.
_LACKING_FOR = {
    "gap middle": ("bow",),
    "plumb": ("jamb_plumb", "twist"),
    "all_six_tapes_again": ("misclosure", "tightest", "loosest", "rack"),  # what was plumbed stands
    "diagonal": ("misclosure", "rack"),
    "required_width": ("tightest_width", "loosest_width"),
    "required_height": ("tightest_height", "loosest_height"),
    "sill": ("sill", "head_parallel", "roller_use"),
    "head": ("head",),
    "end_gaps": ("end_gaps",),
    "head_over_sill": ("head_over_sill",),
    "member": ("member", "members_apart", "roller_use"),
    **dict.fromkeys(("roller_spacing", "roller_now", "roller_preset", "roller_lowest", "roller_highest", "from_edge",
                     "thread_pitch"), ("roller_use",)),
    **dict.fromkeys(("head_reading", "panel_clearance", "planned_raise", "deflection_allowed", "reading_deviation"),
                    ("left_above_panels",)),
}


def _concerns(asked: Asked, missing: Mapping[str, Any]) -> bool:
    only = _LACKING_FOR.get(f"{missing['what']} {missing.get('where', '')}") or _LACKING_FOR.get(missing["what"])
    if only is None or not asked.findings:
        return True
    return any(_covers(o, f) or _covers(f, o) for o in only for f in asked.findings)


def looks_at(asked: Asked, quantity: str) -> bool:
    return not asked.findings or any(_covers(wanted, quantity) for wanted in asked.findings)


def _covers(wanted: str, quantity: str) -> bool:
    """`member_bow` covers `member_bow_lock_jamb` and the like."""
    return quantity == wanted or quantity.startswith(wanted + "_")


def in_hanging_order(done: Sequence[bool]) -> bool:
    """Whether what is hung so far, listed in the order of hanging, has no gap before the last one hung."""
    return list(done) == sorted(done, reverse=True)
