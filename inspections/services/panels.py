"""Panels are received, hung in order, adjusted, taken out, damaged, replaced."""

from __future__ import annotations

import uuid
from typing import Any

from inspections.calc.gate import FAILED
from inspections.services.earning import settle_earned
from inspections.services.facts import Facts
from inspections.services.gates import go_back
from inspections.services.looking import judge
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, Done, carry_out
from jobs.errors import GateSaysNo, Invalid, NotThere
from jobs.models import Opening
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from jobs.stages import NUMBER, Stage
from units.models import Panel, PanelChange
from units.services.panels import STEPS, keep_unadvanced, write_state

NEEDS_REASON = ("take-out", "damage")
DONE_ALREADY = {"receive": ("received", "hung", "adjusted"), "hang": ("hung", "adjusted")}


def handle_panel(act: Act, panel_id: int, what: str, *, reason: str = "", entry_id: uuid.UUID | None = None,
                 done_on_site: bool = False) -> PanelChange:
    """One step of one panel. In the wrong order: no, and why; done all the same: kept, not advanced."""
    reason = reason.strip()
    mark = fingerprint("panel", panel_id, what, reason, done_on_site)
    with carry_out(act) as done:
        panel, opening = _locked_panel(panel_id)
        require(act, "handle a panel", opening)
        had = had_already(PanelChange, entry_id, mark)
        if had is not None:
            return had
        _check_said(what, reason)
        reasons = reasons_against(opening, panel, what, act)
        if reasons and not done_on_site:
            raise GateSaysNo(f"Panel {panel.letter}: not now.", reasons=reasons)
        keys = {"reason": reason, "entry_id": entry_id, "fingerprint": mark}
        if reasons:
            return keep_unadvanced(act, done, opening, panel, what, reasons=reasons, **keys)
        was = panel.state
        change = write_state(act, done, opening, panel, what, **keys)
        if was in ("hung", "adjusted") and panel.state == "received":
            _comes_out(act, done, opening, panel, reason)
        settle_earned(act, opening, f"panel {panel.letter} {change.get_act_display().lower()}", change.pk)
        refresh_at_end(act, done, opening)
    return change


def reasons_against(opening: Opening, panel: Panel, what: str, act: Act) -> list[dict[str, Any]]:
    """Why this step is not to be taken now; all of it at once. What is done already has no other reason."""
    if panel.state in DONE_ALREADY.get(what, ()):
        return [{"reason": "panel-already", "letter": panel.letter, "act": what, "state": panel.state}]
    reasons: list[dict[str, Any]] = []
    if panel.state not in STEPS[what][0]:
        reasons.append({"reason": "panel-state", "letter": panel.letter, "state": panel.state,
                        "needs": list(STEPS[what][0])})
    if what == "adjust" and panel.damaged:
        reasons.append({"reason": "panel-damaged", "letter": panel.letter})
    return reasons + (_against_hanging(opening, panel, act) if what == "hang" else [])


def _against_hanging(opening: Opening, panel: Panel, act: Act) -> list[dict[str, Any]]:
    facts = Facts.of(opening)
    reasons: list[dict[str, Any]] = []
    if NUMBER[Stage(opening.stage)] < NUMBER[Stage.FRAME_SET]:
        reasons.append({"reason": "frame-not-set", "stage": opening.stage})
    if panel.damaged:
        reasons.append({"reason": "panel-damaged", "letter": panel.letter})
    before = [p for p in facts.panels if p.hanging_order < panel.hanging_order and p.state not in ("hung", "adjusted")]
    if before:
        reasons.append({"reason": "out-of-order", "letter": panel.letter, "first": [p.letter for p in before]})
    reasons += [{"reason": "waiting", "what_for": w.what_for, "owed_by_kind": w.owed_by_kind} for w in facts.waits]
    for asked in facts.checks:
        if asked.stage == Stage.PANELS_HUNG and asked.guards == "structure":
            reasons += [{"reason": "check", **o.as_dict()} for o in judge(facts, asked, act.now) if o.result == FAILED]
    return reasons


def _comes_out(act: Act, done: Done, opening: Opening, panel: Panel, reason: str) -> None:
    """With a panel out, *panels hung* is no longer so."""
    if NUMBER[Stage(opening.stage)] >= NUMBER[Stage.PANELS_HUNG]:
        go_back(act, done, opening, Stage.FRAME_SET, "step-back", f"Panel {panel.letter} came out: {reason}")


def _check_said(what: str, reason: str) -> None:
    if what not in STEPS:
        raise Invalid("That is nothing one does with a panel.", fields={"act": "one of: " + ", ".join(STEPS)})
    if what in NEEDS_REASON and not reason:
        raise Invalid("This needs a reason.", fields={"reason": "say what happened"})


def _locked_panel(panel_id: int) -> tuple[Panel, Opening]:
    opening_id = Panel.objects.filter(pk=panel_id).values_list("unit__opening", flat=True).first()
    if opening_id is None:
        raise NotThere("There is no such panel.")
    opening = locked(opening_id)
    return Panel.objects.select_related("unit").get(pk=panel_id), opening
