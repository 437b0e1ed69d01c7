"""What a judgement needs beside the readings, and the record already knows: the unit's size, the rollers' travel.

Size, sill, tracks and clearances of the unit stand over what was sent with the readings: nobody passes a gate by
saying that the door is smaller. How the rollers stand is read on site, and there what was sent stands over the record.
Lengths are passed on as exact millimetres with their unit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from jobs.calc import reading
from jobs.calc.lengths import Length
from jobs.calc.verdict import Limit
from jobs.models import Opening
from units.models import DoorSystem, Panel, Unit


def filled(kind: str, given: Mapping[str, Any], opening: Opening, panel: Panel | None = None,
           place: str = "") -> dict[str, Any]:
    """The payload for the calculation: what was sent and what the record knows, one laid over the other."""
    unit = unit_of(opening)
    looked_up = KNOWN.get(kind, _nothing)(opening, unit, panel)
    known = {name: value for name, value in looked_up.items() if value is not None}
    if "watch" not in given:  # what a head watch needs is no head watch by itself
        known.pop("watch", None)
    if kind == "floor-profile":
        return _with_its_whole_sill(given, known, unit)
    if kind == "roller-preset":
        return _with_its_panels(given, place, unit)
    return _laid_over(given, known) if kind in BY_THE_RECORD else _laid_over(known, given)


BY_THE_RECORD = frozenset({"rough-opening", "frame", "force"})


def _with_its_whole_sill(given: Mapping[str, Any], known: Mapping[str, Any], unit: Unit | None) -> dict[str, Any]:
    """Stations may be counted from anywhere, but the sill is as long as the unit's at least."""
    ends = {name: given.get(name) or known.get(name) for name in ("sill_from", "sill_to")}
    payload = {**_laid_over(given, known), **{name: end for name, end in ends.items() if end is not None}}
    if unit is None or unit.sill_length is None:
        return payload
    start, end = (reading.length(payload[name], name, unit=reading.unit_of(payload), signed=True) for name in ends)
    if 0 < end - start < unit.sill_length:
        payload["sill_to"] = _mm(Length(start + int(unit.sill_length)))
    return payload


def _with_its_panels(given: Mapping[str, Any], place: str, unit: Unit | None) -> dict[str, Any]:
    """At a panel's place its rollers are asked for, whatever else was read there; at none, those of every panel."""
    letters = [place] if place else [] if unit is None else _letters(unit)
    return {**given, "panels": letters or given.get("panels")}


def limits_known(kind: str, opening: Opening) -> dict[str, Limit]:
    """Limits that come from the unit and its system, or from the shop drawing until there is a unit."""
    return LIMITS_KNOWN[kind](opening) if kind in LIMITS_KNOWN else {}


def _pocket_needed(opening: Opening) -> dict[str, Limit]:
    found = {}
    for limit, field in (("depth_least", "pocket_depth_needed"), ("thickness_least", "pocket_thickness_needed")):
        for record, source in ((unit_of(opening), "needed by the unit"), (opening, "the shop drawing")):
            value = None if record is None else getattr(record, field)
            if value is not None:
                found[limit] = Limit(int(value), source)
                break
    return found


def _roller_travel(opening: Opening) -> dict[str, Limit]:
    system = system_of(opening)
    if system is None or system.roller_lowest is None or system.roller_highest is None:
        return {}
    return {"roller_travel": Limit(int(system.roller_highest) - int(system.roller_lowest), str(system))}


LIMITS_KNOWN: dict[str, Callable[[Opening], dict[str, Limit]]] = {
    "pocket": _pocket_needed,
    "frame": _roller_travel,
}


def unit_of(opening: Opening) -> Unit | None:
    return getattr(opening, "unit", None)


def system_of(opening: Opening) -> DoorSystem | None:
    unit = unit_of(opening)
    return None if unit is None else unit.system


def _mm(length: Length | None) -> str | None:
    return None if length is None else f"{Length(length).mm} mm"


def _laid_over(under: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    merged = {k: v for k, v in under.items() if v is not None}
    for key, value in over.items():
        below = merged.get(key)
        both = isinstance(value, Mapping) and isinstance(below, Mapping)
        merged[key] = _laid_over(below, value) if both else value
    return merged


def _nothing(opening: Opening, unit: Unit | None, panel: Panel | None) -> dict[str, Any]:
    return {}


def _rough_opening(opening: Opening, unit: Unit | None, panel: Panel | None) -> dict[str, Any]:
    sizes = {"drawing": {"width": _mm(opening.rough_width), "height": _mm(opening.rough_height)}}
    if unit is not None:
        sizes["required"] = {"width": _mm(unit.frame_width), "height": _mm(unit.frame_height)}
    kept = {name: {k: v for k, v in size.items() if v is not None} for name, size in sizes.items()}
    return {name: size for name, size in kept.items() if size}


def _floor(opening: Opening, unit: Unit | None, panel: Panel | None) -> dict[str, Any]:
    """The sill starts at 0 where nobody said otherwise, and is as long as the unit's sill, pocket included; one of
    several tracks is read along both its lines."""
    if unit is None:
        return {}
    return {"sill_from": None if unit.sill_length is None else "0 mm", "sill_to": _mm(unit.sill_length),
            "tracks": unit.tracks}


def _reveal(opening: Opening, unit: Unit | None, panel: Panel | None) -> dict[str, Any]:
    if unit is None:
        return {}
    system = unit.system
    known = {"roller_spacing": _mm(unit.roller_spacing)}
    if system is None:
        return known
    screw = {"preset": _mm(system.roller_preset), "lowest": _mm(system.roller_lowest),
             "highest": _mm(system.roller_highest)}
    screw = {k: v for k, v in screw.items() if v is not None}
    return {**known, "from_edge": _mm(system.roller_from_edge), "thread_pitch": _mm(system.thread_pitch),
            "head_clearance_least": _mm(system.head_clearance_least),
            "rollers": {"near": screw, "far": screw} if screw else None}


def _frame(opening: Opening, unit: Unit | None, panel: Panel | None) -> dict[str, Any]:
    if unit is None:
        return {}
    clearance = None if unit.system is None else unit.system.head_clearance
    watch = {"panel_clearance": _mm(clearance), "deflection_allowed": _mm(opening.deflection_allowed)}
    return {"roller_spacing": _mm(unit.roller_spacing), "tracks": unit.tracks,
            "watch": {k: v for k, v in watch.items() if v is not None}}


def _sealing(opening: Opening, unit: Unit | None, panel: Panel | None) -> dict[str, Any]:
    system = None if unit is None else unit.system
    products = [] if system is None else system.products
    return {"product": products[0]} if products else {}


def _force(opening: Opening, unit: Unit | None, panel: Panel | None) -> dict[str, Any]:
    return {} if unit is None else {"letters": _letters(unit)}


def _letters(unit: Unit) -> list[str]:
    return [one.letter for one in unit.panels.order_by("hanging_order", "letter")]


KNOWN: dict[str, Callable[[Opening, Unit | None, Panel | None], dict[str, Any]]] = {
    "rough-opening": _rough_opening,
    "floor-profile": _floor,
    "reveal": _reveal,
    "frame": _frame,
    "sealing-conditions": _sealing,
    "force": _force,
}
