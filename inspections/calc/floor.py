"""floor-profile: is the floor under a sill fit to be built on, what packing does a level sill need on it.

- worst rise in a foot: max |z(a) - z(b)| over all a, b in the sill with |a - b| <= window, line by line.
- total range: highest less lowest, both lines together.
- across: cross-fall, the largest |inner - outer|; wind, the greatest less the least of (inner - outer).
- bed: a level sill at the highest place + `bed_least`; packing = that less z; squeeze = 1 - packing / bead.

All of it over the continuous profile, in whole numbers and fractions: nothing is sampled, nothing is rounded before
it is compared. 1/16 in in a foot and 1/4 in in all are common practice, with no published source. A standard for
whole floors (ASTM E1155) is no judge of one sill's line and is not used here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from inspections.calc import correction as correcting
from inspections.calc import lines, profile
from inspections.calc.correction import Bounds, Correction
from inspections.calc.profile import Profile, Spread
from inspections.calc.stations import DOWN_FROM_LEVEL, FEWEST, HEIGHT, INNER, MOST, OUTER, one_line, spikes, tracks
from jobs.calc import reading
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import (
    FAIL,
    BadInput,
    Finding,
    Limit,
    Remedy,
    Verdict,
    at_least,
    at_most,
    overall,
    printed,
)

NAME = "floor-profile"
LIMITS = {
    "rise_in_a_foot": "mm",
    "total_range": "mm",
    "cross_fall": "mm",
    "wind": "mm",
    "window": "mm",
    "widest_spacing": "mm",
    "bed_least": "mm",
    "bead": "mm",
    "squeeze_least": "pct",
    "grind_cost": "number",
    "fill_cost": "number",
    "grind_most": "mm",
}
MUST_EXCEED_NOUGHT = ("window", "widest_spacing", "bead")

GRINDING = "grinding_dust_and_what_lies_below"  # dust, and bars or heating pipes under the surface
FILLING = "levelling_compound_is_for_its_maker"  # wet it burns, dry it raises dust, and not every floor takes it

UNSET = Limit(None, "no limit set")


@dataclass(frozen=True, slots=True)
class Floor:
    """What was read. Heights are against the benchmark where one was read, else against the laser or datum itself."""

    outer: tuple[lines.Point, ...]
    inner: tuple[lines.Point, ...] | None
    sill_from: int | None
    sill_to: int | None
    on_benchmark: bool = False
    tracks: int | None = None

    def read(self) -> dict[str, tuple[lines.Point, ...]]:
        return {OUTER: self.outer} if self.inner is None else {OUTER: self.outer, INNER: self.inner}


# ---- the contract ----------------------------------------------------------------------------------------


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    return judge_floor(_floor(payload), _checked(limits))


def judge_with_correction(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    """The same verdict; where it fails, `computed.correction` says how to put it right for the least."""
    floor, limits = _floor(payload), _checked(limits)
    verdict = judge_floor(floor, limits)
    if verdict.result != FAIL:
        return verdict
    found = correct_floor(floor, limits)
    shown = None if found is None else correcting.correction_shown(found)
    best = None if found is None else found.best
    caution = verdict.caution if best is None else GRINDING if best.ground > 0 else FILLING
    return replace(verdict, computed={**verdict.computed, "correction": shown}, caution=caution)


def correct(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Correction | None:
    """None where nobody has set what grinding and filling cost, or nothing was read."""
    return correct_floor(_floor(payload), _checked(limits))


def readings(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
    """As they were read: off a rod, a larger one is a lower floor."""
    unit = reading.unit_of(payload)
    rows = [
        ReadingValue(line, value, at)
        for line, name in ((OUTER, "stations"), (INNER, "inner"))
        for at, value in _stations(payload, name, unit)
    ]
    benchmark = _optional(payload, "benchmark_reading", unit)
    if benchmark is not None:
        rows.append(ReadingValue("benchmark", benchmark))
    return tuple(rows)


# ---- what was sent ---------------------------------------------------------------------------------------


def _floor(payload: Mapping[str, Any]) -> Floor:
    unit = reading.unit_of(payload)
    reading.need(payload, "stations")
    read_as = reading.choice(payload.get("read_as", HEIGHT), "read_as", (HEIGHT, DOWN_FROM_LEVEL))
    benchmark = _optional(payload, "benchmark_reading", unit)
    sill_from, sill_to = _optional(payload, "sill_from", unit), _optional(payload, "sill_to", unit)
    if sill_from is not None and sill_to is not None and sill_from >= sill_to:
        raise BadInput("sill_to", payload["sill_to"], "the sill must end beyond where it starts")
    up, level = (1 if read_as == HEIGHT else -1), benchmark or 0

    def heights(name: str) -> tuple[lines.Point, ...]:
        return tuple((at, up * (value - level)) for at, value in _stations(payload, name, unit))

    inner = None if payload.get("inner") is None else heights("inner")
    return Floor(heights("stations"), inner, sill_from, sill_to, benchmark is not None, tracks(payload))


def _optional(payload: Mapping[str, Any], name: str, unit: str) -> int | None:
    value = payload.get(name)
    return None if value is None else reading.length(value, name, unit=unit, signed=True)


def _stations(payload: Mapping[str, Any], name: str, unit: str) -> Iterator[tuple[int, int]]:
    return one_line(payload.get(name) or (), name, unit)


def _checked(limits: Mapping[str, Limit]) -> dict[str, Limit]:
    """Every limit by name, exact; a negative one is no limit that could be meant."""
    chosen = {}
    for name, unit in LIMITS.items():
        limit = limits.get(name, UNSET)
        value = Fraction(str(limit.value)) if isinstance(limit.value, float) else limit.value
        if value is not None and (value < 0 or (value == 0 and name in MUST_EXCEED_NOUGHT)):
            right = "more than nought" if name in MUST_EXCEED_NOUGHT else "nought or more"
            raise BadInput(f"limits.{name}", printed(value, unit), right)
        if name == "squeeze_least" and value is not None and value > 100:
            raise BadInput("limits.squeeze_least", printed(value, unit), "a share of the bead, 0 to 100")
        chosen[name] = replace(limit, value=value)
    return chosen


# ---- the judgement ---------------------------------------------------------------------------------------


def judge_floor(floor: Floor, limits: Mapping[str, Limit]) -> Verdict:
    if not any(floor.read().values()) and (floor.sill_from is None or floor.sill_to is None):
        return Verdict(*_nothing_read(floor))
    start, end = _sill(floor)
    seen = profile.within_sill(floor.read(), start, end)
    missing = tuple(_missing(floor, start, end, limits["widest_spacing"].value))
    findings = judge_profile(seen, limits) + _spacing_unset(limits)
    return Verdict(
        overall(findings, missing), findings, _computed(floor, seen, limits), missing, tuple(_second_look(floor))
    )


def judge_profile(seen: Profile, limits: Mapping[str, Limit]) -> tuple[Finding, ...]:
    """The findings alone: the same for a floor as read and for one as corrected."""
    if not seen.lines:
        return ()
    heights = profile.heights_between(seen)
    return (
        *(_rise(line, seen.scale, limits) for line in seen.lines),
        _total_range(heights, limits["total_range"]),
        *_across(seen, limits),
        _squeeze(heights, limits),
    )


def _rise(line: profile.Line, scale: int, limits: Mapping[str, Limit]) -> Finding:
    limit, window = limits["rise_in_a_foot"], limits["window"].value
    if window is None:
        return _unjudged("worst_rise_in_a_foot", limit, {"line": line.name})
    worst = profile.worst_rise(line, window, scale)
    where = {"line": line.name, "from_mm": worst.start, "to_mm": worst.end}
    return at_most("worst_rise_in_a_foot", worst.by, limit, where=where, remedy=Remedy("grind_or_fill_between", where))


def _total_range(heights: Spread, limit: Limit) -> Finding:
    where = {
        "low_line": heights.least_line,
        "low_at_mm": heights.least_at,
        "high_line": heights.greatest_line,
        "high_at_mm": heights.greatest_at,
    }
    remedy = Remedy("grind_high_or_fill_low", where)
    return at_most("total_range", heights.greatest - heights.least, limit, where=where, remedy=remedy)


def _across(seen: Profile, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    """Nothing for a sill of one track."""
    if len(seen.lines) < 2:
        return
    outer, inner = seen.lines
    falls = profile.across(outer, inner, seen.scale)
    if falls is None:
        return
    outwards, inwards = (falls.greatest, -falls.greatest_at), (-falls.least, -falls.least_at)
    high_line, (fall, back) = (INNER, outwards) if outwards >= inwards else (OUTER, inwards)
    where = {"at_mm": -back, "high_line": high_line}
    yield at_most("cross_fall", fall, limits["cross_fall"], where=where, remedy=Remedy("level_across_at", where))
    between = {"from_mm": min(falls.least_at, falls.greatest_at), "to_mm": max(falls.least_at, falls.greatest_at)}
    wind, remedy = falls.greatest - falls.least, Remedy("take_out_wind_between", between)
    yield at_most("wind", wind, limits["wind"], where=between, remedy=remedy)


def _squeeze(heights: Spread, limits: Mapping[str, Limit]) -> Finding:
    """Least where the floor is lowest: there the bed is thickest and the bead pressed least."""
    where = {"line": heights.least_line, "at_mm": heights.least_at}
    limit, bed, bead = limits["squeeze_least"], limits["bed_least"].value, limits["bead"].value
    if bed is None or bead is None:
        return _unjudged("squeeze", limit, where, unit="pct", least=True)
    packing = heights.greatest + bed - heights.least
    remedy = Remedy("fill_or_thicker_bead", {**where, "packing_mm": packing, "bead_mm": bead})
    return at_least("squeeze", squeeze_pct(packing, bead), limit, unit="pct", where=where, remedy=remedy)


def squeeze_pct(packing: int | Fraction, bead: int | Fraction) -> Fraction:
    return Fraction(100 * (bead - packing), bead)


def _unjudged(
    quantity: str, limit: Limit, where: Mapping[str, Any], *, unit: str = "mm", least: bool = False
) -> Finding:
    """A parameter without which it cannot be computed has not been set."""
    return Finding(quantity, None, limit.value, None, UNSET.source, unit, least, where)


def _spacing_unset(limits: Mapping[str, Limit]) -> tuple[Finding, ...]:
    limit = limits["widest_spacing"]
    return () if limit.value is not None else (_unjudged("widest_spacing", limit, {}),)


# ---- what is missing, what looks odd ---------------------------------------------------------------------


def _sill(floor: Floor) -> tuple[int, int]:
    """The sill's ends as given, else the furthest stations."""
    places = [x for points in floor.read().values() for x, _ in points]
    start = min(places) if floor.sill_from is None else floor.sill_from
    end = max(places) if floor.sill_to is None else floor.sill_to
    return start, max(start, end)


