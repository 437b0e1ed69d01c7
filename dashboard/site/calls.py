"""What somebody goes back for: the call, the trip, and what is turned there, to be filled in on a telephone."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from dashboard import phrases
from dashboard.opening.sheet import OpeningSheet
from inspections.models import ReturnTrip

WHAT_MOST, NOTE_MOST = 240, 400
# How a value is turned from what was typed into what is sent, beside those of acts.py.
TURNS, LENGTH, FORCE = "turns", "length", "force"


def call_told(sheet: OpeningSheet, trip: ReturnTrip | None) -> dict[str, Any] | None:
    if trip is None:
        return None
    call = trip.callback
    agreed = [sheet.reader.day(trip.day), trip.arrival if sheet.named else ""]
    return {
        "id": call.pk, "number": call.number, "symptom": call.symptom,
        "severity": str(phrases.SEVERITIES[call.severity]),
        "panel": "" if call.panel is None else call.panel.letter, "caller": call.caller if sheet.named else "",
        "when": ", ".join(filter(None, agreed)), "bring": trip.bring, "page": reverse("callback", args=[call.pk]),
        "adjust": _adjusting(sheet, trip) if sheet.rights["log an adjustment"] else None,
    }


def _adjusting(sheet: OpeningSheet, trip: ReturnTrip) -> dict[str, Any]:
    """As the callback's page asks it: a reading that was not taken stays empty."""
    unit = sheet.reader.units
    panels = [["", "–"], *([str(panel.pk), panel.letter] for panel in sheet.facts.panels)]
    told = [
        {"name": "what", "label": _("What was adjusted"), "hint": _("rollers, strike, interlock, weep"), "how": "line",
         "as": "text", "most": WHAT_MOST, "needed": True},
        {"name": "panel_id", "label": _("Panel"), "how": "choice", "as": "whole", "choices": panels,
         "value": str(trip.callback.panel_id or "")},
        {"name": "turns.near", "label": _("Near roller, turns up"), "how": "line", "as": TURNS,
         "hint": _("in eighths, such as 1 3/8; with a minus for down")},
        {"name": "turns.far", "label": _("Far roller, turns up"), "how": "line", "as": TURNS},
    ]
    told += [{"name": f"{when}.{name}", "label": f"{said}: {label}", "how": "line", "as": how, "unit": unit}
             for when, said in (("before", _("Before")), ("after", _("After")))
             for name, label, how in (
                 ("gaps.top", _("reveal, top"), LENGTH), ("gaps.middle", _("reveal, middle"), LENGTH),
                 ("gaps.bottom", _("reveal, bottom"), LENGTH), ("start_n", _("force to start"), FORCE),
                 ("keep_moving_n", _("force to keep moving"), FORCE))]
    told.append({"name": "note", "label": _("Note"), "how": "lines", "as": "text", "most": NOTE_MOST})
    return {"entry": "adjustment", "button": _("Log the adjustment"), "fields": told,
            "data": {"callback_id": trip.callback_id, "trip_id": trip.pk}}
