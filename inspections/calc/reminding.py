"""When the next message about a punch item is due, and to whom.

First on the due day, as the calendar at the job has it; again each time the company's interval has passed since the
last message; after two to its owner without an answer, to the office. A message goes out from 7:00 to 19:00 on the
clock of who reads it, on a day they work; otherwise on their next working morning.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from jobs.calc.against import Days

OPENS, CLOSES = time(7), time(19)
UNANSWERED = 2  # messages to the owner; the next one goes to the office
LOOKS_AHEAD = 366  # days; who does not work within a year cannot be told
ALWAYS = Days(date.min)


@dataclass(frozen=True, slots=True)
class Week:
    """The days worked by those on one crew, and for whom it holds: `working` is Monday to Sunday, "1111100"."""

    working: str = "1111100"
    off: tuple[Days, ...] = ()
    holidays: Container[date] = frozenset()
    holds: Days = ALWAYS

    def is_worked(self, day: date) -> bool:
        return (self.working[day.weekday()] == "1" and day not in self.holidays
                and not any(days.holds(day) for days in self.off))


@dataclass(frozen=True, slots=True)
class Reader:
    """Who is told, on which clock, and which days they work: those of any crew they are on, else `usual`."""

    zone: tzinfo
    usual: Week = Week()
    crews: tuple[Week, ...] = ()
    away: tuple[Days, ...] = ()

    def works_on(self, day: date) -> bool:
        if any(days.holds(day) for days in self.away):
            return False
        on = [week for week in self.crews if week.holds.holds(day)] or [self.usual]
        return any(week.is_worked(day) for week in on)


@dataclass(frozen=True, slots=True)
class Due:
    """An item's due day, at the job."""

    day: date
    zone: tzinfo


@dataclass(frozen=True, slots=True)
class Told:
    """How often somebody was told of an item, and on which day last (in their own zone)."""

    times: int = 0
    last: date | None = None


def start_of(day: date, zone: tzinfo) -> datetime:
    """The first moment of a day: where clocks skip midnight, the moment they do; where it comes twice, the first."""
    try:
        return datetime.combine(day, time(0), zone).astimezone(UTC)
    except OverflowError:  # the first and the last day of all have hours that UTC has not
        return datetime.combine(day, time(0), UTC)


def next_moment(at: datetime, reader: Reader) -> datetime | None:
    """`at` where a message may go out then, else 7:00 on the reader's next working day; None: never within a year."""
    local = at.astimezone(reader.zone)
    if OPENS <= local.time() < CLOSES and reader.works_on(local.date()):
        return at
    first = local.date() if local.time() < OPENS else local.date() + timedelta(days=1)
    for day in (first + timedelta(days=n) for n in range(LOOKS_AHEAD)):
        if reader.works_on(day):
            return datetime.combine(day, OPENS, reader.zone).astimezone(UTC)
    return None


def next_for_owner(due: Due, told: Told, reader: Reader, now: datetime, *, interval_days: int) -> datetime | None:
    """When its owner is told next, not before now; None once they were told twice: it is the office's turn."""
    if told.times >= UNANSWERED:
        return None
    return next_moment(max(now, _from(due, told.last, reader, interval_days)), reader)


def next_for_office(due: Due, told: Told, reader: Reader, now: datetime, *, owner: Told | None,
                    interval_days: int) -> datetime | None:
    """When one of the office is told next; None while the owner still is. `owner` None: the owner cannot be told."""
    if owner is not None and owner.times < UNANSWERED:
        return None
    last = told.last or (owner.last if owner is not None else None)
    return next_moment(max(now, _from(due, last, reader, interval_days)), reader)


def _from(due: Due, last: date | None, reader: Reader, interval_days: int) -> datetime:
    if last is None:
        return start_of(due.day, due.zone)
    return start_of(last + timedelta(days=interval_days), reader.zone)
