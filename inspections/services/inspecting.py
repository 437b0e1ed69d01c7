"""Readings and confirmations come in here: judged, kept with their limits as they stood, never overwritten."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from inspections.calc.kinds import KINDS
from inspections.models import Confirmation, Inspection, Reading
from inspections.services.checks import checks_for
from inspections.services.datums import filled
from inspections.services.judging import limits_as_dict, limits_for
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, carry_out
from jobs.calc.verdict import Verdict
from jobs.errors import Invalid, NotThere
from jobs.models import Opening
from jobs.models.base import new_id
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from jobs.services.stages import crew_of
from units.models import Panel

ANSWERS = [answer for answer, _ in Confirmation.ANSWERS]


def record_inspection(act: Act, opening_id: int, kind: str, given: Mapping[str, Any], *,
                      entry_id: uuid.UUID | None = None, occasion: str = "", place: str = "",
                      panel_id: int | None = None, device_verdict: Mapping[str, Any] | None = None,
                      note: str = "") -> Inspection:
    """One set of readings, judged now by the limits that stand now. Raises BadInput for what cannot be read."""
    mark = fingerprint("inspection", opening_id, kind, given, occasion, place, panel_id, note)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "record readings", opening)
        had = had_already(Inspection, entry_id, mark)
        if had is not None:
            return had
        if kind not in KINDS:
            raise Invalid(f"There is no check judged by {kind!r}.", fields={"kind": "one of: " + ", ".join(KINDS)})
        panel = panel_in(opening, panel_id)
        limits = limits_for(kind, opening)
        payload = filled(kind, given, opening, panel)
        verdict = KINDS[kind].judge(payload, limits)
        inspection = Inspection.objects.create(
            id=entry_id or new_id(), opening=opening, kind=kind, occasion=occasion, place=place, panel=panel,
            crew=crew_of(act, opening), given=dict(given), asked_of=_added(given, payload),
            limits=limits_as_dict(kind, limits), note=note, device_verdict=device_verdict,
            **_said(verdict, device_verdict), **when(act), clock_doubtful=act.clock_doubtful, fingerprint=mark)
        _keep_readings(inspection, kind, payload)
        done.note(act, "readings recorded", "inspections", inspection.pk, opening=opening, kind=kind,
                  result=inspection.result)
        refresh_at_end(act, done, opening)
    return inspection


def confirm(act: Act, opening_id: int, check_code: str, answer: str, *, looked_at: str = "", stands_at: str = "",
            place: str = "", panel_id: int | None = None, entry_id: uuid.UUID | None = None) -> Confirmation:
    """Somebody looked and says what they saw. Other evidence is the office's to give."""
    mark = fingerprint("confirmation", opening_id, check_code, answer, looked_at, stands_at, place, panel_id)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "give other evidence" if answer == "other-evidence" else "record readings", opening)
        had = had_already(Confirmation, entry_id, mark)
        if had is not None:
            return had
        _check_answer(opening, check_code, answer, stands_at)
        panel = panel_in(opening, panel_id)
        confirmation = Confirmation.objects.create(
            id=entry_id or new_id(), opening=opening, check_code=check_code, answer=answer, looked_at=looked_at,
            stands_at=stands_at, place=place or ("" if panel is None else panel.letter), panel=panel,
            crew=crew_of(act, opening), **when(act), fingerprint=mark)
        done.note(act, "confirmed", "confirmations", confirmation.pk, opening=opening, check=check_code, answer=answer)
        refresh_at_end(act, done, opening)
    return confirmation


def panel_in(opening: Opening, panel_id: int | None) -> Panel | None:
    if panel_id is None:
        return None
    panel = Panel.objects.filter(pk=panel_id, unit__opening=opening).first()
    if panel is None:
        raise NotThere("There is no such panel in this opening.")
    return panel


def when(act: Act) -> dict[str, Any]:
    """Who and when, as every site record keeps it."""
    return {"by": act.user, "taken_at": act.taken_at, "device_time": act.device_time, "server_time": act.now}


def _check_answer(opening: Opening, check_code: str, answer: str, stands_at: str) -> None:
    if answer not in ANSWERS:
        raise Invalid("That is no answer.", fields={"answer": "one of: " + ", ".join(ANSWERS)})
    asked = {check.code: check for check in checks_for(opening)}
    check = asked.get(check_code)
    if check is None:
        raise Invalid("No check of this opening has that code.", fields={"check_code": "see the opening's gate"})
    if answer != "other-evidence" and check.judged_by not in ("confirmed", "photo"):
        raise Invalid(f"{check.title} is judged from readings.", fields={"check_code": f"send {check.judged_by}"})
    if answer == "maker-forbids" and not check.maker_may_forbid:
        raise Invalid("This check cannot be answered so.", fields={"answer": "yes or no"})
    if answer in ("maker-forbids", "other-evidence") and not stands_at:
        raise Invalid("Say where that stands.", fields={"stands_at": "the maker's page, or what the evidence is"})


def _added(given: Mapping[str, Any], payload: Mapping[str, Any]) -> dict[str, Any]:
    """What the record filled in: kept, so that the verdict can be understood later."""
    return {k: v for k, v in payload.items() if given.get(k) != v}


def _said(verdict: Verdict, device_verdict: Mapping[str, Any] | None) -> dict[str, Any]:
    shown = verdict.as_dict()
    return {"verdict": shown, "result": verdict.result, "quantities": sorted({f.quantity for f in verdict.findings}),
            "differs": device_verdict is not None and _plainly(device_verdict) != _plainly(shown)}


def _plainly(verdict: Mapping[str, Any]) -> Any:
    return verdict.get("result"), verdict.get("findings")


def _keep_readings(inspection: Inspection, kind: str, payload: Mapping[str, Any]) -> None:
    rows = KINDS[kind].readings(payload)
    Reading.objects.bulk_create([
        Reading(inspection=inspection, quantity=row.quantity, at=row.at, unit=row.unit,
                **({"length": row.value} if row.unit == "mm" else {"number": row.value}))
        for row in rows
    ])


