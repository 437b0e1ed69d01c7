"""Dimension strings of a drawing: each a line between two arrow heads with its length; no two on each other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

LETTER = 10.5  # units that a character of a dimension takes, digits and an m at the widest
AXIS_LETTER = 8.5  # of the smaller writing
ROW = 32.0  # from one row of strings to the next
FIRST = 16.0  # from the drawing to the first row
WRITTEN = 8.0  # units that a character takes as a rule: how far a line keeps off a text it would run through
HEAD, HALF_HEAD = 9.0, 3.2  # an arrow head: long, and half as thick
ROOM_FOR_HEADS = 2 * HEAD + 6  # units of a string that has its heads within; a shorter one has them outside


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension string: a line between two arrow heads with its length beside it."""

    path: str
    heads: tuple[str, ...]
    x: float
    y: float
    text: str
    upright: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """From where to where along the sheet, and what is written under it."""

    start: float
    end: float
    text: str


def below(measured: Iterable[Measured], top: float, sheet_width: float) -> tuple[Dimension, ...]:
    """In their order, each in the first row in which neither its line nor its text meets another's; its ends are drawn
    down to it past the texts of the rows over it."""
    rows: list[list[tuple[float, float]]] = []
    texts: list[list[tuple[float, float]]] = []
    placed: list[tuple[Measured, int, float]] = []
    for one in measured:
        left, right = _written(one, sheet_width)
        beyond = 6 + _outside(one.start, one.end)
        takes = (min(left, one.start - beyond), max(right, one.end + beyond))
        row = next((n for n, taken in enumerate(rows) if _is_free(takes, taken)), len(rows))
        if row == len(rows):
            rows.append([])
            texts.append([])
        middle, half = (left + right) / 2, WRITTEN * len(one.text) / 2
        rows[row].append(takes)
        texts[row].append((middle - half, middle + half))
        placed.append((one, row, middle))
    return tuple(_string(one, top, row, middle, texts[:row]) for one, row, middle in placed)


def height(strings: Sequence[Dimension], top: float) -> float:
    """How far down the sheet reaches with them."""
    return max((string.y for string in strings), default=top) + 12


def _written(one: Measured, sheet_width: float) -> tuple[float, float]:
    """Where its text stands: in its middle, drawn in where it would run off the sheet."""
    half = LETTER * len(one.text) / 2
    middle = min(max((one.start + one.end) / 2, half), sheet_width - half)
    return middle - half, middle + half


def _is_free(takes: tuple[float, float], taken: Iterable[tuple[float, float]]) -> bool:
    return all(takes[1] <= left or takes[0] >= right for left, right in taken)


def _string(one: Measured, top: float, row: int, middle: float,
            over: Sequence[Iterable[tuple[float, float]]]) -> Dimension:
    """`over`: from where to where the texts of the rows over it stand."""
    out, y = _outside(one.start, one.end), top + FIRST + row * ROW
    heads = tuple(f"M{x:.1f} {y:.1f}l{way:.1f} {-HALF_HEAD}v{2 * HALF_HEAD}Z" for x, way in _ends(one.start, one.end))
    stubs = "".join(_stub(x, top, y, over) for x in (one.start, one.end))
    return Dimension(f"M{one.start - out:.1f} {y:.1f}H{one.end + out:.1f}{stubs}", heads, round(middle, 1),
                     round(y + 19, 1), one.text)


def _stub(x: float, top: float, y: float, over: Sequence[Iterable[tuple[float, float]]]) -> str:
    """From the drawing down to a string, broken where it would run through a text."""
    path = f"M{x:.1f} {top + 3:.1f}"
    for row, texts in enumerate(over):
        if any(left <= x <= right for left, right in texts):
            line = top + FIRST + row * ROW
            path += f"V{line + 5:.1f}M{x:.1f} {line + 24:.1f}"
    return f"{path}V{y + 6:.1f}"


def _outside(start: float, end: float) -> float:
    """How far its line goes on at both ends, for the heads of a short one."""
    return 0 if end - start >= ROOM_FOR_HEADS else HEAD + 4


def _ends(start: float, end: float) -> tuple[tuple[float, float], ...]:
    """Where its two points are, and which way the rest of each head lies."""
    way = -HEAD if _outside(start, end) else HEAD
    return (start, way), (end, -way)


def upright(x: float, start: float, end: float, text: str, *, on_left: bool) -> Dimension:
    """Beside a drawing, read from the right; its text on the side away from the drawing."""
    out = _outside(start, end)
    heads = tuple(f"M{x:.1f} {y:.1f}l{-HALF_HEAD} {way:.1f}h{2 * HALF_HEAD}Z" for y, way in _ends(start, end))
    stubs = "".join(f"M{x - 6:.1f} {y:.1f}h12" for y in (start, end))
    return Dimension(f"M{x:.1f} {start - out:.1f}V{end + out:.1f}{stubs}", heads,
                     round(x - 26 if on_left else x - 3, 1), round((start + end) / 2, 1), text, upright=True)
