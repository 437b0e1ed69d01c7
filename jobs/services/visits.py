"""Visits of crews to openings beside the work that is given to them: the floor above says which there are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from jobs.models import Visit


def write_visits(opening_id: int, visits: Iterable[tuple[int, dt.date]]) -> None:
    """All there are at this opening now, as crew and day; those that are there no more go."""
    wanted = set(visits)
    for had in Visit.objects.filter(opening=opening_id):
        if (had.crew_id, had.day) in wanted:
            wanted.discard((had.crew_id, had.day))
        else:
            had.delete()
    Visit.objects.bulk_create(Visit(opening_id=opening_id, crew_id=crew, day=day) for crew, day in sorted(wanted))
