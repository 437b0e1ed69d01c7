"""An act: who does it, in which role, at what time; carried out in one transaction, with its line in the feed.

Every service takes an `Act` first and does its work inside `with carry_out(act) as done:`. Acts inside acts join
the outer transaction. The lines of the feed are written last, under the tally's row lock, so that positions come
in the order transactions commit.
"""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection, transaction
from django.db.models import F

from jobs.models import Change, Job, Opening, Tally, User
from jobs.roles import Role

# A device's own time counts when it lies within these of the server's; otherwise the server's does, and it is said.
OLDEST_BELIEVED = dt.timedelta(days=30)
NEWEST_BELIEVED = dt.timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class Act:
    """`now` is the server's clock, passed in. `device_time` is what the telephone said, if it did."""

    user: User
    role: str
    now: dt.datetime
    device_time: dt.datetime | None = None

    @classmethod
    def of(cls, user: User, now: dt.datetime, role: str | None = None) -> Act:
        return cls(user=user, role=role or user.role, now=now)

    def at_device_time(self, device_time: dt.datetime | None) -> Act:
        return replace(self, device_time=device_time)

    @property
    def clock_doubtful(self) -> bool:
        if self.device_time is None:
            return False
        return not self.now - OLDEST_BELIEVED <= self.device_time <= self.now + NEWEST_BELIEVED

    @property
    def taken_at(self) -> dt.datetime:
        """The time that counts: never later than the server's."""
        if self.device_time is None or self.clock_doubtful:
            return self.now
        return min(self.device_time, self.now)

    def today(self, zone: str = "UTC") -> dt.date:
        return self.now.astimezone(ZoneInfo(zone)).date()

    @property
    def is_office(self) -> bool:
        return self.role == Role.OFFICE


@dataclass(slots=True)
class Done:
    """What an act did, line by line, for the feed."""

    lines: list[Change] = field(default_factory=list)
    at_end: dict[Hashable, Callable[[], object]] = field(default_factory=dict)

    def once_at_end(self, key: Hashable, work: Callable[[], object]) -> None:
        """Work to be done once, when the outermost act has done everything else, in its transaction."""
        self.at_end.setdefault(key, work)

    def note(self, act: Act, what: str, record: str, record_id: Any, *, opening: Opening | None = None,
             job: Job | None = None, **more: Any) -> None:
        job_id = job.pk if job is not None else (opening.job_id if opening is not None else None)
        self.lines.append(Change(at=act.now, what=what, record=record, record_id=str(record_id),
                                 opening_id=opening.pk if opening is not None else None, job_id=job_id,
                                 by_id=act.user.pk, more=more))


_here = threading.local()


@contextmanager
def carry_out(act: Act | None) -> Iterator[Done]:
    """One transaction around an act, or around the acts it is made of; None where nobody acts but the clock."""
    outer: Done | None = getattr(_here, "done", None)
    if outer is not None:
        with transaction.atomic():
            before = len(outer.lines)
            try:
                yield outer
            except BaseException:
                del outer.lines[before:]
                raise
        return
    done = Done()
    _here.done = done
    try:
        with transaction.atomic():
            yield done
            for work in done.at_end.values():
                work()
            _write(done.lines)
    finally:
        _here.done = None


def _write(lines: list[Change]) -> None:
    if not lines:
        return
    # The row lock is held until commit: whoever comes next gets the positions after these.
    if not Tally.objects.filter(pk=1).update(position=F("position") + len(lines)):
        Tally.objects.get_or_create(pk=1)
        Tally.objects.filter(pk=1).update(position=F("position") + len(lines))
    last = Tally.objects.values_list("position", flat=True).get(pk=1)
    for position, line in enumerate(lines, start=last - len(lines) + 1):
        line.position = position
    Change.objects.bulk_create(lines)


def position() -> int:
    """Where the feed stands: changes whenever anything does, so it serves as the mark of *nothing changed*."""
    with connection.cursor() as cursor:  # asked with every list: a query set would cost three times as much
        cursor.execute(f"SELECT position FROM {Tally._meta.db_table} WHERE id = 1")  # noqa: S608
        found = cursor.fetchone()
    return found[0] if found else 0
