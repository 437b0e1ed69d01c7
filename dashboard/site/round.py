"""Which openings a person has before them, and in which order one drives to them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inspections.models import ReturnTrip
from jobs.acts import Act
from jobs.calc.distance import Place, by_road_km, place
from jobs.models import Assignment, Crew, Opening
from jobs.models.crews import of_a_crew_of
from jobs.roles import Reach, reach
from jobs.stages import Stage

AHEAD = dt.timedelta(days=7)  # a crew that is early has the next ones with it
MOST = 40  # openings on one telephone


class When(StrEnum):
    TODAY = "today"
    LATE = "late"  # the days are over, the opening is not accepted
    COMING = "coming"


@dataclass(frozen=True, slots=True)
class Stop:
    """Where somebody goes: on work that is given, or on a return trip."""

    opening: Opening
    when: When
    crew: Crew | None
    start_day: dt.date
    end_day: dt.date
    pk: int
    trip: ReturnTrip | None = None


def round_of(act: Act) -> list[Stop]:
    """Today's openings in driving order, then those left over, then those of the next days. Each once."""
    stops: dict[int, Stop] = {}
    for stop in sorted(_stops(act), key=lambda s: (list(When).index(s.when), s.start_day, s.pk)):
        stops.setdefault(stop.opening.pk, stop)
    today = [stop for stop in stops.values() if stop.when is When.TODAY]
    others = [stop for stop in stops.values() if stop.when is not When.TODAY]
    return [*in_driving_order(today), *others][:MOST]


def _stops(act: Act) -> Iterable[Stop]:
    yield from _to_trips(act)
    soon = act.now.date() + AHEAD + dt.timedelta(days=1)
    given = Assignment.objects.filter(start_day__lte=soon).exclude(opening__stage=Stage.ACCEPTED.value)
    if reach(act.role, "record readings") is not Reach.ALL:
        given = given.filter(of_a_crew_of(act.user, act.today()))
    else:  # whoever may record anything anywhere sees what is on today, not all that was ever left over
        given = given.filter(end_day__gte=act.now.date() - dt.timedelta(days=1))
    rows = given.select_related("crew", "opening__job__builder", "opening__job__owner", "opening__unit__system")
    for one in rows.distinct():
        when = _when(one.start_day, one.end_day, act.today(one.opening.job.time_zone))
        if when is not None:
            yield Stop(one.opening, when, one.crew, one.start_day, one.end_day, one.pk)


def _to_trips(act: Act) -> Iterable[Stop]:
    """Return trips still to be made: of the crews one is on; all of them for whoever takes the calls."""
    if reach(act.role, "log an adjustment") is None:
        return
    rows = ReturnTrip.objects.to_be_made().filter(day__lte=act.now.date() + AHEAD + dt.timedelta(days=1))
    if reach(act.role, "log a callback") is None:
        rows = rows.filter(of_a_crew_of(act.user, act.today()))
    of = "callback__opening__"
    for trip in rows.select_related("crew", "callback__panel", f"{of}job__builder", f"{of}job__owner",
                                    f"{of}unit__system").distinct():
        opening = trip.callback.opening
        when = _when(trip.day, trip.day, act.today(opening.job.time_zone))
        if when is not None:
            yield Stop(opening, when, trip.crew, trip.day, trip.day, trip.pk, trip)


def _when(first: dt.date, last: dt.date, today: dt.date) -> When | None:
    if last < today:
        return When.LATE
    if first <= today:
        return When.TODAY
    return When.COMING if first <= today + AHEAD else None


def in_driving_order(stops: Sequence[Stop]) -> list[Stop]:
    """From the crew's base always to the nearest that is left; of a crew whose base or job has no place on the map,
    by job and tag. Good for a handful of places a day; no route is searched for."""
    ordered: list[Stop] = []
    for crew in dict.fromkeys(stop.crew for stop in stops):
        left = sorted((stop for stop in stops if stop.crew == crew), key=_named)
        here = None if crew is None else place(crew.latitude, crew.longitude)
        while left:
            nearest = min(left, key=lambda stop: _far(here, stop))  # of those as near the first: one job's together
            left.remove(nearest)
            ordered.append(nearest)
            here = _where(nearest) or here
    return ordered


def _named(stop: Stop) -> tuple[str, str]:
    return stop.opening.job.number, stop.opening.tag


def _where(stop: Stop) -> Place | None:
    return place(stop.opening.job.latitude, stop.opening.job.longitude)


def _far(here: Place | None, stop: Stop) -> float:
    km = by_road_km(here, _where(stop))
    return float("inf") if km is None else km
