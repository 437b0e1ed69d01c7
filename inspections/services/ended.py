"""What happened since a reading that left nothing of what was read: the floor was poured again, the wall built anew.

The gate knows what makes a reading too old to go on. This is narrower: by such a reading nothing is put right, packed
or bought any more. Other trades in the opening take nothing off it.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Exists, OuterRef, Q, QuerySet

from inspections.models import Inspection
from jobs.models import Event

ENDED_BY = {"floor-profile": "re-pour", "rough-opening": "structure", "pocket": "structure"}


def ended_by(read: Inspection, events: Iterable[Event]) -> Event | None:
    """The first of these events, in the order they happened, that left nothing of it."""
    return next((event for event in events if event.kind == ENDED_BY.get(read.kind)
                 and event.taken_at >= read.taken_at), None)


def not_ended(reads: QuerySet[Inspection]) -> QuerySet[Inspection]:
    """The same, where the events were not read."""
    for kind, event in ENDED_BY.items():
        since = Event.objects.filter(opening=OuterRef("opening"), kind=event, taken_at__gte=OuterRef("taken_at"))
        reads = reads.filter(~Q(kind=kind) | ~Exists(since))
    return reads
