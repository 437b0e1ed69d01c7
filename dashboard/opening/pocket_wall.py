"""Who of the builder's side saw how deep anything may be fixed into the wall that hides the panels, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.drawings.wall import at_most_words
from dashboard.measures import Reader
from inspections.models import WallAgreement
from inspections.services.walls import mark_of, still_counts, walls_of
from jobs.calc.lengths import from_mm


@dataclass(frozen=True, slots=True)
class Seen:
    said: str
    figures: str
    counts: bool
    noted: str
    photo: Any = None


@dataclass(frozen=True, slots=True)
class WallShown:
    figures: str  # as they stand now; empty where they are not known
    mark: str
    seen: tuple[Seen, ...]  # the latest first

    @classmethod
    def of(cls, figures: dict[str, Any] | None, agreements: Iterable[WallAgreement], reader: Reader) -> WallShown:
        seen = tuple(_seen(one, figures, reader) for one in reversed(list(agreements)))
        return cls(figures_words(figures, reader), mark_of(figures), seen)

    @property
    def in_short(self) -> str:
        if any(one.counts for one in self.seen):
            return _("countersigned")
        return _("countersigned on other figures") if self.seen else _("not countersigned")


def figures_words(figures: dict[str, Any] | None, reader: Reader) -> str:
    """Of two pockets, what goes for each."""
    return "; ".join(_figures_words(wall, reader) for wall in walls_of(figures)) if figures else ""


def _figures_words(wall: dict[str, Any], reader: Reader) -> str:
    said = _("No fastener longer than %(longest)s: board %(board)s, flat stud %(stud)s") % {
        "longest": at_most_words(from_mm(wall["longest_mm"]), reader),
        "board": reader.length(from_mm(wall["board_mm"])), "stud": reader.length(from_mm(wall["stud_mm"]))}
    return _("%(pocket)s: %(said)s") % {
        "pocket": words.place(wall["place"]).capitalize(), "said": said} if wall["place"] else said


def signed_words(one: WallAgreement, reader: Reader) -> str:
    return _("Countersigned by %(name)s, %(trade)s, on %(when)s") % {
        "name": one.name, "trade": one.trade, "when": reader.moment(one.taken_at)}


def _seen(one: WallAgreement, figures: dict[str, Any] | None, reader: Reader) -> Seen:
    return Seen(signed_words(one, reader), figures_words(one.figures, reader), still_counts(one, figures),
                _("kept by %s") % one.by, one.photo)
