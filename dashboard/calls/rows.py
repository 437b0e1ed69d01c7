"""Callbacks and their trips as pages show them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Case, Exists, OuterRef, Q, QuerySet, Value, When
from django.utils.translation import gettext as _

from dashboard import phrases
from dashboard.measures import Reader
from inspections.models import Callback, ReturnTrip
from jobs.acts import Act
from jobs.models import Opening

TRIPS = 6  # of one call among others
RANKS = {severity: n for n, (severity, _label) in enumerate(Callback.SEVERITIES)}


@dataclass(frozen=True, slots=True)
class TripLine:
    trip: ReturnTrip
    day: str
    who: str
    late: bool  # its day is over, and nobody has said what came of it

    @property
    def pk(self) -> int:
        return self.trip.pk

    @property
    def is_made(self) -> bool:
        return self.trip.done_at is not None

    @property
    def is_dropped(self) -> bool:
        """Its callback was closed without it."""
        return not self.is_made and self.trip.callback.closed_at is not None

    @property
    def is_to_come(self) -> bool:
        return not self.is_made and not self.is_dropped


@dataclass(frozen=True, slots=True)
class CallLine:
    call: Callback
    opening: str
    severity: str
    how_soon: str
    called: str
    closed: str
    trips: tuple[TripLine, ...]

    @property
    def last_trips(self) -> tuple[TripLine, ...]:
        """Where there are other calls beside it: its own page has them all."""
        return self.trips[-TRIPS:]

    @property
    def earlier_trips(self) -> int:
        return len(self.trips) - len(self.last_trips)

    @property
    def next_trip(self) -> TripLine | None:
        return next((trip for trip in self.trips if trip.is_to_come), None)


def visible_calls(act: Act) -> QuerySet[Callback]:
    openings = Opening.objects.visible_to(act.user, act.role, act.today())
    return Callback.objects.filter(Exists(openings.filter(pk=OuterRef("opening"))))  # few calls, very many openings


def worst_first(calls: QuerySet[Callback]) -> QuerySet[Callback]:
    """Those of one severity as they came."""
    rank = Case(*(When(severity=severity, then=Value(n)) for severity, n in RANKS.items()), default=Value(len(RANKS)))
    return calls.annotate(rank=rank).order_by("rank", "called_at", "pk")


def with_trips(calls: QuerySet[Callback]) -> QuerySet[Callback]:
    return calls.select_related("opening__job", "panel", "taken_by", "closed_by").prefetch_related("return_trips__crew")


def lines(calls: Iterable[Callback], reader: Reader, act: Act) -> list[CallLine]:
    return [call_line(call, reader.at(call.opening.job.time_zone), act) for call in calls]


def call_line(call: Callback, reader: Reader, act: Act) -> CallLine:
    today = act.today(call.opening.job.time_zone)
    closed = "" if call.closed_at is None else _("Closed %(day)s, %(by)s: %(finding)s (%(whose)s)") % {
        "day": reader.day(call.closed_at), "by": call.closed_by, "finding": call.finding.rstrip("."),
        "whose": str(phrases.WHOSE.get(call.whose, call.whose)).lower()}
    trips = tuple(trip_line(trip, reader, today) for trip in call.return_trips.all())
    return CallLine(call, str(call.opening), str(phrases.SEVERITIES[call.severity]),
                    str(phrases.HOW_SOON[call.severity]), reader.moment(call.called_at), closed, trips)


def trip_line(trip: ReturnTrip, reader: Reader, today: dt.date) -> TripLine:
    return TripLine(trip, reader.day(trip.day), str(trip.crew) if trip.crew else _("nobody named yet"),
                    trip.done_at is None and trip.callback.closed_at is None and trip.day < today)


def after(calls: QuerySet[Callback], last: Callback) -> QuerySet[Callback]:
    """What comes after this one, worst first."""
    rank = RANKS[last.severity]
    return calls.filter(Q(rank__gt=rank) | Q(rank=rank, called_at__gt=last.called_at)
                        | Q(rank=rank, called_at=last.called_at, pk__gt=last.pk))
