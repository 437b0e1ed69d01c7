"""Two sets of readings of one opening in words, side by side, with what lies between them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.measures import Reader
from dashboard.opening.read import name_of, value_of
from inspections.calc.compared import Pair, findings, pairs
from inspections.models import Inspection, Reading
from jobs.calc.lengths import from_mm

MINUS = "\u2212"
UNITS = ("mm", "c", "n", "kg", "m2", "deg", "pct", "days")


@dataclass(frozen=True, slots=True)
class Judged:
    """One thing judged, both times."""

    what: str
    where: str
    limit: str
    before: str
    after: str
    between: str
    worse: bool  # stood before and does not now


@dataclass(frozen=True, slots=True)
class ReadTwice:
    what: str
    before: str
    after: str
    between: str


def judged(before: Inspection, after: Inspection, reader: Reader) -> list[Judged]:
    return [_judged(pair, reader) for pair in findings(before.verdict["findings"], after.verdict["findings"])]


def _judged(pair: Pair[Any], reader: Reader) -> Judged:
    then, now = (None if one is None else words.note(one, reader) for one in (pair.before, pair.after))
    known = [note for note in (then, now) if note is not None]
    limits = words.unique(note.limit for note in known if note.limit)
    worse = then is not None and now is not None and bool(then.within) and now.within is False
    where = words.unique(note.where for note in known if note.where)
    return Judged(known[0].what, _(", then ").join(where), _(", then ").join(limits), _stands(then), _stands(now),
                  _between(pair, reader), worse)


def _stands(note: words.Note | None) -> str:
    if note is None:
        return _("not judged")
    return ", ".join(part for part in (note.value, note.mark, note.by) if part)


def _between(pair: Pair[Any], reader: Reader) -> str:
    if pair.before is None or pair.after is None:
        return ""
    for unit in UNITS:
        then, now = (finding.get(f"value_{unit}") for finding in (pair.before, pair.after))
        if then is not None and now is not None:
            if unit == "mm":
                return longer(from_mm(then), from_mm(now), reader)
            return changed(float(now) - float(then), unit, reader)
    return ""


def longer(then: int, now: int, reader: Reader) -> str:
    """`+1/32"`; how much more or less it is than it was."""
    if then == now:
        return _("the same")
    return f"{'+' if now > then else MINUS}{reader.between(then, now)}"


def changed(change: float, unit: str, reader: Reader) -> str:
    """`−2.0 °F`, `+4 N`."""
    if not change:
        return _("the same")
    sign, by = "+" if change > 0 else MINUS, abs(change)
    said = reader.warmer(str(by)) if unit == "c" else words.amount("", f"{by:g}", unit, reader)
    return f"{sign}{said}"


def read_twice(before: Iterable[Reading], after: Iterable[Reading], reader: Reader) -> list[ReadTwice]:
    """Reading by reading, in the order they were taken, those of a line from one end to the other."""
    first, second = _placed(before), _placed(after)
    order = {quantity: n for n, quantity in enumerate(dict.fromkeys(q for q, _at in (*first, *second)))}
    found = sorted(pairs(first, second), key=lambda pair: (order[pair.key[0]], pair.key[1] is not None,
                                                           pair.key[1] or 0))
    return [_read(pair, reader) for pair in found]


def _placed(rows: Iterable[Reading]) -> Mapping[tuple[str, int | None], Reading]:
    return {(row.quantity, row.at): row for row in rows}


def _read(pair: Pair[Any], reader: Reader) -> ReadTwice:
    then, now = pair.before, pair.after
    return ReadTwice(name_of(now or then, reader), "–" if then is None else value_of(then, reader),
                     "–" if now is None else value_of(now, reader), _apart(then, now, reader))


def _apart(then: Reading | None, now: Reading | None, reader: Reader) -> str:
    if then is None or now is None:
        return ""
    if then.length is not None and now.length is not None:
        return longer(then.length, now.length, reader)
    if then.number is not None and now.number is not None and then.unit == now.unit:
        return changed(round(now.number - then.number, 6), now.unit, reader)
    return ""
