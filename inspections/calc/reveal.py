"""The reveal: is the gap beside a panel's edge even and wide enough, and which roller goes how far which way.

    taper = top - bottom, over the height between those two readings
    bow   = middle - the chord from bottom to top, at the height of the middle reading: no roller removes it

Whole nanometres; the bow stays a fraction until it is compared. What the rollers do is in rollers.py.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

from inspections.calc import rollers
from inspections.calc.rollers import Gap, Hanging, Roller, Setting
from jobs.calc import reading
from jobs.calc.exact import every_limit, to_places
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import BadInput, Finding, Limit, Remedy, Verdict, at_least, at_most, overall

NAME = "reveal"
LIMITS: dict[str, str] = {"taper": "mm", "gap_least": "mm", "gap_most": "mm", "bow": "mm"}

PLACES = ("top", "middle", "bottom")
ROLLERS = ("near", "far")
SCREW = ("now", "preset", "lowest", "highest")
NEEDED = ("roller_spacing", "from_edge", "thread_pitch")
WIDE_GAP = 50_000_000  # nm: nobody leaves two inches beside a panel on purpose


@dataclass(frozen=True, slots=True)
class Edge:
    """What was read at one edge of one panel. Without its rollers the gap is judged, but no setting is worked out."""

    gaps: Mapping[str, Gap]  # by place, top to bottom; any may be lacking
    hanging: Hanging | None
    lacking: tuple[Mapping[str, Any], ...] = ()

    @property
    def has_taper(self) -> bool:
        return "top" in self.gaps and "bottom" in self.gaps


# ---- the judgement --------------------------------------------------------------------------------------


def judge_edge(edge: Edge, limits: Mapping[str, Limit]) -> Verdict:
    turns = None
    if edge.has_taper and edge.hanging is not None:
        turns = rollers.setting(edge.gaps, edge.hanging, limits["taper"].value)
    findings = tuple(_findings(edge, turns, limits))
    missing = tuple({"what": "gap", "where": place} for place in PLACES if place not in edge.gaps)
    if any(f.quantity == "taper" and f.within is False for f in findings):
        missing += edge.lacking
    no_head = edge.hanging is not None and edge.hanging.head_clearance is None
    return Verdict(overall(findings, missing), findings, _computed(edge, turns, limits["taper"].value), missing,
                   tuple(_second_look(edge)), "head_clearance_not_read" if no_head else None)


def _findings(edge: Edge, turns: Setting | None, limits: Mapping[str, Limit]) -> Iterable[Finding]:
    if edge.has_taper:
        yield _judge_taper(edge, turns, limits["taper"])
    if len(edge.gaps) == len(PLACES):
        yield _judge_bow(edge, limits["bow"])
    if edge.gaps:
        yield from _judge_width(edge, turns, limits)


def _judge_taper(edge: Edge, turns: Setting | None, limit: Limit) -> Finding:
    read = rollers.taper(edge.gaps)
    where = {"from_mm": edge.gaps["bottom"].height, "to_mm": edge.gaps["top"].height,
             "wide_at": "top" if read > 0 else "bottom" if read < 0 else None}
    if edge.hanging is None:
        remedy = Remedy("read_the_rollers")
    elif turns is None or abs(turns.taper) > (limit.value or 0):
        remedy = Remedy("rollers_cannot_close")
    else:
        remedy = Remedy("turn_rollers", {"rollers": _moves(turns)})
    return at_most("taper", abs(read), limit, where=where, remedy=remedy)


def bow(gaps: Mapping[str, Gap]) -> Fraction:
    top, middle, bottom = (gaps[place] for place in PLACES)
    along = Fraction(middle.height - bottom.height, top.height - bottom.height)
    return middle.gap - (bottom.gap + (top.gap - bottom.gap) * along)


def _judge_bow(edge: Edge, limit: Limit) -> Finding:
    read = bow(edge.gaps)
    if read > 0:
        usual = ("jamb_bowed_away_from_panel", "stile_bowed_away_from_jamb")
    else:
        usual = ("jamb_bowed_towards_panel", "stile_bowed_towards_jamb")
    return at_most("bow", abs(read), limit, where={"at_mm": edge.gaps["middle"].height},
                   remedy=Remedy("rollers_cannot_remove_bow", {"usual": usual}))


def _judge_width(edge: Edge, turns: Setting | None, limits: Mapping[str, Limit]) -> Iterable[Finding]:
    """The narrowest and the widest gap read. Rollers help only where the gap is uneven."""
    least, most = limits["gap_least"], limits["gap_most"]
    narrow = min(edge.gaps, key=lambda place: edge.gaps[place].gap)
    wide = max(edge.gaps, key=lambda place: edge.gaps[place].gap)
    after = () if turns is None or _is_even(edge, limits["taper"]) else turns.gaps.values()
    wide_enough = after and least.value is not None and min(after) >= least.value
    narrow_enough = after and most.value is not None and max(after) <= most.value
    yield at_least("gap_least", edge.gaps[narrow].gap, least, where=_place(edge, narrow),
                   remedy=Remedy("close_the_taper_first" if wide_enough else "too_narrow_not_a_roller_matter"))
    yield at_most("gap_most", edge.gaps[wide].gap, most, where=_place(edge, wide),
                  remedy=Remedy("close_the_taper_first" if narrow_enough else "too_wide_not_a_roller_matter"))


def _is_even(edge: Edge, limit: Limit) -> bool:
    return abs(rollers.taper(edge.gaps)) <= (limit.value or 0)


def _place(edge: Edge, place: str) -> dict[str, Any]:
    return {"place": place, "at_mm": edge.gaps[place].height}


# ---- what follows ---------------------------------------------------------------------------------------


def _computed(edge: Edge, turns: Setting | None, limit: int | Fraction | None) -> dict[str, Any]:
    if not edge.has_taper:
        return {}
    read, height = rollers.taper(edge.gaps), rollers.height_read(edge.gaps)
    shown: dict[str, Any] = {"taper_mm": read, "over_mm": height}
    if "middle" in edge.gaps:
        shown["bow_mm"] = bow(edge.gaps)
    if edge.hanging is not None:
        shown["lift_to_close_mm"] = rollers.lift_to_close(edge.hanging.spacing, read, height)
    shown["setting"] = None if turns is None else {"rollers": _moves(turns), **_after(edge, turns)}
    shown["unreachable"] = None if edge.hanging is None else _unreachable(edge, turns, limit)
    return shown


def _moves(turns: Setting) -> list[dict[str, Any]]:
    """Each roller's move after the rounding to an eighth of a turn; `unrounded_mm` is what it was before."""
    shown = []
    for n, roller in enumerate((turns.hanging.near, turns.hanging.far)):
        eighths = turns.eighths[n]
        move = Fraction(turns.hanging.pitch * eighths, 8)
        shown.append({
            "roller": ROLLERS[n], "way": "up" if eighths > 0 else "down" if eighths < 0 else "leave",
            "turns": turns_text(eighths), "turns_eighths": abs(eighths), "move_mm": move,
            "unrounded_mm": turns.exact[n] - roller.now, "from_mm": roller.now, "to_mm": roller.now + move,
        })
    return shown


