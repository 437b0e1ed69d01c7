"""A crew's week as a rule: its working hours, day by day, with what stands on them.

Drawn in hundredths of whatever width there is, so that the letters stay as large as they are read: no viewBox. Days
lie under each other from crew to crew; those that nobody here works are narrow. What is inked is a full line and
filled, what is pencilled a broken line and hatched, each as far as its hours reach; what could be laid here is a
dimension above the rule. A return trip is a square on its day: how long it takes nobody knows beforehand.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jobs.calc.against import NOT_A_WORKING_DAY

DAYS = 7
NARROW = 0.45  # of a day that somebody works
LANE, BAR = 26, 20  # px, as everything that stands upright here
TOP, ABOVE, BELOW = 10, 30, 36
LONG_MARK = 4  # hours


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each day begins, and the end of the last, in hundredths of the width."""

    edges: tuple[float, ...]

    @classmethod
    def of(cls, working_weeks: Iterable[str]) -> Columns:
        weeks = list(working_weeks)
        wide = [1 if any(week[n] == "1" for week in weeks) else NARROW for n in range(DAYS)]
        return cls(tuple(100 * sum(wide[:n]) / sum(wide) for n in range(DAYS + 1)))

    def at(self, days: float) -> float:
        """So many days from Monday on, parts of a day included."""
        whole = min(max(int(days), 0), DAYS - 1)
        part = min(max(days - whole, 0.0), 1.0)
        return self.edges[whole] + (self.edges[whole + 1] - self.edges[whole]) * part


@dataclass(frozen=True, slots=True)
class OnRule:
    """Work that stands on the week: its days, and what each of them takes of the crew, in parts of one."""

    first: dt.date
    last: dt.date
    parts: tuple[float, ...]  # of each of its days in this week, from the first that lies in it
    inked: bool
    letter: str
    trip: bool = False


@dataclass(frozen=True, slots=True)
class DayNamed:
    name: str
    closed: str  # why nobody works, "" where they do
    hours: int


@dataclass(frozen=True, slots=True)
class Day:
    x: str
    width: str
    middle: str
    name: str
    number: int
    hours: int  # marks; 0: nobody works
    shut: bool  # on a day they would work


@dataclass(frozen=True, slots=True)
class Bar:
    x: str
    width: str
    y: int
    letter: str
    inked: bool
    filled: tuple[tuple[str, str], ...]  # from where, how wide
    trip: bool


@dataclass(frozen=True, slots=True)
class Dimension:
    x: str
    end: str
    middle: str
    begins: bool  # here, and not in a week before
    ends: bool


@dataclass(frozen=True, slots=True)
class WeekRule:
    height: int
    top: int
    lanes: int
    names_y: int
    now: str  # where today is, "" in another week
    days: tuple[Day, ...]
    bars: tuple[Bar, ...]
    dimensions: tuple[Dimension, ...]

    @property
    def body(self) -> int:
        return LANE * self.lanes


def week_rule(monday: dt.date, columns: Columns, days: Sequence[DayNamed], work: Sequence[OnRule],
              proposed: Sequence[tuple[dt.date, dt.date]] = (), today: dt.date | None = None) -> WeekRule:
    lanes = _lanes(work)
    count, top = max(lanes, default=0) + 1, ABOVE if proposed else TOP
    now = (today - monday).days if today is not None else -1
    return WeekRule(
        top + LANE * count + BELOW, top, count, top + LANE * count + 15,
        _pct(columns.at(now + 0.5)) if 0 <= now < DAYS else "",
        tuple(_day(n, monday, columns, day) for n, day in enumerate(days)),
        tuple(_bar(one, monday, columns, top + lane * LANE + 3) for one, lane in zip(work, lanes, strict=True)),
        tuple(_dimension((first - monday).days, (last - monday).days + 1, columns) for first, last in _merged(proposed)
              if (first - monday).days < DAYS and last >= monday))


def _pct(hundredths: float) -> str:
    return f"{hundredths:.4g}%"


def _day(n: int, monday: dt.date, columns: Columns, day: DayNamed) -> Day:
    return Day(_pct(columns.at(n)), _pct(columns.at(n + 1) - columns.at(n)), _pct(columns.at(n + 0.5)), day.name,
               (monday + dt.timedelta(days=n)).day, 0 if day.closed else day.hours,
               bool(day.closed) and day.closed != NOT_A_WORKING_DAY)


def _lanes(work: Sequence[OnRule]) -> list[int]:
    """Work that meets other work goes under it."""
    ends: list[dt.date] = []
    lanes = []
    for one in work:
        lane = next((n for n, end in enumerate(ends) if end < one.first), len(ends))
        ends[lane:lane + 1] = [one.last]
        lanes.append(lane)
    return lanes


def _bar(one: OnRule, monday: dt.date, columns: Columns, y: int) -> Bar:
    start = max(0, (one.first - monday).days)
    end = min(DAYS, (one.last - monday).days + 1)
    filled = tuple((_pct(columns.at(first)), _pct(columns.at(last) - columns.at(first)))
                   for first, last in _runs(start, one.parts))
    return Bar(_pct(columns.at(start)), _pct(columns.at(end) - columns.at(start)), y, one.letter, one.inked, filled,
               one.trip)


def _runs(start: int, parts: Sequence[float]) -> list[tuple[float, float]]:
    """Whole days that follow each other are one stroke."""
    runs: list[tuple[float, float]] = []
    for n, part in enumerate(parts, start=start):
        if part and runs and runs[-1][1] == n:
            runs[-1] = (runs[-1][0], n + part)
        elif part:
            runs.append((n, n + part))
    return runs


def _merged(proposed: Iterable[tuple[dt.date, dt.date]]) -> list[tuple[dt.date, dt.date]]:
    """What follows on each other is one dimension."""
    merged: list[tuple[dt.date, dt.date]] = []
    for first, last in sorted(proposed):
        if merged and (first - merged[-1][1]).days <= 1:
            merged[-1] = (merged[-1][0], max(last, merged[-1][1]))
        else:
            merged.append((first, last))
    return merged


def _dimension(start: int, end: int, columns: Columns) -> Dimension:
    first, last = columns.at(max(0, start)), columns.at(min(DAYS, end))
    return Dimension(_pct(first), _pct(last), _pct((first + last) / 2), start >= 0, end <= DAYS)
