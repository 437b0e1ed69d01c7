"""What needs somebody: one list, worst first, each with the one act that deals with it."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from dashboard import phrases
from dashboard.needing.said import Line, line
from dashboard.views.pages import PAGE, page
from dashboard.views.renewing import renewed
from inspections.calc.needs import KINDS, Level
from inspections.services.needing.all import theirs, what_needs_somebody
from inspections.services.needing.rows import Need, Wanted
from jobs.acts import Act
from jobs.errors import NotAllowed
from jobs.models import Crew, CrewMember
from jobs.roles import LABELS, Reach, Role, reach

LONGEST = 80
FURTHEST = 10_000


@require_safe
@page
def needs_somebody_page(request: HttpRequest) -> HttpResponse:
    if not theirs(request.act):
        raise NotAllowed(_("%s: nothing here is theirs to deal with.") % LABELS[Role(request.act.role)])
    return renewed(request, "dashboard/needs_somebody.html", lambda: _shown(request))


def _shown(request: HttpRequest) -> dict[str, Any]:
    wanted, first = _wanted(request), _number(request.GET.get("from", ""))
    found = what_needs_somebody(request.act, wanted)
    named = reach(request.act.role, "read contacts") is not None
    shown = found.rows[first: first + PAGE]
    left = len(found.rows) - first - len(shown)
    asked = _query(wanted)
    return {
        "levels": _levels(shown, request, named), "wanted": wanted, "here": "needs", "filtered": bool(asked),
        "everybodys": set(theirs(request.act)) == set(KINDS),
        "count": _counted(len(found.rows), found.and_more), "asked": asked, "first": first,
        "more": _left(left, found.and_more) if left > 0 else "", "further": first + PAGE,
        "kinds": [(kind, phrases.NEEDS[kind]) for kind in KINDS if kind in theirs(request.act)],
        "crews": _crews(request.act)}


def _wanted(request: HttpRequest) -> Wanted:
    """What cannot be asked for is as if it were not there."""
    given = {name: request.GET.get(name, "").strip().replace("\x00", "")[:LONGEST] for name in ("kind", "job", "crew")}
    return Wanted(given["kind"] if given["kind"] in KINDS else "", given["job"], _number(given["crew"]) or None)


def _number(text: str) -> int:
    return min(int(text), FURTHEST) if text.isascii() and text.isdecimal() and len(text) < 9 else 0


def _query(wanted: Wanted) -> str:
    return urlencode({name: value for name, value in (
        ("kind", wanted.kind), ("job", wanted.job), ("crew", wanted.crew)) if value})


def _levels(rows: Iterable[Need], request: HttpRequest, named: bool) -> list[tuple[int, str, list[Line]]]:
    return [(int(level), str(phrases.NEED_LEVELS[Level(level)]), [line(row, request.reader, named) for row in same])
            for level, same in groupby(rows, key=lambda row: row.level)]


def _counted(count: int, and_more: bool) -> str:
    if and_more:
        return _("%d and more") % count
    return ngettext("%d thing", "%d things", count) % count if count else ""


def _left(count: int, and_more: bool) -> str:
    return (_("And %d more, and others yet") if and_more else _("And %d more")) % count


def _crews(act: Act) -> list[tuple[int, str]]:
    """Whose openings one may ask for."""
    crews = Crew.objects.filter(active=True)
    if reach(act.role, "read") is not Reach.ALL:
        mine = CrewMember.objects.filter(user=act.user, from_day__lte=act.today()).exclude(to_day__lt=act.today())
        crews = crews.filter(pk__in=mine.values("crew"))
    return list(crews.order_by("name").values_list("pk", "name"))
