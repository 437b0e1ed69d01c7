"""A floor plotted against its limits: heights drawn many times over, and it says how many; the spots are marked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from dashboard.measures import Reader
from inspections.calc import floor
from jobs.calc.lengths import FOOT, MM, from_mm
from jobs.calc.reading import length, unit_of

TOP = 64.0
APART = 25.0  # units from one ring to the next
DEEP = 96.0  # units for the range of the floor
TIMES = (1, 2, 5, 10, 20, 25, 40, 50, 75, 100, 150, 200, 300, 400, 500)

Point = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Between which edges it is drawn, and how many ticks have room along it."""

    left: float
    right: float
    width: float
    most_ticks: int


WIDE = Sheet(104, 800, 820, 10)  # the names of the levels stand left of it
SLIM = Sheet(16, 302, 318, 6)  # on a telephone, where a unit is a pixel; the levels are told below


@dataclass(frozen=True, slots=True)
class DrawnLine:
    name: str
    path: str
    stations: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where it fails: the stretch, and the number of the note that says so in words."""

    path: str
    number: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Tick:
    x: float
    text: str


@dataclass(frozen=True, slots=True)
class Plot:
    sheet: Sheet
    height: float
    base: float
    ground: str
    lines: tuple[DrawnLine, ...]
    corrected: tuple[str, ...]
    level: float
    lowest_allowed: float | None
    spots: tuple[Spot, ...]
    ticks: tuple[Tick, ...]
    times: int
    sill: float | None = None  # the underside of a level sill on its bed
    bed: str = ""  # between that and the outer line
    packed: tuple[str, ...] = ()  # the packing at each station of the outer line


@dataclass(frozen=True, slots=True)
class _Scale:
    left: float
    start: int
    highest: int
    across: float
    down: float

    def x(self, at: float) -> float:
        return round(self.left + (at - self.start) * self.across, 1)

    def y(self, height: float) -> float:
        return round(TOP + (self.highest - height) * self.down, 1)

    def path(self, points: Iterable[Point]) -> str:
        return "M" + "L".join(f"{self.x(at)} {self.y(height)}" for at, height in points)


def plot(payload: Mapping[str, Any], verdict: Mapping[str, Any], correction: Mapping[str, Any] | None,
         reader: Reader, sheet: Sheet = WIDE) -> Plot | None:
    """None where too little was read to draw a line."""
    lines = heights(payload)
    points = [p for line in lines.values() for p in line]
    if any(len(line) < 2 for line in lines.values()) or not lines:
        return None
    plan = _plan(correction)
    limit = _range_limit(verdict)
    highest, sill = max(h for _, h in points), _underside(verdict)
    lowest = min([h for _, h in [*points, *(p for line in plan.values() for p in line)]]
                 + ([highest - limit] if limit else []))
    start, end = min(at for at, _ in points), max(at for at, _ in points)
    scale, times = _scale(sheet, start, end, highest if sill is None else max(highest, sill), lowest)
    base = scale.y(lowest) + 30
    first = next(iter(lines.values()))
    ground = f"{scale.path(first)}L{scale.x(first[-1][0])} {base:.1f}L{scale.x(first[0][0])} {base:.1f}Z"
    return Plot(
        sheet, base + 34, base, ground,
        tuple(DrawnLine(name, scale.path(line), tuple((scale.x(at), scale.y(h)) for at, h in line))
              for name, line in lines.items()),
        tuple(scale.path(line) for line in plan.values()), scale.y(highest),
        scale.y(highest - limit) if limit else None, tuple(_spots(verdict, lines, scale, sheet)),
        tuple(_ticks(sheet, start, end, scale, reader)), times, None if sill is None else scale.y(sill),
        *_bedded(first, sill, scale))


def small(drawn: Plot) -> Plot:
    """One of a list: its lines and the spots that fail, without their numbers."""
    return replace(drawn, height=drawn.base + 8, ticks=(), spots=tuple(replace(s, number=0) for s in drawn.spots))


def heights(payload: Mapping[str, Any]) -> dict[str, list[Point]]:
    """Up as up, against the benchmark where one was read: as they are judged."""
    up = -1 if payload.get("read_as") == floor.DOWN_FROM_LEVEL else 1
    sent = payload.get("benchmark_reading")
    level = 0 if sent is None else length(sent, "benchmark_reading", unit=unit_of(payload), signed=True)
    lines: dict[str, list[Point]] = {}
    for row in floor.readings(payload):
        if row.at is not None:
            lines.setdefault(row.quantity, []).append((row.at, up * (int(row.value) - level)))
    return lines


def _scale(sheet: Sheet, start: int, end: int, highest: int, lowest: int) -> tuple[_Scale, int]:
    across = (sheet.right - sheet.left) / max(end - start, 1)
    wanted = DEEP / max(highest - lowest, MM) / across
    times = max((t for t in TIMES if t <= wanted), default=1)
    return _Scale(sheet.left, start, highest, across, across * times), times


def _plan(correction: Mapping[str, Any] | None) -> dict[str, list[Point]]:
    lines: dict[str, list[Point]] = {}
    for station in (correction or {}).get("stations") or ():
        lines.setdefault(station["line"], []).append((from_mm(station["at_mm"]), from_mm(station["height_mm"])))
    return lines


def _range_limit(verdict: Mapping[str, Any]) -> int | None:
    found = next((f for f in verdict["findings"] if f["quantity"] == "total_range"), None)
    return None if found is None or not found.get("limit_mm") else from_mm(found["limit_mm"])


def _underside(verdict: Mapping[str, Any]) -> int | None:
    """Of a level sill on this floor, where the office says how thick its bed is at least."""
    bed = (verdict.get("computed") or {}).get("bed")
    return None if bed is None else from_mm(bed["sill_underside_mm"])


def _bedded(line: Sequence[Point], sill: int | None, scale: _Scale) -> tuple[str, tuple[str, ...]]:
    """What lies between a level sill and the floor, and how high it is packed at each station."""
    if sill is None:
        return "", ()
    (start, _first), (end, _last), y = line[0], line[-1], scale.y(sill)
    return (f"{scale.path(line)}L{scale.x(end)} {y}L{scale.x(start)} {y}Z",
            tuple(f"M{scale.x(at)} {scale.y(height)}V{y}" for at, height in line))


def _spots(verdict: Mapping[str, Any], lines: Mapping[str, Sequence[Point]], scale: _Scale,
           sheet: Sheet) -> Iterable[Spot]:
    beyond = [f for f in verdict["findings"] if f["within"] is False]
    taken: list[tuple[float, float]] = []
    for number, finding in enumerate(beyond, start=1):
        for line, start, end in _stretches(finding, lines):
            part = _between(lines[line], start, end)
            y = scale.y(_height(lines[line], (start + end) // 2)) - 20
            taken.append(_free(scale.x((start + end) / 2), y, sheet, taken))
            yield Spot(scale.path(part), number, *taken[-1])


def _free(x: float, y: float, sheet: Sheet, taken: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Where its ring stands on no other: beside, else over it. Kept on the sheet, and off the names of the levels,
    which stand left of the drawing."""
    first, last = sheet.left + 16, sheet.width - APART / 2
    x = min(max(x, first), last)
    tries = ((round(x + beside * APART, 1), round(max(y - up * APART, APART / 2), 1))
             for up in range(8) for beside in sorted(range(-30, 31), key=lambda n: (abs(n), -n)))
    there = (spot for spot in tries if first <= spot[0] <= last)
    return next((spot for spot in there if all(abs(spot[0] - other) >= APART - 1 or abs(spot[1] - above) >= APART - 1
                                               for other, above in taken)), (round(x, 1), round(y, 1)))


