"""Public holidays by region, as the `holidays` library knows them, days observed in lieu included.

A region is a country, or a country and its subdivision: "US", "US-CA" (ISO 3166-1 and -2). Where a holiday falls on
a weekend and is observed on a Friday or Monday, both days count.
"""

from __future__ import annotations

from collections.abc import Container
from datetime import date, timedelta
from functools import lru_cache

import holidays


@lru_cache(maxsize=64)
def public_holidays(region: str) -> Container[date]:
    """The days off of a region, to be asked with `in`; none for "". ValueError for a region nobody knows."""
    if not region:
        return frozenset()
    country, _, subdivision = region.upper().partition("-")
    try:
        return holidays.country_holidays(country, subdiv=subdivision or None, observed=True)
    except NotImplementedError:
        raise ValueError(f"no holidays are known for {region!r}: write a country, or one and its part, US-CA") from None


def named_holidays(region: str, first: date, last: date) -> list[tuple[date, str]]:
    """What each day off of a region is called, from first to last; ValueError for a region nobody knows."""
    calendar = public_holidays(region)
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return [(day, str(calendar.get(day))) for day in days if day in calendar]
