"""What one person may do with one opening."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

from jobs.acts import Act
from jobs.models import Opening
from jobs.roles import MAY, Reach, reach


@dataclass
class Rights:
    """What this person may do with one opening, asked of the table of roles with one query at most."""

    act: Act
    opening: Opening

    def __getitem__(self, what: str) -> bool:
        how_far = reach(self.act.role, what)
        return how_far is Reach.ALL or (how_far is not None and self._is_own)

    @cached_property
    def _is_own(self) -> bool:
        # Whatever the act, *own* means the same openings: of the crews one is on, or called back and accepted ones.
        own = next(what for what in MAY if reach(self.act.role, what) is Reach.OWN)
        return Opening.objects.filter(pk=self.opening.pk).open_to(
            own, self.act.user, self.act.role, self.act.today()).exists()


def today_at(opening: Opening, act: Act) -> dt.date:
    return act.today(opening.job.time_zone)
