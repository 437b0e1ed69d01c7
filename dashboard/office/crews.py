"""Crews as the office keeps them: who is on each from when to when, who leads, when they work and when nobody does."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard.forms.records import WEEK
from dashboard.measures import Reader, hours
from jobs.calc.days import is_worked
from jobs.calc.holidays import named_holidays
from jobs.models import Assignment, Crew, CrewMember, DayOff, OfficeSettings, User

AHEAD = dt.timedelta(days=183)  # how far one looks for holidays and days off


@dataclass(frozen=True, slots=True)
class Closed:
    """Days on which nobody of a crew works, or somebody does not. `given`: work that lies on them."""

    first: dt.date
    last: dt.date
    days: str
    whose: str
    why: str
    off: DayOff | None = None
    given: tuple[Assignment, ...] = ()


@dataclass(frozen=True, slots=True)
class MemberShown:
    member: CrewMember
    skills: str
    days: str
    state: str  # past, now, ahead
    also_on: str = ""
    off: str = ""  # today
    closed: bool = False  # the account: nobody who left is a hand

    @property
    def now(self) -> bool:
        return self.state == "now"


@dataclass(frozen=True)
class CrewShown:
    crew: Crew
    reader: Reader
    today: dt.date
    region: str  # the company's, where the crew names none
    members: Sequence[CrewMember] = ()
    off: Sequence[DayOff] = ()
    elsewhere: dict[int, list[CrewMember]] = field(default_factory=dict)
    given: Sequence[Assignment] = ()

    # ---- who --------------------------------------------------------------------------------------------

    @cached_property
    def people(self) -> list[MemberShown]:
        """Those on it today first, then those who come, then those who were."""
        order = {"now": 0, "ahead": 1, "past": 2}
        found = [self._member(one) for one in self.members]
        return sorted(found, key=lambda m: (order[m.state], not m.member.leads, m.member.from_day, m.member.pk))

    def _member(self, one: CrewMember) -> MemberShown:
        return MemberShown(one, ", ".join(one.skills), self._from_to(one), self._state(one), self._also_on(one),
                           self._off_today(one.user_id), not one.user.is_active)

    def _from_to(self, one: CrewMember) -> str:
        since = self.reader.whole_day(one.from_day)
        if one.to_day is None:
            return _("since %s") % since if one.from_day <= self.today else _("from %s") % since
        return _("%(first)s to %(last)s") % {"first": since, "last": self.reader.whole_day(one.to_day)}

    def _state(self, one: CrewMember) -> str:
        if one.from_day > self.today:
            return "ahead"
        return "now" if one.to_day is None or one.to_day >= self.today else "past"

    def _also_on(self, one: CrewMember) -> str:
        """On two crews at once one is counted as a hand of both."""
        if self._state(one) == "past":
            return ""
        names = [other.crew.name for other in self.elsewhere.get(one.user_id, ()) if _meet(one, other)]
        return ", ".join(dict.fromkeys(names))

    def _off_today(self, user_id: int) -> str:
        found = next((off for off in self.off if off.user_id == user_id and off.from_day <= self.today), None)
        return "" if found is None else found.reason or _("off")

    @property
    def on_it(self) -> list[MemberShown]:
        return [one for one in self.people if one.now]

    @property
    def lead(self) -> str:
        return ", ".join(one.member.user.name for one in self.on_it if one.member.leads)

    @property
    def hands(self) -> str:
        count = len(self.on_it)
        return ngettext("%d person", "%d people", count) % count if count else _("nobody")

    @property
    def skills(self) -> str:
        return ", ".join(sorted({skill for one in self.on_it for skill in one.member.skills}))

    # ---- when -------------------------------------------------------------------------------------------

    @property
    def week(self) -> str:
        return working_week(self.crew.working_days)

    @property
    def hours_a_day(self) -> str:
        return hours(self.crew.minutes_a_day)

    @property
    def holiday_region(self) -> str:
        return self.crew.holiday_region or self.region

    @cached_property
    def holidays(self) -> list[Closed]:
        """Those that come in the half year ahead; one on a day nobody works anyway takes nothing."""
        try:
            found = named_holidays(self.holiday_region, self.today, self.today + AHEAD)
        except ValueError:
            return []
        return [Closed(day, day, self.reader.day(day), "", name, given=self._given(day, day))
                for day, name in found if is_worked(day, self.crew.working_days)]

    @cached_property
    def away(self) -> list[Closed]:
        """Days off of the crew and of those who are on it, from today on."""
        return [self._away(off) for off in self.off]

    def _away(self, off: DayOff) -> Closed:
        whose = _("The whole crew") if off.user_id is None else off.user.name
        return Closed(off.from_day, off.to_day, said_days(off.from_day, off.to_day, self.reader), whose, off.reason,
                      off, self._given(off.from_day, off.to_day))

    def _given(self, first: dt.date, last: dt.date) -> tuple[Assignment, ...]:
        return tuple(one for one in self.given if one.start_day <= last and first <= one.end_day)

    @property
    def next_closed(self) -> Closed | None:
        """When next somebody or everybody does not work."""
        return min([*self.away, *self.holidays], key=lambda closed: closed.first, default=None)

    @property
    def told(self) -> Iterator[str]:
        """What cannot stay so."""
        if not self.crew.active:
            if self.given:
                yield _("work is still given to it")
            return
        if not self.lead:
            yield _("nobody leads it today")


def _meet(one: CrewMember, other: CrewMember) -> bool:
    return ((one.to_day is None or other.from_day <= one.to_day)
            and (other.to_day is None or one.from_day <= other.to_day))


def said_days(first: dt.date, last: dt.date, reader: Reader) -> str:
    if first == last:
        return reader.day(first)
    return _("%(first)s to %(last)s") % {"first": reader.day(first), "last": reader.day(last)}


def working_week(days: str) -> str:
    """`Mon to Fri`; `Mon, Wed, Thu` where they do not follow each other."""
    worked = [n for n in range(7) if days[n:n + 1] == "1"]
    if not worked:
        return _("no day")
    if len(worked) > 2 and worked == list(range(worked[0], worked[-1] + 1)):
        return _("%(first)s to %(last)s") % {"first": WEEK[worked[0]], "last": WEEK[worked[-1]]}
    return ", ".join(str(WEEK[n]) for n in worked)


def shown_crews(found: Iterable[Crew], reader: Reader, today: dt.date, office: OfficeSettings) -> list[CrewShown]:
    """With people, days off and work ahead, read once for all of them."""
    crews = list(found)
    ids = [crew.pk for crew in crews]
    members = list(CrewMember.objects.filter(crew__in=ids).select_related("user"))
    people = {one.user_id for one in members if one.to_day is None or one.to_day >= today}
    on: dict[int, list[CrewMember]] = {}
    for one in CrewMember.objects.filter(Q(to_day=None) | Q(to_day__gte=today), user__in=people).select_related("crew"):
        on.setdefault(one.user_id, []).append(one)
    off = list(DayOff.objects.filter(Q(crew__in=ids) | Q(user__in=people), to_day__gte=today,
                                     from_day__lte=today + AHEAD).select_related("user"))
    given: dict[int, list[Assignment]] = {}
    for work in Assignment.objects.filter(crew__in=ids, end_day__gte=today).select_related("opening__job"):
        given.setdefault(work.crew_id, []).append(work)
    return [CrewShown(crew, reader, today, office.holiday_region,
                      [one for one in members if one.crew_id == crew.pk], _off_of(crew, off, members),
                      {user: [one for one in others if one.crew_id != crew.pk] for user, others in on.items()},
                      given.get(crew.pk, ())) for crew in crews]


def _off_of(crew: Crew, off: Iterable[DayOff], members: Iterable[CrewMember]) -> list[DayOff]:
    """Of the crew, and of each while they are on it."""
    theirs = [one for one in members if one.crew_id == crew.pk]
    return [day for day in off if day.crew_id == crew.pk or any(
        one.user_id == day.user_id and one.from_day <= day.to_day and (one.to_day is None or day.from_day <= one.to_day)
        for one in theirs)]


def skills_in_use() -> str:
    """As they are spelled: a skill that is spelled otherwise is another one."""
    lists = CrewMember.objects.order_by().values_list("skills", flat=True).distinct()
    return ", ".join(sorted({str(skill) for skills in lists for skill in skills}))


def who_may_be_on_a_crew() -> Iterable[User]:
    return User.objects.filter(is_active=True).order_by("name", "pk")
