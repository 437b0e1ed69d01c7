"""The wall sheet: how deep anything may be fixed into the wall that hides the panels; for all concerned to sign."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from dashboard import phrases, words
from dashboard.drawings.wall import at_most_words
from dashboard.measures import Reader
from dashboard.opening.drawn import Drawings
from dashboard.opening.pocket_wall import signed_words
from dashboard.sheets import drawn
from dashboard.sheets.drawn import LONGEST
from inspections.models import Inspection, WallAgreement
from inspections.services.facts import pockets_of
from inspections.services.walls import still_counts, wall_figures, wall_reads
from jobs.acts import Act
from jobs.calc.lengths import from_mm
from jobs.models import Opening


def shown(opening: Opening, act: Act, reader: Reader, company: str) -> dict[str, Any]:
    reader, job = reader.at(opening.job.time_zone), opening.job
    drawings = drawn.drawings_of(opening, act, reader)
    read = {one.place: one for one in wall_reads(opening, drawings.sheet.facts.inspections)}
    walls = [_wall(place, read.get(place), drawings) for place in pockets_of(opening) or [*read] or [""]]
    return {
        "title": [{"label": label[:LONGEST], "text": text[:LONGEST]} for label, text in (
            (company or _("Job"), f"{job.number} · {job.title}"), (_("Opening"), f"{opening.tag} {opening.location}"),
            (_("Panels go into"), str(opening.get_pocket_side_display())))],
        "walls": walls,
        "fixed": [_("Board and trim"), _("Skirting"), _("Rails and shelves"), _("Towel bars and hooks"),
                  _("Switches, boxes and lights"), _("Pictures and whatever comes later")],
        "cautions": [str(phrases.CAUTIONS["nothing_longer_into_the_pocket_wall"])],
        "seen": _seen(opening, drawings, reader),
        "signs": [_("For us: name, day"), _("Builder: name, day"), _("Trade: name, day"), _("Owner: name, day")],
        "footer": f"{company} · {job.number[:LONGEST]} · {opening.tag[:LONGEST]} · "
                  f"{_('printed %s') % reader.moment(act.now)}",
        "words": {"what": _("What is fixed to it"), "longest": _("Longest fastener, from the face of the board"),
                  "signed": _("Read and agreed")},
    }


def _wall(place: str, found: Inspection | None, drawings: Drawings) -> dict[str, Any]:
    """What goes for the wall of one pocket; of two each is named."""
    reader, longest = drawings.sheet.reader, None if found is None else _longest(found)
    of = next((wall for wall in drawings.walls if wall.place == place), None)
    return {
        "name": "" if not place else words.place(place).capitalize(),
        "headline": _("Nothing is fixed into this wall yet") if longest is None else
        _("No fastener longer than %s goes into this wall") % at_most_words(longest, reader),
        "why": _why(found, longest, reader), "longest": "–" if longest is None else at_most_words(longest, reader),
        "drawing": None if of is None else drawn.wall(of, slim=bool(pockets_of(drawings.sheet.opening))),
        "sizes": [] if of is None else [list(row) for row in of.rows]}


def _seen(opening: Opening, drawings: Drawings, reader: Reader) -> list[str]:
    """Who agreed to these very figures; of who saw others nothing is printed."""
    figures = wall_figures(opening, drawings.sheet.facts.inspections)
    return [signed_words(one, reader) for one in WallAgreement.objects.filter(opening=opening)
            if still_counts(one, figures)]


def _longest(found: Inspection) -> int | None:
    """What board and stud leave, less the clearance; whether the one that was read is shorter or not."""
    finding = next((f for f in found.verdict.get("findings", ()) if f["quantity"] == "longest_fastener"), None)
    return None if finding is None or finding["limit_mm"] is None else from_mm(finding["limit_mm"])


def _why(found: Inspection | None, longest: int | None, reader: Reader) -> str:
    if found is None or longest is None:
        return _("Board and stud were not read yet: until they are, nothing goes into it.")
    source = words.source(found.verdict["findings"][0]["source"])
    return _("Behind it the panels run. Board and flat stud, less the clearance; read %(when)s. %(source)s") % {
        "when": reader.moment(found.taken_at), "source": source}
