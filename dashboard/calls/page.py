"""One callback: what was said, what was done about it, and the forms of what may be done next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from dashboard import phrases
from dashboard.calls.left import AdjustmentRow, adjustment_row
from dashboard.calls.rows import CallLine, TripLine, call_line
from dashboard.calls.sheet import Urgency, urgency
from dashboard.calls.week import WeekOfCrew, crews_days
from dashboard.forms.acts import ActForm
from dashboard.forms.calls import (
    AdjustForm,
    BookTripForm,
    CallGround,
    CallPhotoForm,
    ChangeTripForm,
    CloseCallForm,
    OnCall,
    TripMadeForm,
)
from dashboard.measures import Reader
from dashboard.opening.lists import Elsewhere, Lists
from dashboard.rights import Rights, today_at
from inspections.models import Adjustment, Callback, Photo
from inspections.services.datums import unit_of
from jobs.acts import Act
from jobs.models import Crew, OfficeSettings
from units.models import Panel

RowForm = ActForm | Elsewhere | None


@dataclass
class CallbackSheet:
    act: Act
    call: Callback
    reader: Reader
    office: OfficeSettings
    lists: Lists
    bound: OnCall | None = None

    @classmethod
    def of(cls, request: HttpRequest, call: Callback, bound: OnCall | None = None) -> CallbackSheet:
        came_back = [] if bound is None else [bound.key]
        lists = Lists.asked(request, reverse("callback", args=[call.pk]), came_back)
        return cls(request.act, call, request.reader.at(call.opening.job.time_zone), request.office, lists, bound)

    @cached_property
    def rights(self) -> Rights:
        return Rights(self.act, self.call.opening)

    @cached_property
    def named(self) -> bool:
        """Whether who called, and when they may be reached, is theirs to read."""
        return self.rights["read contacts"]

    @cached_property
    def line(self) -> CallLine:
        return call_line(self.call, self.reader, self.act)

    @cached_property
    def urgency(self) -> Urgency:
        return urgency(self.call.severity)

    @cached_property
    def people(self) -> list[tuple[str, Any]]:
        job = self.call.opening.job
        return [(str(phrases.PARTIES[kind]), party) for kind, party in (("owner", job.owner), ("builder", job.builder))
                if party is not None]

    @cached_property
    def _adjustments(self) -> list[Adjustment]:
        found = Adjustment.objects.filter(callback=self.call).select_related("panel", "by", "trip__crew")
        return list(found.order_by("taken_at", "pk"))

    @cached_property
    def adjustments(self) -> list[AdjustmentRow]:
        return [adjustment_row(one, self.reader) for one in self.lists.last(self._adjustments)]

    @cached_property
    def _photos(self) -> list[Photo]:
        found = Photo.objects.filter(opening=self.call.opening, about="callback", about_id=str(self.call.pk))
        return list(found.select_related("by"))

    @cached_property
    def photos(self) -> list[tuple[Photo, str]]:
        shown = self.lists.first(self._photos)
        return [(one, f"{self.reader.moment(one.taken_at)}, {one.by}") for one in shown]

    @cached_property
    def left_out(self) -> dict[str, int]:
        """Of each list, how many rows there are to be seen beside those shown."""
        return {name: self.lists.more(len(found), len(shown)) for name, found, shown in (
            ("trips", self.line.trips, self.trips), ("photos", self._photos, self.photos),
            ("adjustments", self._adjustments, self.adjustments))}

    # ---- forms ------------------------------------------------------------------------------------------

    @cached_property
    def ground(self) -> CallGround:
        unit = unit_of(self.call.opening)
        panels: Sequence[Panel] = [] if unit is None else unit.panels.order_by("hanging_order", "letter")
        return CallGround(
            opening=self.call.opening, panels=panels, today=today_at(self.call.opening, self.act), call=self.call,
            crews=list(Crew.objects.filter(active=True)) if self.rights[OnCall.may] else [],
            trips=list(self.call.return_trips.all()), reader=self.reader)

    def form(self, kind: type[OnCall], **initial: Any) -> ActForm | None:
        if not self.rights[kind.may]:
            return None
        fresh = kind.fresh(self.ground, **initial)
        fresh.is_asked = fresh.key == self.lists.open
        came_back = self.bound is not None and self.bound.key == fresh.key
        return self.bound.on_what_stands(fresh) if came_back else fresh

    def row_form(self, kind: type[OnCall], **initial: Any) -> ActForm | Elsewhere | None:
        """The form of a trip that is to come."""
        to_come = sum(line.is_to_come for line in self.line.trips)
        elsewhere = self.lists.elsewhere(kind, initial, to_come) if self.rights[kind.may] else None
        return elsewhere or self.form(kind, **initial)

    @property
    def may_take_calls(self) -> bool:
        return self.rights[OnCall.may]

    @property
    def is_open(self) -> bool:
        return self.call.closed_at is None

    @cached_property
    def trips(self) -> list[tuple[TripLine, RowForm, RowForm]]:
        shown = self.lists.first(self.line.trips, kinds=[ChangeTripForm, TripMadeForm],
                                 is_open=lambda line: not line.is_made)
        return [(line, *self._trip_forms(line)) for line in shown]

    def _trip_forms(self, line: TripLine) -> tuple[RowForm, RowForm]:
        trip = line.trip
        made = None if line.is_made else self.row_form(TripMadeForm, trip=trip.pk, version=trip.version)
        made = made if trip.day <= self.ground.today else None
        if not line.is_to_come:
            return None, made
        change = self.row_form(ChangeTripForm, trip=trip.pk, version=trip.version, crew=trip.crew_id, day=trip.day,
                               arrival=trip.arrival, bring=trip.bring)
        return change, made

    @cached_property
    def book(self) -> ActForm | None:
        waiting = self.line.next_trip is not None
        came_back = isinstance(self.bound, BookTripForm)
        return self.form(BookTripForm) if self.is_open and (not waiting or came_back) else None

    @cached_property
    def weeks(self) -> list[WeekOfCrew]:
        return crews_days(self.ground.today, self.office.holiday_region, self.reader) if self.book else []

    @cached_property
    def adjust(self) -> ActForm | None:
        been = [trip.pk for trip in self.ground.trips if trip.day <= self.ground.today]
        return self.form(AdjustForm, trip=been[-1] if been else None, panel=self.call.panel_id)

    @cached_property
    def add_photo(self) -> ActForm | None:
        return self.form(CallPhotoForm)

    @cached_property
    def close(self) -> ActForm | None:
        return self.form(CloseCallForm, version=self.call.version) if self.is_open else None
