"""Reads what was sent of equipment and its rating; refuses what cannot be, naming the field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from jobs.calc import amounts, reading
from jobs.calc.exact import as_written
from jobs.calc.rating import ALSO_CALLED, AS_SENT, Equipment, Reduction
from jobs.calc.verdict import BadInput


def named(value: Any, field: str) -> str:
    """A code out of a few words: `Design factor` is design_factor."""
    if not isinstance(value, str) or not 0 < len(value.strip()) <= 60:
        raise BadInput(field, value, "a few words, such as design factor")
    word = re.sub(r"[\s-]+", "_", value.strip().lower())
    return ALSO_CALLED.get(word, word)


def read_equipment(payload: Mapping[str, Any]) -> tuple[Equipment, ...]:
    sent = reading.sequence(payload.get("equipment") or (), "equipment", most=50)
    return tuple(read_one(reading.mapping(one, f"equipment[{n}]"), f"equipment[{n}].") for n, one in enumerate(sent))


def read_one(sent: Mapping[str, Any], at: str = "") -> Equipment:
    name = reading.need(sent, "name", at)
    if not isinstance(name, str) or not 0 < len(name.strip()) <= 120:
        raise BadInput(f"{at}name", name, "its name, at most 120 letters")
    capacity, lost = sent.get("capacity"), sent.get("left_with_one_circuit_lost")
    includes = read_includes(sent.get("includes"), f"{at}includes")
    return Equipment(
        name, named(reading.need(sent, "kind", at), f"{at}kind"),
        None if capacity is None else amounts.carried_mass(capacity, f"{at}capacity", amounts.MOST_CAPACITY),
        includes, read_reductions(sent.get("reductions"), includes or frozenset(), f"{at}reductions"),
        _count(sent, "circuits", at),
        None if lost is None else as_written(reading.number(lost, f"{at}left_with_one_circuit_lost", least=0, most=1)),
        _count(sent, "people_to_steer", at),
        None if sent.get("stop_wind") is None else amounts.speed(sent["stop_wind"], f"{at}stop_wind"),
        str(sent.get("source") or AS_SENT),
    )


def _count(sent: Mapping[str, Any], name: str, at: str) -> int | None:
    return None if sent.get(name) is None else amounts.count(sent[name], f"{at}{name}", 1, 20)


def read_includes(sent: Any, field: str) -> frozenset[str] | None:
    if sent is None or sent == "unknown":
        return None
    return frozenset(named(one, f"{field}[{n}]") for n, one in enumerate(reading.sequence(sent, field, most=30)))


def read_reductions(sent: Any, includes: frozenset[str], field: str) -> tuple[Reduction, ...]:
    found: list[Reduction] = []
    for n, one in enumerate(reading.sequence(sent or (), field, most=30)):
        at = f"{field}[{n}]"
        given = reading.mapping(one, at)
        why = named(reading.need(given, "why", f"{at}."), f"{at}.why")
        if why in includes:
            raise BadInput(f"{at}.why", given["why"], "the rating includes it already: leave it out of one of the two")
        if any(why == other.why for other in found):
            raise BadInput(f"{at}.why", given["why"], "each reduction once")
        found.append(Reduction(why, _factor(given, f"{at}."), str(given.get("source") or "no source given")))
    return tuple(found)


def _factor(sent: Mapping[str, Any], at: str) -> Fraction | None:
    if sent.get("factor") is None:
        return None
    factor = as_written(reading.number(sent["factor"], f"{at}factor", least=0))
    if factor > 1:
        raise BadInput(f"{at}factor", sent["factor"], "the part that stays, 0 to 1: a factor of 2 to 1 leaves 0.5")
    return factor
