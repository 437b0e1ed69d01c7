"""Who of the builder's side saw how deep anything may be fixed into the wall that hides the panels, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from dashboard.drawings.wall import at_most_words
from dashboard.measures import Reader
from inspections.models import WallAgreement
from inspections.services.walls import mark_of, still_counts
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
    if not figures:
        return ""
    return _("No fastener longer than %(longest)s: board %(board)s, flat stud %(stud)s") % {
        "longest": at_most_words(from_mm(figures["longest_mm"]), reader),
        "board": reader.length(from_mm(figures["board_mm"])), "stud": reader.length(from_mm(figures["stud_mm"]))}


def signed_words(one: WallAgreement, reader: Reader) -> str:
    return _("Countersigned by %(name)s, %(trade)s, on %(when)s") % {
        "name": one.name, "trade": one.trade, "when": reader.moment(one.taken_at)}


def _seen(one: WallAgreement, figures: dict[str, Any] | None, reader: Reader) -> Seen:
    return Seen(signed_words(one, reader), figures_words(one.figures, reader), still_counts(one, figures),
                _("kept by %s") % one.by, one.photo)
