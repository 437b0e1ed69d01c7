"""The floor under a sill as a continuous profile: straight from station to station, measured exactly.

Everything is whole numbers. Where a sill end falls between two stations its height is a fraction, so all heights of
a profile are kept in 1/`scale` nm, `scale` being what makes them whole (1 where every end is a station).

Why finitely many pairs are enough: |z(a) - z(b)| with |a - b| <= window is piecewise linear in (a, b), so it is
greatest where nothing can move: at two stations, or at a station and the point exactly one window away.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm

from inspections.calc import lines

# A place on a line: (i, step, span) lies step/span of the way from station i to the next; step 0 is station i itself.
Spot = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the floor inside the sill, as far as it was read; the sill's ends count as stations."""

    name: str
    at: tuple[int, ...]
    heights: tuple[int, ...]

    def filled(self, depths: Sequence[int]) -> Line:
        return replace(self, heights=tuple(h + d for h, d in zip(self.heights, depths, strict=True)))


@dataclass(frozen=True, slots=True)
class Profile:
    lines: tuple[Line, ...]
    scale: int = 1

    def nm(self, height: int) -> int | Fraction:
        return height if self.scale == 1 else Fraction(height, self.scale)

    def filled(self, depths: Sequence[Sequence[int]]) -> Profile:
        """Raised at each station by so many whole nm (lowered where negative)."""
        scaled = [[d * self.scale for d in line] for line in depths]
        return replace(self, lines=tuple(line.filled(d) for line, d in zip(self.lines, scaled, strict=True)))


@dataclass(frozen=True, slots=True)
class Rise:
    by: int | Fraction
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Spread:
    """The least and the greatest of something, and where."""

    least: int | Fraction
    least_at: int
    greatest: int | Fraction
    greatest_at: int
    least_line: str = ""
    greatest_line: str = ""


def within_sill(read: Mapping[str, Sequence[lines.Point]], start: int, end: int) -> Profile:
    """The lines cut off at the sill's ends. A line that was read nowhere on the sill is left out."""
    cut = {name: _cut(points, start, end) for name, points in read.items()}
    scale = lcm(*(Fraction(h).denominator for points in cut.values() for _, h in points))
    return Profile(
        tuple(
            Line(name, tuple(x for x, _ in points), tuple(int(h * scale) for _, h in points))
            for name, points in cut.items()
            if points
        ),
        scale,
    )


def _cut(points: Sequence[lines.Point], start: int, end: int) -> list[lines.Point]:
    inside = [(x, h) for x, h in points if start <= x <= end]
    if not points or points[0][0] > end or points[-1][0] < start:
        return []
    if points[0][0] < start and (not inside or inside[0][0] > start):
        inside.insert(0, (start, lines.profile_at(points, start)))
    if points[-1][0] > end and inside[-1][0] < end:
        inside.append((end, lines.profile_at(points, end)))
    return inside


# ---- places and pairs: they follow from the stations alone, whatever the heights --------------------------


def spot(at: Sequence[int], x: int) -> Spot:
    i = bisect_right(at, x) - 1
    return (i, 0, 1) if at[i] == x else (i, x - at[i], at[i + 1] - at[i])


def extreme_pairs(at: Sequence[int], window: int) -> Iterator[tuple[int, Spot]]:
    """Each station with every station up to one window on, and with the points exactly one window on and back."""
    last = len(at) - 1
    on = back = 0
    for i, x in enumerate(at):
        while on < last and at[on + 1] <= x + window:
            on += 1
        for j in range(i + 1, on + 1):
            yield i, (j, 0, 1)
        if on < last and at[on] < x + window:
            yield i, (on, x + window - at[on], at[on + 1] - at[on])
        while back < last and at[back + 1] <= x - window:
            back += 1
        if at[back] < x - window:
            yield i, (back, x - window - at[back], at[back + 1] - at[back])


def places_across(outer: Sequence[int], inner: Sequence[int]) -> Iterator[tuple[int, Spot, Spot]]:
    """Every place where either line has a station and both were read, with the spot on each."""
    start, end = max(outer[0], inner[0]), min(outer[-1], inner[-1])
    for x in sorted({*outer, *inner}):
        if start <= x <= end:
            yield x, spot(outer, x), spot(inner, x)


# ---- what is measured ------------------------------------------------------------------------------------


def worst_rise(line: Line, window: int, scale: int = 1) -> Rise:
    """The greatest |z(a) - z(b)| with |a - b| <= window; among equals the one that starts first, then ends first."""
    at, z = line.at, line.heights
    most, over, start, end = -1, 1, at[0], at[0]
    for i, (j, step, span) in extreme_pairs(at, window):
        rise, x = z[i] - z[j], at[j] + step
        if step:
            rise = rise * span - (z[j + 1] - z[j]) * step
        by = (abs(rise) * over) - (most * span)
        if by < 0:
            continue
        place = (at[i], x) if at[i] < x else (x, at[i])
        if by > 0 or place < (start, end):
            most, over, (start, end) = abs(rise), span, place
    if most < 0:
        return Rise(0, at[0], at[0])
    by = Fraction(most, over * scale)
    return Rise(by.numerator if by.denominator == 1 else by, start, end)


def heights_between(profile: Profile) -> Spread:
    """The lowest and the highest place of all lines together: the first of equals, the outer line first."""
    places = [(h, x, line.name) for line in profile.lines for x, h in zip(line.at, line.heights, strict=True)]
    low, high = min(places, key=lambda p: p[0]), max(places, key=lambda p: p[0])
    return Spread(profile.nm(low[0]), low[1], profile.nm(high[0]), high[1], low[2], high[2])


def across(outer: Line, inner: Line, scale: int = 1) -> Spread | None:
    """The least and the greatest of inner less outer; None where the two lines share no place."""
    least = greatest = None
    for x, on_outer, on_inner in places_across(outer.at, inner.at):
        up, over = _height(inner.heights, on_inner)
        down, under = _height(outer.heights, on_outer)
        fall, span = up * under - down * over, over * under
        if least is None or fall * least[1] < least[0] * span:
            least = (fall, span, x)
        if greatest is None or fall * greatest[1] > greatest[0] * span:
            greatest = (fall, span, x)
    if least is None or greatest is None:
        return None
    return Spread(
        Fraction(least[0], least[1] * scale), least[2], Fraction(greatest[0], greatest[1] * scale), greatest[2]
    )


def _height(heights: Sequence[int], place: Spot) -> tuple[int, int]:
    i, step, span = place
    return (heights[i], 1) if not step else (heights[i] * span + (heights[i + 1] - heights[i]) * step, span)
