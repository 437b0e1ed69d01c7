"""Whether a promised day can still be kept: when the work still to do of one opening ends at the earliest.

The steps are taken one after the other. A step takes ceil(person-minutes / hands) minutes of worked days of
`minutes_a_day`, not before what it waits for is there; given to a crew, it ends on the last day it is given for.
What has to cure afterwards runs on the calendar, weekends too. No source: common practice.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

DAY_MINUTES = 1440
ONE_DAY = timedelta(days=1)
FURTHEST = 1000  # days; beyond that the day itself is wrong

LATE, GIVEN_AFTER, TOO_MUCH = "late", "given-after", "too-much"


@dataclass(frozen=True, slots=True)
class Left:
    """One work step still to do."""

    minutes: int  # person-minutes
    hands: int = 1
    cure_minutes: int = 0
    not_before: date | None = None  # what it waits for is there
    given_until: date | None = None  # the last day it is given to a crew for


@dataclass(frozen=True, slots=True)
class Working:
    """The company's own days, Monday to Sunday: 1 for one that is worked."""

    week: str = "1111100"
    off: Container[date] = frozenset()
    minutes_a_day: int = 480

    def first_from(self, day: date) -> date:
        return next((later for later in (day + timedelta(days=n) for n in range(FURTHEST))
                     if self.week[later.weekday()] == "1" and later not in self.off), day)


@dataclass(frozen=True, slots=True)
class Danger:
    why: str
    ends: date  # the earliest, as things stand


def earliest_end(left: Sequence[Left], today: date, working: Working) -> date:
    """The last day of the work still to do; `today` where there is none. What is done today counts as not yet begun."""
    last, free, room = today, today, working.minutes_a_day  # room: what is left of the day that is free next
    for step in left:
        if step.not_before is not None and step.not_before > free:
            free, room = step.not_before, working.minutes_a_day
        if step.given_until is not None and step.given_until >= free:
            last, free, room = step.given_until, step.given_until + ONE_DAY, working.minutes_a_day
        else:
            last, free, room = _worked(last, free, room, ceil(step.minutes / max(step.hands, 1)), working)
        if step.cure_minutes:
            free, room = max(free, last + timedelta(days=ceil(step.cure_minutes / DAY_MINUTES))), working.minutes_a_day
        if (last - today).days > FURTHEST:
            break
    return last


def danger(promised: date, left: Sequence[Left], today: date, working: Working) -> Danger | None:
    """Why the promised day cannot be kept as things stand; None where it can."""
    if not left:
        return None
    ends = earliest_end(left, today, working)
    if promised < today:
        return Danger(LATE, ends)
    if any(step.given_until is not None and step.given_until > promised for step in left):
        return Danger(GIVEN_AFTER, ends)
    return Danger(TOO_MUCH, ends) if ends > promised else None


def _worked(last: date, free: date, room: int, minutes: int, working: Working) -> tuple[date, date, int]:
    """So many minutes further: the last day worked, the day that is free then, and what is left of it."""
    for _day in range(FURTHEST):
        if minutes <= 0:
            break
        day = working.first_from(free)
        room = room if day == free else working.minutes_a_day
        last, done = day, min(minutes, room)
        minutes, room = minutes - done, room - done
        free, room = (day, room) if room else (day + ONE_DAY, working.minutes_a_day)
    return last, free, room
