"""Rows of a report drawn against one rule: a bar each, filled and hatched, with marks where something else is measured.

The name stands over its bar and the figures at its end or under it, so that no writing meets another however long
either is; what is too long for the sheet is cut, and the table has it whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

MOST = 20  # rows on one drawing
EM = 13.0  # units of the letters of a name
STEPS = tuple(n * 10**power for power in range(9) for n in (1, 2, 5))
FIGURES = 16.0  # a line of them under the bar
TOP, WRITING, BAR, BETWEEN = 30.0, 26.0, 16.0, 10.0  # over a bar there is room for the mark that points at it


@dataclass(frozen=True, slots=True)
class Paper:
    """How wide it is drawn; on slim paper the figures stand on a line of their own."""

    width: float
    slim: bool = False

    @property
    def rule(self) -> float:
        return self.width - 2 * SIDE


SIDE = 12.0
WIDE = Paper(760)
SLIM = Paper(318, slim=True)


@dataclass(frozen=True, slots=True)
class Measured:
    """One row: how much is filled in, how much of the rest is hatched, and what two marks stand for, if they do."""

    name: str
    figures: tuple[str, ...]  # in parts, between which a line may end
    filled: float
    hatched: float = 0
    planned: float | None = None  # a triangle over the bar
    used: float | None = None  # a heavy line through it

    @property
    def most(self) -> float:
        return max(self.filled + self.hatched, self.planned or 0, self.used or 0)


@dataclass(frozen=True, slots=True)
class Line:
    text: str
    y: float


@dataclass(frozen=True, slots=True)
class Bar:
    name: str
    name_y: float
    figures: tuple[Line, ...]
    y: float
    filled: float
    hatched_from: float
    hatched: float
    planned: float | None
    used: float | None


@dataclass(frozen=True, slots=True)
class Tick:
    x: float
    number: str


@dataclass(frozen=True, slots=True)
class Bars:
    paper: Paper
    height: float
    bars: tuple[Bar, ...]
    ticks: tuple[Tick, ...]
    rule_y: float
    bottom: float
    unit: str
    left_out: int

    @property
    def left(self) -> float:
        return SIDE

    @property
    def right(self) -> float:
        return self.paper.width - SIDE

    @property
    def bar_height(self) -> float:
        return BAR


def bars(drawn: Sequence[Measured], unit: str, paper: Paper = WIDE, *, of: int = 0) -> Bars:
    """Of the first `MOST` of so many rows; what was taken off again lies below nought and is drawn as nothing."""
    most = max([row.most for row in drawn] + [1.0]) * 1.02
    scale = paper.rule / most
    ticks = tuple(_ticks(most, scale, wide(f"0 {unit}"), paper))
    lines = max((len(_lines(row, paper)) for row in drawn), default=0) if paper.slim else 0
    each = WRITING + BAR + BETWEEN + lines * FIGURES
    bottom = TOP + each * len(drawn)
    return Bars(paper, bottom + 4, tuple(_bar(row, TOP + n * each, scale, paper) for n, row in enumerate(drawn)),
                ticks, TOP - 10, bottom, unit, max(of - len(drawn), 0))


def _ticks(most: float, scale: float, first: float, paper: Paper) -> Iterable[Tick]:
    """So far apart that no number meets the next, nor the first one with its unit."""
    apart = max(wide(_number(int(most))) + EM, first + EM + wide(_number(int(most))) / 2)
    step = next((s for s in STEPS if most / s <= 10 and s * scale >= apart), STEPS[-1])
    for n in range(int(most / step) + 1):
        x, number = _at(n * step, scale), _number(n * step)
        yield Tick(x, number if x + wide(number) / 2 <= paper.width else "")


def _number(value: int) -> str:
    return f"{value:,}".replace(",", "\u202f")


def _bar(row: Measured, top: float, scale: float, paper: Paper) -> Bar:
    filled, hatched = max(row.filled, 0) * scale, max(row.hatched, 0) * scale
    y = top + WRITING
    figures = _lines(row, paper)
    room = paper.rule if paper.slim else paper.rule - wide(figures[0]) - EM
    start = y + BAR + 15 if paper.slim else top + 13
    return Bar(fitting(row.name, room), round(top + 13, 1),
               tuple(Line(text, round(start + n * FIGURES, 1)) for n, text in enumerate(figures)), round(y, 1),
               round(filled, 1), round(SIDE + filled, 1), round(hatched, 1),
               None if row.planned is None else _at(max(row.planned, 0), scale),
               None if row.used is None else _at(max(row.used, 0), scale))


def _lines(row: Measured, paper: Paper) -> list[str]:
    """Its figures in one line; on slim paper in as many as they need."""
    lines = [""]
    for part in row.figures:
        together = f"{lines[-1]} · {part}" if lines[-1] else part
        if paper.slim and lines[-1] and wide(together) > paper.rule:
            lines.append(part)
        else:
            lines[-1] = together
    return [fitting(line, paper.rule) for line in lines]


def _at(value: float, scale: float) -> float:
    return round(SIDE + value * scale, 1)


# ---- writing that fits -----------------------------------------------------------------------------------


def wide(text: str) -> float:
    """Units it takes at most, in any of the typefaces a page may be shown in."""
    return sum(_letter(char) for char in text)


def _letter(char: str) -> float:
    if not char.isascii():
        return EM * (0.65 if char in "·–−’\u202f " or (char.isalpha() and ord(char) < 0x250) else 1.4)
    if char in "MW@%mw":
        return EM
    return EM * (0.8 if char.isupper() else 0.64)


def fitting(text: str, room: float) -> str:
    """All of it, or as much of its beginning as there is room for."""
    if wide(text) <= room:
        return text
    kept, left = "", room - wide("…") - 1e-6  # which rounding may add
    for char in text:
        left -= _letter(char)
        if left < 0:
            break
        kept += char
    return kept.rstrip() + "…"
