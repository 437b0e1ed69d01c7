"""What an opening's unit is made of and what came of it, and who has the opening: in words, for its page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from dashboard import phrases, words
from dashboard.forms.acts import ActForm
from dashboard.measures import Reader
from jobs.models import Custody, Delivery, WorkStep
from units.models import Part, PartArrival


@dataclass(frozen=True, slots=True)
class PartRow:
    name: str
    wanted: str
    state: str
    lacks: bool
    came: tuple[str, ...]  # each time somebody said what came
    brought: str  # by which delivery it is to come
    form: ActForm | None = None


@dataclass(frozen=True, slots=True)
class CustodyRow:
    who: str
    condition: str
    when: str


def part_state(part: Part) -> str:
    """Here, or what is lacking of it."""
    if not part.missing:
        more = part.surplus
        return _("here, whole, %(more)d more than wanted") % {"more": more} if more else _("here, whole")
    panel = part.panel
    broken = int(panel.damaged) if panel is not None else min(part.broken, part.missing)
    if broken:
        return _("%(count)d damaged") % {"count": broken} if part.wanted > 1 else _("damaged")
    if part.looked_through:
        return _("%(count)d short") % {"count": part.missing} if part.wanted > 1 else _("short")
    return _("not here yet")


def part_size(part: Part, reader: Reader) -> str:
    """`2 × 183 5/32"`; of several without a length, how many are wanted."""
    length = [reader.length(part.length)] if part.length else []
    return " × ".join([*([str(part.wanted)] if part.wanted > 1 else []), *length])


def came_words(arrival: PartArrival, reader: Reader) -> str:
    counts = ", ".join(said % count for said, count in (
        (_("%d whole"), arrival.whole), (_("%d short"), arrival.short), (_("%d damaged"), arrival.damaged)) if count)
    said = _("%(counts)s, %(when)s, %(by)s") % {
        "counts": counts, "when": reader.moment(arrival.taken_at), "by": arrival.by}
    if arrival.delivery is not None:
        said += _(", with: %s") % arrival.delivery.what
    return said + (f". {arrival.note}" if arrival.note else "")


def delivery_words(delivery: Delivery | None, reader: Reader) -> str:
    if delivery is None:
        return _("no delivery named")
    if delivery.received_at is not None:
        return _("%(what)s, came %(day)s") % {"what": delivery.what, "day": reader.day(delivery.received_at)}
    if delivery.expected_day is not None:
        return _("%(what)s, expected %(day)s") % {
            "what": delivery.what, "day": reader.day(delivery.expected_day)}
    return delivery.what


def stopped_words(steps: Iterable[WorkStep], reader: Reader) -> list[str]:
    """What cannot begin for want of parts, as the work steps themselves say it."""
    return [_("%(stage)s cannot begin. %(why)s") % {
        "stage": words.stage(step.stage), "why": words.reason(reason, reader)}
        for step in steps for reason in step.not_ready if reason.get("reason") == "material-missing"]


def in_all(parts: Sequence[Part]) -> str:
    if not parts:
        return _("not listed")
    lacking = sum(bool(part.missing) for part in parts)
    return _("%(lacking)d of %(all)d lacking") % {"lacking": lacking, "all": len(parts)} if lacking else (
        _("all %d here") % len(parts))


def custody_row(one: Custody, reader: Reader) -> CustodyRow:
    return CustodyRow(holder_words(one), one.condition, f"{reader.moment(one.taken_at)}, {one.by}")


def holder_words(one: Custody) -> str:
    who = str(phrases.HOLDERS[one.holder])
    named = ", ".join(filter(None, (one.crew.name if one.crew is not None else "", one.who)))
    return f"{who[:1].upper()}{who[1:]}" + (f": {named}" if named else "")
