"""One opening as a telephone keeps it: enough to work from for a day without signal, judgements included."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.template.loader import render_to_string
from django.utils.translation import gettext_lazy as _

from dashboard import phrases, words
from dashboard.forms.sheets import SHEETS, Filling
from dashboard.opening.rows import CheckRow, GateShown
from dashboard.opening.sheet import OpeningSheet
from dashboard.sheets.opening import limits_said
from dashboard.site.acts import act_told
from dashboard.site.calls import call_told
from dashboard.site.round import Stop
from dashboard.site.sheets import sheet_told
from inspections.calc.gate import NO_PHOTO, Asked, photo_counts
from inspections.calc.kinds import KINDS
from inspections.services import datums
from inspections.services.judging import limits_at
from jobs.calc.lengths import to_mm
from jobs.calc.verdict import Limit
from jobs.models import Opening

# Judged on the telephone too; the others wait for the office's answer.
JUDGED_THERE = ("floor-profile", "rough-opening", "frame", "reveal", "sealing-conditions")

# What may be done at any time, as it is called where nothing about it stands beside it.
ACTS = {
    "item": _("Raise a punch item"), "aside": _("Set a part aside"), "wait": _("Raise a wait"),
    "hours": _("Report hours"), "event": _("Note an event"), "custody": _("Hand the opening over"),
    "back": _("Step back a stage"), "wall": _("Somebody saw the pocket wall"),
}


def opening_told(sheet: OpeningSheet, stop: Stop) -> dict[str, Any]:
    opening, job = sheet.opening, sheet.opening.job
    return {
        "id": opening.pk, "when": stop.when.value, "crew": "" if stop.crew is None else stop.crew.name,
        "days": [sheet.reader.day(stop.start_day), sheet.reader.day(stop.end_day)],
        "job": job.number, "title": job.title, "tag": opening.tag, "location": opening.location,
        "address": job.address, "way_in": job.access_notes, "zone": job.time_zone,
        "pocket": str(phrases.POCKETS.get(opening.pocket_side, "")),
        "stage": opening.stage, "stage_said": sheet.stage, "next_said": str(phrases.NEXT[opening.stage]),
        "unit": sheet.unit_words, "benchmark": opening.benchmark,
        "drawing": drawing(sheet), "drawing_said": sheet.drawing_words,
        "gates": [gate_told(sheet, gate) for gate in (sheet.hold_point, sheet.next_gate) if gate is not None],
        "panels": [_panel(sheet, row, panel) for row, panel in zip(sheet.panels, sheet.facts.panels, strict=True)],
        "sheets": _sheets(sheet), "judging": _judging(sheet),
        "waits": [{"said": row.said, "clear": act_told(row.clear)} for row in sheet.open_waits],
        "items": [{"number": row.item.number, "what": row.item.what, "place": row.place, "owner": row.owner,
                   "due": row.due, "overdue": row.overdue, "close": act_told(row.close)}
                  for row in sheet.punch_items if row.item.closed_at is None],
        "aside": [{"what": part.what, "where": part.where_kept, "back": act_told(form)}
                  for part, back, form in sheet.parts if not back],
        "kept": [{"what": kept.what, "when": kept.when, "by": kept.by, "reasons": list(kept.reasons)}
                 for kept in sheet.kept if not kept.settled],
        "parts": [{"name": row.name, "wanted": row.wanted, "state": row.state, "came": act_told(row.form)}
                  for row in sheet.unit_parts],
        "acts": _acts(sheet), "call": call_told(sheet, stop.trip),
        "may_photo": sheet.add_photo is not None,
        "lifting": str(phrases.LIFTING_CAUTION),
    }


def drawing(sheet: OpeningSheet) -> str:
    return render_to_string("dashboard/_elevation.html", {
        "d": sheet.slim_drawing, "key": f"e{sheet.opening.pk}", "title": str(sheet.opening.tag),
        "desc": sheet.drawing_words, "lettered": True}).strip()


def gate_told(sheet: OpeningSheet, gate: GateShown) -> dict[str, Any]:
    act = sheet.release if gate.target == "the pocket closes" else sheet.advance
    return {
        "title": gate.title, "target": gate.target, "standing": gate.standing, "asked": gate.asked,
        "passes": gate.passes, "blocks": list(gate.blocks), "act": act_told(act),
        "checks": [_check(sheet, row) for row in (*gate.not_passing, *gate.passing)],
    }


def _check(sheet: OpeningSheet, row: CheckRow) -> dict[str, Any]:
    said = row.said
    asked = next(one for one in sheet.facts.checks if one.code == said.code)
    return {
        "code": said.code, "title": said.title, "place": said.raw_place or "", "place_said": said.place,
        "result": said.result, "passes": said.passes, "outcome": said.said,
        "limits": list(limits_said(sheet.facts, asked, sheet.reader)),
        "notes": [words.finding(note) for note in said.notes], "missing": list(said.missing), "guards": said.guards,
        "sheet": row.sheet, "read_with": row.read_with, "caution": row.caution, "steps": list(row.steps),
        "confirm": act_told(row.confirm, check_code=said.code, place=(said.raw_place or "")[:20]),
        "joint": _joint(row), **_photo(sheet, row, asked),
        "wait": act_told(row.wait),
    }


def _photo(sheet: OpeningSheet, row: CheckRow, asked: Asked) -> dict[str, Any]:
    """`photo`: of which check one is asked, by somebody who may add it. `photo_stands`: one that counts is there.
    `answered`: what lacks is the photo alone."""
    taken = sheet.facts.photo_at(asked, "confirmation", "")
    wanted = asked.photo and not row.said.passes and sheet.rights["add photos"]
    alone = row.said.result == NO_PHOTO or asked.judged_by == "photo"
    return {"photo": asked.code if wanted else "", "answered": alone, "photo_stands": not alone and photo_counts(
        asked, taken, sheet.facts.endings(asked.stage), sheet.act.now)}


def _joint(row: CheckRow) -> dict[str, Any] | None:
    if row.joint is None:
        return None
    rule, place, side = (*str(row.joint.initial["joint"]).split(":"), "", "")[:3]
    told = act_told(row.joint, rule=rule, place=place, side=side)
    return told


def _panel(sheet: OpeningSheet, row: Any, panel: Any) -> dict[str, Any]:
    return {"id": panel.pk, "letter": row.letter, "position": row.position, "mass": row.mass, "track": row.track,
            "state": panel.state, "state_said": row.state, "next": row.is_next,
            "act": act_told(row.quick), "other": act_told(row.other)}


def _sheets(sheet: OpeningSheet) -> list[dict[str, Any]]:
    if not sheet.rights["record readings"]:
        return []
    filling = Filling(sheet.opening, sheet.facts.panels, sheet.reader, now=sheet.act.now)
    return [sheet_told(one, filling) for one in SHEETS.values()]


def _judging(sheet: OpeningSheet) -> dict[str, Any]:
    """By what readings are judged: the limits that stand here, and what the record knows beside them."""
    told = {}
    for one in SHEETS.values():
        if one.kind in JUDGED_THERE:
            limits = limits_at(one.kind, sheet.opening, sheet.facts.checks, occasion=one.occasion)
            told[f"{one.kind}/{one.occasion}"] = {
                "limits": _limits(one.kind, limits), "known": known(one.kind, sheet.opening),
                "over": "record" if one.kind in datums.BY_THE_RECORD else "given"}
    return told


def _limits(kind: str, limits: Mapping[str, Limit]) -> dict[str, Any]:
    """As a telephone reads them: a length in exact millimetres, whatever else as the number that it is."""
    units = KINDS[kind].limits
    return {name: {"value": _exactly(limit.value, units.get(name, "")), "source": limit.source}
            for name, limit in limits.items()}


def _exactly(value: Any, unit: str) -> str | float | None:
    if value is None:
        return None
    return f"{to_mm(value)} mm" if unit == "mm" else float(value)


def known(kind: str, opening: Opening) -> Mapping[str, Any]:
    found = datums.KNOWN[kind](opening, datums.unit_of(opening), None)
    return {name: value for name, value in found.items() if value is not None}


def _acts(sheet: OpeningSheet) -> list[dict[str, Any]]:
    """What may be done at any time, whatever the next gate asks."""
    offered = (
        ("item", sheet.raise_item), ("aside", sheet.set_aside), ("wait", sheet.raise_wait),
        ("hours", sheet.report_hours), ("event", sheet.note_event), ("custody", sheet.hand_over),
        ("back", sheet.step_back),
        ("wall", sheet.countersign_wall))
    return [{"key": key, "title": str(ACTS[key]), **told} for key, form in offered
            if (told := act_told(form)) is not None]
