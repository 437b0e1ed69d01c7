"""What the sums of a unit read alike: lengths that may be lacking, whole numbers, masses, letters."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import as_written
from jobs.calc.verdict import BadInput

PANELS_ARE_HEAVY = "panels_are_heavy"  # the caution that goes with every panel's size and mass

POUND = Fraction("0.45359237")  # kg, exact
MASS_UNITS = {"": Fraction(1), "kg": Fraction(1), "g": Fraction(1, 1000), "lb": POUND, "lbs": POUND}
LINEAR_UNITS = {"": Fraction(1), "kg/m": Fraction(1), "lb/ft": POUND / Fraction("0.3048")}
_AMOUNT = re.compile(r"\s*([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*([A-Za-z/]*)\s*")


def lengths(sent: Mapping[str, Any], names: Iterable[str], unit: str, within: str = "", *,
            signed: bool = False) -> dict[str, int]:
    """Those that were sent, in whole nanometres."""
    return {name: reading.length(sent[name], f"{within}{name}", unit=unit, signed=signed)
            for name in names if sent.get(name) is not None}


def count(value: Any, field: str, least: int, most: int) -> int:
    """A whole number, as a number or as text."""
    if isinstance(value, str) and re.fullmatch(r"\s*[0-9]{1,9}\s*", value):
        value = int(value)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise BadInput(field, value, f"a whole number from {least} to {most}")
    return value


def letter(value: Any, field: str) -> str:
    if not isinstance(value, str) or not 0 < len(value.strip()) <= 20:
        raise BadInput(field, value, "the panel's letter")
    return value.strip()


def mass(value: Any, field: str, most: int) -> Fraction:
    """Kilograms, exactly as written: a number of them, or text such as 420 lb."""
    return _amount(value, field, most, MASS_UNITS, "kilograms, or text such as 420 lb")


def linear_mass(value: Any, field: str, most: int) -> Fraction:
    """Kilograms a metre: a number of them, or text such as 1.5 lb/ft."""
    return _amount(value, field, most, LINEAR_UNITS, "kilograms a metre, or text such as 1.5 lb/ft")


def _amount(value: Any, field: str, most: int, units: Mapping[str, Fraction], right: str) -> Fraction:
    if isinstance(value, str):
        match = _AMOUNT.fullmatch(value)
        factor = None if match is None else units.get(match[2].lower())
        if factor is None:
            raise BadInput(field, value, right)
        amount = Fraction(match[1]) * factor
    else:
        amount = as_written(reading.number(value, field, least=0))
    if amount > most:
        raise BadInput(field, value, f"at most {most} {right}")
    return amount
