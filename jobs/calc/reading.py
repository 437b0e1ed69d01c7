"""Reads what was sent into whole nanometres, degrees, grams and the like; refuses what cannot be, naming the field.

A length is a number of millimetres, or text in any unit `lengths.parse` reads; text without a unit takes the
payload's own `unit` ("in" when it has none).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from jobs.calc import lengths
from jobs.calc.verdict import BadInput, Limit

_HUGE = 10**15  # nothing on a site is; a whole number too large for a float cannot be calculated with at all
COLDEST, HOTTEST = -60, 90  # °C, on any site
KILOMETRE = 1_000_000.0  # in millimetres; no length is longer
_DEGREES = re.compile(r"\s*([+\-\u2212]?[0-9]{1,9}(?:\.[0-9]{1,20})?)\s*°?\s*([CcFf]?)\s*")


@dataclass(frozen=True, slots=True)
class ReadingValue:
    """One reading as it is kept: what, where along the member (nm, or None), how much, in which unit (mm means nm)."""

    quantity: str
    value: int | float
    at: int | None = None
    unit: str = "mm"


def unit_of(payload: Mapping[str, Any]) -> str:
    unit = payload.get("unit", "in")
    if unit not in ("in", "mm"):
        raise BadInput("unit", unit, 'say "in" or "mm", or leave it out for inches')
    return unit


def length(value: Any, field: str, *, unit: str = "in", signed: bool = False) -> int:
    """Whole nanometres. `signed=False` refuses a negative size."""
    nm = _near(value) if type(value) is float else None
    if nm is None:
        nm = _exactly(value, field, unit)
    if not signed and nm < 0:
        raise BadInput(field, value, "a size cannot be negative")
    return nm


def each_length(sent: Mapping[str, Any], names: Iterable[str], unit: str, within: str = "", *,
                signed: bool = False) -> dict[str, int]:
    """Those that were sent, in whole nanometres."""
    return {name: length(sent[name], f"{within}{name}", unit=unit, signed=signed)
            for name in names if sent.get(name) is not None}


def _near(value: float) -> int | None:
    """Nanometres, where a number of millimetres lies so near to whole ones that no rounding can be in doubt."""
    if not -KILOMETRE < value < KILOMETRE:
        return None
    scaled = value * lengths.MM
    nm = round(scaled)
    return nm if abs(scaled - nm) < 0.001 else None


def _exactly(value: Any, field: str, unit: str) -> int:
    if isinstance(value, bool) or not isinstance(value, (int, float, str, Decimal)):
        raise BadInput(field, value, 'a length is a number of millimetres or text such as 8\' 0-1/2" or 2451.1 mm')
    try:
        return lengths.parse(value, unit) if isinstance(value, str) else lengths.from_mm(Decimal(str(value)))
    except ValueError as why:
        raise BadInput(field, value, str(why)) from why


def number(value: Any, field: str, *, least: float | None = None, most: float | None = None) -> float:
    if isinstance(value, str):
        match = re.match(r"^\s*[+\-\u2212]?[0-9]+(\.[0-9]+)?\s*$", value)
        if match is None:
            raise BadInput(field, value, "write a plain number, with a point for decimals")
        value = float(value.replace("\u2212", "-"))
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not -_HUGE < value < _HUGE:
        raise BadInput(field, value, "write a plain number, with a point for decimals")
    if (least is not None and value < least) or (most is not None and value > most):
        between = f"{'' if least is None else least} to {'' if most is None else most}"
        raise BadInput(field, value, f"it must lie within {between}")
    return value


def temperature(value: Any, field: str) -> float:
    """°C; text such as `50 F` is read too."""
    if isinstance(value, str):
        degrees, fahrenheit = _degrees(value, field)
        value = float((degrees - 32) * 5 / 9 if fahrenheit else degrees)
    if isinstance(value, float) and not COLDEST <= value <= HOTTEST:
        raise BadInput(field, value, "it must lie within -60 °C to 90 °C (-76 °F to 194 °F)")
    return number(value, field, least=COLDEST, most=HOTTEST)


def warmer(value: Any, field: str) -> float:
    """°C between two temperatures: 5 °F more is 2.78 °C more, wherever the scale starts."""
    if isinstance(value, str):
        degrees, fahrenheit = _degrees(value, field)
        value = float(degrees * 5 / 9 if fahrenheit else degrees)
    return number(value, field, least=0, most=HOTTEST - COLDEST)


def _degrees(text: str, field: str) -> tuple[Fraction, bool]:
    """As written, and whether it is Fahrenheit. In fractions: 19.4 °F is -7 °C, not a hair below it."""
    match = _DEGREES.fullmatch(text)
    if match is None:
        raise BadInput(field, text, "write it as 50 F or 10 C")
    return Fraction(match[1].replace("\u2212", "-")), match[2] in ("F", "f")


def mapping(value: Any, field: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BadInput(field, value, "send an object here")
    return value


def sequence(value: Any, field: str, *, most: int = 2000) -> Sequence[Any]:
    if isinstance(value, (str, bytes)) or not isinstance(value, Sequence):
        raise BadInput(field, value, "send a list here")
    if len(value) > most:
        raise BadInput(field, f"{len(value)} entries", f"at most {most}")
    return value


def choice(value: Any, field: str, allowed: Sequence[str]) -> str:
    if value not in allowed:
        raise BadInput(field, value, "one of: " + ", ".join(allowed))
    return value


def flag(value: Any, field: str) -> bool:
    if not isinstance(value, bool):
        raise BadInput(field, value, "true or false")
    return value


def text(value: Any, field: str, *, most: int = 200) -> str:
    """Text as it is, and none for what was not sent; a number or a list is no name and no source."""
    if value is None:
        return ""
    if not isinstance(value, str) or len(value) > most:
        raise BadInput(field, value, f"text of at most {most} characters")
    return value


def letter(value: Any, field: str) -> str:
    if not isinstance(value, str) or not 0 < len(value.strip()) <= 20:
        raise BadInput(field, value, "the panel's letter")
    return value.strip()


def need(payload: Mapping[str, Any], name: str, within: str = "") -> Any:
    """The value under `name`, or an error that says it is lacking."""
    if payload.get(name) is None:
        raise BadInput(f"{within}{name}", None, "this is needed")
    return payload[name]


READERS = {
    "mm": lambda v, f, u: length(v, f, unit=u, signed=True),
    "c_apart": lambda v, f, u: warmer(v, f),
}


def limits(sent: Any, kinds: Mapping[str, str], shipped: Mapping[str, Limit], unit: str = "in") -> dict[str, Limit]:
    """Limits to judge by: those sent (`{"rack": "1/8"}` or `{"rack": {"value": .., "source": ..}}`) over shipped ones.

    `kinds` maps each limit's name to its unit (mm, c_apart, n, pct, number). None of them is ever below nought.
    """
    chosen = {name: shipped.get(name, Limit(None, "no limit set")) for name in kinds}
    if sent is None:
        return chosen
    for name, given in mapping(sent, "limits").items():
        if name not in kinds:
            raise BadInput(f"limits.{name}", given, "no such limit here; there are: " + ", ".join(sorted(kinds)))
        with_source = given if isinstance(given, Mapping) else {"value": given}
        chosen[name] = Limit(_limit(with_source.get("value"), f"limits.{name}", kinds[name], unit),
                             text(with_source.get("source"), f"limits.{name}.source") or "as sent")
    return chosen


def _limit(sent: Any, field: str, kind: str, unit: str) -> int | float | None:
    if sent is None:
        return None
    value = READERS.get(kind, lambda v, f, u: number(v, f))(sent, field, unit)
    if value < 0:
        raise BadInput(field, sent, "nought or more")
    return value
