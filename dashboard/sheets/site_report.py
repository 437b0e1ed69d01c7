"""The site report for the builder: what was measured, what fails, the correction, by when, whom to tell."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from dashboard import phrases, words
from dashboard.measures import Reader
from dashboard.opening.heights import Heights
from dashboard.sheets import drawn
from dashboard.sheets.drawn import LONGEST
from dashboard.views.readings import floor_of
from inspections.calc import floor
from inspections.models import Inspection
from inspections.services.ended import ended_by
from inspections.services.waits import who_owes
from jobs.acts import Act
from jobs.calc.verdict import FAIL
from jobs.models import Event, OfficeSettings, Opening, Wait

BUILDER = "builder"


def shown(opening: Opening, act: Act, reader: Reader, office: OfficeSettings) -> dict[str, Any]:
    reader, job = reader.at(opening.job.time_zone), opening.job
    waits = list(Wait.objects.filter(opening=opening, cleared_at=None, owed_by_kind=BUILDER).select_related("owed_by"))
    last, again = _standing(opening, reader)
    reports = [_report(found, reader) for found in last if _is_for_the_builder(found)]
    passed = [found for found in last if found.kind == floor.NAME and not _is_for_the_builder(found)]
    asked = len(reports) or len(waits)
    return {
        "title": [{"label": label[:LONGEST], "text": text[:LONGEST]} for label, text in (
            (office.company or _("Job"), f"{job.number} · {job.title}"),
            (_("Opening"), f"{opening.tag} {opening.location}"), (_("Benchmark"), opening.benchmark or "–"))],
        "headline": _("To be put right before our work goes on") if asked else _("Nothing is asked of the builder"),
        "waits": [words.wait(wait, reader) for wait in waits], "again": again, "reports": reports,
        "floors": [_floor(found, reader) for found in passed],
        "tell": _tell(office) if asked else "",
        "footer": f"{office.company} · {job.number[:LONGEST]} · {opening.tag[:LONGEST]} · "
                  f"{_('printed %s') % reader.moment(act.now)}",
        "words": {"plan": _("The least work that puts it right, measured along the sill from its start"),
                  "tell": _("When it is done"), "floor": _("The floor, as it was read"),
                  "nothing": _("No reading of ours fails, and nothing is waited for.")},
    }


def _last(opening: Opening) -> list[Inspection]:
    """The last of each kind."""
    last: dict[str, Inspection] = {}
    for found in Inspection.objects.filter(opening=opening).select_related("by").order_by("taken_at", "id"):
        found.opening = opening
        last[f"{found.kind} {found.occasion} {found.place}"] = found
    return list(last.values())


def _standing(opening: Opening, reader: Reader) -> tuple[list[Inspection], list[str]]:
    """What still asks something, and what was ended since: of a floor that was poured again nothing is ground."""
    events = list(Event.objects.filter(opening=opening).order_by("taken_at", "id"))
    standing, again = [], []
    for found in _last(opening):
        ended = ended_by(found, events)
        if ended is None:
            standing.append(found)
        else:
            again.append(_("%(what)s, read %(when)s: no longer counts, %(why)s, %(day)s. It is to be read again.") % {
                "what": words.kind(found.kind, found.occasion), "when": reader.moment(found.taken_at),
                "why": phrases.ENDINGS[ended.kind], "day": reader.day(ended.taken_at)})
    return standing, again


def _is_for_the_builder(found: Inspection) -> bool:
    """It fails, and the builder must put it right."""
    return found.verdict.get("result") == FAIL and who_owes(found.kind, found.verdict["findings"]) == BUILDER


def _floor(found: Inspection, reader: Reader) -> dict[str, Any]:
    """One that asks nothing of the builder is shown all the same: what was measured."""
    of_floor = floor_of(found, reader)
    return {"when": _when(found, reader), "floor": drawn.floor(of_floor["plot"]), "highest": of_floor["highest"]}


def _when(found: Inspection, reader: Reader) -> str:
    return _("Read %(when)s by %(who)s") % {"when": reader.moment(found.taken_at), "who": str(found.by)[:LONGEST]}


def _report(found: Inspection, reader: Reader) -> dict[str, Any]:
    said, of_floor = words.verdict(found.verdict, reader), floor_of(found, reader)
    cautions = [said.caution, *of_floor.get("plan_cautions", ())]
    return {
        "what": words.kind(found.kind, found.occasion), "when": _when(found, reader),
        "floor": drawn.floor(of_floor.get("plot")), "highest": of_floor.get("highest", ""),
        "heights": _heights(of_floor.get("heights")), "plan": list(of_floor.get("plan", ())),
        "notes": [{"said": _sentence(note), "remedy": note.remedy, "source": note.source} for note in said.beyond],
        "cautions": [line for line in dict.fromkeys(cautions) if line],
    }


def _heights(found: Heights | None) -> dict[str, Any] | None:
    """As the sheet lists them: two columns a line, as read and to be."""
    if found is None:
        return None
    return {"caption": found.caption, "lines": list(found.lines), "as_read": _("as read"), "to_be": _("to be"),
            "at": _("At"), "rows": [[row.at, *(text for cell in row.cells for text in cell)] for row in found.stations]}


def _sentence(note: words.Note) -> str:
    where = f", {note.where}" if note.where else ""
    return f"{note.what[:1].upper()}{note.what[1:]}{where}: {note.value}; {note.limit}, {note.by}."


def _tell(office: OfficeSettings) -> str:
    whom = office.company or _("our office")
    how = f" ({office.reply_address})" if office.reply_address else ""
    return _("Tell %s. Then the crew reads it again: what is read decides.") % f"{whom}{how}"


# ---- the same on a page, for somebody who is not one of ours ----------------------------------------------


def on_a_page(opening: Opening, reader: Reader, office: OfficeSettings) -> dict[str, Any]:
    """Without the names of our people: who read it, and who is owed, are not for a page without an account."""
    waits = list(Wait.objects.filter(opening=opening, cleared_at=None, owed_by_kind=BUILDER).select_related("owed_by"))
    days = [wait.expected_day for wait in waits if wait.expected_day is not None]
    last, again = _standing(opening, reader)
    reports = [_on_a_page(found, reader) for found in last if _is_for_the_builder(found)]
    return {
        "waits": [words.wait(wait, reader, named=False) for wait in waits], "again": again, "reports": reports,
        "by": reader.whole_day(min(days)) if days else "", "tell": _tell(office),
        "asked": bool(reports or waits),
    }


def _on_a_page(found: Inspection, reader: Reader) -> dict[str, Any]:
    said, of_floor = words.verdict(found.verdict, reader), floor_of(found, reader)
    cautions = [said.caution, *of_floor.get("plan_cautions", ())]
    return {"what": words.kind(found.kind, found.occasion), "when": reader.moment(found.taken_at),
            "notes": said.beyond, "cautions": [line for line in dict.fromkeys(cautions) if line], **{
                name: of_floor.get(name) for name in ("plot", "slim_plot", "highest", "plan", "correction", "heights")}}
