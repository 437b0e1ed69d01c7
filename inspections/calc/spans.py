"""The simple readings a gate asks for: a gap, a preset, a pocket, a fastener, a benchmark. One `Kind` each, in SPANS.

    last-panel-gap   gap >= what the last panel needs to be lifted in
    roller-preset    |stile bottom to sill top - preset| <= within, at each roller
    pocket           tightest depth and clear thickness >= what the unit needs
    fastener         longest <= board + flat stud - clearance   (15.9 + 38.1 - 6 = 48.0 mm)
    benchmark        given or not; nothing to fail

Whole nanometres; plain sums, so every comparison is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from inspections.calc.kind import Kind
from jobs.calc import reading
from jobs.calc.exact import NO_LIMIT
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import BadInput, Finding, Limit, Remedy, Verdict, at_least, at_most, overall

ROLLERS_A_PANEL = 2


def _read(payload: Mapping[str, Any], names: Iterable[str], *, signed: bool = False) -> dict[str, int]:
    """Those of the lengths that were sent."""
    unit = reading.unit_of(payload)
    return {name: reading.length(payload[name], name, unit=unit, signed=signed)
            for name in names if payload.get(name) is not None}


def _lacking(read: Mapping[str, Any], names: Iterable[str]) -> tuple[Mapping[str, Any], ...]:
    return tuple({"what": name} for name in names if name not in read)


def _kept_as_read(names: Iterable[str], *, signed: bool = False) -> Callable[..., tuple[ReadingValue, ...]]:
    def readings(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
        return tuple(ReadingValue(name, nm) for name, nm in _read(payload, names, signed=signed).items())

    return readings


# ---- the gap left for the last panel --------------------------------------------------------------------


def judge_last_panel_gap(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    """In: `gap`, between the panel hung before it and the pocket."""
    read = _read(payload, ("gap",))
    missing = _lacking(read, ("gap",))
    least = limits.get("gap_least", NO_LIMIT)
    findings = tuple(at_least("gap", gap, least, remedy=_make_room(gap, least)) for gap in read.values())
    return Verdict(overall(findings, missing), findings, {}, missing)


def _make_room(gap: int, least: Limit) -> Remedy | None:
    return None if least.value is None else Remedy("roll_the_panel_before_it_away", {"by_mm": least.value - gap})


# ---- rollers at preset ----------------------------------------------------------------------------------


def _rollers(payload: Mapping[str, Any]) -> list[tuple[str, str, int]]:
    unit = reading.unit_of(payload)
    read = []
    for n, sent in enumerate(reading.sequence(payload.get("rollers") or (), "rollers", most=200)):
        field = f"rollers[{n}]"
        one = reading.mapping(sent, field)
        panel, roller = (_label(reading.need(one, name, f"{field}."), f"{field}.{name}")
                         for name in ("panel", "roller"))
        if any((panel, roller) == (p, r) for p, r, _ in read):
            raise BadInput(f"{field}.roller", roller, f"this roller of panel {panel} is there already")
        height = reading.need(one, "reading", f"{field}.")
        read.append((panel, roller, reading.length(height, f"{field}.reading", unit=unit, signed=True)))
    return read


def _label(value: Any, field: str) -> str:
    if isinstance(value, bool) or not isinstance(value, (str, int)) or not 0 < len(str(value)) <= 20:
        raise BadInput(field, value, "a letter or a short name")
    return str(value)


def judge_roller_preset(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    """In: `rollers: [{panel, roller, reading}]`, stile bottom to sill top at each; `panels`, the letters to be read."""
    read = _rollers(payload)
    panels = [_label(panel, f"panels[{n}]")
              for n, panel in enumerate(reading.sequence(payload.get("panels") or (), "panels", most=100))]
    counts = {panel: sum(p == panel for p, _, _ in read) for panel in panels}
    missing = tuple({"what": "roller", "panel": panel, "read": count, "needed": ROLLERS_A_PANEL}
                    for panel, count in counts.items() if count < ROLLERS_A_PANEL)
    if not read and not panels:
        missing = ({"what": "roller"},)
    findings = tuple(_at_preset(panel, roller, nm, limits) for panel, roller, nm in read)
    return Verdict(overall(findings, missing), findings, {}, missing)


def _at_preset(panel: str, roller: str, nm: int, limits: Mapping[str, Limit]) -> Finding:
    preset, within = limits.get("preset", NO_LIMIT), limits.get("within", NO_LIMIT)
    where = {"panel": panel, "roller": roller, "read_mm": nm, "preset_mm": preset.value}
    if preset.value is None:
        return Finding("roller_preset", None, within.value, None, preset.source, where=where)
    move = preset.value - nm
    remedy = Remedy("turn_roller", {"way": "up" if move > 0 else "down", "move_mm": move})
    return at_most("roller_preset", abs(move), within, where=where, remedy=remedy)


def _kept_rollers(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
    return tuple(ReadingValue(f"roller_{panel}_{roller}", nm) for panel, roller, nm in _rollers(payload))


# ---- the pocket -----------------------------------------------------------------------------------------

_POCKET = ("depth", "thickness")


def _pocket(payload: Mapping[str, Any]) -> dict[str, list[int]]:
    """Each is one length, or a list of them: the tightest counts."""
    unit = reading.unit_of(payload)
    read = {}
    for name in _POCKET:
        sent = payload.get(name)
        several = isinstance(sent, (list, tuple))
        if sent is not None and sent != []:
            read[name] = [reading.length(one, f"{name}[{n}]" if several else name, unit=unit)
                          for n, one in enumerate(reading.sequence(sent, name, most=100) if several else (sent,))]
    return read


def judge_pocket(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    """In: `depth` along the wall and clear `thickness` across it, taken in one place or several."""
    read = _pocket(payload)
    missing = _lacking(read, _POCKET)
    findings = tuple(at_least(name, min(all_read), limits.get(f"{name}_least", NO_LIMIT),
                              where={"reading": all_read.index(min(all_read)) + 1, "of": len(all_read)},
                              remedy=Remedy(f"pocket_{name}_to_be_enlarged"))
                     for name, all_read in read.items())
    return Verdict(overall(findings, missing), findings, {}, missing)


def _kept_pocket(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
    return tuple(ReadingValue(f"pocket_{name}", nm) for name, all_read in _pocket(payload).items() for nm in all_read)


# ---- the longest fastener into the pocket wall ----------------------------------------------------------

_FASTENER = ("longest", "board", "stud")


def judge_fastener(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    """In: `longest`, the fastener; `board` and flat `stud`, the thicknesses it may pass through."""
    read = _read(payload, _FASTENER)
    missing = _lacking(read, _FASTENER)
    if missing:
        return Verdict(overall((), missing), (), {}, missing)
    clearance = limits.get("clearance", NO_LIMIT)
    wall = read["board"] + read["stud"]
    most = Limit(None if clearance.value is None else wall - clearance.value, clearance.source)
    finding = at_most("longest_fastener", read["longest"], most, remedy=Remedy("use_a_shorter_fastener"))
    return Verdict(overall((finding,)), (finding,), {"wall_mm": wall, "longest_allowed_mm": most.value})


# ---- benchmark and finish floors ------------------------------------------------------------------------

_BENCHMARK = ("benchmark_height", "finish_floor_inside", "finish_floor_outside")


def judge_benchmark(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    """In: heights up from one datum, any sign. Nothing to fail: what lacks is named."""
    read = _read(payload, _BENCHMARK, signed=True)
    missing = _lacking(read, _BENCHMARK)
    floors = {f"{name}_from_benchmark": read[name] - read["benchmark_height"]
              for name in _BENCHMARK[1:] if name in read and "benchmark_height" in read}
    computed = {f"{name}_mm": nm for name, nm in floors.items()}
    if "finish_floor_inside" in read and "finish_floor_outside" in read:
        computed["inside_above_outside_mm"] = read["finish_floor_inside"] - read["finish_floor_outside"]
    return Verdict(overall((), missing), (), computed, missing)


SPANS: tuple[Kind, ...] = (
    Kind("last-panel-gap", {"gap_least": "mm"}, judge_last_panel_gap, _kept_as_read(("gap",))),
    Kind("roller-preset", {"preset": "mm", "within": "mm"}, judge_roller_preset, _kept_rollers),
    Kind("pocket", {"depth_least": "mm", "thickness_least": "mm"}, judge_pocket, _kept_pocket),
    Kind("fastener", {"clearance": "mm"}, judge_fastener, _kept_as_read(_FASTENER)),
    Kind("benchmark", {}, judge_benchmark, _kept_as_read(_BENCHMARK, signed=True)),
)
