"""What waits cost: days and standby.

- *days*: calendar days on the clock of the job, the day it was raised counted, the day it was cleared not: raised on
  Monday and cleared on Thursday are three. Of a longer wait only the days asked for. Two waits on one opening count
  each.
- *standby*: person-minutes, as reported when it was cleared, and of the day it was cleared on: those of a quarter are
  those of its months.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Waited:
    """One wait. `cleared` is None while it is open."""

    raised: date
    cleared: date | None
    standby_minutes: int = 0


@dataclass(frozen=True, slots=True)
class Cost:
    waits: int = 0
    still_open: int = 0
    days: int = 0
    longest: int = 0
    standby_minutes: int = 0

    def and_of(self, wait: Waited, first: date, last: date) -> Cost:
        days = days_of(wait, first, last)
        return Cost(self.waits + 1, self.still_open + (wait.cleared is None), self.days + days,
                    max(self.longest, days), self.standby_minutes + standby_of(wait, first, last))


def days_of(wait: Waited, first: date, last: date) -> int:
    """The days from `first` to `last`, both included, on which it was waited. An open wait lasts on the last day."""
    end = last + timedelta(days=1) if wait.cleared is None else min(wait.cleared, last + timedelta(days=1))
    return max((end - max(wait.raised, first)).days, 0)


def standby_of(wait: Waited, first: date, last: date) -> int:
    return wait.standby_minutes if wait.cleared is not None and first <= wait.cleared <= last else 0


def is_of(wait: Waited, first: date, last: date) -> bool:
    """Whether it was open, or cleared, on any of these days."""
    return wait.raised <= last and (wait.cleared is None or wait.cleared >= first)


def costs(waits: Iterable[tuple[Hashable, Waited]], first: date, last: date) -> dict[Hashable, Cost]:
    found: dict[Hashable, Cost] = {}
    for key, wait in waits:
        if is_of(wait, first, last):
            found[key] = found.get(key, Cost()).and_of(wait, first, last)
    return found
