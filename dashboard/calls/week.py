"""What each crew has on the coming days, as somebody who books a trip on the telephone must see it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext as _

from dashboard.measures import Reader
from inspections.models import ReturnTrip
from jobs.calc.days import span
from jobs.models import Assignment, Crew, DayOff
from jobs.services.objections import holidays_of

AHEAD = 7  # days
Has = dict[tuple[int | None, dt.date], list[tuple[str, bool]]]  # by crew and day: what, and whether it is a trip


@dataclass(frozen=True, slots=True)
class DayOfCrew:
    slot: str  # crew and day, as a form sends them
    day: str
    has: tuple[str, ...]
    off: str

    @property
    def is_free(self) -> bool:
        return not self.has and not self.off


@dataclass(frozen=True, slots=True)
class WeekOfCrew:
    name: str
    days: tuple[DayOfCrew, ...]


def crews_days(today: dt.date, region: str, reader: Reader) -> list[WeekOfCrew]:
    """Each crew that goes out, today and the days after; read in four statements however many there are."""
    days = list(span(today, today + dt.timedelta(days=AHEAD - 1)))
    crews = list(Crew.objects.filter(active=True).order_by("name"))
    has, off = _given(crews, days), _days_off(days)
    found = []
    for crew in crews:
        holidays = holidays_of(crew.holiday_region or region, days[0], days[-1])
        found.append(WeekOfCrew(crew.name, tuple(DayOfCrew(
            f"{crew.pk}:{day.isoformat()}", reader.day(day), *_stands(crew, day, has, _off(crew, day, off, holidays)))
            for day in days)))
    return found


def _stands(crew: Crew, day: dt.date, has: Has, off: str) -> tuple[tuple[str, ...], str]:
    """Work given over a weekend is not done on it; a trip that was agreed for it is."""
    return tuple(said for said, is_trip in has.get((crew.pk, day), ()) if is_trip or not off), off


def _given(crews: list[Crew], days: list[dt.date]) -> Has:
    """By crew, as the index of assignments begins with it: what is over for years is not looked at."""
    has: Has = {}
    given = Assignment.objects.filter(crew__in=crews, start_day__lte=days[-1], end_day__gte=days[0])
    for one in given.select_related("opening__job").order_by("start_day", "pk"):
        for day in days:
            work = (str(one.opening), False)
            if one.start_day <= day <= one.end_day and work not in has.setdefault((one.crew_id, day), []):
                has[one.crew_id, day].append(work)
    for trip in ReturnTrip.objects.to_be_made().filter(crew__in=crews, day__in=days).select_related("callback"):
        has.setdefault((trip.crew_id, trip.day), []).append((_("trip, %s") % trip.callback.number, True))
    return has


def _days_off(days: list[dt.date]) -> list[DayOff]:
    return list(DayOff.objects.filter(~Q(crew=None), from_day__lte=days[-1], to_day__gte=days[0]))


def _off(crew: Crew, day: dt.date, off: list[DayOff], holidays: Any) -> str:
    if any(one.crew_id == crew.pk and one.from_day <= day <= one.to_day for one in off):
        return _("day off")
    if day in holidays:
        return _("holiday")
    return "" if crew.working_days[day.weekday():day.weekday() + 1] == "1" else _("not a working day")
