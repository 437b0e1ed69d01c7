"""Readings and confirmations come in here: judged, kept with their limits as they stood, never overwritten."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db import connection

from inspections.calc.gate import Asked
from inspections.calc.kinds import KINDS
from inspections.models import Confirmation, Inspection
from inspections.services.checks import BY_THEIR_RECORDS, MATERIAL_COMPLETE, checks_for
from inspections.services.datums import filled
from inspections.services.judging import limits_as_dict, limits_at
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, Done, carry_out
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import Limit, Verdict
from jobs.errors import Invalid, NotAllowed, NotThere
from jobs.models import Crew, Opening
from jobs.models.base import new_id
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from jobs.services.stages import crew_of
from units.models import Panel, Part

ANSWERS = [answer for answer, _ in Confirmation.ANSWERS]


@dataclass
class AtOpening:
    """What is needed to judge readings at one opening, read once however many sets come in."""

    act: Act
    opening: Opening

    @cached_property
    def checks(self) -> list[Asked]:
        return checks_for(self.opening)

    @cached_property
    def crew(self) -> Crew | None:
        return crew_of(self.act, self.opening)

    @cached_property
    def panels(self) -> dict[int, Panel]:
        return {p.pk: p for p in Panel.objects.filter(unit__opening=self.opening)}

    def limits(self, kind: str, occasion: str) -> dict[str, Limit]:
        if (kind, occasion) not in self._limits:
            self._limits[kind, occasion] = limits_at(kind, self.opening, self.checks, occasion=occasion)
        return self._limits[kind, occasion]

    @cached_property
    def _limits(self) -> dict[tuple[str, str], dict[str, Limit]]:
        return {}

    def panel(self, panel_id: int | None) -> Panel | None:
        if panel_id is None:
            return None
        if panel_id not in self.panels:
            raise NotThere("There is no such panel in this opening.")
        return self.panels[panel_id]


def record_inspection(act: Act, opening_id: int, kind: str, given: Mapping[str, Any], *,
                      entry_id: uuid.UUID | None = None, occasion: str = "", place: str = "",
                      panel_id: int | None = None, device_verdict: Mapping[str, Any] | None = None,
                      note: str = "") -> Inspection:
    """One set of readings, judged now by the limits that stand now. Raises BadInput for what cannot be read."""
    taken = Taken(kind, given, occasion, place, panel_id, device_verdict, note)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, "record readings", opening)
        had = had_already(Inspection, entry_id, taken.mark(opening_id))
        if had is not None:
            return had
        inspection, readings = judged(act, AtOpening(act, opening), taken, entry_id)
        keep(act, done, [(inspection, readings)])
    return inspection


@dataclass(frozen=True)
class Taken:
    """A set of readings as it was sent."""

    kind: str
    given: Mapping[str, Any]
    occasion: str = ""
    place: str = ""
    panel_id: int | None = None
    device_verdict: Mapping[str, Any] | None = None
    note: str = ""

    def mark(self, opening_id: int) -> str:
        return fingerprint("inspection", opening_id, self.kind, self.given, self.occasion, self.place, self.panel_id,
                           self.note)


def judged(act: Act, at: AtOpening, taken: Taken,
           entry_id: uuid.UUID | None = None) -> tuple[Inspection, Sequence[ReadingValue]]:
    """The inspection and its readings, judged but not yet kept."""
    kind = taken.kind
    if kind not in KINDS:
        raise Invalid(f"There is no check judged by {kind!r}.", fields={"kind": "one of: " + ", ".join(KINDS)})
    if not isinstance(taken.given, Mapping):
        raise Invalid("Readings come as an object.", fields={"given": "an object of readings"})
    panel = at.panel(taken.panel_id)
    limits = at.limits(kind, taken.occasion)
    place = taken.place or ("" if panel is None else panel.letter)
    payload = filled(kind, taken.given, at.opening, panel, place)
    verdict = KINDS[kind].judge(payload, limits)
    inspection = Inspection(
        id=entry_id or new_id(), opening=at.opening, kind=kind, occasion=taken.occasion, panel=panel,
        place=place, crew=at.crew, given=dict(taken.given),
        asked_of=_added(taken.given, payload), limits=limits_as_dict(kind, limits), note=taken.note,
        device_verdict=taken.device_verdict, **_said(verdict, taken.device_verdict), **when(act),
        clock_doubtful=act.clock_doubtful, fingerprint=taken.mark(at.opening.pk))
    return inspection, KINDS[kind].readings(payload)


def keep(act: Act, done: Done, made: Sequence[tuple[Inspection, Sequence[ReadingValue]]]) -> None:
    Inspection.objects.bulk_create([inspection for inspection, _ in made])
    keep_readings(made)
    for inspection, _ in made:
        done.note(act, "readings recorded", "inspections", inspection.pk, opening=inspection.opening,
                  kind=inspection.kind, result=inspection.result)
        refresh_at_end(act, done, inspection.opening)


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
        _check_answer(act, opening, check_code, answer, stands_at)
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


def _check_answer(act: Act, opening: Opening, check_code: str, answer: str, stands_at: str) -> None:
    if answer not in ANSWERS:
        raise Invalid("That is no answer.", fields={"answer": "one of: " + ", ".join(ANSWERS)})
    asked = {check.code: check for check in checks_for(opening)}
    check = asked.get(check_code)
    if check is None:
        raise Invalid("No check of this opening has that code.", fields={"check_code": "see the opening's gate"})
    if check.judged_by in BY_THEIR_RECORDS or check.judged_by == "acceptance":
        raise Invalid(f"{check.title}: that is answered by the record itself.",
                      fields={"check_code": "a check that somebody confirms or reads"})
    if answer != "other-evidence" and check.judged_by not in ("confirmed", "photo"):
        raise Invalid(f"{check.title} is judged from readings.", fields={"check_code": f"send {check.judged_by}"})
    if check_code == MATERIAL_COMPLETE and Part.objects.filter(unit__opening=opening).exists():
        raise Invalid(f"{check.title}: that is counted from the unit's parts.",
                      fields={"check_code": "say what came of each part"})
    if check.by_office and not act.is_office:
        raise NotAllowed(f"{check.title}: that is the office's to confirm.")
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


# A batch brings tens of thousands of these: one statement for all, and no model object a row.
KEEP_READING = ("INSERT INTO inspections_reading (inspection_id, quantity, at, length, number, unit) "
                "VALUES (%s, %s, %s, %s, %s, %s)")


def keep_readings(made: Sequence[tuple[Inspection, Sequence[ReadingValue]]]) -> None:
    key = Inspection._meta.pk
    rows = []
    for inspection, values in made:
        pk = key.get_db_prep_value(inspection.pk, connection)
        rows += [(pk, v.quantity, v.at, v.value, None, v.unit) if v.unit == "mm" else
                 (pk, v.quantity, v.at, None, v.value, v.unit) for v in values]
    if rows:
        with connection.cursor() as cursor:
            cursor.executemany(KEEP_READING, rows)
