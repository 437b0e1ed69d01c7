"""Calendar days: which of them are worked, and which week they belong to.

A working week is written Monday to Sunday, "1111100": 1 for a day that is worked. Weeks start on Monday (ISO 8601).
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta

from jobs.calc.verdict import BadInput

FIRST, LAST = date(2000, 1, 1), date(2199, 12, 31)  # what lies outside is a slip of the year
LONGEST_SPAN = 731  # two years; a date mistyped by a century must not be walked day by day


def span(first: date, last: date) -> tuple[date, ...]:
    """Every day from first to last, both included."""
    if last < first:
        raise BadInput("end_day", last.isoformat(), "the end cannot be before the start")
    if (last - first).days >= LONGEST_SPAN:
        raise BadInput("end_day", last.isoformat(), "longer than two years: check the dates")
    return tuple(first + timedelta(days=n) for n in range((last - first).days + 1))


def is_a_slip(day: date) -> bool:
    """Whether nobody can have meant this year."""
    return not FIRST <= day <= LAST


def is_worked(day: date, working_week: str, off: Collection[date] = ()) -> bool:
    return working_week[day.weekday()] == "1" and day not in off


def worked(first: date, last: date, working_week: str, off: Collection[date] = ()) -> tuple[date, ...]:
    """The days from first to last that are worked; all of them when none is: somebody meant to work."""
    days = span(first, last)
    return tuple(day for day in days if is_worked(day, working_week, off)) or days


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())
