"""Floors to judge, and the limits to judge them by."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from jobs.calc.lengths import INCH
from jobs.calc.verdict import Limit

FOOT = 12 * INCH
MM = 1_000_000

# Common practice, no source: 1/16 in in a foot, 1/4 in in all, a bead of 1/2 in. The rest: values of our own.
VALUES: dict[str, Any] = {
    "rise_in_a_foot": INCH // 16,
    "total_range": INCH // 4,
    "cross_fall": INCH // 16,
    "wind": INCH // 16,
    "window": FOOT,
    "widest_spacing": FOOT,
    "bed_least": 0,
    "bead": INCH // 2,
    "squeeze_least": 25,
    "grind_cost": 3,
    "fill_cost": 1,
    "grind_most": None,
}

Points = Sequence[tuple[int, int]]  # (at, height), nm


def limits(**changed: Any) -> dict[str, Limit]:
    return {name: Limit(value) for name, value in {**VALUES, **changed}.items()}


def mm(nm: int) -> Decimal:
    return Decimal(nm).scaleb(-6)


def sent(outer: Points, inner: Points | None = None, **more: Any) -> dict[str, Any]:
    """A payload in millimetres."""
    payload = {"unit": "mm", "stations": _stations(outer), **more}
    return payload if inner is None else {**payload, "inner": _stations(inner)}


def _stations(points: Points) -> list[dict[str, Decimal]]:
    return [{"at": mm(x), "reading": mm(h)} for x, h in points]


def sixteenths(*heights: int) -> list[tuple[int, int]]:
    """Read by the foot."""
    return [(FOOT * i, h * INCH // 16) for i, h in enumerate(heights)]
