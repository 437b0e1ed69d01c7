"""What is asked of a report: which days, of which crew and job, by what; and what was typed of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from django.utils.translation import gettext as _

from jobs.calc.days import LONGEST_SPAN, monday_of
from jobs.calc.over_time import DAY, MOST_PERIODS, WEEK, Period, periods

LONGEST = 80  # of anything typed
EIGHT_WEEKS = dt.timedelta(weeks=8)
NAMES = ("from", "to", "each", "by", "crew", "job", "sort")
Choices = Sequence[tuple[str, Any]]


@dataclass
class Asked:
    """Read from an address. What cannot be read is said at its field; what is not offered is as if not asked."""

    typed: Mapping[str, str]
    today: dt.date
    ways: Choices  # by what it may be told
    crews: Choices
    errors: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.first = self._day("from", monday_of(self.today) - EIGHT_WEEKS)
        self.last = min(self._day("to", self.today), self.today)
        self.each = DAY if self._value("each") == DAY else WEEK
        self.by = self._one_of("by", self.ways, self.ways[0][0] if self.ways else "")
        crew = self._one_of("crew", self.crews, "")
        self.crew = int(crew) if crew else None
        self.job = self._value("job")
        self._judge()

    def _value(self, name: str) -> str:
        return self.typed.get(name, "").replace("\x00", "").strip()[:LONGEST]

    def _one_of(self, name: str, offered: Choices, otherwise: str) -> str:
        value = self._value(name)
        return value if value in {key for key, _said in offered} else otherwise

    def _day(self, name: str, otherwise: dt.date) -> dt.date:
        value = self._value(name)
        if not value:
            return otherwise
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            self.errors[name] = _("a day, such as %s") % otherwise.isoformat()
            return otherwise

    def _judge(self) -> None:
        if self.errors:
            return
        if self.first > self.today:
            self.errors["from"] = _("today or before")
        elif self.last < self.first:
            self.errors["to"] = _("the day it begins, or later")
        elif (self.last - self.first).days >= LONGEST_SPAN:
            self.errors["from"] = _("at most two years before it ends")
        elif self.each == DAY and (self.last - self.first).days >= MOST_PERIODS:
            self.errors["from"] = _("at most %d days before it ends; for longer, week by week") % (MOST_PERIODS - 1)

    @property
    def periods(self) -> tuple[Period, ...]:
        return periods(self.first, self.last, self.each)

    def shown(self, name: str) -> str:
        """What stands in a field: as it was typed where that could not be read."""
        if name in self.errors:
            return self._value(name)
        return {"from": self.first.isoformat(), "to": self.last.isoformat(), "each": self.each, "by": self.by,
                "crew": "" if self.crew is None else str(self.crew), "job": self.job}[name]

    @property
    def query(self) -> str:
        """The same again, without its order."""
        kept = {name: self._value(name) for name in NAMES if name != "sort"}
        return urlencode({name: value for name, value in kept.items() if value})

    def sorted(self, key: str) -> str:
        return "&".join(part for part in (self.query, urlencode({"sort": key})) if part)

    @property
    def sort(self) -> str:
        return self._value("sort")
