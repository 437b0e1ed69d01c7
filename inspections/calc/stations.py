"""Stations along a member: read from what was sent, and which are lacking.

A part is `{stations: [{at, reading}], inner: [{at, reading}], read_as}`, or just the list where there is one line.
`read_as` is `height` (up from a datum) or `down_from_level` (off a rod under a laser: a larger reading is lower).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from inspections.calc.lines import Number, Point, profile_at
from jobs.calc import reading
from jobs.calc.verdict import BadInput, printed

OUTER, INNER = "outer", "inner"
FIELDS = {OUTER: "stations", INNER: "inner"}
HEIGHT, DOWN_FROM_LEVEL = "height", "down_from_level"
FEWEST, MOST = 3, 500
SPIKE = 25_400_000  # nm; a station an inch beyond both its neighbours is more often a slip than a frame

Points = tuple[Point, ...]
Lines = Mapping[str, Points]


def as_read(sent: Any, field: str, unit: str) -> dict[str, Points]:
    """The lines as their readings were written down; a line that was not sent is not there."""
    if sent is None:
        return {}
    if not isinstance(sent, Mapping):
        return {OUTER: tuple(one_line(sent, field, unit))}
    for name in sent:
        reading.choice(name, f"{field}.{name}", (*FIELDS.values(), "read_as"))
    named = {line: sent.get(name) for line, name in FIELDS.items()}
    return {
        line: tuple(one_line(part, f"{field}.{FIELDS[line]}", unit))
        for line, part in named.items() if part is not None
    }


def heights(sent: Any, field: str, unit: str, read_as: str = HEIGHT) -> dict[str, Points]:
    """The lines with up as up, whichever way they were read."""
    if isinstance(sent, Mapping) and sent.get("read_as") is not None:
        read_as = reading.choice(sent["read_as"], f"{field}.read_as", (HEIGHT, DOWN_FROM_LEVEL))
    up = 1 if read_as == HEIGHT else -1
    read = as_read(sent, field, unit)
    return {line: tuple((at, up * value) for at, value in points) for line, points in read.items()}


def one_line(sent: Any, field: str, unit: str) -> Iterator[tuple[int, int]]:
    """Each station's place and what was read there, `at` strictly increasing."""
    before: int | None = None
    for i, one in enumerate(reading.sequence(sent, field, most=MOST)):
        name = f"{field}[{i}]"
        station = reading.mapping(one, name)
        at = reading.length(reading.need(station, "at", f"{name}."), f"{name}.at", unit=unit, signed=True)
        if before is not None and at <= before:
            beyond = f"stations run on along the sill: this one must lie beyond {printed(before, 'mm')} mm"
            raise BadInput(f"{name}.at", station["at"], beyond)
        value = reading.need(station, "reading", f"{name}.")
        yield at, reading.length(value, f"{name}.reading", unit=unit, signed=True)
        before = at


def between(points: Points, start: int, end: int) -> Points:
    """The line cut off at both ends, whose heights are read off it; nothing is extrapolated."""
    if not points or points[0][0] > end or points[-1][0] < start:
        return ()
    inside = {at: h for at, h in points if start <= at <= end}
    for at in (max(start, points[0][0]), min(end, points[-1][0])):
        if at not in inside:
            inside[at] = profile_at(points, at)
    return tuple(sorted(inside.items()))


def missing(part: str, read: Lines, ends: tuple[int, int], widest: int | None) -> Iterator[dict[str, Any]]:
    """Where to read, line by line: the ends, between stations too far apart, and three at the least."""
    for line, points in read.items():
        label = {"part": part, "line": line}
        inside = [at for at, _ in points if ends[0] <= at <= ends[1]]
        for end in ends:
            if not points or not points[0][0] <= end <= points[-1][0]:
                yield {"what": "sill_end", **label, "at_mm": end}
        if len(inside) < FEWEST:
            yield {"what": "three_stations", **label, "have": len(inside)}
        if widest is not None:
            yield from ({"what": "stations_between", **label, **gap} for gap in _too_far_apart(points, ends, widest))


def _too_far_apart(points: Points, ends: tuple[int, int], widest: int) -> Iterator[dict[str, int]]:
    places = [at for at, _ in points]
    for left, right in pairwise(places):
        if right - left > widest and right > ends[0] and left < ends[1]:
            yield {"from_mm": left, "to_mm": right}


def unlikely(part: str, read: Lines) -> Iterator[dict[str, Any]]:
    for line, points in read.items():
        for at, by in spikes(points):
            yield {"what": "stands_out_from_its_neighbours", "part": part, "line": line, "at_mm": at, "by_mm": by}


def spikes(points: Points) -> Iterator[tuple[Number, Number]]:
    """Where a station stands more than an inch above, or below, both its neighbours, and by how much at the least."""
    for (_, before), (at, here), (_, after) in zip(points, points[1:], points[2:], strict=False):
        rise, fall = here - before, here - after
        if rise * fall > 0 and min(abs(rise), abs(fall)) > SPIKE:
            yield at, min(abs(rise), abs(fall))


def tracks(payload: Mapping[str, Any]) -> int | None:
    """Where it is known that the sill has several tracks, its inner line is asked for."""
    sent = payload.get("tracks")
    if sent is None:
        return None
    count = reading.number(sent, "tracks", least=1)
    if count != int(count):
        raise BadInput("tracks", sent, "a whole number of tracks")
    return int(count)
