"""Who can be told when: people with their clock, their crews' weeks, days off and public holidays, in four queries."""

from __future__ import annotations

import datetime as dt
import logging
from collections import defaultdict
from collections.abc import Collection, Container, Iterable
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db.models import Q

from inspections.calc.reminding import Reader, Week
from jobs.calc.against import Days
from jobs.calc.holidays import public_holidays
from jobs.models import CrewMember, DayOff, OfficeSettings, User

log = logging.getLogger(__name__)


def readers(users: Collection[User], office: OfficeSettings, now: dt.datetime) -> dict[int, Reader]:
    """Each of these people, by id, as somebody who reads mail."""
    since = now.date() - dt.timedelta(days=1)
    memberships = _memberships(users, since)
    off_crew, off_person = _days_off(users, memberships, since)
    on_crews: dict[int, list[Week]] = defaultdict(list)
    zones = {user.pk: [user.time_zone] for user in users}
    for member in memberships:
        crew = member.crew
        zones[member.user_id].append(crew.time_zone)
        on_crews[member.user_id].append(Week(
            working=crew.working_days, off=tuple(off_crew[crew.pk]), holds=Days(member.from_day, member.to_day),
            holidays=holidays_of(crew.holiday_region or office.holiday_region)))
    usual = Week(working=office.working_days, holidays=holidays_of(office.holiday_region))
    return {user.pk: Reader(zone=_own_zone(*zones[user.pk], office.time_zone), usual=usual,
                            crews=tuple(on_crews[user.pk]), away=tuple(off_person[user.pk])) for user in users}


def clock_of(user: User, office: OfficeSettings) -> ZoneInfo:
    """The clock of one who looks at the company as a whole: their own, else the company's."""
    return _own_zone(user.time_zone, office.time_zone)


def _own_zone(*names: str) -> ZoneInfo:
    """Somebody's own zone, else their crew's, else the company's. UTC is what stands before anybody has said one."""
    return zone_of(*(name for name in names if name != "UTC"))


def zone_of(*names: str) -> ZoneInfo:
    """The first of these that is a time zone, else UTC: one mistyped zone must not keep everybody from being told."""
    for name in filter(None, names):
        try:
            return ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            log.warning("There is no time zone %r.", name)
    return ZoneInfo("UTC")


def holidays_of(region: str) -> Container[dt.date]:
    try:
        return public_holidays(region)
    except ValueError as why:
        log.warning("Working as if there were no holidays: %s.", why)
        return frozenset()


def _memberships(users: Iterable[User], since: dt.date) -> list[CrewMember]:
    return list(CrewMember.objects.filter(Q(to_day=None) | Q(to_day__gte=since), user__in=users, crew__active=True)
                .select_related("crew").order_by("id"))


def _days_off(users: Iterable[User], memberships: Iterable[CrewMember], since: dt.date) -> tuple[dict, dict]:
    of_crews: dict[int, list[Days]] = defaultdict(list)
    of_people: dict[int, list[Days]] = defaultdict(list)
    crews = {member.crew_id for member in memberships}
    for off in DayOff.objects.filter(Q(user__in=users) | Q(crew__in=crews), to_day__gte=since):
        if off.crew_id:
            of_crews[off.crew_id].append(Days(off.from_day, off.to_day))
        else:
            of_people[off.user_id].append(Days(off.from_day, off.to_day))
    return of_crews, of_people
