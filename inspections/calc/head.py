"""Head watch: how far the head has come down since the frame was set, and what that leaves above the panels.

    drop = (head - sill) when first read - (head - sill) now, at each station
    left = panel clearance as designed - drop - planned roller raise - deflection still allowed for

The deviation of a drop follows from the readings it is made of: two gaps, sqrt(2) of one reading's; two heads and two
sills, exactly 2. What the engineer of record still allows for is a length, or a span and what it is divided by: 40 ft
by 720 is 16.9 mm. What carries the wall is referred to whoever answers for it, never judged here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import isqrt
from typing import Any

from inspections.calc import stations
from inspections.calc.stations import OUTER, Points
from jobs.calc import reading
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import BadInput, Finding, Limit, Remedy, at_least, half_away, printed

WHEN = ("frame_set", "weight_on", "panels_hung", "acceptance", "callback")
CAUTION = "structure_is_referred"
DESIGN = ("panel_clearance", "planned_raise", "deflection_allowed", "reading_deviation")
# Where nobody asked for more: with less than nothing left a panel does not go in, whoever sets the limits.
NOTHING_LESS = Limit(0, "a panel taller than its opening does not go in")
MICROMETRE = 1000


@dataclass(frozen=True, slots=True)
class Visit:
    """Head less sill at each station, as read that day, and out of how many readings each."""

    when: str
    gaps: Points
    readings_each: int


@dataclass(frozen=True, slots=True)
class Watch:
    visits: tuple[Visit, ...]
    panel_clearance: int | None = None
    planned_raise: int | None = None
    deflection_allowed: int | Fraction | None = None
    reading_deviation: int | None = None

    @property
    def drops(self) -> Points:
        """Positive where the head has come down."""
        return () if len(self.visits) < 2 else _drops(self.visits[0], self.visits[-1])

    @property
    def drop_deviation(self) -> int | None:
        if self.reading_deviation is None or len(self.visits) < 2:
            return None
        readings = self.visits[0].readings_each + self.visits[-1].readings_each
        return _root(readings * self.reading_deviation**2)

    def left(self, drop: int, deflection: int | Fraction = 0) -> int | Fraction:
        return self.panel_clearance - drop - (self.planned_raise or 0) - deflection


def _drops(first: Visit, now: Visit) -> Points:
    return tuple((at, before - after) for (at, before), (_, after) in zip(first.gaps, now.gaps, strict=True))


def _root(square: int) -> int:
    """The root of a whole number of square nanometres, to the micrometre."""
    return MICROMETRE * half_away(Fraction(isqrt(square * 10**12), 10**6 * MICROMETRE))


# ---- reading what was sent ---------------------------------------------------------------------------------


def read(sent: Any, unit: str, read_as: str = stations.HEIGHT, reading_deviation: int | None = None) -> Watch:
    """`reading_deviation` is used where the readings do not bring their own."""
    sent = reading.mapping(sent, "watch")
    for name in sent:
        reading.choice(name, f"watch.{name}", ("readings", *DESIGN))
    days = reading.sequence(reading.need(sent, "readings", "watch."), "watch.readings", most=100)
    visits = tuple(_visit(day, f"watch.readings[{i}]", unit, read_as) for i, day in enumerate(days))
    _in_order_at_the_same_stations(visits)
    design = {"reading_deviation": reading_deviation}
    design |= {n: reading.length(sent[n], f"watch.{n}", unit=unit) for n in DESIGN
               if n != "deflection_allowed" and sent.get(n) is not None}
    return Watch(visits, deflection_allowed=_deflection(sent.get("deflection_allowed"), unit), **design)


def _visit(sent: Any, name: str, unit: str, read_as: str) -> Visit:
    sent = reading.mapping(sent, name)
    for key in sent:
        reading.choice(key, f"{name}.{key}", ("when", "gaps", "head", "sill"))
    when = reading.choice(reading.need(sent, "when", f"{name}."), f"{name}.when", WHEN)
    if sent.get("gaps") is not None:
        return Visit(when, _line(sent["gaps"], f"{name}.gaps", unit, stations.HEIGHT), 1)
    head, sill = (_line(reading.need(sent, n, f"{name}."), f"{name}.{n}", unit, read_as) for n in ("head", "sill"))
    if [at for at, _ in head] != [at for at, _ in sill]:
        raise BadInput(f"{name}.sill", [printed(at, "mm") for at, _ in sill],
                       "read head and sill at the same stations")
    return Visit(when, tuple((at, up - down) for (at, up), (_, down) in zip(head, sill, strict=True)), 2)


def _line(sent: Any, name: str, unit: str, read_as: str) -> Points:
    points = stations.heights(sent, name, unit, read_as).get(OUTER, ())
    if not points:
        raise BadInput(name, sent, "a reading has at least one station")
    return points


def _in_order_at_the_same_stations(visits: tuple[Visit, ...]) -> None:
    for i, (before, after) in enumerate(pairwise(visits), start=1):
        if WHEN.index(after.when) < WHEN.index(before.when):
            raise BadInput(f"watch.readings[{i}].when", after.when, "in order: " + ", ".join(WHEN))
        if [at for at, _ in after.gaps] != [at for at, _ in before.gaps]:
            raise BadInput(f"watch.readings[{i}]", after.when, "read the same stations every time")


def _deflection(sent: Any, unit: str) -> int | Fraction | None:
    if sent is None:
        return None
    if not isinstance(sent, Mapping):
        return reading.length(sent, "watch.deflection_allowed", unit=unit)
    name = "watch.deflection_allowed."
    span = reading.length(reading.need(sent, "span", name), f"{name}span", unit=unit)
    by = reading.number(reading.need(sent, "divided_by", name), f"{name}divided_by", least=1)
    return span / Fraction(str(by))


def kept(watch: Watch) -> Iterator[ReadingValue]:
    for visit in watch.visits:
        yield from (ReadingValue(f"head_less_sill_{visit.when}", gap, at) for at, gap in visit.gaps)


# ---- judging -----------------------------------------------------------------------------------------------


def findings(watch: Watch, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    """What is left above the panels where the head came down most. Less than the limit: they are not hung."""
    if not watch.drops or watch.panel_clearance is None:
        return
    at, drop = max(watch.drops, key=lambda point: point[1])
    left = watch.left(drop, watch.deflection_allowed or 0)
    limit = limits.get("left_above_panels", NOTHING_LESS)
    limit = NOTHING_LESS if limit.value is None else limit
    where = {"at_mm": at, "when": watch.visits[-1].when, "drop_mm": drop}
    yield at_least("left_above_panels", left, limit, where=where,
                   remedy=Remedy("do_not_hang", {"at_mm": at, "left_mm": left, "report_to": "builder"}))


def missing(watch: Watch | None) -> Iterator[dict[str, Any]]:
    if watch is None:
        yield {"what": "head_watch"}
        return
    if not watch.visits or watch.visits[0].when != "frame_set":
        yield {"what": "head_reading", "when": "frame_set"}
    if len(watch.visits) < 2:
        yield {"what": "head_reading", "when": "weight_on"}
    yield from ({"what": name} for name in DESIGN if getattr(watch, name) is None)


def unlikely(watch: Watch) -> Iterator[dict[str, Any]]:
    """A head that rose, and a rest that the readings are too coarse to be sure of."""
    deviation = watch.drop_deviation
    if deviation is None:
        return
    for at, drop in watch.drops:
        if drop < -3 * deviation:
            yield {"what": "head_has_risen", "at_mm": at, "by_mm": -drop}
    if watch.panel_clearance is not None:
        left = watch.left(max(drop for _, drop in watch.drops), watch.deflection_allowed or 0)
        if abs(left) <= 2 * deviation:
            yield {"what": "left_is_within_the_readings", "left_mm": left, "deviation_mm": deviation}


def computed(watch: Watch) -> dict[str, Any]:
    if not watch.visits:
        return {}
    shown: dict[str, Any] = {"first": watch.visits[0].when, "now": watch.visits[-1].when,
                             "drop_deviation_mm": watch.drop_deviation}
    shown["worst_drops"] = [
        {"when": visit.when, "at_mm": at, "drop_mm": drop}
        for visit in watch.visits[1:] for at, drop in [max(_drops(watch.visits[0], visit), key=lambda p: p[1])]
    ]
    shown["profile"] = [{"at_mm": at, "drop_mm": drop, **_left(watch, drop)} for at, drop in watch.drops]
    return shown


def _left(watch: Watch, drop: int) -> dict[str, int | Fraction | None]:
    if watch.panel_clearance is None:
        return {}
    allowed = watch.deflection_allowed
    return {"left_after_raise_mm": watch.left(drop),
            "left_after_deflection_mm": None if allowed is None else watch.left(drop, allowed)}
