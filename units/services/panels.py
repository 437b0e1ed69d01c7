"""The only place that writes a panel's state."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from jobs.acts import Act, Done
from jobs.errors import SomeoneWasFaster
from jobs.models import Opening
from jobs.models.base import new_id
from jobs.services.stages import crew_of
from units.models import Panel, PanelChange
from units.services.bringing_in import write_at_end

# act: (the states it may start from, the state it ends in; None leaves it)
STEPS: dict[str, tuple[tuple[str, ...], str | None]] = {
    "receive": (("expected",), "received"),
    "hang": (("received",), "hung"),
    "adjust": (("hung", "adjusted"), "adjusted"),
    "take-out": (("hung", "adjusted"), "received"),
    "damage": (("expected", "received", "hung", "adjusted"), None),
    "replace": (("expected", "received", "hung", "adjusted"), "received"),
}


def write_state(act: Act, done: Done, opening: Opening, panel: Panel, what: str, *, reason: str = "",
                entry_id: uuid.UUID | None = None, fingerprint: str = "") -> PanelChange:
    """Moves one panel one step, once, and writes its one change."""
    to_state = STEPS[what][1] or panel.state
    values: dict[str, Any] = {"state": to_state}
    if what == "damage":
        values["damaged"] = True
    if what == "replace":
        values.update(damaged=False, replaced=panel.replaced + 1)
    if not Panel.objects.filter(pk=panel.pk, state=panel.state).update(**values):
        raise SomeoneWasFaster("Somebody else moved this panel just now. Look again.")
    change = _keep(act, opening, panel, what, to_state, advanced=True, reason=reason, reasons=(), entry_id=entry_id,
                   fingerprint=fingerprint)
    panel.refresh_from_db()
    write_at_end(done, opening)
    done.note(act, f"panel {panel.letter} {change.get_act_display().lower()}", "panels", panel.pk, opening=opening)
    return change


def keep_unadvanced(act: Act, done: Done, opening: Opening, panel: Panel, what: str, *,
                    reasons: Sequence[Mapping[str, Any]], reason: str = "", entry_id: uuid.UUID | None = None,
                    fingerprint: str = "") -> PanelChange:
    """It was done on site all the same: kept, not advanced, with every reason."""
    change = _keep(act, opening, panel, what, STEPS[what][1] or panel.state, advanced=False, reason=reason,
                   reasons=reasons, entry_id=entry_id, fingerprint=fingerprint)
    done.note(act, "recorded, not advanced", "panels", panel.pk, opening=opening, panel_act=what)
    return change


def _keep(act: Act, opening: Opening, panel: Panel, what: str, to_state: str, *, advanced: bool, reason: str,
          reasons: Sequence[Mapping[str, Any]], entry_id: uuid.UUID | None, fingerprint: str) -> PanelChange:
    return PanelChange.objects.create(
        id=entry_id or new_id(), panel=panel, act=what, from_state=panel.state, to_state=to_state, advanced=advanced,
        crew=crew_of(act, opening), reason=reason, reasons=list(reasons), by=act.user, taken_at=act.taken_at,
        device_time=act.device_time, server_time=act.now, fingerprint=fingerprint)
