"""How dates, times and decimals are written for whoever reads: as the language their browser asks for first has it.

What is typed is not written so: a reading is typed with a point, and where something was typed it comes back as it was.
Forms of dates, names of days and months, decimal marks: Unicode CLDR, as Babel carries it. Where nobody asks for a
language (mail, sheets made by a program), they are written as this house does: Wed 25 Nov, 22:42, 12.5.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from typing import Any

from babel import Locale, UnknownLocaleError
from babel.dates import format_skeleton, format_time
from babel.numbers import get_decimal_symbol
from django.utils import formats
from django.utils.dates import MONTHS_3, WEEKDAYS_ABBR
from django.utils.translation.trans_real import parse_accept_lang_header

# Of a date, as CLDR names its parts, and as Django's format letters do.
DAY, DAY_AND_YEAR, WHOLE, SHORT, WEEKDAY = "MMMEd", "yMMMEd", "yMMMd", "MMMd", "E"
HOUSE = {DAY: "D j M", DAY_AND_YEAR: "D j M Y", WHOLE: "j M Y", SHORT: "j M", WEEKDAY: "D"}

_locale: ContextVar[Locale | None] = ContextVar("locale", default=None)


@contextmanager
def written_for(accepted: str) -> Iterator[None]:
    """`accepted`: the browser's `Accept-Language` (RFC 9110)."""
    before = _locale.set(locale_of(accepted))
    try:
        yield
    finally:
        _locale.reset(before)


@lru_cache(maxsize=500)
def locale_of(accepted: str) -> Locale | None:
    """The first language asked for that anybody knows how to write dates in; None: as this house does."""
    for name, _weight in parse_accept_lang_header(accepted[:200].lower()):
        try:
            return Locale.parse(name, sep="-")
        except (UnknownLocaleError, ValueError):
            continue
    return None


def written_as() -> str:
    """The name of what is written in: a page made for one is no page for another."""
    return str(_locale.get() or "")


def date(day: dt.date, parts: str) -> str:
    locale = _locale.get()
    return formats.date_format(day, HOUSE[parts]) if locale is None else _date(day, parts, locale)


@lru_cache(maxsize=20_000)
def _date(day: dt.date, parts: str, locale: Locale) -> str:
    return format_skeleton(parts, day, locale=locale)


def clock(at: dt.datetime) -> str:
    """The hour and minute of a moment, on the clock it carries."""
    locale = _locale.get()
    return f"{at:%H:%M}" if locale is None else format_time(at.time(), "short", locale=locale)


def decimal(number: str) -> str:
    """A number as Python prints it, with the decimal mark of whoever reads. Thousands are not set apart: on a tape a
    point or a comma among them would be read as a decimal mark."""
    locale = _locale.get()
    return number if locale is None else number.replace(".", _mark(locale))


@cache
def _mark(locale: Locale) -> str:
    return get_decimal_symbol(locale)


def told() -> dict[str, Any]:
    """The same for a telephone, which writes by itself: the decimal mark, patterns as CLDR has them, their names."""
    locale = _locale.get()
    if locale is None:
        return {"decimal": ".", "day": "E d MMM", "day_and_year": "E d MMM y", "clock": "HH:mm", "halves": ["AM", "PM"],
                "weekdays": [str(WEEKDAYS_ABBR[(n - 1) % 7]) for n in range(7)],
                "months": [str(MONTHS_3[n]).title() for n in range(1, 13)]}
    names = {name: getattr(locale, name)["format"]["abbreviated"] for name in ("days", "months", "day_periods")}
    skeletons = locale.datetime_skeletons
    return {"decimal": _mark(locale), "day": skeletons[DAY].pattern, "day_and_year": skeletons[DAY_AND_YEAR].pattern,
            "clock": locale.time_formats["short"].pattern, "halves": [names["day_periods"][h] for h in ("am", "pm")],
            "weekdays": [names["days"][(n - 1) % 7] for n in range(7)],
            "months": [names["months"][n] for n in range(1, 13)]}
