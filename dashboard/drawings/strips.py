"""Counts over time on ruled paper: a strip each, one under another, all but the last to one scale.

Told apart by where they stand and by their names, not by colours. The last grows without end and has a scale of its
own, which it says by its own *most*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.drawings.bars import EM
from jobs.calc.over_time import Period

TICK = 56.0  # units that a day of the axis takes, and some room


@dataclass(frozen=True, slots=True)
class Paper:
    """Between which edges it is drawn, with room for half a day beyond; on slim paper a strip has its name over it."""

    left: float
    right: float
    width: float
    most_ticks: int
    slim: bool = False


WIDE = Paper(150, 690, 760, 9)
SLIM = Paper(8, 288, 318, 4, slim=True)
STRIP, GAP, TOP = 34.0, 12.0, 8.0


@dataclass(frozen=True, slots=True)
class Strip:
    name: str
    ground: str  # what is filled in under the line
    line: str
    y: float  # where nought is
    name_x: float
    name_y: float
    now: int
    most: int


@dataclass(frozen=True, slots=True)
class Tick:
    x: float
    text: str


@dataclass(frozen=True, slots=True)
class Strips:
    paper: Paper
    height: float
    strips: tuple[Strip, ...]
    rules: tuple[float, ...]  # where each period but the first begins
    ticks: tuple[Tick, ...]
    bottom: float

    @property
    def top(self) -> float:
        return TOP

    @property
    def numbers_x(self) -> float:
        return self.paper.right if self.paper.slim else self.paper.right + 10


def strips(counts: Sequence[tuple[str, Sequence[int]]], periods: Sequence[Period], days: Sequence[str],
           paper: Paper = WIDE) -> Strips:
    """Of each name its counts, one a period; `days` says in words when each period ends."""
    shared = max([max(values, default=0) for _name, values in counts[:-1]] + [1])
    each = (paper.right - paper.left) / max(len(periods), 1)
    edges = [round(paper.left + n * each, 1) for n in range(len(periods) + 1)]
    high = STRIP + GAP + (EM + 4 if paper.slim else 0)
    drawn = tuple(_strip(name, values, shared if n < len(counts) - 1 else max([*values, 1]),
                         TOP + (n + 1) * high - GAP, edges, paper) for n, (name, values) in enumerate(counts))
    bottom = drawn[-1].y + 4 if drawn else TOP
    return Strips(paper, bottom + 22, drawn, tuple(edges[1:-1]) if len(edges) < 60 else (),
                  _ticks(days, edges, paper), bottom)


def _strip(name: str, values: Sequence[int], most: int, y: float, edges: Sequence[float], paper: Paper) -> Strip:
    heights = [round(y - value * STRIP / most, 1) for value in values]
    path = "".join(f"{'L' if n else 'M'}{edges[n]} {height}H{edges[n + 1]}" for n, height in enumerate(heights))
    ground = f"{path}V{y}H{edges[0]}Z" if path else ""
    name_x, name_y = (paper.left, y - STRIP - 5) if paper.slim else (paper.left - 10, y - STRIP / 2 + 5)
    return Strip(name, ground, path, round(y, 1), name_x, round(name_y, 1), values[-1] if values else 0,
                 max(values, default=0))


def _ticks(days: Sequence[str], edges: Sequence[float], paper: Paper) -> tuple[Tick, ...]:
    """Under the end of a period, so many apart that no two days meet; the last one always."""
    if not days:
        return ()
    apart = max(-(-len(days) // paper.most_ticks), int(TICK / max(edges[1] - edges[0], 0.1)) + 1)
    found = (Tick(edges[n + 1], days[n]) for n in range(len(days) - 1, -1, -apart))
    return tuple(tick for tick in found if tick.x >= TICK / 2)[::-1]