def _nothing_read(floor: Floor) -> tuple[str, tuple[Finding, ...], dict[str, Any], tuple[dict[str, Any], ...]]:
    missing = tuple({"what": "three_stations", "line": name, "have": 0, "at_mm": []} for name in floor.read())
    return overall((), missing), (), {}, missing


def _missing(floor: Floor, start: int, end: int, widest: int | None) -> Iterator[dict[str, Any]]:
    """Where to read, line by line: the ends, between stations too far apart, and three at the least."""
    if floor.inner is None and (floor.tracks or 1) > 1:
        yield {"what": "inner_line", "line": INNER, "from_mm": start, "to_mm": end}
    for name, points in floor.read().items():
        ends = sorted({x for x in (start, end) if not points or x < points[0][0] or x > points[-1][0]})
        for x in ends:
            yield {"what": "sill_end", "line": name, "at_mm": x}
        if points and widest is not None:
            yield from _gaps(name, points, start, end, widest)
        have = sum(start <= x <= end for x, _ in points)
        if have < FEWEST:
            there = {x for x, _ in points} | set(ends)
            places = sorted({start, (start + end) // 2, end} - there)
            yield {"what": "three_stations", "line": name, "have": have, "at_mm": places}


def _gaps(name: str, points: tuple[lines.Point, ...], start: int, end: int, widest: int) -> Iterator[dict[str, Any]]:
    """Between neighbours too far apart, in equal steps; an end that is still to be read counts as a station."""
    stations = sorted({x for x, _ in points} | {x for x in (start, end) if x < points[0][0] or x > points[-1][0]})
    for left, right in pairwise(stations):
        if right - left > widest and right > start and left < end:
            steps = min(-(-(right - left) // widest), MOST)  # whatever was asked, a list that can be walked
            at = [left + (right - left) * k // steps for k in range(1, steps)]
            yield {"what": "stations_between", "line": name, "from_mm": left, "to_mm": right, "at_mm": at}


def _second_look(floor: Floor) -> Iterator[dict[str, Any]]:
    for name, points in floor.read().items():
        yield from ({"what": "stands_out_from_its_neighbours", "line": name, "at_mm": at, "by_mm": by}
                    for at, by in spikes(points))


# ---- what follows from the readings ----------------------------------------------------------------------


def _computed(floor: Floor, seen: Profile, limits: Mapping[str, Limit]) -> dict[str, Any]:
    if not seen.lines:
        return {}
    shown: dict[str, Any] = {"heights_against": "benchmark" if floor.on_benchmark else "datum"}
    if floor.inner is None:
        shown["does_not_apply"] = ["cross_fall", "wind"]
    for line in seen.lines:
        before = "" if line.name == OUTER else f"{line.name}_"
        slope = _slope(line, seen.scale)
        shown[f"{before}slope_mm_per_m"] = slope * 1000
        shown[f"{before}high_end"] = "level" if slope == 0 else "to" if slope > 0 else "from"
    shown["bed"] = _bed(seen, limits)
    return shown


def _slope(line: profile.Line, scale: int) -> Fraction:
    """End to end; positive where the floor rises along the sill."""
    run = line.at[-1] - line.at[0]
    return Fraction(line.heights[-1] - line.heights[0], run * scale) if run else Fraction(0)


def _bed(seen: Profile, limits: Mapping[str, Limit]) -> dict[str, Any] | None:
    """A level sill on this floor; nothing before `bed_least` is set, no squeeze without a bead."""
    bed, bead = limits["bed_least"].value, limits["bead"].value
    if bed is None:
        return None
    heights = profile.heights_between(seen)
    level = heights.greatest + bed
    return {
        "sill_underside_mm": level,
        "bed_least_mm": bed,
        "bed_greatest_mm": _bed_greatest(heights, limits),
        "packing_least_mm": bed,
        "packing_greatest_mm": level - heights.least,
        "packing": [
            {"line": line.name, "at_mm": x, **_packing(level - seen.nm(z), bead)}
            for line in seen.lines
            for x, z in zip(line.at, line.heights, strict=True)
        ],
    }


def _packing(packing: int | Fraction, bead: int | None) -> dict[str, Any]:
    return {"packing_mm": packing, "squeeze_pct": None if bead is None else squeeze_pct(packing, bead)}


def _bed_greatest(heights: Spread, limits: Mapping[str, Limit]) -> Fraction | None:
    """The thickest bed over the highest place that still presses the bead enough over the lowest."""
    most = _packing_most(limits)
    return None if most is None else most - (heights.greatest - heights.least)


def _packing_most(limits: Mapping[str, Limit]) -> Fraction | None:
    bead, squeeze = limits["bead"].value, limits["squeeze_least"].value
    return None if bead is None or squeeze is None else bead * (1 - Fraction(squeeze) / 100)


# ---- putting it right ------------------------------------------------------------------------------------


def correct_floor(floor: Floor, limits: Mapping[str, Limit]) -> Correction | None:
    if limits["grind_cost"].value is None or limits["fill_cost"].value is None or not any(floor.read().values()):
        return None
    seen = profile.within_sill(floor.read(), *_sill(floor))
    bounds = _bounds(limits)
    if not seen.lines:
        return None
    if bounds.total_range is not None and bounds.total_range < 0:  # no floor is flat enough for that bed and bead
        return Correction(None, None, None, proven=True)
    return correcting.cheapest(seen, bounds, lambda tried: _passes(tried, limits))


def program_of(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> correcting.Program:
    """The linear program of a floor by itself, not solved: to measure the solver with."""
    floor, limits = _floor(payload), _checked(limits)
    return correcting.Program(profile.within_sill(floor.read(), *_sill(floor)), _bounds(limits))


def _passes(tried: Profile, limits: Mapping[str, Limit]) -> bool:
    return all(finding.within is not False for finding in judge_profile(tried, limits))


def _bounds(limits: Mapping[str, Limit]) -> Bounds:
    """A bead that must be pressed so far, over a bed of at least so much, leaves a range of its own."""
    value = {name: limit.value for name, limit in limits.items()}
    ranges = [] if value["total_range"] is None else [value["total_range"]]
    most = _packing_most(limits)
    if most is not None and value["bed_least"] is not None:
        ranges.append(most - value["bed_least"])
    return Bounds(
        rise=value["rise_in_a_foot"],
        window=value["window"],
        total_range=min(ranges, default=None),
        cross_fall=value["cross_fall"],
        wind=value["wind"],
        grind_most=value["grind_most"],
        grind_cost=Fraction(value["grind_cost"]),
        fill_cost=Fraction(value["fill_cost"]),
    )
