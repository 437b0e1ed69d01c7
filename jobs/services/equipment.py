"""Lifters and carts as the sums read them: what is left of a rating, and who steers."""

from __future__ import annotations

from typing import Any

from jobs.calc.rating import Equipment as Rated
from jobs.calc.rating import lacking, lacking_to_lift
from jobs.calc.rating_sent import read_one
from jobs.models import Equipment

NO_SOURCE = "no source entered"


def sent_of(one: Equipment) -> dict[str, Any]:
    """What the sum about lifting is sent of it."""
    return {
        "name": one.name, "kind": one.kind, "capacity": kilograms(one.rated_grams), "includes": one.rating_includes,
        "reductions": one.reductions, "circuits": one.circuits,
        "left_with_one_circuit_lost": one.left_with_one_circuit_lost, "people_to_steer": one.people_to_steer,
        "stop_wind": one.stop_wind_m_per_s, "source": one.rating_source or NO_SOURCE,
    }


def rated(one: Equipment) -> Rated:
    return read_one(sent_of(one))


def unknown_of(one: Rated) -> list[dict[str, Any]]:
    """What its maker's manual must still be asked. A cart holds nothing in the air."""
    return [dict(lack) for lack in (lacking_to_lift(one) if one.lifts else lacking(one))]


def kilograms(grams: int | None) -> str | None:
    return None if grams is None else f"{grams // 1000}.{grams % 1000:03}"
