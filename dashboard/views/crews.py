"""How far each crew has got."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from dashboard import phrases, words
from dashboard.drawings import record
from dashboard.drawings.elevation import Built, Elevation, small
from dashboard.drawings.said import drawing_words, next_words
from dashboard.drawings.tape import Tape, tape
from dashboard.drawings.weeks import Weeks, most_minutes, weeks_drawn
from dashboard.measures import Reader
from dashboard.opening.said import objection_words
from dashboard.views.pages import page
from dashboard.views.renewing import renewed
from inspections.services.lately import Objected, objected, weeks_before
from inspections.services.progress import crew_progress
from jobs.calc.against import NOT_READY
from jobs.models import Change, Opening
from jobs.roles import reach

WEEKS = 8


@dataclass(frozen=True, slots=True)
class GivenAgainst:
    """What stands against work given, each in words, and whether it came since the work was given."""

    work: str
    lines: tuple[tuple[str, bool], ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """What all openings on the page have in common."""

    reader: Reader
    openings: Mapping[int, Opening]
    drawn: Mapping[int, Built]
    widest: int
    objected: Mapping[int, list[Objected]]
    today: dt.date
    named: bool  # whether parties may be called by their names


@dataclass(frozen=True, slots=True)
class OpeningLine:
    pk: int
    name: str
    location: str
    stage: str
    drawing: Elevation
    said: str
    next: str
    passed_over: str
    waits: tuple[str, ...]
    against: tuple[GivenAgainst, ...]

    @property
    def key(self) -> str:
        return f"d-{self.pk}"


@dataclass(frozen=True, slots=True)
class CrewLine:
    pk: int
    name: str
    lead: str
    people: str
    passed_over: str
    openings: tuple[OpeningLine, ...]
    tape: Tape
    weeks: Weeks

    @property
    def key(self) -> str:
        return f"t-{self.pk}"

    @property
    def weeks_key(self) -> str:
        return f"w-{self.pk}"


@require_safe
@page
def crew_progress_page(request: HttpRequest) -> HttpResponse:
    """Every crew, drawn."""
    return renewed(request, "dashboard/crew_progress.html", lambda: {
        "crews": _lines(request), "as_of": request.reader.moment(Change.objects.aggregate(at=Max("at"))["at"]),
        "caution": phrases.LIFTING_CAUTION, "here": "crews"})


def _lines(request: HttpRequest) -> list[CrewLine]:
    act = request.act
    today = act.now.astimezone(request.reader.zone).date()
    crews = crew_progress(act, today)
    ids = [o["opening"] for crew in crews for o in crew["openings"]]
    openings = {o.pk: o for o in Opening.objects.filter(pk__in=ids).select_related("job", "unit")}
    drawn = record.built(openings.values())
    shown = Shown(request.reader, openings, drawn, max((b.whole_width for b in drawn.values()), default=1),
                  objected(ids, act.today()), act.today(), reach(act.role, "read contacts") is not None)
    weeks = weeks_before([crew["crew"] for crew in crews], today, WEEKS)
    most = most_minutes(list(weeks.values()))
    return [_crew_line(crew, [_opening_line(o, shown) for o in crew["openings"] if o["opening"] in openings],
                       weeks_drawn(weeks[crew["crew"]], most)) for crew in crews]


def _crew_line(crew: Mapping[str, Any], openings: list[OpeningLine], weeks: Weeks) -> CrewLine:
    week, count, over = crew["week"], len(crew["people"]), crew["passed_over"]
    return CrewLine(
        crew["crew"], crew["name"], crew["lead"] or "", ngettext("%d person", "%d people", count) % count,
        ngettext("%d gate passed over", "%d gates passed over", over) % over if over else "",
        tuple(openings), tape(week["earned_minutes"], week["planned_minutes"], week["used_minutes"]), weeks)


def _opening_line(line: Mapping[str, Any], shown: Shown) -> OpeningLine:
    opening, drawn = shown.openings[line["opening"]], shown.drawn[line["opening"]]
    reader = shown.reader.at(opening.job.time_zone)
    waits = [_wait(w, reader, shown.named) for w in line["waits"]]
    waits += _no_longer_counting([r["title"] for r in line["not_ready"] if r["reason"] == "no-longer-counts"])
    waits += [words.reason(r, reader) for r in line["not_ready"] if r["reason"] == "material-missing"]
    against = [one for found in shown.objected.get(opening.pk, ()) for one in _against(found, reader, shown)]
    return OpeningLine(opening.pk, f"{opening.job.number} · {opening.tag}", opening.location,
                       words.stage(opening.stage), small(drawn, shown.widest), drawing_words(drawn),
                       next_words(drawn), opening.passed_over, tuple(waits), tuple(against))


def _against(found: Objected, reader: Reader, shown: Shown) -> Iterable[GivenAgainst]:
    """That work of a later day is not ready stands there already: what it waits on."""
    one = found.given
    lines = tuple((objection_words(sent, reader, shown.named), new) for sent, new in found.objections
                  if sent["code"] != NOT_READY or one.start_day <= shown.today)
    if lines:
        days = reader.day(one.start_day)
        days += f" – {reader.day(one.end_day)}" if one.end_day != one.start_day else ""
        yield GivenAgainst(f"{words.stage(one.work_step.stage)}, {days}", lines)


def _no_longer_counting(titles: list[str]) -> list[str]:
    """One line, however many: the opening's own page has them one by one."""
    if not titles:
        return []
    if len(titles) == 1:
        return [_("Read it again: %s") % titles[0]]
    return [_("Read again: %(first)s and %(more)d more") % {"first": titles[0], "more": len(titles) - 1}]


def _wait(wait: Mapping[str, Any], reader: Reader, named: bool) -> str:
    said = _("%(who)s owes: %(what)s, since %(day)s") % {
        "who": words.owes(wait, named), "what": wait["what_for"].rstrip(". "), "day": reader.day(wait["since"])}
    said = said[:1].upper() + said[1:]
    if wait["expected_day"]:
        said += _(", expected %s") % reader.day(wait["expected_day"])
    return said
