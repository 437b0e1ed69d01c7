"""Lengths: what people write and what phones make of it, into whole nanometres; and back to text.

1 in = 25.4 mm exactly, so 1/64 in is 396,875 nm exactly. Text that could mean two lengths is refused, with the reason:
a wrong length is dearer than a second try. Rounding is to nearest, halves away from zero.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from jobs.calc.verdict import half_away, printed

MM = 1_000_000
INCH = 25_400_000
FOOT = 12 * INCH
SIXTEENTH = INCH // 16
LONGEST = 10**12  # a kilometre; a JavaScript number still holds it exactly
LONGEST_TEXT = 60

FEET_NAMES = ("'", "ft", "ft.", "foot", "feet")
INCH_NAMES = ('"', "in", "in.", "inch", "inches")
UNITS: dict[str, int] = {name: FOOT for name in FEET_NAMES} | {name: INCH for name in INCH_NAMES}
UNITS |= {"mm": MM, "cm": 10 * MM, "m": 1000 * MM}
PARTS = (1, 2, 4, 8, 16, 32, 64)  # what an inch may be divided into on paper; each part is a whole number of nanometres

# Bottoms of fractions somebody would write. 1/61 is 1/16 with two keys swapped, not a length.
BOTTOMS = frozenset((*range(2, 13), 16, 32, 64, 128, 100, 1000))

EXAMPLES = "write a length such as 96 1/2\", 8' 0-1/2\", 2451.1 mm, 245.11 cm or 2.4511 m"
COMMA = "a comma can mean a decimal point or thousands: leave it out, and write decimals with a point, 2451.1"
TWO_NUMBERS = "two numbers side by side can be read two ways: write 8' 6\" for feet and inches, 8 1/2\" for a fraction"
TAKEN_OFF = "this can be read as a fraction added or taken off: write 96 1/2 or 96-1/2, and a minus only in front"
TAKEN_OFF_FEET = "this can be read as a part of an inch added or taken off: write 8' 0-1/2\""
TOP_HEAVY = "a fraction's top must be less than its bottom: write 1 1/2 or 5 1/2, since 11/2 can be read as either"
NO_TAPE = "nobody marks an inch in parts like that: check the number under the stroke"
PARTS_OF_MM = "a fraction can be read two ways where millimetres are expected: write 1/16\" or 1.6 mm"
AFTER_FEET = "after feet, write inches with their mark, 8' 6\", where millimetres are expected"
PART_FEET = "part feet together with inches can be read two ways: write whole feet, then inches"
TWELVE = "inches after feet must be less than 12"
TOO_LONG = "longer than a kilometre: check the unit"

_COMMAS = re.compile("[,\u201a\uff0c\u3001\u066b\u066c]")
_SPACES = re.compile(r"[\s\u200b\u2060\ufeff]+")
# A minus (U+2212) stays itself: it is a sign, never the hyphen between a whole and its fraction.
_ALIKE = {ord(char): plain for plain, chars in {
    "'": "\u2019\u2018\u2032\u02b9\u00b4\u201b",
    '"': "\u201d\u201c\u2033\u02ba\u201f",
    "-": "\u2010\u2011\u2012\u2013\ufe63\uff0d",
    "/": "\u2044\u2215\uff0f",
}.items() for char in chars}

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅑": "1/9", "⅒": "1/10",
}
_UPPER, _LOWER = "⁰¹²³⁴⁵⁶⁷⁸⁹", "₀₁₂₃₄₅₆₇₈₉"
_SMALL_DIGITS = str.maketrans(_UPPER + _LOWER, "0123456789" * 2)
_SMALL = re.compile(f"[{''.join(_VULGAR)}]|[{_UPPER}]+/[{_LOWER}]+")

_DECIMAL = r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_FRACTION = r"[0-9]+ ?/ ?[0-9]+"
_AMOUNT = rf"(?:(?:[0-9]+[- ])?{_FRACTION}|{_DECIMAL})"
_INCHES = r"""(?:"|inches|inch|in\.?)"""
_FEET = r"(?:'|feet|foot|ft\.?)"
_LENGTH = re.compile(
    rf"(?P<sign>[-+\u2212]?) ?"
    rf"(?:(?P<feet>{_AMOUNT}) ?{_FEET}(?P<joint> ?-? ?)(?P<inches>{_AMOUNT}) ?(?P<mark>{_INCHES}?)"
    rf"|(?P<amount>{_AMOUNT}) ?(?P<unit>{_FEET}|{_INCHES}|mm|cm|m|))"
)
_SOMETHING_TAKEN_OFF = re.compile(rf".*[0-9](?: -|- | - | ?\u2212) ?{_FRACTION}")
_SIDE_BY_SIDE = re.compile(rf".*{_AMOUNT}[- \u2212]{_AMOUNT}")
_PLAIN_NUMBER = re.compile(r"\s*([-+\u2212]?[0-9]+(?:\.[0-9]+)?)\s*")


class Length(int):
    """Whole nanometres. Arithmetic gives a plain int; `.mm` is what goes out."""

    __slots__ = ()

    @property
    def mm(self) -> str:
        return to_mm(self)


@lru_cache(maxsize=4096)  # a sheet of readings says the same few lengths again and again
def parse(text: str, unit: str = "in") -> int:
    """Nanometres. `unit` ("in" or "mm") is what a bare number means. ValueError carries a sentence that helps."""
    if unit not in ("in", "mm"):
        raise ValueError('a bare number is in "in" or in "mm"')
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"a length takes at most {LONGEST_TEXT} characters")
    if _COMMAS.search(text):
        raise ValueError(COMMA)
    tidy = tidied(text)
    match = _LENGTH.fullmatch(tidy)
    if match is None:
        raise ValueError(_why_not(tidy))
    exact = _inches_after_feet(match, unit) if match["feet"] else _one_amount(match, unit)
    nm = half_away(-exact if match["sign"] in ("-", "\u2212") else exact)
    if abs(nm) > LONGEST:
        raise ValueError(TOO_LONG)
    return nm


