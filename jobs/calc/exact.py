"""A decimal number as it was written: 12.3 is 123/10, so that a reading on its limit is within it.

The nearest binary number to 12.26 less that to 9.26 falls short of 3; the fractions do not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from jobs.calc.verdict import Limit, half_away

NO_LIMIT = Limit(None, "no limit set")


def as_written(value: int | float | Fraction) -> Fraction:
    return value if isinstance(value, Fraction) else Fraction(str(value))


def every_limit(names: Iterable[str], given: Mapping[str, Limit]) -> dict[str, Limit]:
    """All the limits a kind is judged by, as written; what nobody gave is a limit that is not set."""
    found = {name: given.get(name, NO_LIMIT) for name in names}
    return {name: limit if limit.value is None else Limit(as_written(limit.value), limit.source)
            for name, limit in found.items()}


def to_places(value: int | float | Fraction, places: int) -> Fraction:
    """Rounded to so many decimal places, halves away from zero: what came out of a sine, a root or a logarithm."""
    return Fraction(half_away(Fraction(value) * 10**places), 10**places)
