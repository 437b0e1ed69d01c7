"""A verdict: what was measured, the limit, whose limit, the margin, the result, the remedy as a code.

It is a value, not a sentence: the words come from message files. Pages, telephone and API render the
same value. Lengths are whole nanometres inside and decimal millimetres outside.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from typing import Any

PASS = "pass"
FAIL = "fail"
NOT_ENOUGH_READINGS = "not_enough_readings"
NOT_ENOUGH_DATA = "not_enough_data"
TAPE_AGAIN = "tape_again"
NO_LIMIT_SET = "no_limit_set"
DOES_NOT_APPLY = "does_not_apply"
RESULTS = (PASS, FAIL, NOT_ENOUGH_READINGS, NOT_ENOUGH_DATA, TAPE_AGAIN, NO_LIMIT_SET, DOES_NOT_APPLY)

COMMON_PRACTICE = "common practice, no published source"
OURS = "a starting value of our own, to be replaced"
MUST_SET = "must be set by the office or the door system"


class BadInput(ValueError):
    """Input that cannot be: names the field, shows what was sent, says what would be right. Never a verdict."""

    def __init__(self, field: str, sent: object, right: str) -> None:
        self.field, self.sent, self.right = field, sent, right
        super().__init__(f"{field}: {right} (sent: {sent!r})")


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit with its source. `value` is in the unit of its quantity (nm, g, °C, N …); None: nobody has set it."""

    value: int | Fraction | float | None
    source: str = COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class Remedy:
    code: str
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing judged. `unit` is the suffix its numbers print under: mm, c, deg, kg, n, pct, mm_per_m, days.

    For `mm` the numbers are nanometres (whole, or a Fraction out of a division); for other units plain numbers.
    """

    quantity: str
    value: int | Fraction | float | None
    limit: int | Fraction | float | None
    within: bool | None
    source: str
    unit: str = "mm"
    least: bool = False  # the limit is a least value: value >= limit
    where: Mapping[str, Any] = field(default_factory=dict)
    remedy: Remedy | None = None

    def as_dict(self) -> dict[str, Any]:
        shown = {"quantity": self.quantity}
        margin = None
        if self.value is not None and self.limit is not None:
            margin = self.value - self.limit if self.least else self.limit - self.value
        beyond = self.within is False
        shown[f"value_{self.unit}"] = printed(self.value, self.unit, self.limit, beyond)
        shown[f"limit_{self.unit}"] = printed(self.limit, self.unit, self.value, beyond)
        shown[f"margin_{self.unit}"] = printed(margin, self.unit, 0, beyond)
        shown["within"] = self.within
        if self.least:
            shown["limit_is"] = "least"
        shown["where"] = {k: printed(v, "mm") if k.endswith("_mm") else v for k, v in self.where.items()}
        shown["source"] = self.source
        remedy = self.remedy
        shown["remedy"] = None if remedy is None else {"code": remedy.code, "values": plain(remedy.values)}
        return shown


@dataclass(frozen=True, slots=True)
class Verdict:
    """`computed` follows from the readings whether or not they pass; keys ending `_mm` hold nanometres."""

    result: str
    findings: tuple[Finding, ...] = ()
    computed: Mapping[str, Any] = field(default_factory=dict)
    missing: tuple[Mapping[str, Any], ...] = ()  # each {"what": code, ... where}
    second_look: tuple[Mapping[str, Any], ...] = ()
    caution: str | None = None

    def as_dict(self) -> dict[str, Any]:
        return {
            "result": self.result,
            "findings": [f.as_dict() for f in self.findings],
            "computed": plain(self.computed),
            "missing": [plain(m) for m in self.missing],
            "second_look": [plain(s) for s in self.second_look],
            "caution": self.caution,
        }

    def with_second_look(self, *more: Mapping[str, Any]) -> Verdict:
        return replace(self, second_look=self.second_look + more)


def overall(findings: Iterable[Finding], missing: Iterable[Any] = ()) -> str:
    """A finding that fails is a fail all the same, whatever is missing; then what is missing; then unset limits."""
    findings = tuple(findings)
    if any(f.within is False for f in findings):
        return FAIL
    if tuple(missing):
        return NOT_ENOUGH_READINGS
    if any(f.within is None for f in findings):
        return NO_LIMIT_SET
    return PASS


def at_most(quantity: str, value: Any, limit: Limit, *, unit: str = "mm", where: Mapping[str, Any] | None = None,
            remedy: Remedy | None = None) -> Finding:
    """On the limit is within it. An unset limit leaves `within` None. The remedy is kept only where it failed."""
    within = None if limit.value is None else value <= limit.value
    return Finding(quantity, value, limit.value, within, limit.source, unit, False, where or {},
                   remedy if within is False else None)


def at_least(quantity: str, value: Any, limit: Limit, *, unit: str = "mm", where: Mapping[str, Any] | None = None,
             remedy: Remedy | None = None) -> Finding:
    within = None if limit.value is None else value >= limit.value
    return Finding(quantity, value, limit.value, within, limit.source, unit, True, where or {},
                   remedy if within is False else None)


# ---- printing -------------------------------------------------------------------------------------------

PLACES = {"mm": 6, "c": 2, "c_apart": 2, "deg": 3, "n": 1, "kg": 3, "pct": 1, "mm_per_m": 6, "days": 1, "hours": 2}


def printed(value: Any, unit: str, limit: Any = None, beyond: bool = False) -> str | None:
    """Decimal text; `mm` takes nanometres and prints millimetres exactly (six places).

    What must be rounded is rounded to nearest, halves away from zero; when it lies beyond `limit` it is rounded
    away from that limit, so that *over* never prints as equal.
    """
    if value is None:
        return None
    places = PLACES.get(unit, 3)
    top, under = _ratio(value)
    if unit != "mm":
        top *= 10**places
    floor, rest = divmod(top, under)
    if not rest:
        whole = floor
    elif beyond and limit is not None:
        whole = floor + 1 if value > limit else floor
    else:
        whole = _half_away(top, under)
    sign, digits = ("-" if whole < 0 else ""), str(abs(whole)).rjust(places + 1, "0")
    return f"{sign}{digits[:-places]}.{digits[-places:]}"


def half_away(value: Fraction | int | float) -> int:
    """Nearest whole number, halves away from zero."""
    return _half_away(*_ratio(value))


# In whole numbers and not in fractions: a verdict of a floor prints a hundred of them.


def _ratio(value: Fraction | int | float) -> tuple[int, int]:
    if type(value) is int:
        return value, 1
    if type(value) is Fraction:
        return value.numerator, value.denominator
    return Fraction(value).as_integer_ratio()


def _half_away(top: int, under: int) -> int:
    whole = (2 * abs(top) + under) // (2 * under)
    return -whole if top < 0 else whole


def plain(value: Any, key: str = "") -> Any:
    """`computed` and the like as JSON: a number under a key with a unit's suffix is printed in that unit."""
    if isinstance(value, (str, bool)) or value is None:
        return value
    if isinstance(value, (int, float, Fraction)):
        unit = _unit_of(key)
        if unit is not None:
            return printed(value, unit)
        return float(value) if isinstance(value, Fraction) else value
    if isinstance(value, (list, tuple)):
        return [plain(v, key) for v in value]
    if isinstance(value, Mapping):
        return {k: plain(v, k) for k, v in value.items()}
    return value


@lru_cache(maxsize=1024)
def _unit_of(key: str) -> str | None:
    suffixes = ("mm_per_m", "mm", "c", "deg", "n", "kg", "pct", "days", "hours")
    return next((unit for unit in suffixes if key.endswith(f"_{unit}")), None)
