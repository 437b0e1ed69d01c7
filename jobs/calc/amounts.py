"""Whole numbers, masses, speeds and names as people write them; each refused by its field, with what would be right."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import as_written
from jobs.calc.verdict import BadInput

POUND = Fraction("0.45359237")  # kg, exact
MASS_UNITS = {"": Fraction(1), "kg": Fraction(1), "g": Fraction(1, 1000), "lb": POUND, "lbs": POUND}
LINEAR_UNITS = {"": Fraction(1), "kg/m": Fraction(1), "lb/ft": POUND / Fraction("0.3048")}
SPEED_UNITS = {"": Fraction(1), "m/s": Fraction(1), "km/h": Fraction(5, 18), "mph": Fraction("0.44704"),
               "kn": Fraction(1852, 3600), "ft/s": Fraction("0.3048")}
MOST_CAPACITY, MOST_PANEL, MOST_WIND = 20000, 2000, 60  # kg, kg, m/s
_AMOUNT = re.compile(r"\s*([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*([A-Za-z/]*)\s*")


def count(value: Any, field: str, least: int, most: int) -> int:
    """A whole number, as a number or as text."""
    if isinstance(value, str) and re.fullmatch(r"\s*[0-9]{1,9}\s*", value):
        value = int(value)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise BadInput(field, value, f"a whole number from {least} to {most}")
    return value


def mass(value: Any, field: str, most: int) -> Fraction:
    """Kilograms, exactly as written: a number of them, or text such as 420 lb."""
    return _amount(value, field, most, MASS_UNITS, "kilograms, or text such as 420 lb")


def carried_mass(value: Any, field: str, most: int) -> Fraction:
    """Kilograms, more than nought; text such as `420 lb` is read too."""
    carried = mass(value, field, most)
    if not carried:
        raise BadInput(field, value, f"more than 0 and at most {most} kg; write kilograms, or text such as 420 lb")
    return carried


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


def speed(value: Any, field: str) -> Fraction:
    """Metres a second; text such as `20 mph` is read too."""
    right = f"at most {MOST_WIND} m/s, as metres a second or as text such as 20 mph"
    match = _AMOUNT.fullmatch(value) if isinstance(value, str) else None
    factor = None if match is None else SPEED_UNITS.get(match[2].lower())
    if isinstance(value, str) and factor is None:
        raise BadInput(field, value, right)
    found = as_written(reading.number(value, field, least=0)) if match is None else Fraction(match[1]) * factor
    if found > MOST_WIND:
        raise BadInput(field, value, right)
    return found