def turns_text(eighths: int) -> str:
    """`1 3/8`, `1/2`, `2`, `0`: how many turns, whichever way."""
    whole, part = divmod(abs(eighths), 8)
    return " ".join([str(whole)] * bool(whole or not part) + [str(Fraction(part, 8))] * bool(part))


def _after(edge: Edge, turns: Setting) -> dict[str, Any]:
    """What the rounded turns leave. Shifts are away from the jamb; the edge's is taken half-way up the readings."""
    hung, at = turns.hanging, rollers.turned(turns.hanging, turns.eighths)
    grows, drawn = rollers.lean(hung, at), rollers.drawn_together(hung, at)
    half_way = Fraction(edge.gaps["top"].height + edge.gaps["bottom"].height, 2)
    rise = at[0] - hung.near.now + grows * hung.from_edge
    other_rise = at[1] - hung.far.now - grows * hung.from_edge
    lock, head = hung.lock_height, hung.head_clearance
    return {
        "gaps_after": {f"{place}_mm": gap for place, gap in turns.gaps.items()},
        "taper_after_mm": turns.taper,
        "meets_jamb": min(turns.gaps.values()) < 0,
        "lean_change_deg": _degrees(at[0] - at[1], hung) - _degrees(Fraction(hung.spread), hung),
        "edge_shift_mm": half_way * grows + drawn,
        "edge_rise_mm": rise,
        "lock_shift": None if lock is None else {"away_mm": lock * grows + drawn, "up_mm": rise},
        "head_clearance_after_mm": None if head is None else head - max(rise, other_rise),
    }


def _degrees(spread: Fraction, hung: Hanging) -> Fraction:
    return to_places(math.degrees(math.asin(float(spread / hung.spacing))), 3)


def _unreachable(edge: Edge, turns: Setting | None, limit: int | Fraction | None) -> dict[str, Any] | None:
    """What is left of the taper at best, and what that usually means; None where the rollers can close it.

    With no limit set, a taper counts as closed when nothing but an eighth of a turn stands between it and nought.
    """
    if turns is None:
        left, stopped = rollers.taper(edge.gaps), ("travel_and_head_clearance",)
    else:
        left, stopped = turns.taper, turns.stopped_by
        if abs(left) <= (limit or 0) or (limit is None and not stopped):
            return None
    return {"left_mm": left, "stopped_by": stopped or ("thread_pitch",), "usual": _usual(edge, abs(left))}


def _usual(edge: Edge, left: int) -> list[dict[str, Any]]:
    """What is usually behind a taper that the rollers cannot close: by how much, and what to read to know."""
    height, spacing = rollers.height_read(edge.gaps), edge.hanging.spacing
    sill = Fraction(left * spacing, height)
    return [
        {"cause": "jamb_out_of_plumb", "read": "jamb_plumb", "by_mm": left, "over_mm": height},
        {"cause": "panel_racked", "read": "panel_diagonals", "by_mm": left, "over_mm": height},
        {"cause": "sill_not_level", "read": "sill_level", "by_mm": sill, "over_mm": spacing},
    ]


