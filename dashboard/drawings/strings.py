"""Dimension strings below a drawing: each a line between two ticks, its length under it; no two on each other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from dashboard.drawings.elevation import Dimension

LETTER = 10.5  # units that a character of a dimension takes, digits and an m at the widest
AXIS_LETTER = 8.5  # of the smaller writing
ROW = 32.0  # from one row of strings to the next
FIRST = 16.0  # from the drawing to the first row


@dataclass(frozen=True, slots=True)
class Measured:
    """From where to where along the sheet, and what is written under it."""

    start: float
    end: float
    text: str


def below(measured: Iterable[Measured], top: float, sheet_width: float) -> tuple[Dimension, ...]:
    """In their order, each in the first row in which neither its line nor its text meets another's."""
    rows: list[list[tuple[float, float]]] = []
    strings = []
    for one in measured:
        left, right = _written(one, sheet_width)
        takes = (min(left, one.start) - 6, max(right, one.end) + 6)
        row = next((n for n, taken in enumerate(rows) if _is_free(takes, taken)), len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append(takes)
        strings.append(_string(one, top, top + FIRST + row * ROW, (left + right) / 2))
    return tuple(strings)


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


def _string(one: Measured, top: float, y: float, middle: float) -> Dimension:
    ticks = tuple(f"M{x - 5:.1f} {y + 5:.1f}l10 -10" for x in (one.start, one.end))
    stubs = "".join(f"M{x:.1f} {top + 3:.1f}V{y + 6:.1f}" for x in (one.start, one.end))
    return Dimension(f"M{one.start:.1f} {y:.1f}H{one.end:.1f}{stubs}", ticks, round(middle, 1), round(y + 19, 1),
                     one.text)


def upright(x: float, start: float, end: float, text: str, *, on_left: bool) -> Dimension:
    """Beside a drawing, read from the right; its text on the side away from the drawing."""
    ticks = tuple(f"M{x - 5:.1f} {y + 5:.1f}l10 -10" for y in (start, end))
    return Dimension(f"M{x:.1f} {start:.1f}V{end:.1f}", ticks, round(x - 26 if on_left else x - 3, 1),
                     round((start + end) / 2, 1), text, upright=True)
