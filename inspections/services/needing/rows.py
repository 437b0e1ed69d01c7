"""One thing that needs somebody, and which of them a person may do something about."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.db.models import Exists, Model, OuterRef, Q, QuerySet

from inspections.calc import needs
from inspections.calc.needs import Level, Standing
from jobs.acts import Act
from jobs.models import Assignment, Opening
from jobs.roles import Reach, reach

MOST = 300  # of a kind, the worst first: nobody reads on, and a page stays quick whatever has piled up

# Each is for whoever may do the act that deals with it.
DEALT_WITH_BY = {
    needs.FAILED: "record readings", needs.WAIT: "clear a wait", needs.KEPT: "settle",
    needs.COUNTERSIGN: "countersign", needs.UNFIT: "keep office records", needs.UNASSIGNED: "keep office records",
    needs.PROMISE: "keep office records", needs.ITEM: "close a punch item", needs.ASIDE: "set a part aside",
    needs.DELIVERY: "keep office records", needs.SHORT: "keep office records", needs.CALLBACK: "log a callback",
    needs.CORRECTED: "take note of a correction",
}

Row = TypeVar("Row", bound=Model)


def day_at(opening: Opening, at: dt.datetime) -> dt.date:
    """On the calendar of the job."""
    return at.astimezone(ZoneInfo(opening.job.time_zone)).date()


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for: all where nothing is named."""

    kind: str = ""
    job: str = ""  # part of its number or name
    crew: int | None = None


@dataclass(slots=True)
class Need:
    """`since` is the day it counts from, at the job; `days` from then to today. `values` are for the words."""

    kind: str
    opening: Opening
    since: dt.date
    days: int
    key: str = ""  # the record that the act is done to
    values: Mapping[str, Any] = field(default_factory=dict)
    count: int = 1  # so many of the kind at this opening
    guards: str = ""
    asked: bool = False
    urgent: bool = False
    crew: str = ""  # that has the opening in hand
    crew_in: int | None = None

    @property
    def standing(self) -> Standing:
        return Standing(self.kind, self.days, self.crew_in, self.guards, self.asked, self.urgent,
                        self.opening.job.promised_date, f"{self.opening.job.number} {self.opening.tag}")

    @property
    def level(self) -> Level:
        return needs.level(self.standing)


@dataclass(frozen=True, slots=True)
class Scope:
    """Whose list it is, and what of it is wanted."""

    act: Act
    wanted: Wanted

    @property
    def kinds(self) -> list[str]:
        """What this person may do something about, of what is wanted."""
        return [kind for kind, what in DEALT_WITH_BY.items()
                if reach(self.act.role, what) is not None and self.wanted.kind in ("", kind)]

    def within(self, kind: str, rows: QuerySet[Row], path: str = "opening") -> QuerySet[Row]:
        """Of these rows, those of openings on which this person may do what deals with them. `path` leads from a row to
        its opening; "" where it is one."""
        act, wanted, on = self.act, self.wanted, f"{path}__" if path else ""
        if reach(act.role, DEALT_WITH_BY[kind]) is not Reach.ALL:
            own = Opening.objects.open_to(DEALT_WITH_BY[kind], act.user, act.role, act.today())
            rows = rows.filter(**{f"{path or 'pk'}__in": own})
        if wanted.job:
            rows = rows.filter(Q(**{f"{on}job__number__icontains": wanted.job})
                               | Q(**{f"{on}job__title__icontains": wanted.job}))
        if wanted.crew is not None:
            rows = rows.filter(Exists(Assignment.objects.filter(opening=OuterRef(path or "pk"), crew=wanted.crew)))
        return rows

    def today(self, opening: Opening) -> dt.date:
        return self.act.today(opening.job.time_zone)

    @property
    def latest_today(self) -> dt.date:
        """The furthest that any calendar has got: what is asked of the database, before each job's own is looked at."""
        return self.act.today() + dt.timedelta(days=1)
