"""The set frame: sill and head level, straight and parallel, jamb and interlocks plumb, rollers able to follow it.

- level: the range of a line, highest less lowest. Line by line, the worst is judged.
- rise in a foot: the greatest rise within any window along a line, over the continuous profile (profile.py).
- across: the largest |inner - outer| wherever either line has a station; judged at the sill, told at the head.
- flat: the minimum zone, the least vertical distance of two parallel lines that hold all points. Range, least squares
  and minimum zone are three different numbers; a finding names the one its limit is against.
- parallel: the range of head less sill at the same places, interpolated only between readings.
- sag: the chord of the head's ends less the head, in the middle between them.
- end gaps: the gap at one end of the sill against the other. Head over sill: how far the head stands out of plumb
  above the sill, at both ends.
- members, rollers: members.py. Head watch: head.py.

An inspection may bring only a part. What was read is judged; what is lacking of the `parts` asked for is missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from inspections.calc import head, lines, members, profile, stations
from inspections.calc.head import Watch
from inspections.calc.members import Members
from inspections.calc.stations import INNER, OUTER, Lines, Points
from jobs.calc import reading
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import (
    NOT_ENOUGH_DATA,
    NOT_ENOUGH_READINGS,
    BadInput,
    Finding,
    Limit,
    Remedy,
    Verdict,
    at_most,
    overall,
)

NAME = "frame"
LIMITS = {
    "sill_level": "mm",
    "sill_rise_in_a_foot": "mm",
    "window": "mm",
    "widest_spacing": "mm",
    "sill_across": "mm",
    "end_gaps": "mm",
    "head_level": "mm",
    "head_flat": "mm",
    "head_parallel": "mm",
    "head_over_sill": "mm",
    "member_plumb": "mm",
    "members_apart": "mm",
    "member_bow": "mm",
    "member_twist": "mm",
    "roller_travel": "mm",
    "roller_spacing": "mm",
    "left_above_panels": "mm",
    "reading_deviation": "mm",  # one standard deviation of a height or gap, where the readings do not bring their own
}
PARTS = ("sill", "head", "members", "end_gaps", "head_over_sill", "rollers", "watch")
ASKED = tuple(part for part in PARTS if part != "watch")  # of a set frame; the head is watched once it carries
ENDS = ("left", "right")
NO_LIMIT = Limit(None, "no limit set")
# What the office or the door system must enter; reading again would not bring it.
DATA = ("roller_spacing", *head.DESIGN)

Limits = Mapping[str, Limit]


@dataclass(frozen=True, slots=True)
class Frame:
    sill: Lines = field(default_factory=dict)
    head: Lines = field(default_factory=dict)
    gaps: Lines = field(default_factory=dict)  # head less sill, taped between them
    members: Members = field(default_factory=dict)
    end_gaps: Mapping[str, int] = field(default_factory=dict)
    head_over_sill: Mapping[str, int] = field(default_factory=dict)
    sill_from: int | None = None
    sill_to: int | None = None
    tracks: int | None = None
    roller_spacing: int | None = None
    watch: Watch | None = None
    parts: tuple[str, ...] = ASKED

    @property
    def ends(self) -> tuple[int, int] | None:
        """The sill's ends as given, else the furthest stations of anything along it."""
        places = [at for read in (self.sill, self.head, self.gaps) for points in read.values() for at, _ in points]
        if not places:
            return None
        start = min(places) if self.sill_from is None else self.sill_from
        return start, max(places) if self.sill_to is None else self.sill_to

    def within_ends(self, read: Lines) -> dict[str, Points]:
        """The lines between the sill's ends, whose heights count as stations."""
        if self.ends is None:
            return {}
        cut = {line: stations.between(points, *self.ends) for line, points in read.items()}
        return {line: points for line, points in cut.items() if points}


def judge(payload: Mapping[str, Any], limits: Limits) -> Verdict:
    return judged(read(payload, limits), limits)


