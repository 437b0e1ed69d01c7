"""How straight and how level a line of readings is, in exact arithmetic.

Points are (at, height) pairs, `at` strictly increasing, whole nanometres or Fractions; widths are vertical.

- total range: highest less lowest.
- least-squares width: greatest less least residual against the line of least squares.
- minimum zone: the least vertical distance of two parallel lines that hold all points. It is the tallest upright
  chord of the points' convex hull (the dual of the linear program: minimise t, 0 <= h - a x - b <= t).

Three different numbers: minimum zone <= least squares, and minimum zone <= range. Name the one a limit is against.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction

Number = int | Fraction
Point = tuple[Number, Number]


def profile_at(points: Sequence[Point], x: Number) -> Fraction:
    """Height at x of the line drawn straight from point to point; ValueError outside it (nothing is extrapolated)."""
    if not points or not points[0][0] <= x <= points[-1][0]:
        raise ValueError("that place lies outside the readings")
    after = bisect_left(points, x, key=lambda p: p[0])
    (right, high) = points[after]
    if right == x:
        return Fraction(high)
    left, low = points[after - 1]
    return low + Fraction((high - low) * (x - left), right - left)


def total_range(points: Sequence[Point]) -> Number:
    heights = [h for _, h in points]
    return max(heights) - min(heights) if heights else 0


def minimum_zone(points: Sequence[Point]) -> Fraction:
    if len(points) < 3:
        return Fraction(0)
    upper, lower = _upper_hull(points), [(x, -h) for x, h in _upper_hull([(x, -h) for x, h in points])]
    places = {x for x, _ in upper} | {x for x, _ in lower}
    return max(profile_at(upper, x) - profile_at(lower, x) for x in places)


def least_squares(points: Sequence[Point]) -> tuple[Fraction, Fraction]:
    """(slope, height at 0) of the line of least squares; needs two points."""
    n = len(points)
    mean_x, mean_h = Fraction(sum(x for x, _ in points), n), Fraction(sum(h for _, h in points), n)
    spread = sum((x - mean_x) ** 2 for x, _ in points)
    slope = sum((x - mean_x) * (h - mean_h) for x, h in points) / spread
    return slope, mean_h - slope * mean_x


def least_squares_width(points: Sequence[Point]) -> Fraction:
    if len(points) < 3:
        return Fraction(0)
    slope, base = least_squares(points)
    left_over = [h - slope * x - base for x, h in points]
    return max(left_over) - min(left_over)


def _upper_hull(points: Sequence[Point]) -> list[Point]:
    hull: list[Point] = []
    for x, h in points:
        while len(hull) > 1 and _does_not_turn_down(hull[-2], hull[-1], (x, h)):
            hull.pop()
        hull.append((x, h))
    return hull


def _does_not_turn_down(a: Point, b: Point, c: Point) -> bool:
    return (b[1] - a[1]) * (c[0] - b[0]) <= (c[1] - b[1]) * (b[0] - a[0])
