"""Who asks: the person, the role they act in here, the time. Everything a request may see starts from this."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Sum
from django.utils import timezone
from rest_framework.request import Request

from jobs.acts import Act
from jobs.models import AccessToken, Assignment, Job, Opening, User, Visit
from jobs.models.crews import of_a_crew_of
from jobs.models.jobs import OpeningQuerySet
from jobs.roles import Reach, reach


@dataclass(frozen=True, slots=True)
class Reader:
    """`today` is the day on which crews are looked at, as in the services."""

    user: User
    role: str
    now: dt.datetime

    @property
    def today(self) -> dt.date:
        return self.now.date()

    def reach(self, what: str) -> Reach | None:
        return reach(self.role, what)

    def openings(self) -> OpeningQuerySet:
        return Opening.objects.visible_to(self.user, self.role, self.today)

    def jobs(self) -> Any:
        if self.reach("read") is Reach.ALL:
            return Job.objects.all()
        return Job.objects.filter(pk__in=self.openings().values("job_id"))

    def act(self, device_time: dt.datetime | None = None) -> Act:
        return Act(user=self.user, role=self.role, now=self.now, device_time=device_time)

    def rights(self) -> tuple[Any, ...]:
        """What the reader may see, as a few values that change when it does."""
        if self.reach("read") is Reach.ALL:
            return (self.user.pk, self.role, self.today)
        theirs = of_a_crew_of(self.user, self.today)
        return (self.user.pk, self.role, self.today, *(
            value for rows in (Assignment.objects, Visit.objects)
            for value in rows.filter(theirs).aggregate(n=Count("id"), openings=Sum("opening_id")).values()))


def reader_of(request: Request) -> Reader:
    """The reader, found once a request. A token acts in its own role where it has one."""
    known = getattr(request, "_reader", None)
    if known is None:
        token = request.auth
        role = token.acts_as() if isinstance(token, AccessToken) else request.user.role
        known = request._reader = Reader(request.user, role, timezone.now())
    return known
