"""The demo's own time: working days counted back from today, and a diary that is carried out from its first page on."""

from __future__ import annotations

import datetime as dt
import random
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from jobs.acts import Act
from jobs.models import User
from jobs.services.objections import holidays_of

ZONE = "America/Los_Angeles"  # of the whole company: an invented town still needs a clock
HOLIDAYS = "US"
REACH = dt.timedelta(days=150)


@dataclass(frozen=True)
class Calendar:
    """Working days by number: 0 is today (or the next one, on a Sunday), -1 the last one before it."""

    now: dt.datetime

    def day(self, number: int) -> dt.date:
        today = self.now.astimezone(ZoneInfo(ZONE)).date()
        closed = holidays_of(HOLIDAYS, today - REACH, today + REACH)
        way = dt.timedelta(days=1 if number >= 0 else -1)
        found, left = today, abs(number) + (number >= 0)
        day = today if number >= 0 else today + way
        while left:
            if day.weekday() < 5 and day not in closed:
                found, left = day, left - 1
            day += way
        return found

    def at(self, number: int, clock: str) -> dt.datetime:
        """That working day at this time, such as `07:30`, where the work is."""
        hours, minutes = map(int, clock.split(":"))
        there = dt.datetime.combine(self.day(number), dt.time(hours, minutes), ZoneInfo(ZONE))
        return there.astimezone(dt.UTC)


@dataclass
class Clock:
    """Moves on by a few minutes with everything that is done."""

    now: dt.datetime
    chance: random.Random

    def act(self, user: User) -> Act:
        self.now += dt.timedelta(seconds=self.chance.randint(50, 240))
        return Act.of(user, self.now)

    def entry_id(self) -> uuid.UUID:
        """A UUID version 7 as the telephone would have chosen it, from this clock and this chance."""
        value = int(self.now.timestamp() * 1000) << 80 | 0x7 << 76 | self.chance.getrandbits(12) << 64
        return uuid.UUID(int=value | 0b10 << 62 | self.chance.getrandbits(62))


Page = Callable[[Clock], None]


@dataclass
class Diary:
    """What happens when. Written in any order; carried out in the order it happened, so that the feed reads true."""

    calendar: Calendar
    seed: int
    pages: list[tuple[dt.datetime, int, Page]] = field(default_factory=list)

    def on(self, number: int, clock: str, page: Page) -> None:
        self.pages.append((self.calendar.at(number, clock), len(self.pages), page))

    def carry_out(self) -> None:
        for now, number, page in sorted(self.pages, key=lambda p: p[:2]):
            chance = random.Random(f"{self.seed} page {number}")  # noqa: S311  (dice, not secrets)
            page(Clock(now, chance))