def readings(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
    """As they were read: off a rod, a larger one is a lower place."""
    unit, frame = reading.unit_of(payload), read(payload, {})
    along = [
        ReadingValue(f"{part}_{line}", value, at)
        for part in ("sill", "head", "gaps")
        for line, points in stations.as_read(payload.get(part), part, unit).items() for at, value in points
    ]
    ends = [
        ReadingValue(f"{name}_{end}", nm) for name in ("end_gaps", "head_over_sill")
        for end, nm in getattr(frame, name).items()
    ]
    plumbed = [
        ReadingValue(f"{name}_{key}", value, member.height)
        for name, member in frame.members.items() for key in members.OFFSETS
        if (value := getattr(member, key)) is not None
    ]
    return (*along, *ends, *plumbed, *(head.kept(frame.watch) if frame.watch else ()))


# ---- reading what was sent ---------------------------------------------------------------------------------


def read(payload: Mapping[str, Any], limits: Limits) -> Frame:
    unit = reading.unit_of(payload)
    read_as = reading.choice(payload.get("read_as", stations.HEIGHT), "read_as",
                             (stations.HEIGHT, stations.DOWN_FROM_LEVEL))
    sent_watch, deviation = payload.get("watch"), limits.get("reading_deviation", NO_LIMIT).value
    start, end = (_optional(payload, name, unit) for name in ("sill_from", "sill_to"))
    if start is not None and end is not None and start >= end:
        raise BadInput("sill_to", payload["sill_to"], "the sill must end beyond where it starts")
    frame = Frame(
        sill=stations.heights(payload.get("sill"), "sill", unit, read_as),
        head=stations.heights(payload.get("head"), "head", unit, read_as),
        gaps=stations.as_read(payload.get("gaps"), "gaps", unit),
        members=members.read(payload.get("members"), unit),
        end_gaps=_at_ends(payload, "end_gaps", unit, signed=False),
        head_over_sill=_at_ends(payload, "head_over_sill", unit, signed=True),
        sill_from=start,
        sill_to=end,
        tracks=stations.tracks(payload),
        roller_spacing=_spacing(payload, limits, unit),
        watch=None if sent_watch is None else head.read(sent_watch, unit, read_as, deviation),
        parts=_parts(payload.get("parts")),
    )
    if frame.ends is not None and frame.ends[0] > frame.ends[1]:
        name = "sill_to" if start is None else "sill_from"
        raise BadInput(name, payload[name], "no station lies on the sill: check where it starts and ends")
    return frame


def _optional(payload: Mapping[str, Any], name: str, unit: str) -> int | None:
    value = payload.get(name)
    return None if value is None else reading.length(value, name, unit=unit, signed=True)


def _at_ends(payload: Mapping[str, Any], name: str, unit: str, *, signed: bool) -> dict[str, int]:
    sent = reading.mapping(payload.get(name) or {}, name)
    for end in sent:
        reading.choice(end, f"{name}.{end}", ENDS)
    return {
        end: reading.length(sent[end], f"{name}.{end}", unit=unit, signed=signed)
        for end in ENDS if sent.get(end) is not None
    }


def _spacing(payload: Mapping[str, Any], limits: Limits, unit: str) -> int | None:
    """Of this unit's panels where it came with the readings, else of the door system."""
    sent = payload.get("roller_spacing")
    spacing = limits.get("roller_spacing", NO_LIMIT).value if sent is None else reading.length(
        sent, "roller_spacing", unit=unit)
    if spacing is not None and spacing <= 0:
        raise BadInput("roller_spacing", sent, "the rollers stand some way apart")
    return spacing


def _parts(sent: Any) -> tuple[str, ...]:
    if sent is None:
        return ASKED
    return tuple(reading.choice(part, f"parts[{i}]", PARTS) for i, part in enumerate(reading.sequence(sent, "parts")))


# ---- judging -----------------------------------------------------------------------------------------------


def judged(frame: Frame, limits: Limits) -> Verdict:
    sill, hung = frame.within_ends(frame.sill), frame.within_ends(head_lines(frame))
    use = {} if frame.roller_spacing is None else members.roller_use(
        frame.members, sill.get(OUTER, ()), frame.roller_spacing)
    findings = (
        *_sill_findings(sill, limits),
        *_end_gaps(frame.end_gaps, limits),
        *_head_findings(hung, limits),
        *_parallel(gap_lines(frame), limits),
        *_head_over_sill(frame.head_over_sill, limits),
        *members.findings(frame.members, limits),
        *_rollers(frame, use, limits),
        *(head.findings(frame.watch, limits) if frame.watch else ()),
    )
    missing = tuple(_missing(frame, limits.get("widest_spacing", NO_LIMIT).value))
    second_look = tuple(look for part, read in (("sill", frame.sill), ("head", frame.head), ("gaps", frame.gaps))
                        for look in stations.unlikely(part, read))
    if frame.watch:
        second_look += tuple(head.unlikely(frame.watch))
    return Verdict(_result(findings, missing), findings, _computed(frame, sill, hung, use), missing, second_look,
                   head.CAUTION if frame.watch else None)


def _result(findings: tuple[Finding, ...], missing: tuple[Mapping[str, Any], ...]) -> str:
    result = overall(findings, missing)
    only_data = all(lacking["what"] in DATA for lacking in missing)
    return NOT_ENOUGH_DATA if result == NOT_ENOUGH_READINGS and only_data else result


def head_lines(frame: Frame) -> dict[str, Points]:
    """The head as read, or the sill with the gaps taped up from it."""
    taped = {line: _combined(frame.sill[line], gaps, 1) for line, gaps in frame.gaps.items() if line in frame.sill}
    return taped | dict(frame.head)


def gap_lines(frame: Frame) -> dict[str, Points]:
    """Head less sill as taped between them, or from the heights of both."""
    levelled = {line: _combined(up, frame.sill[line], -1) for line, up in frame.head.items() if line in frame.sill}
    return frame.within_ends(levelled | dict(frame.gaps))


def _combined(one: Points, other: Points, sign: int) -> Points:
    """One line plus (or less) the other wherever either has a station and both were read."""
    if not one or not other:
        return ()
    start, end = max(one[0][0], other[0][0]), min(one[-1][0], other[-1][0])
    places = sorted(at for at in {at for at, _ in (*one, *other)} if start <= at <= end)
    return tuple((at, lines.profile_at(one, at) + sign * lines.profile_at(other, at)) for at in places)


def _by_range(quantity: str, read: Lines, limit: Limit, code: str) -> Iterator[Finding]:
    """The line with the greatest range, with its lowest and highest place."""
    if read:
        line, points = max(read.items(), key=lambda named: lines.total_range(named[1]))
        low, high = min(points, key=_height), max(points, key=_height)
        where = {"measure": "range", "line": line, "low_at_mm": low[0], "high_at_mm": high[0]}
        yield at_most(quantity, lines.total_range(points), limit, where=where, remedy=Remedy(code, where))


def _height(point: lines.Point) -> lines.Number:
    return point[1]


def _sill_findings(sill: Lines, limits: Limits) -> Iterator[Finding]:
    yield from _by_range("sill_level", sill, limits.get("sill_level", NO_LIMIT), "shim_low_or_let_down_high")
    yield from _rise_in_a_foot(sill, limits)
    yield from _across(sill, limits.get("sill_across", NO_LIMIT))


def _rise_in_a_foot(sill: Lines, limits: Limits) -> Iterator[Finding]:
    limit, window = (limits.get(name, NO_LIMIT) for name in ("sill_rise_in_a_foot", "window"))
    if not sill:
        return
    if window.value is None:
        yield Finding("sill_rise_in_a_foot", None, limit.value, None, NO_LIMIT.source)
        return
    rises = [(name, profile.worst_rise(*_scaled(name, points, window.value))) for name, points in sill.items()]
    name, worst = max(rises, key=lambda rise: rise[1].by)
    where = {"line": name, "from_mm": worst.start, "to_mm": worst.end}
    yield at_most("sill_rise_in_a_foot", worst.by, limit, where=where, remedy=Remedy("shim_between", where))


def _scaled(name: str, points: Points, window: int) -> tuple[profile.Line, int, int]:
    seen = profile.within_sill({name: points}, points[0][0], points[-1][0])
    return seen.lines[0], window, seen.scale


def _across(sill: Lines, limit: Limit) -> Iterator[Finding]:
    worst = _worst_across(sill)
    if worst is not None:
        at, fall = worst
        where = {"at_mm": at, "high_line": _high_line(fall)}
        yield at_most("sill_across", abs(fall), limit, where=where, remedy=Remedy("level_across_at", where))


def _worst_across(read: Lines) -> lines.Point | None:
    """Where inner less outer is largest either way; None where the two lines share no place."""
    over = _combined(read[INNER], read[OUTER], -1) if len(read) == 2 else ()
    return max(over, key=lambda point: abs(point[1]), default=None)


def _high_line(fall: lines.Number) -> str | None:
    return None if fall == 0 else INNER if fall > 0 else OUTER


def _end_gaps(gaps: Mapping[str, int], limits: Limits) -> Iterator[Finding]:
    if len(gaps) == 2:
        apart = gaps["left"] - gaps["right"]
        wider = None if apart == 0 else "left" if apart > 0 else "right"
        yield at_most("end_gaps", abs(apart), limits.get("end_gaps", NO_LIMIT), where={"wider_at": wider},
                      remedy=Remedy("move_sill_towards", {"towards": wider, "by_mm": Fraction(abs(apart), 2)}))


def _head_findings(hung: Lines, limits: Limits) -> Iterator[Finding]:
    yield from _by_range("head_level", hung, limits.get("head_level", NO_LIMIT), "level_the_head")
    if hung:
        line, points = max(hung.items(), key=lambda named: lines.minimum_zone(named[1]))
        where = {"measure": "minimum_zone", "line": line}
        yield at_most("head_flat", lines.minimum_zone(points), limits.get("head_flat", NO_LIMIT), where=where,
                      remedy=Remedy("straighten_the_head", {"line": line, "sag_mm": sag(points)}))


def _parallel(gaps: Lines, limits: Limits) -> Iterator[Finding]:
    if gaps:
        line, points = max(gaps.items(), key=lambda named: lines.total_range(named[1]))
        least, most = min(points, key=_height), max(points, key=_height)
        where = {"measure": "range", "line": line, "least_at_mm": least[0], "most_at_mm": most[0]}
        yield at_most("head_parallel", lines.total_range(points), limits.get("head_parallel", NO_LIMIT), where=where,
                      remedy=Remedy("bring_head_parallel", where))


def _head_over_sill(offsets: Mapping[str, int], limits: Limits) -> Iterator[Finding]:
    if offsets:
        end, offset = max(offsets.items(), key=lambda one: abs(one[1]))
        stands = None if offset == 0 else "out" if offset > 0 else "in"
        values = {"at": end, "head_stands": stands}
        yield at_most("head_over_sill", abs(offset), limits.get("head_over_sill", NO_LIMIT), where=values,
                      remedy=Remedy("move_the_head", {**values, "by_mm": abs(offset)}))


def _rollers(frame: Frame, use: Mapping[str, Fraction], limits: Limits) -> Iterator[Finding]:
    if use:
        limit, sill_read = limits.get("roller_travel", NO_LIMIT), any(frame.sill.values())
        yield members.roller_finding(use, frame.roller_spacing, sill_read, limit)


def sag(points: Points) -> Fraction:
    """How far the middle hangs below the chord of the ends; negative where it stands above."""
    (start, first), (end, last) = points[0], points[-1]
    return Fraction(first + last, 2) - lines.profile_at(points, Fraction(start + end, 2))


# ---- what is missing, what follows -------------------------------------------------------------------------


def _missing(frame: Frame, widest: int | None) -> Iterator[dict[str, Any]]:
    asked = frame.parts
    if "sill" in asked:
        yield from _lines_missing(frame, "sill", frame.sill, widest)
        if INNER not in frame.sill and frame.tracks != 1:
            yield {"what": "sill", "line": INNER}
    if "head" in asked:
        yield from _head_missing(frame, widest)
    if "members" in asked:
        yield from members.missing(frame.members)
    for name in ("end_gaps", "head_over_sill"):
        if name in asked:
            yield from ({"what": name, "at": end} for end in ENDS if end not in getattr(frame, name))
    if "rollers" in asked:
        yield from _rollers_missing(frame)
    if "watch" in asked or frame.watch is not None:
        yield from head.missing(frame.watch)


def _lines_missing(frame: Frame, part: str, read: Lines, widest: int | None) -> Iterator[dict[str, Any]]:
    if OUTER not in read:
        yield {"what": part, "line": OUTER}
    if frame.ends is not None:
        yield from stations.missing(part, read, frame.ends, widest)


def _head_missing(frame: Frame, widest: int | None) -> Iterator[dict[str, Any]]:
    """Gaps alone tell parallel, not level: that takes the heights of the head, or of the sill below the gaps."""
    if frame.head or not frame.gaps:
        yield from _lines_missing(frame, "head", frame.head, widest)
    else:
        yield from _lines_missing(frame, "gaps", frame.gaps, widest)
    if frame.head or frame.gaps:
        level, parallel = frame.within_ends(head_lines(frame)), gap_lines(frame)
        if not level or not parallel:
            yield {"what": "sill", "line": OUTER, "for": "head_parallel" if level else "head_level"}


def _rollers_missing(frame: Frame) -> Iterator[dict[str, Any]]:
    if frame.roller_spacing is None:
        yield {"what": "roller_spacing"}
    if "members" not in frame.parts:
        yield from (lacking for lacking in members.missing(frame.members) if lacking["read"] == "edge")


def _computed(frame: Frame, sill: Lines, hung: Lines, use: Mapping[str, Fraction]) -> dict[str, Any]:
    computed: dict[str, Any] = {}
    if sill:
        computed["sill"] = {line: _straightness(points) for line, points in sill.items()}
    if hung:
        computed["head"] = {line: {**_straightness(points), "sag_mm": sag(points)} for line, points in hung.items()}
    for part, read_there in (("sill", sill), ("head", hung)):
        worst = _worst_across(read_there)
        if worst is not None:
            computed[f"{part}_across"] = {"worst_mm": abs(worst[1]), "at_mm": worst[0],
                                          "high_line": _high_line(worst[1])}
    if use:
        computed["roller_use"] = {f"{name}_mm": by for name, by in use.items()} | {"worst_mm": max(use.values())}
    for way, apart in members.apart(frame.members).items():
        computed[f"members_apart_{way}_mm"] = apart
    if frame.watch is not None:
        computed["watch"] = head.computed(frame.watch)
    return computed


def _straightness(points: Points) -> dict[str, Any]:
    """Range, least squares and minimum zone, each by its own name."""
    (start, first), (end, last) = points[0], points[-1]
    slope = Fraction(last - first) / (end - start) if end > start else Fraction(0)
    return {
        "range_mm": lines.total_range(points),
        "least_squares_mm": lines.least_squares_width(points),
        "minimum_zone_mm": lines.minimum_zone(points),
        "slope_mm_per_m": slope * 1000,
        "high_end": "level" if slope == 0 else "to" if slope > 0 else "from",
    }