def _second_look(edge: Edge) -> Iterable[Mapping[str, Any]]:
    for place, gap in edge.gaps.items():
        if gap.gap > WIDE_GAP:
            yield {"what": "gap", "where": place, "why": "improbably_wide", "read_mm": gap.gap}
    for name, roller in _each_roller(edge):
        if not roller.lowest <= roller.now <= roller.highest:
            yield {"what": "roller_now", "where": name, "why": "outside_its_travel", "read_mm": roller.now}


def _each_roller(edge: Edge) -> tuple[tuple[str, Roller], ...]:
    return () if edge.hanging is None else (("near", edge.hanging.near), ("far", edge.hanging.far))


# ---- reading what was sent ------------------------------------------------------------------------------


def read_edge(payload: Mapping[str, Any]) -> Edge:
    unit = reading.unit_of(payload)
    return Edge(_gaps(payload, unit), *_hanging(payload, unit))


def _gaps(payload: Mapping[str, Any], unit: str) -> dict[str, Gap]:
    read = reading.mapping(reading.need(payload, "gaps"), "gaps")
    heights = reading.mapping(reading.need(payload, "heights"), "heights")
    _only(read, PLACES, "gaps")
    gaps = {}
    for place in PLACES:
        if read.get(place) is not None:
            at = reading.need(heights, place, "heights.")
            gaps[place] = Gap(reading.length(read[place], f"gaps.{place}", unit=unit),
                              reading.length(at, f"heights.{place}", unit=unit, signed=True))
    for upper, lower in pairwise(gaps):
        if gaps[lower].height >= gaps[upper].height:
            raise BadInput(f"heights.{lower}", heights[lower], f"it must lie below the height of {upper}")
    return gaps


def _only(sent: Mapping[str, Any], allowed: Iterable[str], field: str) -> None:
    for name in sent:
        if name not in allowed:
            raise BadInput(f"{field}.{name}", sent[name], "one of: " + ", ".join(allowed))


def _hanging(payload: Mapping[str, Any], unit: str) -> tuple[Hanging | None, tuple[Mapping[str, Any], ...]]:
    """The panel on its rollers; where something is lacking, None and what is lacking."""
    sent = reading.mapping(payload.get("rollers") or {}, "rollers")
    _only(sent, ROLLERS, "rollers")
    each = {name: reading.mapping(sent.get(name) or {}, f"rollers.{name}") for name in ROLLERS}
    lacking = [{"what": name} for name in NEEDED if payload.get(name) is None]
    lacking += [{"what": f"roller_{part}", "where": name}
                for name in ROLLERS for part in SCREW if each[name].get(part) is None]
    if lacking:
        return None, tuple(lacking)
    hanging = Hanging(
        spacing=_size(payload, "roller_spacing", unit), from_edge=_optional(payload, "from_edge", unit),
        pitch=_size(payload, "thread_pitch", "mm"), near=_roller(each, "near", unit), far=_roller(each, "far", unit),
        lock_height=_optional(payload, "lock_height", unit), head_clearance=_optional(payload, "head_clearance", unit),
        head_least=_optional(payload, "head_clearance_least", unit) or 0,
    )
    if hanging.travel >= hanging.spacing:
        raise BadInput("roller_spacing", payload["roller_spacing"], "it must be more than the rollers can travel")
    return hanging, ()


def _roller(each: Mapping[str, Mapping[str, Any]], name: str, unit: str) -> Roller:
    sent, field = each[name], f"rollers.{name}"
    _only(sent, SCREW, field)
    roller = Roller(*(reading.length(sent[part], f"{field}.{part}", unit=unit, signed=True) for part in SCREW))
    if roller.lowest > roller.highest:
        raise BadInput(f"{field}.lowest", sent["lowest"], "it must not lie above highest")
    return roller


def _size(payload: Mapping[str, Any], name: str, unit: str) -> int:
    nm = reading.length(payload[name], name, unit=unit)
    if nm == 0:
        raise BadInput(name, payload[name], "it must be more than nothing")
    return nm


def _optional(payload: Mapping[str, Any], name: str, unit: str) -> int | None:
    return None if payload.get(name) is None else reading.length(payload[name], name, unit=unit)


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    return judge_edge(read_edge(payload), every_limit(LIMITS, limits))


def readings(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
    edge = read_edge(payload)
    kept = [ReadingValue(f"gap_{place}", gap.gap, gap.height) for place, gap in edge.gaps.items()]
    kept += [ReadingValue(f"roller_{name}", roller.now) for name, roller in _each_roller(edge)]
    if edge.hanging is not None and edge.hanging.head_clearance is not None:
        kept.append(ReadingValue("head_clearance", edge.hanging.head_clearance))
    return tuple(kept)