def tidied(text: str) -> str:
    """One spelling of each mark: plain quotes, hyphens, `n/d` for every fraction, single spaces, lower case."""
    text = _SMALL.sub(_spelt_out, text.translate(_ALIKE))
    return _SPACES.sub(" ", text).strip().lower().replace("''", '"')


def _spelt_out(small: re.Match[str]) -> str:
    # The spaces keep 1⅜ from becoming 13/8, and ½2 from becoming 1/22.
    touches = small.string[small.start() - 1 : small.start()].isdigit()
    return f"{' ' if touches else ''}{_VULGAR.get(small[0]) or small[0].translate(_SMALL_DIGITS)} "


def _one_amount(match: re.Match[str], unit: str) -> Fraction:
    if not match["unit"] and unit == "mm" and "/" in match["amount"]:
        raise ValueError(PARTS_OF_MM)
    return _amount(match["amount"]) * UNITS[match["unit"] or unit]


def _inches_after_feet(match: re.Match[str], unit: str) -> Fraction:
    feet, inches = _amount(match["feet"]), _amount(match["inches"])
    if not match["feet"].isdigit():
        raise ValueError(PART_FEET)
    if not match["mark"] and unit == "mm":
        raise ValueError(AFTER_FEET)
    if match["joint"].startswith(" -") and 0 < inches < 1:
        raise ValueError(TAKEN_OFF_FEET)
    if inches >= 12:
        raise ValueError(TWELVE)
    return feet * FOOT + inches * INCH


def _amount(text: str) -> Fraction:
    """`96`, `96.5`, `1/2`, `96 1/2` or `96-1/2`."""
    if "/" not in text:
        return Fraction(text)
    *whole, top, bottom = (int(digits) for digits in re.findall("[0-9]+", text))
    if bottom not in BOTTOMS:
        raise ValueError(NO_TAPE)
    if top >= bottom:
        raise ValueError(TOP_HEAVY)
    return sum(whole) + Fraction(top, bottom)


def _why_not(tidy: str) -> str:
    if _SOMETHING_TAKEN_OFF.match(tidy):
        return TAKEN_OFF
    return TWO_NUMBERS if _SIDE_BY_SIDE.match(tidy) else EXAMPLES


def from_mm(value: Decimal | Fraction | int | str) -> int:
    """Nanometres out of a number of millimetres, halves away from zero. ValueError when there is no such length."""
    if isinstance(value, str):
        match = _PLAIN_NUMBER.fullmatch(value) if len(value) <= LONGEST_TEXT else None
        if match is None:
            raise ValueError("write millimetres as a plain number, with a point for decimals")
        value = Decimal(match[1].replace("\u2212", "-"))
    if isinstance(value, Decimal):
        if not value.is_finite():
            raise ValueError("a length is a finite number of millimetres")
        if not value or value.adjusted() < -12:
            return 0  # before a Fraction of it grows a denominator of a million digits
        if value.adjusted() > 12:
            raise ValueError(TOO_LONG)
    whole = isinstance(value, Decimal) and value.as_tuple().exponent >= -6  # nanometres already: no need of a Fraction
    nm = int(value.scaleb(6)) if whole else half_away(Fraction(value) * MM)
    if abs(nm) > LONGEST:
        raise ValueError(TOO_LONG)
    return nm


def to_mm(nm: int) -> str:
    """Millimetres, exact, six places: 1/64 in is 0.396875."""
    return printed(nm, "mm")


def format_inches(nm: int | Fraction, parts: int = 16, feet: bool = False) -> str:
    """`96 1/2"`, or with feet `8' 0 1/2"`, to the nearest 1/`parts` in: reduced, carried, sign kept."""
    if parts not in PARTS:
        raise ValueError("an inch is divided into one of: " + ", ".join(str(p) for p in PARTS))
    marks = half_away(Fraction(nm) * parts / INCH)
    sign, whole, fraction = ("-" if marks < 0 else ""), abs(marks) // parts, Fraction(abs(marks) % parts, parts)
    if feet and whole >= 12:
        sign, whole, always = f"{sign}{whole // 12}' ", whole % 12, True
    else:
        always = not fraction
    words = [str(whole)] if whole or always else []
    return sign + " ".join([*words, str(fraction)] if fraction else words) + '"'


def format_mm(nm: int | Fraction) -> str:
    """`2451.1 mm`, to the nearest tenth."""
    tenths = half_away(Fraction(nm) * 10 / MM)
    return f"{'-' if tenths < 0 else ''}{abs(tenths) // 10}.{abs(tenths) % 10} mm"
