"""What the office keeps and decides: checks, deliveries, waits, countersignatures, settlements, reminders."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Count, Max, Q
from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request

from inspections import filters
from inspections import serializers as shown
from inspections.api import bodies
from inspections.models import Acceptance, Check, Countersignature, HoldPoint, Message, Reminder, Settlement
from inspections.services import checks, deliveries, gates, standing, waits
from jobs.api.people import unhung
from jobs.errors import Invalid
from jobs.filters import OnOpening, WaitFilter
from jobs.models import Delivery, StageChange, Wait
from jobs.rest.resources import IF_MATCH, OfficeResource, ReadOnly, SiteResource
from jobs.rest.rows import Row
from jobs.serializers import WaitSerializer
from units.models import PanelChange
from units.serializers import PanelChangeSerializer

BY_TIME = {"id": ("pk",), "taken_at": ("taken_at",)}


class CheckResource(OfficeResource):
    """What each stage asks, with its limits and sources. A door system's or a job's row stands over the shipped one."""

    model, named, through = Check, "checks", "job"  # not an opening: see `own`
    serializer_class, filterset_class = shown.CheckSerializer, filters.CheckFilter
    orderings = {"id": ("pk",), "order": ("order", "code")}

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        return rows.filter(Q(job=None) | Q(job__in=self.reader.jobs().values("pk")))

    def found(self, what: str | None = None) -> Any:
        return unhung(self)

    def make(self, values: dict[str, Any]) -> models.Model:
        return checks.make_check(self.act(), values)

    def alter(self, found: Any, values: dict[str, Any], version: int) -> models.Model:
        return checks.change_check(self.act(), found, values, version=version)


class DeliveryResource(OfficeResource):
    """What brings material to a job, and how it came."""

    model, named, through = Delivery, "deliveries", "job"  # not an opening: see `own`
    serializer_class, filterset_class = shown.StoppingDeliverySerializer, filters.PartsDeliveryFilter
    orderings = {"id": ("pk",), "expected_day": ("expected_day",)}
    acts = {"receive": "receive a delivery"}

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        return rows.filter(job__in=self.reader.jobs().values("pk"))

    def found(self, what: str | None = None) -> Any:
        return unhung(self)

    def make(self, values: dict[str, Any]) -> models.Model:
        return super().make(_of_one_job(values, values.get("job")))

    def alter(self, found: Any, values: dict[str, Any], version: int) -> models.Model:
        values = _of_one_job(values, values.get("job", found.job))
        return deliveries.change_delivery(self.act(), found, values, version=version)

    def completed(self, rows: list[Row]) -> list[Row]:
        """What each of them stops, where something it brings is lacking."""
        stops = deliveries.stopped_by([row["id"] for row in rows], self.reader.openings())
        return [{**row, "stops": stops.get(row["id"], [])} for row in rows]

    @extend_schema(request=bodies.ReceiveIn, responses=shown.StoppingDeliverySerializer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def receive(self, request: Request, pk: str) -> HttpResponse:
        """It is here; and part by part what came whole, short or damaged. Again, for what was looked at later."""
        found = self.found()
        version, sent = self.version(found), self.sent(bodies.ReceiveIn)
        parts = [{("entry_id" if name == "id" else name): value for name, value in came.items()}
                 for came in sent.pop("parts", ())]
        return self.record(deliveries.receive_delivery(self.act(), found.pk, version=version, parts=parts, **sent))


def _of_one_job(values: dict[str, Any], job: Any) -> dict[str, Any]:
    if any(opening.job_id != job.pk for opening in values.get("openings", ())):
        raise Invalid("A delivery goes to one job.", fields={"openings": "openings of this job"})
    return values


class WaitResource(SiteResource):
    """What is waited for, since when, and who owes it."""

    model, through = Wait, "opening"
    serializer_class, filterset_class = WaitSerializer, WaitFilter
    orderings = {**BY_TIME, "expected_day": ("expected_day",)}
    acts = {"create": "raise a wait", "clear": "clear a wait"}

    @extend_schema(request=bodies.WaitIn, responses={201: WaitSerializer})
    def create(self, request: Request) -> HttpResponse:
        """Raised from a failed verdict (`inspection`), it carries the correction with it."""
        return self.entry(bodies.WaitIn, waits.raise_wait)

    @extend_schema(request=bodies.ClearWaitIn, responses=WaitSerializer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def clear(self, request: Request, pk: str) -> HttpResponse:
        wait = self.found()
        version = self.version(wait)
        return self.record(waits.clear_wait(self.act(), wait.pk, version=version, **self.sent(bodies.ClearWaitIn)))


class StageChangeResource(SiteResource):
    """Every step of every opening, and what was recorded but not advanced, with the reasons."""

    model, through = StageChange, "opening"
    serializer_class, listed = shown.SettledStageChange, shown.SettledStageChangeShort
    filterset_class = filters.SettledStageChangeFilter
    orderings = BY_TIME


class PanelChangeResource(SiteResource):
    """Every step of every panel, and what was recorded but not advanced, with the reasons."""

    model, through = PanelChange, "panel__unit__opening"
    serializer_class, filterset_class = PanelChangeSerializer, filters.SettledPanelChangeFilter
    orderings = BY_TIME


class HoldPointResource(SiteResource):
    """*The pocket closes*: released on what, by whom; undone by stepping back before it."""

    model, through = HoldPoint, "opening"
    serializer_class, filterset_class = shown.HoldPointSerializer, filters.HoldPointFilter
    orderings = BY_TIME
    acts = {"create": "release the hold point"}

    @extend_schema(request=bodies.HoldPointIn, responses={201: shown.HoldPointSerializer})
    def create(self, request: Request) -> HttpResponse:
        """The same as `release-hold-point` on the opening."""
        return self.entry(bodies.HoldPointIn, gates.release_hold_point)


class AcceptanceResource(SiteResource):
    """Who took the work, when and how, and subject to which items."""

    model, through = Acceptance, "opening"
    serializer_class, filterset_class = shown.AcceptanceSerializer, OnOpening
    orderings = BY_TIME
    hides = {"read contacts": ("accepted_by",)}


class CountersignatureResource(ReadOnly):
    """The office's word on each gate a lead passed over."""

    model, through = Countersignature, "change__opening"
    serializer_class, filterset_class = shown.CountersignatureSerializer, filters.CountersignatureFilter
    orderings = {"id": ("pk",), "owed_since": ("owed_since",)}
    acts = {"give": "countersign", "refuse": "countersign"}

    def _said(self, give: bool) -> HttpResponse:
        found = self.found()
        version = self.version(found)
        return self.record(standing.countersign(self.act(), found.pk, give=give, version=version,
                                                **self.sent(bodies.SayIn)))

    @extend_schema(request=bodies.SayIn, responses=shown.CountersignatureSerializer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def give(self, request: Request, pk: str) -> HttpResponse:
        return self._said(True)

    @extend_schema(request=bodies.SayIn, responses=shown.CountersignatureSerializer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def refuse(self, request: Request, pk: str) -> HttpResponse:
        """Puts the opening back, with the reason."""
        return self._said(False)


class SettlementResource(ReadOnly):
    """How what was recorded and not advanced was dealt with."""

    model, through = Settlement, "stage_change__opening"  # or of a panel change: see `own`
    serializer_class, filterset_class = shown.SettlementSerializer, filters.SettlementFilter
    orderings = {"id": ("pk",), "at": ("at",)}
    acts = {"create": "settle"}

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        mine = self.reader.openings()
        return rows.filter(Q(stage_change__opening__in=mine) | Q(panel_change__panel__unit__opening__in=mine)
                           | Q(hold_point__opening__in=mine))

    @extend_schema(request=bodies.SettleIn, responses={201: shown.SettlementSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.record(standing.settle(self.act(), **self.sent(bodies.SettleIn)), 201)


class ReminderResource(ReadOnly):
    """Who was told of which punch item, for the how-manieth time, and whether the message went out."""

    model, reads, through = Reminder, "read reminders", "item__opening"
    serializer_class, listed = shown.ReminderSerializer, shown.ReminderShort
    filterset_class = filters.ReminderFilter
    orderings = {"id": ("pk",), "day": ("message__day",)}

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        return rows.filter(user=self.reader.user)

    def also_marked_by(self) -> tuple[Any, ...]:
        """Messages go out without an act of anybody's."""
        said = Message.objects.aggregate(Count("pk"), Max("sent_at"), Max("claimed_at"))
        return (*said.values(), Reminder.objects.aggregate(Max("pk"))["pk__max"])
