"""How one value of a door system is shown in a field, and what is made of what was typed there.

`shown` takes what is kept, `read` gives back what the API takes. Lengths go by the reader's unit; masses are
kilograms, temperatures by their letter.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import Any

from dashboard.measures import POUND_FORCE, Reader
from jobs.calc import reading
from jobs.calc.amounts import count, linear_mass, mass, speed
from jobs.calc.lengths import to_mm
from jobs.calc.verdict import BadInput
from units.serializers import RULES

HEAVIEST_METRE, HEAVIEST_PIECE, MOST = 100, 500, 200
MOST_FORCE = 5000  # N: beyond it is a slip of the pen
FORCE_TYPED = re.compile(r"([0-9]{1,6}(?:\.[0-9]{1,6})?) ?(N|lbf|lb|)", re.ASCII | re.IGNORECASE)
BARE = re.compile(r"[-+\u2212]?[0-9]+(\.[0-9]+)?")
GAP = "gap"
LAYERS = "write the layers from outside in, such as pane 6 mm + space 16 mm + laminate 4 mm / 4 mm with 0.76 mm"


@dataclass(frozen=True, slots=True)
class Kind:
    shown: Callable[[Any, Reader], str]
    read: Callable[[str, str, Reader], Any]


def plain(value: float | str) -> str:
    """A number without an exponent, whole where it is whole."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return str(value)
    return f"{Decimal(str(value)):f}".removesuffix(".0")


def in_mm(nm: int) -> str:
    return f"{to_mm(nm).rstrip('0').rstrip('.')} mm"


def _column(nm: int, reader: Reader) -> str:
    """A length of the record itself, whole nanometres."""
    return reader.exactly(nm)


def _length(value: Any, reader: Reader) -> str:
    """A length of a row, as text or as millimetres."""
    try:
        return reader.exactly(reading.length(value, "", unit="mm", signed=True))
    except BadInput:
        return str(value)


def _read_length(text: str, field: str, reader: Reader, signed: bool = False) -> str:
    return in_mm(reading.length(text, field, unit=reader.units, signed=signed))


def _read_width(text: str, field: str, reader: Reader) -> str:
    return GAP if text.lower() == GAP else _read_length(text, field, reader)


def _read_number(text: str, field: str, reader: Reader, least: float | None = 0, most: float | None = None) -> float:
    return _whole(reading.number(text, field, least=least, most=most))


def _whole(value: float) -> float:
    return int(value) if float(value).is_integer() else value


def _degrees(value: Any, reader: Reader, apart: bool = False) -> str:
    if isinstance(value, str):
        return value
    if not reader.in_inches:
        return f"{plain(value)} C"
    return f"{plain(round(value * 9 / 5 + (0 if apart else 32), 6))} F"


def _read_degrees(text: str, field: str, reader: Reader, apart: bool = False) -> float:
    """A bare number is in the reader's own degrees."""
    said = text + ("F" if reader.in_inches else "C") if BARE.fullmatch(text) else text
    return _whole((reading.warmer if apart else reading.temperature)(said, field))


def _read_linear(text: str, field: str, reader: Reader) -> int:
    return round(linear_mass(text, field, HEAVIEST_METRE) * 1000)


def _read_mass(text: str, field: str, reader: Reader, most: int = HEAVIEST_PIECE) -> float:
    return _whole(float(mass(text, field, most)))


def _read_force(text: str, field: str, reader: Reader) -> float:
    found = FORCE_TYPED.fullmatch(text)
    if found is None:
        raise BadInput(field, text, "newtons, such as 120 N, or 27 lbf")
    newtons = float(found[1]) * (POUND_FORCE if found[2].lower() in ("lbf", "lb") else 1)
    return _whole(reading.number(round(newtons, 2), field, least=0, most=MOST_FORCE))


def _read_wind(text: str, field: str, reader: Reader) -> float:
    """A bare number is metres a second; whoever works in inches is asked which: 20 could be read as twice as much."""
    if reader.in_inches and BARE.fullmatch(text):
        raise BadInput(field, text, "say the unit: such as 20 mph, or 9 m/s")
    return round(float(speed(text, field)), 6)


def _read_count(text: str, field: str, reader: Reader) -> int:
    return count(text, field, 1, 1000)


def _read_rule(text: str, field: str, reader: Reader) -> str:
    return reading.choice(text, field, RULES)


def _read_text(text: str, field: str, reader: Reader) -> str:
    return reading.text(text, field)


def _layers(layers: Any, reader: Reader) -> str:
    return " + ".join(_layer(one, reader) for one in layers)


def _layer(layer: Any, reader: Reader) -> str:
    if layer["kind"] == "laminate":
        plies = " / ".join(_thickness(ply) for ply in layer["plies"])
        return f"laminate {plies} with {_thickness(layer['interlayer'])}"
    return f"{layer['kind']} {_thickness(layer.get('nominal' if layer['kind'] == 'pane' else 'width', 0))}"


def _thickness(value: Any) -> str:
    return value if isinstance(value, str) else f"{plain(value)} mm"


def _read_layers(text: str, field: str, reader: Reader) -> list[dict[str, Any]]:
    return [_read_layer(part.strip(), field) for part in text.split("+")]


def _read_layer(text: str, field: str) -> dict[str, Any]:
    kind, _, rest = text.partition(" ")
    kind, rest = kind.lower(), rest.strip()
    if kind in ("pane", "space") and rest:
        return {"kind": kind, "nominal" if kind == "pane" else "width": _made(rest, field)}
    plies, apart, between = rest.partition(" with ")
    if kind != "laminate" or not apart:
        raise BadInput(field, text, LAYERS)
    return {"kind": kind, "plies": [_made(ply.strip(), field) for ply in plies.split("/")],
            "interlayer": _made(between.strip(), field)}


def _made(text: str, field: str) -> str:
    """A thickness; glass is made in millimetres, whoever reads."""
    return in_mm(reading.length(text, field, unit="mm"))


def _as_it_is(value: Any, reader: Reader) -> str:
    return plain(value)


TEXT = Kind(_as_it_is, _read_text)
RULE = Kind(_as_it_is, _read_rule)
SIZE = Kind(_column, _read_length)
OFFSET = Kind(_column, partial(_read_length, signed=True))
LENGTH = Kind(_length, _read_length)
WIDTH = Kind(lambda value, reader: GAP if value == GAP else _length(value, reader), _read_width)
NUMBER = Kind(_as_it_is, _read_number)
ANGLE = Kind(_as_it_is, _read_number)
PERCENT = Kind(_as_it_is, partial(_read_number, most=MOST))
MILLILITRES = Kind(_as_it_is, partial(_read_number, least=1, most=20_000))
COUNT = Kind(_as_it_is, _read_count)
DEGREES = Kind(_degrees, _read_degrees)
WARMER = Kind(partial(_degrees, apart=True), partial(_read_degrees, apart=True))
GRAMS_A_METRE = Kind(lambda grams, reader: f"{plain(grams / 1000)} kg/m", _read_linear)
KILOGRAMS = Kind(lambda kg, reader: kg if isinstance(kg, str) else f"{plain(kg)} kg", _read_mass)
PANEL_MASS = Kind(KILOGRAMS.shown, partial(_read_mass, most=20_000))
WIND = Kind(lambda wind, reader: f"{plain(wind)} m/s", _read_wind)
FORCE = Kind(lambda newtons, reader: newtons if isinstance(newtons, str) else f"{plain(newtons)} N", _read_force)
GLASS = Kind(_layers, _read_layers)
