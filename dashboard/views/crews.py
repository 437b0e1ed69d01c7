"""How far each crew has got."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib.messages import get_messages
from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.utils.cache import get_conditional_response
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from dashboard import words
from dashboard.drawings import record
from dashboard.drawings.elevation import Built, Elevation, small
from dashboard.drawings.said import drawing_words, next_words
from dashboard.drawings.tape import Tape, tape
from dashboard.measures import Reader
from dashboard.views.pages import page
from inspections.services.progress import crew_progress
from jobs.acts import position
from jobs.models import Change, Opening
from jobs.roles import reach


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

    @property
    def key(self) -> str:
        return f"t-{self.pk}"


@require_safe
@page
def crew_progress_page(request: HttpRequest) -> HttpResponse:
    """Every crew, drawn. Asked again while nothing has happened, it says so and sends nothing."""
    etag = _mark(request)
    unchanged = None if len(get_messages(request)) else get_conditional_response(request, etag=etag)
    if unchanged is not None and unchanged.status_code == 304:
        return unchanged
    crews = _lines(request)
    answer = render(request, "dashboard/crew_progress.html", {
        "crews": crews, "as_of": request.reader.moment(Change.objects.aggregate(at=Max("at"))["at"]),
        "here": "crews"})
    answer["ETag"] = etag
    return answer


def _mark(request: HttpRequest) -> str:
    """Changes with whatever the page is made of: what happened, the day, who reads it and how, our own files."""
    user = request.user
    parts = (position(), request.act.today(), request.act.now.astimezone(request.reader.zone).date(), user.pk,
             user.role, user.units, user.language, user.time_zone, request.session.session_key,
             static("dashboard/sillbook.css"))
    return f'"{salted_hmac("crew progress", repr(parts)).hexdigest()}"'


def _lines(request: HttpRequest) -> list[CrewLine]:
    act = request.act
    crews = crew_progress(act, act.now.astimezone(request.reader.zone).date())
    ids = [o["opening"] for crew in crews for o in crew["openings"]]
    openings = {o.pk: o for o in Opening.objects.filter(pk__in=ids).select_related("job", "unit")}
    drawn = record.built(openings.values())
    widest = max((b.whole_width for b in drawn.values()), default=1)
    named = reach(act.role, "read contacts") is not None
    return [_crew_line(crew, [
        _opening_line(o, openings[o["opening"]], drawn[o["opening"]], widest, request.reader, named)
        for o in crew["openings"] if o["opening"] in openings]) for crew in crews]


def _crew_line(crew: Mapping[str, Any], openings: list[OpeningLine]) -> CrewLine:
    week, count, over = crew["week"], len(crew["people"]), crew["passed_over"]
    return CrewLine(
        crew["crew"], crew["name"], crew["lead"] or "", ngettext("%d person", "%d people", count) % count,
        ngettext("%d gate passed over", "%d gates passed over", over) % over if over else "",
        tuple(openings), tape(week["earned_minutes"], week["planned_minutes"], week["used_minutes"]))


def _opening_line(line: Mapping[str, Any], opening: Opening, drawn: Built, widest: int, reader: Reader,
                  named: bool) -> OpeningLine:
    reader = reader.at(opening.job.time_zone)
    waits = [_wait(w, reader, named) for w in line["waits"]]
    waits += _no_longer_counting([r["title"] for r in line["not_ready"] if r["reason"] == "no-longer-counts"])
    waits += [words.reason(r, reader) for r in line["not_ready"] if r["reason"] == "material-missing"]
    return OpeningLine(opening.pk, f"{opening.job.number} · {opening.tag}", opening.location,
                       words.stage(opening.stage), small(drawn, widest), drawing_words(drawn), next_words(drawn),
                       opening.passed_over, tuple(waits))


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
