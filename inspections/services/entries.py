"""A batch of entries from a telephone, taken in in its order, with a result for each.

One transaction: what is acknowledged is kept, and a crash in between leaves nothing half-stored. An entry that is
refused does not stop the others.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.db import transaction
from django.utils.dateparse import parse_date, parse_datetime

from inspections.models import Confirmation, HoldPoint, Inspection, Joint, PunchItem, SetAsidePart, WallAgreement
from inspections.services.afterwards import Adjustment, log_adjustment
from inspections.services.closing import close_punch_item, put_part_back, raise_punch_item, set_part_aside
from inspections.services.custody import hand_over
from inspections.services.gates import accept_opening, advance_opening, release_hold_point, step_back
from inspections.services.inspecting import AtOpening, Taken, confirm, judged, keep
from inspections.services.joints import do_joint
from inspections.services.panels import handle_panel
from inspections.services.parts import note_part_came
from inspections.services.waits import clear_wait, raise_wait
from inspections.services.walls import countersign_wall
from inspections.services.work import note_event, report_hours
from jobs.acts import Act, Done, carry_out
from jobs.calc.verdict import BadInput
from jobs.errors import AlreadyHasOther, Invalid, NotThere, Refusal
from jobs.models import Custody, Event, Opening, StageChange, TimeReport, Wait, WorkStep
from jobs.services.access import require
from units.models import Panel, PanelChange, Part, PartArrival

STORED, HAD, KEPT, REFUSED = "stored", "had already", "recorded, not advanced", "refused"
MOST = 1000


@dataclass(frozen=True)
class Kind:
    """How one kind of entry is carried out: its record, its service, what it is about, the fields it takes."""

    record: str
    model: Any
    service: Callable[..., Any]
    about: str  # the field that names what it is about
    fields: Mapping[str, Callable[[Any, str], Any]]
    about_is: Callable[[Any, str], Any]
    has_id: bool = True  # the record takes the entry's id
    fixed: Mapping[str, Any] | None = None


def words(most: int) -> Callable[[Any, str], str]:
    """Text of at most so many letters: as many as its column holds, on every database."""
    def text(value: Any, field: str) -> str:
        if not isinstance(value, str):
            raise BadInput(field, value, "text here")
        if len(value) > most or "\x00" in value:
            raise BadInput(field, f"{len(value)} letters", f"at most {most} letters, and none of them NUL")
        return value

    return text


def whole(value: Any, field: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) > 2**53:
        raise BadInput(field, value, "a whole number here")
    return value


def minutes(value: Any, field: str) -> int:
    if not 0 <= whole(value, field) <= 1_000_000:
        raise BadInput(field, value, "minutes, from 0 to 1000000")
    return value


def truth(value: Any, field: str) -> bool:
    if not isinstance(value, bool):
        raise BadInput(field, value, "true or false here")
    return value


def day(value: Any, field: str) -> dt.date:
    found = None
    if isinstance(value, str):
        try:
            found = parse_date(value)
        except ValueError:
            found = None
    if found is None:
        raise BadInput(field, value, "a day such as 2026-03-31")
    return found


def moment(value: Any, field: str) -> dt.datetime:
    found = None
    if isinstance(value, str):
        try:
            found = parse_datetime(value)
        except ValueError:
            found = None
    if found is None or found.tzinfo is None:
        raise BadInput(field, value, "a time with its zone, such as 2026-03-31T09:30:00-07:00")
    try:
        return found.astimezone(dt.UTC)
    except OverflowError as why:
        raise BadInput(field, value, "a time between the years 1 and 9999") from why


def an_id(value: Any, field: str) -> uuid.UUID:
    try:
        return uuid.UUID(str(value))
    except ValueError as why:
        raise BadInput(field, value, "a UUID") from why


def ids(value: Any, field: str) -> list[uuid.UUID]:
    if not isinstance(value, list) or len(value) > 500:
        raise BadInput(field, value, "a list of at most 500 ids here")
    return [an_id(one, f"{field}[{n}]") for n, one in enumerate(value)]


def an_object(value: Any, field: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BadInput(field, value, "an object here")
    return value


def objects(value: Any, field: str) -> list[Any]:
    if not isinstance(value, list) or len(value) > 200 or not all(isinstance(v, Mapping) for v in value):
        raise BadInput(field, value, "a list of at most 200 objects here")
    return value


KINDS: dict[str, Kind] = {
    "confirmation": Kind("confirmations", Confirmation, confirm, "opening", {
        "check_code": words(60), "answer": words(16), "looked_at": words(400), "stands_at": words(200),
        "place": words(20), "panel_id": whole}, whole),
    "stage-change": Kind("stage-changes", StageChange, advance_opening, "opening", {"to": words(20)}, whole,
                         fixed={"done_on_site": True}),
    "step-back": Kind("stage-changes", StageChange, step_back, "opening", {"to": words(20), "reason": words(2000)},
                      whole),
    "acceptance": Kind("stage-changes", StageChange, accept_opening, "opening", {
        "accepted_by": words(160), "how": words(160), "subject_to": ids}, whole, fixed={"done_on_site": True}),
    "hold-point": Kind("hold-points", HoldPoint, release_hold_point, "opening", {}, whole,
                       fixed={"done_on_site": True}),
    "panel-change": Kind("panels", PanelChange, handle_panel, "panel", {"what": words(10), "reason": words(2000)},
                         whole, fixed={"done_on_site": True}),
    "joint": Kind("joints", Joint, do_joint, "opening", {
        "place": words(60), "side": words(20), "rule": words(10), "product": words(120), "conditions_id": an_id,
        "done": truth, "note": words(240)}, whole),
    "punch-item": Kind("punch-items", PunchItem, raise_punch_item, "opening", {
        "what": words(240), "owner_id": whole, "due_day": day, "panel_id": whole, "place": words(60),
        "cause": words(10)}, whole),
    "punch-item-closed": Kind("punch-items", PunchItem, close_punch_item, "punch_item", {"how": words(240)}, an_id,
                              False),
    "part-set-aside": Kind("set-aside-parts", SetAsidePart, set_part_aside, "opening", {
        "what": words(160), "where_kept": words(160)}, whole),
    "part-put-back": Kind("set-aside-parts", SetAsidePart, put_part_back, "part", {"note": words(160)}, an_id, False),
    "adjustment": Kind("adjustments", Adjustment, log_adjustment, "opening", {
        "what": words(240), "turns": objects, "before": an_object, "after": an_object, "note": words(400),
        "panel_id": whole, "callback_id": whole, "trip_id": whole}, whole),
    "wait": Kind("waits", Wait, raise_wait, "opening", {
        "what_for": words(240), "owed_by_kind": words(12), "owed_by_id": whole, "expected_day": day,
        "inspection_id": an_id}, whole),
    "wait-cleared": Kind("waits", Wait, clear_wait, "wait", {"how": words(240), "standby_minutes": minutes}, an_id,
                         False),
    "time-report": Kind("time-reports", TimeReport, report_hours, "work_step", {
        "day": day, "minutes": whole, "note": words(240)}, whole),
    "part-came": Kind("part-arrivals", PartArrival, note_part_came, "unit_part", {
        "whole": whole, "short": whole, "damaged": whole, "note": words(240), "delivery_id": whole}, whole,
        fixed={"more_came": True}),
    "custody": Kind("custody", Custody, hand_over, "opening", {
        "holder": words(12), "condition": words(400), "who": words(160), "crew_id": whole}, whole),
    "wall-agreement": Kind("wall-agreements", WallAgreement, countersign_wall, "opening", {
        "name": words(160), "trade": words(160), "seen": words(64), "photo_id": an_id}, whole,
        fixed={"done_on_site": True}),
    "event": Kind("events", Event, note_event, "opening", {"kind": words(14), "note": words(240)}, whole),
}
# What an entry may be about, and the way from there to its opening.
ABOUT: dict[str, tuple[Any, str]] = {
    "opening": (Opening, "pk"), "panel": (Panel, "unit__opening"), "punch_item": (PunchItem, "opening"),
    "part": (SetAsidePart, "opening"), "wait": (Wait, "opening"), "work_step": (WorkStep, "opening"),
    "unit_part": (Part, "unit__opening"),
}
INSPECTION_FIELDS = {"kind": words(20), "given": an_object, "occasion": words(20), "place": words(20),
                     "panel_id": whole, "device_verdict": an_object, "note": words(240)}
ENTRY_KEYS = ("id", "entry", "taken_at", "data")


def take_in(act: Act, entries: Sequence[Any]) -> list[dict[str, Any]]:
    """Takes the entries in, in order. Each answer has the entry's `id`, its `result`, and the `record` it became,
    the `reasons` for not advancing, or the `problem` with it."""
    if len(entries) > MOST:
        raise Invalid("That is too much at once.", fields={"entries": f"at most {MOST} in one batch"})
    results: list[dict[str, Any]] = []
    with carry_out(act) as done:
        _lock(entries)
        openings: dict[int, AtOpening] = {}
        for is_inspection, run in groupby(entries, key=_is_inspection):
            if is_inspection:
                results += _inspections(act, done, list(run), openings)
            else:
                results += [_one(act, entry) for entry in run]
    return results


def _is_inspection(entry: Any) -> bool:
    return isinstance(entry, Mapping) and entry.get("entry") == "inspection"


def _lock(entries: Iterable[Any]) -> None:
    """Every opening that is touched, in one order, so that two batches never wait for each other."""
    named = {about: set() for about in ABOUT}
    for entry in entries:
        kind = KINDS.get(entry.get("entry")) if _names_its_kind(entry) else None
        about, about_is = ("opening", whole) if kind is None else (kind.about, kind.about_is)
        with suppress(BadInput, AttributeError):  # said when it is its turn
            named[about].add(about_is(entry.get(about), about))
    keys = {key for about, (model, path) in ABOUT.items() if named[about]
            for key in model.objects.filter(pk__in=named[about]).values_list(path, flat=True)}
    list(Opening.objects.select_for_update(no_key=True).filter(pk__in=keys).order_by("pk").values("pk"))


def _names_its_kind(entry: Any) -> bool:
    return isinstance(entry, Mapping) and isinstance(entry.get("entry"), str)


def _one(act: Act, entry: Any) -> dict[str, Any]:
    try:
        kind, entry_id, at_time, about, values = _read(entry)
        acting = act.at_device_time(at_time)
        before = kind.model.objects.filter(pk=entry_id if kind.has_id else about).first()
        keys = {"entry_id": entry_id} if kind.has_id else {}
        with transaction.atomic():
            record = _carried_out(kind, acting, about, {**values, **(kind.fixed or {}), **keys})
    except (Refusal, BadInput) as why:
        return _refused(entry, why)
    # What makes no record of its own was done already when it changes nothing.
    had = before is not None and (kind.has_id or record.version == before.version)
    return _answer(entry_id, kind.record, record, had)


def _carried_out(kind: Kind, act: Act, about: Any, values: dict[str, Any]) -> Any:
    try:
        return kind.service(act, about, **values)
    except TypeError as why:
        lacking = [name for name in kind.fields if name not in values and f"'{name}'" in str(why)]
        if not lacking:
            raise
        raise Invalid("Something is lacking.", fields={f"data.{name}": "this is needed" for name in lacking}) from why


def _answer(entry_id: uuid.UUID, name: str, record: Any, had: bool) -> dict[str, Any]:
    kept = getattr(record, "advanced", True) is False
    answer = {"id": str(entry_id), "result": KEPT if kept else HAD if had else STORED, "record": name,
              "record_id": str(record.pk)}
    if kept:
        answer.update(reasons=record.reasons, had_already=had)
    return answer


def _refused(entry: Any, why: Refusal | BadInput) -> dict[str, Any]:
    sent = entry.get("id") if isinstance(entry, Mapping) else None
    if isinstance(why, BadInput):
        problem = {"code": "bad-input", "status": 422, "detail": str(why), "fields": {why.field: why.right}}
    else:
        problem = {"code": why.code, "status": why.status, "detail": why.detail, "fields": why.fields,
                   "reasons": why.reasons}
    return {"id": sent if isinstance(sent, str) else None, "result": REFUSED, "problem": problem}


def _read(entry: Any) -> tuple[Kind, uuid.UUID, dt.datetime | None, Any, dict[str, Any]]:
    entry = an_object(entry, "entry")
    name = entry.get("entry")
    kind = KINDS.get(name) if _names_its_kind(entry) else None
    if kind is None:
        raise BadInput("entry", name, "one of: inspection, " + ", ".join(KINDS))
    _only(entry, (*ENTRY_KEYS, kind.about), "")
    data = an_object(entry.get("data", {}), "data")
    _only(data, kind.fields, "data.")
    values = {k: kind.fields[k](v, f"data.{k}") for k, v in data.items() if v is not None}
    return kind, an_id(entry.get("id"), "id"), _time(entry), kind.about_is(entry.get(kind.about), kind.about), values


def _only(sent: Mapping[str, Any], allowed: Iterable[str], prefix: str) -> None:
    for name in sent:
        if name not in allowed:
            raise BadInput(f"{prefix}{name}", sent[name], "not a field of this entry; it takes " + ", ".join(allowed))


def _time(entry: Mapping[str, Any]) -> dt.datetime | None:
    return None if entry.get("taken_at") is None else moment(entry["taken_at"], "taken_at")


# ---- inspections: many at once, judged one by one, kept together --------------------------------------------


def _inspections(act: Act, done: Done, entries: list[Any], openings: dict[int, AtOpening]) -> list[dict[str, Any]]:
    marks = _kept_before(entries)
    made: list[Any] = []
    results = []
    for entry in entries:
        try:
            entry_id, acting, opening_id, taken = _read_inspection(act, entry)
            at = _at(act, opening_id, openings)
            mark = taken.mark(opening_id)
            if entry_id in marks:
                _check_same(marks[entry_id], mark)
                results.append({"id": str(entry_id), "result": HAD, "record": "inspections",
                                "record_id": str(entry_id)})
                continue
            inspection, readings = judged(acting, at, taken, entry_id)
        except (Refusal, BadInput) as why:
            results.append(_refused(entry, why))
            continue
        marks[entry_id] = mark
        made.append((inspection, readings))
        results.append({"id": str(entry_id), "result": STORED, "record": "inspections", "record_id": str(entry_id),
                        "verdict": inspection.verdict, "differs": inspection.differs})
    keep(act, done, made)
    return results


def _kept_before(entries: list[Any]) -> dict[uuid.UUID, str]:
    ids = []
    for entry in entries:
        try:
            ids.append(uuid.UUID(str(entry.get("id"))))
        except ValueError:
            continue
    return dict(Inspection.objects.filter(pk__in=ids).values_list("pk", "fingerprint"))


def _check_same(kept: str, mark: str) -> None:
    if kept != mark:
        raise AlreadyHasOther("This id was sent before with other content. The first is kept; send the new one "
                              "under an id of its own.")


def _read_inspection(act: Act, entry: Mapping[str, Any]) -> tuple[uuid.UUID, Act, int, Taken]:
    _only(entry, (*ENTRY_KEYS, "opening"), "")
    data = an_object(entry.get("data", {}), "data")
    _only(data, INSPECTION_FIELDS, "data.")
    values = {k: INSPECTION_FIELDS[k](v, f"data.{k}") for k, v in data.items() if v is not None}
    for name in ("kind", "given"):
        if name not in values:
            raise BadInput(f"data.{name}", None, "this is needed")
    entry_id = an_id(entry.get("id"), "id")
    return entry_id, act.at_device_time(_time(entry)), whole(entry.get("opening"), "opening"), Taken(**values)


def _at(act: Act, opening_id: int, openings: dict[int, AtOpening]) -> AtOpening:
    """The opening, asked once whether the person may record readings there."""
    if opening_id not in openings:
        opening = Opening.objects.select_related("job", "unit__system").filter(pk=opening_id).first()
        if opening is None:
            raise NotThere("There is no such opening among yours.")
        require(act, "record readings", opening)
        openings[opening_id] = AtOpening(act, opening)
    return openings[opening_id]
