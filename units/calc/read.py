"""What the sums of a unit read alike: lengths that may be lacking, whole numbers, masses, letters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from jobs.calc import reading
from jobs.calc.amounts import count, linear_mass, mass
from jobs.calc.verdict import BadInput

__all__ = ["PANELS_ARE_HEAVY", "count", "lengths", "letter", "linear_mass", "mass"]

PANELS_ARE_HEAVY = "panels_are_heavy"  # the caution that goes with every panel's size and mass


def lengths(sent: Mapping[str, Any], names: Iterable[str], unit: str, within: str = "", *,
            signed: bool = False) -> dict[str, int]:
    """Those that were sent, in whole nanometres."""
    return {name: reading.length(sent[name], f"{within}{name}", unit=unit, signed=signed)
            for name in names if sent.get(name) is not None}


def letter(value: Any, field: str) -> str:
    if not isinstance(value, str) or not 0 < len(value.strip()) <= 20:
        raise BadInput(field, value, "the panel's letter")
    return value.strip()
