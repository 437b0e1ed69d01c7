"""Two sets of readings of one opening, side by side."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from dashboard import phrases, words
from dashboard.measures import Reader
from dashboard.opening.compared import judged, read_twice
from dashboard.views.pages import opening_of, page
from inspections.models import Inspection, Reading
from jobs.models import Opening

BRIEF = ("kind", "occasion", "place", "taken_at", "result")  # without what was sent and how it was judged
MOST = 100  # of one kind to choose from, the latest first


@dataclass(frozen=True, slots=True)
class Choice:
    pk: uuid.UUID
    said: str


@dataclass(frozen=True, slots=True)
class Again:
    """What was read more than once: two of it to lay side by side."""

    what: str
    times: int
    before: uuid.UUID
    after: uuid.UUID


@require_safe
@page
def compare_page(request: HttpRequest, opening_id: int) -> HttpResponse:
    """Those asked for, the earlier one first; with none, what there is to compare."""
    opening = opening_of(request.act, opening_id)
    reader = request.reader.at(opening.job.time_zone)
    found = list(Inspection.objects.filter(opening=opening).only(*BRIEF).order_by("-taken_at", "-pk"))
    a, b = (_asked(found, request.GET.get(name, "")) for name in ("a", "b"))
    context: dict[str, Any] = {"opening": opening, "here": "jobs", "again": _again(found)}
    if a is not None and b is not None:
        context.update(_compared(opening, a, b, found, reader))
    return render(request, "dashboard/compare.html", context)


def _asked(found: Iterable[Inspection], key: str) -> Inspection | None:
    return next((one for one in found if str(one.pk) == key.strip().lower()), None)


def _compared(opening: Opening, a: Inspection, b: Inspection, found: list[Inspection],
              reader: Reader) -> dict[str, Any]:
    before, after = sorted((a, b), key=lambda one: (one.taken_at, one.pk))
    shown: dict[str, Any] = {
        "a": before, "b": after, "what": what_of(after),
        "choices": [Choice(one.pk, _said(one, reader)) for one in _to_choose_from(found, before, after)]}
    if not alike(before, after):
        shown["unlike"] = _("%(a)s and %(b)s are read in different ways. Choose two of one kind and place.") % {
            "a": what_of(before), "b": what_of(after).lower()}
        return shown
    whole = Inspection.objects.select_related("by").in_bulk([before.pk, after.pk])
    before, after = whole[before.pk], whole[after.pk]
    rows: dict[uuid.UUID, list[Reading]] = {before.pk: [], after.pk: []}
    for row in Reading.objects.filter(inspection__in=rows).order_by("pk"):
        rows[row.inspection_id].append(row)
    return {**shown, "times": [(one, reader.moment(one.taken_at), _result(one)) for one in (before, after)],
            "judged": judged(before, after, reader), "read": read_twice(rows[before.pk], rows[after.pk], reader)}


def _to_choose_from(found: Iterable[Inspection], before: Inspection, after: Inspection) -> list[Inspection]:
    """The latest of the kind, and the two themselves however long ago they were read."""
    same = [one for one in found if alike(one, after)]
    return same[:MOST] + [one for one in same[MOST:] if one in (before, after)]


def alike(one: Inspection, other: Inspection) -> bool:
    return (one.kind, one.place) == (other.kind, other.place)


def what_of(inspection: Inspection) -> str:
    said = words.kind(inspection.kind)
    return f"{said}, {words.place(inspection.place)}" if inspection.place else said


def _said(inspection: Inspection, reader: Reader) -> str:
    parts = (reader.moment(inspection.taken_at), words.kind(inspection.kind, inspection.occasion),
             _result(inspection))
    return ", ".join(part[:1].lower() + part[1:] if n else part for n, part in enumerate(parts))


def _result(inspection: Inspection) -> str:
    return str(phrases.RESULTS.get(inspection.result, inspection.result))


def _again(found: Iterable[Inspection]) -> list[Again]:
    groups: dict[tuple[str, str], list[Inspection]] = {}
    for one in found:
        groups.setdefault((one.kind, one.place), []).append(one)
    return [Again(what_of(same[0]), len(same), _before(same).pk, same[0].pk)
            for same in groups.values() if len(same) > 1]


def _before(same: list[Inspection]) -> Inspection:
    """The one to lay the latest beside: read on the same occasion where there is one, since others may read else."""
    last, *earlier = same
    return next((one for one in earlier if one.occasion == last.occasion), earlier[0])
