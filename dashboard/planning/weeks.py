"""The weeks of the crews in words and drawn: what stands on them, who is away, how many of their hours are given."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db.models import Max
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import phrases, words, written
from dashboard.drawings.week import LANE, LONG_MARK, Columns, DayNamed, OnRule, WeekRule, week_rule
from dashboard.measures import Reader, hours
from inspections.models import ReturnTrip
from inspections.services.trips import Trips
from jobs.calc.against import NOT_A_WORKING_DAY
from jobs.models import Assignment, Change, Crew
from jobs.services.ahead import Ahead, DayAhead

WEEK = dt.timedelta(days=6)
LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True, slots=True)
class StandsLine:
    """One piece of work on the week, or a return trip, keyed to the rule by its letter."""

    letter: str
    opening: int
    name: str
    work: str
    firmness: str
    inked: bool
    days: str
    hours: str
    equipment: str
    shared: tuple[str, ...]  # where else its equipment is on those days
    told: str
    told_late: bool  # it was changed since
    url: str  # "" where they who read it may not go
    trip: bool = False


@dataclass(frozen=True, slots=True)
class WeekShown:
    key: str
    crew: int
    name: str
    week: str
    title: str
    hours: str
    rule: WeekRule
    lines: tuple[StandsLine, ...]
    away: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DayMarks:
    """The marks of a day of so many hours, drawn once on a page for each height it has there."""

    hours: int
    lanes: int
    marks: tuple[tuple[str, bool], ...]  # where, and whether it is a long one

    @property
    def body(self) -> int:
        return LANE * self.lanes

    @property
    def long(self) -> int:
        return self.body - 9

    @property
    def short(self) -> int:
        return self.body - 5


@dataclass(frozen=True, slots=True)
class Eyes:
    """Who reads it, and what of it they may."""

    reader: Reader
    today: dt.date
    columns: Columns
    days_off: bool = True  # who is away; else only that fewer are there
    elsewhere: bool = True  # what other crews are on


def week_shown(ahead: Ahead, crew: Crew, monday: dt.date, eyes: Eyes, *, changed: Mapping[int, dt.datetime],
               twice: Mapping[int, Sequence[tuple[str, Assignment]]] | None = None, trips: Trips | None = None,
               proposed: Sequence[tuple[dt.date, dt.date]] = (), key: str = "") -> WeekShown:
    days = ahead.days(crew, monday, monday + WEEK)
    stands = [(_on_rule(ahead, crew, one, days), _line(one, eyes, changed, twice or {}))
              for one in ahead.standing(crew, monday, monday + WEEK)]
    stands += [(OnRule(trip.day, trip.day, (), True, "", trip=True), _trip_line(trip, eyes))
               for trip in (trips or {}).get(crew.pk, ()) if monday <= trip.day <= monday + WEEK]
    stands.sort(key=lambda pair: pair[0].first)  # what begins on one day: work first, as it was
    on_rule = [replace(on, letter=letter(n)) for n, (on, _line) in enumerate(stands)]
    given = sum(part * day.minutes for on in on_rule
                for part, day in zip(on.parts, days[max(0, (on.first - monday).days):], strict=False))
    said = _("%(given)s of %(all)s hours given") % {
        "given": hours(round(given)), "all": hours(sum(day.minutes for day in days))}
    named = [DayNamed(written.date(day.day, written.WEEKDAY), day.closed, whole_hours(crew)) for day in days]
    rule = week_rule(monday, eyes.columns, named, on_rule, proposed, eyes.today)
    week = week_words(monday, eyes.reader)
    lines = tuple(replace(line, letter=letter(n)) for n, (_on, line) in enumerate(stands))
    return WeekShown(key or f"w-{crew.pk}-{monday:%m%d}", crew.pk, crew.name, week, _title(crew, week, said, lines),
                     said, rule, lines, tuple(_away(days, eyes)))


def week_words(monday: dt.date, reader: Reader) -> str:
    return _("Week %(number)d, %(first)s – %(last)s") % {
        "number": monday.isocalendar().week, "first": _unbroken(reader.day(monday)),
        "last": _unbroken(reader.day(monday + WEEK))}


def _unbroken(day: str) -> str:
    """Where a heading takes two lines, no day is torn."""
    return day.replace(" ", "\u00a0")


def day_span(first: dt.date, last: dt.date, reader: Reader) -> str:
    return reader.days(first, last)


def day_marks(shown: Iterable[WeekShown]) -> list[DayMarks]:
    drawn = {(day.hours, week.rule.lanes) for week in shown for day in week.rule.days if day.hours}
    return [DayMarks(count, lanes, tuple((f"{n / count * 100:.4g}%", n % LONG_MARK == 0) for n in range(1, count)))
            for count, lanes in sorted(drawn)]


def changes_of(found: Collection[Assignment]) -> dict[int, dt.datetime]:
    """When each was last moved, inked or handed on, where it was: what somebody was told before that is old."""
    told = {str(one.pk): one.pk for one in found if one.told_at is not None}
    if not told:
        return {}
    rows = Change.objects.filter(opening__in={one.opening_id for one in found}, record="assignments",
                                 what="assignment changed", record_id__in=told).values("record_id").order_by()
    return {told[row["record_id"]]: row["at"] for row in rows.annotate(at=Max("at"))}


def told_words(one: Assignment, reader: Reader, changed: Mapping[int, dt.datetime]) -> tuple[str, bool]:
    """Who has been told and when, and whether that holds no longer."""
    if one.told_at is None:
        return _("nobody told yet"), False
    said = _("told %(who)s, %(when)s") % {"who": one.told_whom, "when": reader.moment(one.told_at)}
    late = changed.get(one.pk) is not None and changed[one.pk] > one.told_at
    return (_("%s, and changed since: tell them again") % said if late else said), late


def _title(crew: Crew, week: str, said: str, lines: Sequence[StandsLine]) -> str:
    trips = sum(line.trip for line in lines)
    work = len(lines) - trips
    what = [ngettext("%d piece of work stands on it", "%d pieces of work stand on it", work) % work] if work else []
    what += [ngettext("%d return trip", "%d return trips", trips) % trips] if trips else []
    return f"{crew.name}, {week}: " + "; ".join([said, *what])


def whole_hours(crew: Crew) -> int:
    return max(1, round(crew.minutes_a_day / 60))


def _on_rule(ahead: Ahead, crew: Crew, one: Assignment, days: Sequence[DayAhead]) -> OnRule:
    """Its hours are worked off from its first day on, as much as the crew has on each."""
    left, parts = one.planned_minutes, []
    for day in ahead.days(crew, one.start_day, min(one.end_day, days[-1].day)):
        taken = min(left, day.minutes)
        left -= taken
        if day.day >= days[0].day:
            parts.append(taken / day.minutes if day.minutes else 0)
    return OnRule(one.start_day, one.end_day, tuple(parts), one.firmness == "inked", "")


def letter(number: int) -> str:
    return LETTERS[number] if number < len(LETTERS) else str(number + 1)


def _line(one: Assignment, eyes: Eyes, changed: Mapping[int, dt.datetime],
          twice: Mapping[int, Sequence[tuple[str, Assignment]]]) -> StandsLine:
    told, late = told_words(one, eyes.reader, changed)
    return StandsLine(
        "", one.opening_id, str(one.opening), words.stage(one.work_step.stage).lower(),
        str(phrases.FIRMNESS[one.firmness]), one.firmness == "inked",
        day_span(one.start_day, one.end_day, eyes.reader), _("%s h") % hours(one.planned_minutes),
        ", ".join(piece.name for piece in one.equipment.all()),
        tuple(_shared(name, other, eyes) for name, other in twice.get(one.pk, ())), told, late,
        reverse("opening", args=[one.opening_id]))


def _trip_line(trip: ReturnTrip, eyes: Eyes) -> StandsLine:
    """How long it takes nobody knows: it is given no hours."""
    opening = trip.callback.opening
    bring = _("bring: %s") % trip.bring if trip.bring else ""
    return StandsLine(
        "", opening.pk, str(opening), _("return trip for %s") % trip.callback.number,
        _("made") if trip.done_at else _("agreed"), True, eyes.reader.day(trip.day), trip.arrival, bring, (), "", False,
        reverse("callback", args=[trip.callback_id]) if eyes.elsewhere else "", trip=True)


def _shared(name: str, other: Assignment, eyes: Eyes) -> str:
    if not eyes.elsewhere:
        return _("%s is given elsewhere as well on these days") % name
    return _("%(equipment)s is given to %(opening)s as well, %(days)s") % {
        "equipment": name, "opening": other.opening,
        "days": day_span(other.start_day, other.end_day, eyes.reader)}


def _away(days: Sequence[DayAhead], eyes: Eyes) -> Iterable[str]:
    """Days on which nobody works though it is a working day, and days on which somebody is away."""
    for first, last in _runs([day for day in days if day.closed and day.closed != NOT_A_WORKING_DAY]):
        yield f"{day_span(first.day, last.day, eyes.reader)}: {phrases.CLOSED[first.closed]}"
    for first, last in _runs([day for day in days if day.away and not day.closed]):
        who = ", ".join(first.away) if eyes.days_off else ""
        said = _("%(who)s off, %(there)d there") if who else _("%(there)d there")
        yield f"{day_span(first.day, last.day, eyes.reader)}: " + said % {"who": who, "there": first.there}


def _runs(days: Sequence[DayAhead]) -> list[tuple[DayAhead, DayAhead]]:
    """Days that follow each other and are alike, as one."""
    runs: list[tuple[DayAhead, DayAhead]] = []
    for day in days:
        if runs and (day.day - runs[-1][1].day).days == 1 and (day.closed, day.away) == (
                runs[-1][0].closed, runs[-1][0].away):
            runs[-1] = (runs[-1][0], day)
        else:
            runs.append((day, day))
    return runs
