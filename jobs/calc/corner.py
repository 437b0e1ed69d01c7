"""A load on its way: round a corner, under a head, into a lift cage. Plan figures; the load is a rectangular block.

    corner    L <= min over t of (a cos t + b sin t - T) / (sin t cos t), 0 < t < 90 degrees
    sideways  L <= b and T <= a, or the reverse: no turning
    leaned    height H cos p + T sin p, width H sin p + T cos p, p off upright
    a cage    p x q in a x b (p >= q, a >= b): p <= a and q <= b, or
              b >= (2 p q a + (p^2 - q^2) sqrt(p^2 + q^2 - a^2)) / (p^2 + q^2)    (Carver, 1957; value from memory)

The corner: the long side's ends slide along the two outer walls, the other long side clears the inner corner. Ordinary
geometry. Lengths are whole nanometres; what comes out of a sine or a root is rounded to the micrometre, angles to
0.001 degrees. Each is held by the tests to a search over positions and angles.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

from jobs.calc.exact import to_places
from jobs.calc.verdict import half_away

UM, MM = 1_000, 1_000_000
THOUSANDTH = Fraction(1, 1000)
UPRIGHT, FLAT = Fraction(0), Fraction(90)
_HALVINGS = 55  # as many as a float has bits for


def micrometres(nm: float) -> int:
    """Nanometres, rounded to the micrometre, halves away from zero."""
    return half_away(Fraction(nm) / UM) * UM


def longest_round(a: int, b: int, thickness: int) -> int | None:
    """The longest load of that thickness that turns the corner between corridors a and b; None where none gets in."""
    if thickness > min(a, b):
        return None
    return micrometres(_length_at(_tightest(a, b, thickness), a, b, thickness))


def _length_at(angle: float, a: int, b: int, thickness: int) -> float:
    s, c = math.sin(angle), math.cos(angle)
    return (a * c + b * s - thickness) / (s * c)


def _tightest(a: int, b: int, thickness: int) -> float:
    """Where the length's derivative b s^3 - a c^3 + T (c^2 - s^2) turns positive: once, since T <= a and T <= b."""
    low, high = 0.0, math.pi / 2
    for _ in range(_HALVINGS):
        angle = (low + high) / 2
        s, c = math.sin(angle), math.cos(angle)
        if b * s**3 - a * c**3 + thickness * (c * c - s * s) < 0:
            low = angle
        else:
            high = angle
    return high


def sideways(length: int, thickness: int, a: int, b: int) -> bool:
    """Along one corridor and then, without turning, broadside along the other."""
    return (length <= b and thickness <= a) or (length <= a and thickness <= b)


def longest_past(a: int, b: int, thickness: int) -> int | None:
    """The longest that gets past the corner at all, turning or sideways."""
    turning = longest_round(a, b, thickness)
    return None if turning is None else max(turning, a, b)


def gets_past(length: int, thickness: int, a: int, b: int) -> bool:
    longest = longest_past(a, b, min(length, thickness))
    return longest is not None and max(length, thickness) <= longest


def width_needed(length: int, thickness: int, other: int) -> int | None:
    """How wide one corridor must be, to the micrometre, where the other stays; None where no width would do."""
    if min(length, thickness) > other:
        return None
    return _least(lambda width: gets_past(length, thickness, width, other), max(length, thickness))


def both_widths_needed(length: int, thickness: int) -> int:
    return _least(lambda width: gets_past(length, thickness, width, width), max(length, thickness))


def _least(fits: Callable[[int], bool], enough: int) -> int:
    """The least whole micrometre that fits, up to one that surely does."""
    low, high = 0, -(-enough // UM)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle * UM) else (middle, high)
    return high * UM


# ---- leaning --------------------------------------------------------------------------------------------


def leaned(height: int, thickness: int, lean: Fraction) -> tuple[int, int]:
    """How tall and how wide it is, leaned so many degrees off upright."""
    if lean == UPRIGHT:
        return height, thickness
    s, c = math.sin(math.radians(lean)), math.cos(math.radians(lean))
    return micrometres(height * c + thickness * s), micrometres(height * s + thickness * c)


def least_lean(height: int, thickness: int, room: int) -> Fraction | None:
    """The least degrees off upright at which it is no taller than the room; None where it is not even lying flat.

    Where the nearest thousandth would leave it a hair too tall, the next: a lean that is printed must do.
    """
    if height <= room:
        return UPRIGHT
    if thickness > room:
        return None
    off = math.atan2(thickness, height) + math.acos(min(1.0, room / math.hypot(height, thickness)))
    lean = min(to_places(math.degrees(off), 3), FLAT)
    return lean if leaned(height, thickness, lean)[0] <= room else min(lean + THOUSANDTH, FLAT)


# ---- a cage ---------------------------------------------------------------------------------------------


def longest_inside(a: int, b: int, thickness: int) -> int | None:
    """The longest load of that thickness that stands in a cage a x b, from corner to corner if need be."""
    long, short = max(a, b), min(a, b)
    if thickness > short:
        return None
    low, high = long, math.ceil(math.hypot(a, b))
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _stands(middle, thickness, long, short) else (low, middle)
    return max(long, micrometres(low))


def _stands(p: int, q: int, a: int, b: int) -> bool:
    """p is longer than a."""
    p, q = max(p, q), min(p, q)
    squares = p * p + q * q
    return b * squares >= 2 * p * q * a + (p * p - q * q) * math.sqrt(squares - a * a)
