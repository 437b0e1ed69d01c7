"""The material sheet of a job: what its units take together and each by itself; `material.typ` sets it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext as _

from dashboard import phrases
from dashboard.measures import Reader
from dashboard.opening.material import delivery_words, part_state
from dashboard.opening.taken import by_words, change_words, lacking_words, material_lines, taken_lines
from dashboard.sheets.drawn import LONGEST
from inspections.services.taking_off import Both, each
from jobs.acts import Act
from jobs.models import Job
from units.calc.materials import add_up, take_off
from units.models import Part, Unit


def shown(job: Job, units: Sequence[Unit], act: Act, reader: Reader, company: str) -> dict[str, Any]:
    reader = reader.at(job.time_zone)
    found = list(zip(units, each(units), strict=True))
    known = [(unit, both) for unit, both in found if both.counts.asked is not None]
    together = add_up([take_off(both.counts.asked) for _unit, both in known])
    return {
        "title": [{"label": (company or _("Job"))[:LONGEST], "text": f"{job.number} · {job.title}"[:LONGEST]},
                  {"label": _("Units"), "text": str(len(units))},
                  {"label": _("Promised"), "text": reader.whole_day(job.promised_date) or "–"}],
        "lines": list(material_lines(together, reader)),
        "openings": [line for line in (_opening(unit, both, reader) for unit, both in known) if line["lines"]],
        "unknown": list(_unknown(found, reader)), "short": list(_short(units, reader)),
        "cautions": [str(phrases.CAUTIONS["nothing_longer_into_the_pocket_wall"])],
        "footer": f"{company} · {job.number[:LONGEST]} · {_('printed %s') % reader.moment(act.now)}",
        "words": {"together": _("All units together"), "nothing": _("Nothing can be taken off yet."),
                  "lacking": _("Left out, for want of a size or of a gap"),
                  "changed": _("Changed since the drawing:"), "short": _("Came short or damaged")},
    }


def _opening(unit: Unit, both: Both, reader: Reader) -> dict[str, Any]:
    return {"title": f"{unit.opening.tag} {unit.opening.location}"[:LONGEST], "by": by_words(both),
            "lines": list(taken_lines(both.counts, reader)),
            "changed": [change_words(line, reader) for line in both.changed()]}


def _short(units: Sequence[Unit], reader: Reader) -> Iterable[str]:
    """Parts somebody looked for and that are not here whole."""
    lacking = Part.objects.filter(unit__in=units).lacking().filter(Q(looked_through=True) | Q(panel__damaged=True))
    for part in lacking.select_related("panel", "delivery", "unit__opening").order_by("unit__opening__tag", "pk"):
        said = f"{part.name[:LONGEST]}, {part_state(part)}; {delivery_words(part.delivery, reader)[:LONGEST]}"
        yield f"{part.unit.opening.tag[:LONGEST]}: {said}"


def _unknown(found: Iterable[tuple[Unit, Both]], reader: Reader) -> Iterable[str]:
    for unit, both in found:
        yield from (f"{unit.opening.tag[:LONGEST]}: {said}" for said in lacking_words(both.counts, reader))