def _stretches(finding: Mapping[str, Any], lines: Mapping[str, Sequence[Point]]) -> Iterable[tuple[str, int, int]]:
    """On which line, from where to where; a single place is drawn a little wide, wind at both of its places."""
    at = finding["where"]
    if finding["quantity"] == "wind":
        yield from _places(at, lines, (("from_mm", "line"), ("to_mm", "line")))
    elif at.get("from_mm") and at.get("to_mm"):
        line = at.get("line", "outer")
        yield from [(line, from_mm(at["from_mm"]), from_mm(at["to_mm"]))] if line in lines else []
    else:
        yield from _places(at, lines, (("low_at_mm", "low_line"), ("high_at_mm", "high_line"), ("at_mm", "line")))


def _places(at: Mapping[str, Any], lines: Mapping[str, Sequence[Point]],
            named: Iterable[tuple[str, str]]) -> Iterable[tuple[str, int, int]]:
    for place, line_name in named:
        line = at.get(line_name) or "outer"
        if at.get(place) and line in lines:
            x, start, end = from_mm(at[place]), lines[line][0][0], lines[line][-1][0]
            yield line, max(x - 60 * MM, start), min(x + 60 * MM, end)


def _between(line: Sequence[Point], start: int, end: int) -> list[Point]:
    start, end = max(start, line[0][0]), min(end, line[-1][0])
    inside = [p for p in line if start < p[0] < end]
    return [(start, _height(line, start)), *inside, (end, _height(line, end))]


def _height(line: Sequence[Point], at: int) -> int:
    for (x0, h0), (x1, h1) in zip(line, line[1:], strict=False):
        if x0 <= at <= x1:
            return round(h0 + (h1 - h0) * (at - x0) / (x1 - x0))
    return line[0][1] if at < line[0][0] else line[-1][1]


def _ticks(sheet: Sheet, start: int, end: int, scale: _Scale, reader: Reader) -> Iterable[Tick]:
    unit = FOOT if reader.in_inches else 1000 * MM
    each = next((n for n in (1, 2, 5, 10, 20) if (end - start) / unit / n <= sheet.most_ticks), 50) * unit
    first = -(-start // each) * each
    for at in range(first, end + 1, each):
        yield Tick(scale.x(at), f"{at // FOOT}′" if reader.in_inches else f"{at // (1000 * MM)} m")
