"""Checks that fail as the gate sees them now, of all openings at once: read in a fixed number of queries.

Only openings with a failing reading or a *no* are looked at; those are then judged as their own gate judges them, so
that what was read again, ended or confirmed otherwise since says nothing here.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef

from inspections.calc import needs
from inspections.calc.gate import FAILED, Asked, Outcome
from inspections.models import Check, Confirmation, HoldPoint, Inspection, Joint, Photo
from inspections.services.checks import STANDS_ON, merged
from inspections.services.facts import HOLD_POINT, HOLD_POINT_STANDS_ON, Facts
from inspections.services.looking import judge
from inspections.services.needing.rows import MOST, Need, Scope, day_at
from inspections.services.waits import who_owes, who_owes_what_was_seen
from jobs.calc.verdict import FAIL
from jobs.models import Event, Opening, StageChange, Wait
from jobs.stages import NUMBER, Stage
from units.models import Panel, Part

STANDS_ON_NOTHING = frozenset({"panels", "punch-items", "set-aside-parts", "acceptance"})


@dataclass(frozen=True, slots=True)
class Failure:
    asked: Asked
    outcome: Outcome

    @property
    def inspection(self) -> str:
        seen = self.outcome.evidence
        return seen.id if seen is not None and seen.record == "inspections" else ""


def failed_checks(scope: Scope) -> Iterable[Need]:
    """One row an opening: what failed first of all, and how much besides."""
    suspects = _suspects(scope)
    if not suspects:
        return
    asked_for = _waited_for(suspects, scope)
    for facts in _facts(suspects):
        failures = _failing(facts, suspects[facts.opening.pk], scope.act.now)
        if failures:
            yield _row(scope, facts, failures, asked_for)


def _suspects(scope: Scope) -> dict[int, set[str]]:
    """Openings still to be accepted, and the kinds of readings, and checks confirmed, that failed there at any time."""
    found: dict[int, set[str]] = defaultdict(set)
    failing = scope.within(needs.FAILED, Inspection.objects.filter(result=FAIL))
    said_no = scope.within(needs.FAILED, Confirmation.objects.filter(answer="no"))
    for rows, name in ((failing, "kind"), (said_no, "check_code")):
        active = rows.exclude(opening__stage=Stage.ACCEPTED.value).order_by().values_list("opening", name).distinct()
        for opening, what in active:
            found[opening].add(what)
    return dict(sorted(found.items())[-MOST:])


# ---- what their gates are judged from, read for all at once ----------------------------------------------


def _facts(suspects: Mapping[int, set[str]]) -> list[Facts]:
    openings = Opening.objects.filter(pk__in=suspects).select_related("job", "unit__system")
    found = [Facts.of(opening) for opening in openings]
    of_kind = Inspection.objects.filter(opening=OuterRef("opening"), kind=OuterRef("kind"), result=FAIL)
    read = {
        "inspections": Inspection.objects.filter(Exists(of_kind)).select_related("by")
        .defer("device_verdict", "limits").order_by("-taken_at", "-id"),
        "confirmations": Confirmation.objects.select_related("by").order_by("-taken_at", "-id"),
        "photos": Photo.objects.exclude(check_code="").select_related("by").order_by("taken_at", "id"),
        "joints": Joint.objects.select_related("by", "conditions").order_by("-taken_at", "-id"),
        "events": Event.objects.all(),
        "steps_back": StageChange.objects.filter(kind="step-back", advanced=True),
    }
    rows = {name: _by_opening(query.filter(opening__in=suspects), lambda row: row.opening_id)
            for name, query in read.items()}
    panels = _by_opening(Panel.objects.filter(unit__opening__in=suspects).select_related("unit")
                         .order_by("hanging_order", "letter"), lambda panel: panel.unit.opening_id)
    parts = _by_opening(Part.objects.filter(unit__opening__in=suspects).select_related("unit", "panel", "delivery")
                        .order_by("pk"), lambda part: part.unit.opening_id)
    released = {one.opening_id: one for one in HoldPoint.objects.filter(
        opening__in=suspects, undone_at=None, advanced=True)}
    for facts in found:
        here = facts.opening.pk
        facts.inspections, facts.confirmations = rows["inspections"][here], rows["confirmations"][here]
        facts.photos, facts.joints = rows["photos"][here], rows["joints"][here]
        facts.events, facts.steps_back = rows["events"][here], rows["steps_back"][here]
        facts.panels, facts.parts, facts.hold_point = panels[here], parts[here], released.get(here)
    _share_checks(found)
    return found


def _by_opening(rows: Iterable[Any], of: Callable[[Any], int]) -> Mapping[int, list[Any]]:
    found = defaultdict(list)
    for row in rows:
        found[of(row)].append(row)
    return found


def _share_checks(found: Iterable[Facts]) -> None:
    """Openings of one job with one door system are asked the same."""
    rows = list(Check.objects.all())
    known: dict[tuple[int, int | None], list[Asked]] = {}
    for facts in found:
        unit = getattr(facts.opening, "unit", None)
        key = (facts.opening.job_id, None if unit is None else unit.system_id)
        if key not in known:
            known[key] = merged(row for row in rows if row.job_id in (None, key[0]) and row.system_id in (None, key[1]))
        facts.checks = known[key]


# ---- judging ---------------------------------------------------------------------------------------------


def _failing(facts: Facts, failed: set[str], now: dt.datetime) -> list[Failure]:
    found = []
    for asked in facts.checks:
        kind = STANDS_ON.get(asked.judged_by, asked.judged_by)
        if kind in STANDS_ON_NOTHING or not {kind, asked.code} & failed or not _is_asked(facts, asked):
            continue
        found += [Failure(asked, one) for one in judge(facts, asked, now) if one.result == FAILED]
    return sorted(found, key=lambda one: (not one.outcome.guarded, NUMBER[_stage(one.asked)], one.asked.order))


def _stage(asked: Asked) -> Stage:
    return HOLD_POINT_STANDS_ON if asked.stage == HOLD_POINT else Stage(asked.stage)


def _is_asked(facts: Facts, asked: Asked) -> bool:
    """Whether its gate is still before this opening; what verified it counts until the frame stands."""
    at = Stage(facts.opening.stage)
    if asked.stage == HOLD_POINT:
        return facts.hold_point is None and NUMBER[at] < NUMBER[Stage.PANELS_HUNG]
    again = at is Stage.OPENING_VERIFIED and asked.fresh_days is not None
    return NUMBER[Stage(asked.stage)] > NUMBER[at] or (again and asked.stage == at.value)


# ---- the row ---------------------------------------------------------------------------------------------


def _waited_for(suspects: Iterable[int], scope: Scope) -> dict[str, dict[str, Any]]:
    """By inspection, what is waited for because of it and whose day is still to come."""
    found = {}
    for wait in Wait.objects.filter(opening__in=suspects, cleared_at=None).select_related("opening__job", "owed_by"):
        due = needs.wait_is_due(wait.expected_day, day_at(wait.opening, wait.taken_at), scope.today(wait.opening))
        if wait.because.get("inspection") and not due:
            found[wait.because["inspection"]] = {
                "owed_by_kind": wait.owed_by_kind, "expected": wait.expected_day,
                "owed_by": "" if wait.owed_by is None else wait.owed_by.name}
    return found


def _row(scope: Scope, facts: Facts, failures: list[Failure], asked_for: Mapping[str, Any]) -> Need:
    """Led by what nobody has been asked to put right; in hand only where all of it is."""
    failures.sort(key=lambda one: one.inspection in asked_for)
    first, opening = failures[0], facts.opening
    taken_at = min((one.outcome.evidence.taken_at for one in failures if one.outcome.evidence), default=scope.act.now)
    since = day_at(opening, taken_at)
    return Need(
        needs.FAILED, opening, since, (scope.today(opening) - since).days, first.inspection,
        count=len(failures), guards=next((f.outcome.guards for f in failures if f.outcome.guarded), ""),
        asked=first.inspection in asked_for, values={
            "outcome": first.outcome.as_dict(), "judged_by": first.asked.judged_by, "occasion": first.asked.occasion,
            "at_pocket": first.asked.stage == HOLD_POINT,
            "more": [f.outcome.title for f in failures[1:]], **_owed(first, asked_for)})


def _owed(first: Failure, asked_for: Mapping[str, Any]) -> Mapping[str, Any]:
    if first.inspection in asked_for:
        return asked_for[first.inspection]
    kind = (who_owes(first.asked.judged_by, first.outcome.findings) if first.inspection
            else who_owes_what_was_seen(first.asked.code))
    return {"owed_by_kind": kind, "owed_by": "", "expected": None}
