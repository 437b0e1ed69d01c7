"""How a door was left: the readings that matter on the telephone, what was turned, and what was done since."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _

from dashboard import phrases, words
from dashboard.measures import Reader
from inspections.calc import force, reveal
from inspections.models import Adjustment, Inspection
from jobs.calc import reading
from jobs.calc.verdict import BadInput

HEIGHTS = ("top", "middle", "bottom")
FORCES = tuple((way, act) for way in force.WAYS for act in force.ACTS)


@dataclass(frozen=True, slots=True)
class LeftRow:
    """One line of a table of readings as they were read last."""

    pk: Any
    name: str
    values: tuple[str, ...]
    passes: bool
    when: str


def last_of(kind: str, inspections: Iterable[Inspection]) -> list[Inspection]:
    """By place, the latest; they come the latest first."""
    latest: dict[str, Inspection] = {}
    for inspection in inspections:
        if inspection.kind == kind:
            latest.setdefault(inspection.place, inspection)
    return list(latest.values())


def reveals(inspections: Iterable[Inspection], reader: Reader) -> list[LeftRow]:
    return [LeftRow(i.pk, words.place(i.place).capitalize() or _("Reveal"),
                    tuple(_gap(i.given, height, reader) for height in HEIGHTS), i.result == "pass",
                    f"{reader.day(i.taken_at)}, {i.by}") for i in last_of(reveal.NAME, inspections)]


def _gap(given: Mapping[str, Any], height: str, reader: Reader) -> str:
    sent = (given.get("gaps") or {}).get(height)
    try:
        return "–" if sent is None else reader.length(
            int(reading.length(sent, height, unit=reading.unit_of(given))))
    except BadInput:
        return str(sent)


def forces(inspections: Iterable[Inspection], reader: Reader) -> list[LeftRow]:
    """A line a panel and one for the train, each way to start and to keep moving."""
    rows = []
    for inspection in last_of(force.NAME, inspections)[:1]:
        read: dict[str, dict[tuple[str, str], str]] = {}
        bad: set[str] = set()
        for finding in inspection.verdict.get("findings") or ():
            at, quantity = finding.get("where") or {}, finding["quantity"].removeprefix("force_to_")
            if "value_n" not in finding or at.get("way") is None:
                continue
            name = _("Train") if at.get("of") == "train" else _("Panel %s") % at.get("panel", "")
            read.setdefault(name, {})[at["way"], quantity] = reader.force(finding["value_n"])
            bad |= {name} if finding.get("within") is False else set()
        rows += [LeftRow(inspection.pk, name, tuple(values.get(one, "–") for one in FORCES), name not in bad,
                         f"{reader.day(inspection.taken_at)}, {inspection.by}") for name, values in read.items()]
    return rows


# ---- adjustments -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AdjustmentRow:
    what: str
    turned: str
    before: str
    after: str
    note: str
    when: str


def adjustment_row(done: Adjustment, reader: Reader) -> AdjustmentRow:
    what = done.what[:1].upper() + done.what[1:]
    if done.panel is not None:
        what = _("%(what)s, panel %(letter)s") % {"what": what, "letter": done.panel.letter}
    return AdjustmentRow(what, "; ".join(filter(None, map(_turn, done.turns))), read_words(done.before, reader),
                         read_words(done.after, reader), done.note, _logged(done, reader))


def _logged(done: Adjustment, reader: Reader) -> str:
    said = f"{reader.moment(done.taken_at)}, {done.by}"
    if done.trip is None:
        return said
    crew = "" if done.trip.crew is None else f", {done.trip.crew}"
    return _("%(said)s; trip of %(day)s%(crew)s") % {"said": said, "day": reader.day(done.trip.day), "crew": crew}


def _turn(turn: Mapping[str, Any]) -> str:
    eighths = turn.get("eighths")
    if not isinstance(eighths, int) or not eighths:
        return ""
    whole, part = divmod(abs(eighths), 8)
    turns = " ".join(filter(None, (str(whole) if whole else "", str(Fraction(part, 8)) if part else "")))
    return _("%(roller)s %(turns)s turns %(way)s") % {
        "roller": words.place(str(turn.get("roller", ""))), "turns": turns,
        "way": _("up") if eighths > 0 else _("down")}


def read_words(read: Mapping[str, Any], reader: Reader) -> str:
    """Readings beside an adjustment; what nobody knows how to say is said as it was sent."""
    return "; ".join(_one(name, value, reader) for name, value in read.items() if value not in (None, "", {}))


def _one(name: str, value: Any, reader: Reader) -> str:
    label = str(phrases.ADJUSTED_BY.get(name, name.replace("_", " ")))
    if isinstance(value, Mapping):
        inner = ", ".join(f"{words.place(str(where))} {_length(one, reader)}" for where, one in value.items())
        return f"{label} {inner}"
    return f"{label} {_amount(name, value, reader)}"


def _length(value: Any, reader: Reader) -> str:
    """In the reader's own units: a number is of millimetres; text without a unit stays as it was sent."""
    try:
        has_unit = not isinstance(value, str) or re.search(r"[a-z\"'\u2032\u2033]", value)
        return reader.length(reading.length(value, "gap")) if has_unit else str(value)
    except BadInput:
        return str(value)


def _amount(name: str, value: Any, reader: Reader) -> str:
    try:
        if name.endswith("_mm"):
            return reader.printed(str(value))
        return reader.force(str(value)) if name.endswith("_n") else str(value)
    except (ValueError, ArithmeticError):
        return str(value)
