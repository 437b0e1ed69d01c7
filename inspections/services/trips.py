"""Return trips in the crews' weeks: read once for however many crews."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable

from inspections.models import ReturnTrip
from jobs.services.plans import Booked

Trips = dict[int, list[ReturnTrip]]  # by crew


def trips_between(crews: Collection[int], first: dt.date, last: dt.date) -> Trips:
    """Made or to be made, the first first."""
    found: Trips = {}
    rows = ReturnTrip.objects.not_dropped().filter(crew__in=crews, day__gte=first, day__lte=last)
    for trip in rows.select_related("callback__opening__job"):
        found.setdefault(trip.crew_id, []).append(trip)
    return found


def booked_from(today: dt.date) -> Iterable[Booked]:
    """Those still to be made, as planning weighs them."""
    rows = ReturnTrip.objects.to_be_made().filter(day__gte=today, crew__active=True)
    for trip in rows.select_related("callback__opening__job"):
        opening = trip.callback.opening
        yield Booked(trip.pk, trip.crew_id, trip.day, f"{trip.callback.number}, {opening}", opening.job)
