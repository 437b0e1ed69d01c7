"""What lies before somebody with an owner on the telephone: how the door was left, what was done since, what to say."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _

from dashboard import phrases
from dashboard.calls.left import AdjustmentRow, LeftRow, adjustment_row, forces, reveals
from dashboard.calls.rows import CallLine, lines, visible_calls, with_trips
from dashboard.forms.calls import CallForm
from dashboard.opening.lists import Lists
from dashboard.opening.sheet import OpeningSheet
from dashboard.rights import today_at
from inspections.models import Adjustment, Callback, Photo
from jobs.models import Assignment, CrewMember

PHOTOS = 8


@dataclass(frozen=True, slots=True)
class Urgency:
    """One answer to *how bad is it*, with what follows from it."""

    key: str
    name: str
    means: str
    how_soon: str
    tonight: tuple[str, ...]
    meanwhile: tuple[str, ...]


def urgency(key: str) -> Urgency:
    return Urgency(key, str(phrases.SEVERITIES[key]), str(phrases.SEVERITIES_MEAN[key]), str(phrases.HOW_SOON[key]),
                   tuple(map(str, phrases.TONIGHT[key])), tuple(map(str, phrases.MEANWHILE[key])))


URGENCIES = tuple(key for key, _label in Callback.SEVERITIES)


@dataclass
class CallSheet:
    """On the facts an opening's sheet has read."""

    o: OpeningSheet
    lists: Lists
    form: CallForm | None = None

    @cached_property
    def leads(self) -> list[tuple[str, str]]:
        """Whom to pass a call to about a door that is still being built: who leads the crew that has it."""
        today = today_at(self.o.opening, self.o.act)
        given = Assignment.objects.filter(opening=self.o.opening, end_day__gte=today).values("crew")
        found = CrewMember.objects.filter(crew__in=given, leads=True, user__is_active=True,
                                          from_day__lte=today).exclude(to_day__lt=today)
        return [(one.user.name, one.user.phone) for one in found.select_related("user")]

    @cached_property
    def urgencies(self) -> list[Urgency]:
        return [urgency(key) for key in URGENCIES]

    @cached_property
    def chosen(self) -> str:
        return "" if self.form is None or not self.form.is_bound else self.form.data.get("severity", "")

    @cached_property
    def reveals(self) -> list[LeftRow]:
        return reveals(self.o.facts.inspections, self.o.reader)

    @cached_property
    def forces(self) -> list[LeftRow]:
        return forces(self.o.facts.inspections, self.o.reader)

    @cached_property
    def _adjustments(self) -> list[Adjustment]:
        found = Adjustment.objects.filter(opening=self.o.opening).select_related("panel", "by", "trip__crew")
        return list(found.order_by("-taken_at", "-pk"))

    @cached_property
    def _shown(self) -> list[Adjustment]:
        return self.lists.first(self._adjustments)

    def _is_since(self, one: Adjustment) -> bool:
        return self.o.acceptance is not None and one.taken_at > self.o.acceptance.taken_at

    @cached_property
    def adjustments(self) -> list[AdjustmentRow]:
        """Since it was accepted, the latest first."""
        return [adjustment_row(one, self.o.reader) for one in self._shown if self._is_since(one)]

    @cached_property
    def adjusted_before(self) -> list[AdjustmentRow]:
        """How it was left: what had been turned when it was accepted, the latest first."""
        return [adjustment_row(one, self.o.reader) for one in self._shown if not self._is_since(one)]

    @cached_property
    def photos(self) -> list[tuple[Photo, str]]:
        return self.o.photos[:PHOTOS]

    @cached_property
    def _calls(self) -> list[Callback]:
        return list(with_trips(visible_calls(self.o.act).filter(opening=self.o.opening)))

    @cached_property
    def calls(self) -> list[CallLine]:
        """The calls about it, the latest first."""
        shown = self.lists.first(self._calls, is_open=lambda call: call.closed_at is None)
        return lines(shown, self.o.reader, self.o.act)

    @cached_property
    def open_calls(self) -> list[CallLine]:
        return [line for line in self.calls if not line.closed]

    @cached_property
    def left_out(self) -> dict[str, int]:
        """Of each list, how many rows there are to be seen beside those shown."""
        return {"calls": self.lists.more(len(self._calls), len(self.calls)),
                "adjustments": self.lists.more(len(self._adjustments), len(self._shown))}

    @cached_property
    def people(self) -> list[tuple[str, Any]]:
        job = self.o.opening.job
        return [(str(phrases.PARTIES[kind]), party) for kind, party in (("owner", job.owner), ("builder", job.builder))
                if party is not None]

    @cached_property
    def accepted(self) -> str:
        acceptance = self.o.acceptance
        if acceptance is None:
            return _("not accepted yet")
        return _("%(day)s, %(by)s") % {
            "day": self.o.reader.day(acceptance.taken_at), "by": acceptance.accepted_by}
