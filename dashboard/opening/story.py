"""What happened, in the order it happened: the lines of the feed as the page of an opening or of a job tells them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from django.urls import reverse
from django.utils.translation import gettext as _

from dashboard import words
from dashboard.measures import Reader
from jobs.models import Change

AT_ONCE = 60  # lines
# Where on its opening's page the rest of it stands.
SECTIONS = {
    "stage-changes": "stages", "hold-points": "stages", "panels": "panels", "punch-items": "items", "waits": "waits",
    "set-aside-parts": "parts", "joints": "joints", "custody": "custody", "wall-agreements": "wall",
    "parts": "material", "builder-links": "builder", "correction-reports": "builder", "time-reports": "hours",
    "photos": "photos", "events": "events", "confirmations": "readings",
}


@dataclass(frozen=True, slots=True)
class Line:
    when: str
    what: str
    by: str
    url: str = ""  # where the rest of it is
    tag: str = ""  # of the opening, where the page is not of one


def lines(changes: Iterable[Change], reader: Reader, titles: Mapping[str, str], *, tags: bool = False) -> list[Line]:
    """First to last. What happened eight times in one minute is one line."""
    def alike(line: Line) -> tuple[str, ...]:
        return line.when, line.what, line.by, line.tag
    told = [Line(reader.moment(one.at), words.happened(one.what, one.more, titles), str(one.by or ""),
                 _leads_to(one, on_its_page=not tags),
                 one.opening.tag if tags and one.opening is not None else "") for one in changes]
    return [_several(list(same)) for _key, same in groupby(told, alike)]


def _leads_to(one: Change, *, on_its_page: bool) -> str:
    """To the record itself where it has a page, else to its part of the opening's page."""
    if one.opening_id is None:
        return ""
    if one.record == "inspections":
        return reverse("inspection", args=[one.opening_id, one.record_id])
    call = one.record_id if one.record == "callbacks" else one.more.get("callback")
    if call:
        return reverse("callback", args=[call])
    section = SECTIONS.get(one.record, "")
    part = f"#{section}" if section else ""
    return part if on_its_page else reverse("opening", args=[one.opening_id]) + part


def _several(same: list[Line]) -> Line:
    last = same[-1]
    if len(same) == 1:
        return last
    said = _("%(what)s (%(times)d times)") % {"what": last.what, "times": len(same)}
    return Line(last.when, said, last.by, last.url, last.tag)
