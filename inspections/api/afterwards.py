"""After acceptance: callbacks, return trips, adjustments."""

from __future__ import annotations

from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request

from inspections import filters
from inspections import serializers as shown
from inspections.api import bodies
from inspections.models import Adjustment, Callback, ReturnTrip
from inspections.services import afterwards
from jobs.rest.resources import IF_MATCH, ReadOnly, SiteResource


class CallbackResource(ReadOnly):
    """Calls after acceptance: what is wrong, how urgent, and what it turned out to be."""

    model, through = Callback, "opening"
    serializer_class, filterset_class = shown.CallbackSerializer, filters.CallbackFilter
    orderings = {"id": ("pk",), "called_at": ("called_at",)}
    hides = {"read contacts": ("caller", "best_time")}
    acts = {"create": "log a callback", "close": "log a callback"}

    @extend_schema(request=bodies.CallbackIn, responses={201: shown.CallbackSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.record(afterwards.log_callback(self.act(), **self.sent(bodies.CallbackIn)), 201)

    @extend_schema(request=bodies.CloseCallbackIn, responses=shown.CallbackSerializer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def close(self, request: Request, pk: str) -> HttpResponse:
        """With what it turned out to be, and whose."""
        found = self.found()
        version = self.version(found)
        return self.record(afterwards.close_callback(self.act(), found.pk, version=version,
                                                     **self.sent(bodies.CloseCallbackIn)))


class ReturnTripResource(ReadOnly):
    """Somebody goes back: when, who, with what."""

    model, through = ReturnTrip, "callback__opening"
    serializer_class, filterset_class = shown.ReturnTripSerializer, filters.ReturnTripFilter
    orderings = {"id": ("pk",), "day": ("day",)}
    hides = {"read contacts": ("arrival",)}
    acts = dict.fromkeys(("create", "partial_update", "finish"), "log a callback")

    @extend_schema(request=bodies.ReturnTripIn, responses={201: shown.ReturnTripSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.record(afterwards.book_return_trip(self.act(), **self.sent(bodies.ReturnTripIn)), 201)

    @extend_schema(request=bodies.ChangeTripIn, responses=shown.ReturnTripSerializer, parameters=[IF_MATCH])
    def partial_update(self, request: Request, pk: str) -> HttpResponse:
        """Another day, another crew."""
        found = self.found()
        version = self.version(found)
        values = self.sent(bodies.ChangeTripIn, partial=True)
        return self.record(afterwards.change_return_trip(self.act(), found.pk, values, version=version))

    @extend_schema(request=bodies.FinishTripIn, responses=shown.ReturnTripSerializer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, pk: str) -> HttpResponse:
        """Somebody was there, and what came of it."""
        found = self.found()
        version = self.version(found)
        return self.record(afterwards.finish_return_trip(self.act(), found.pk, version=version,
                                                         **self.sent(bodies.FinishTripIn)))


class AdjustmentResource(SiteResource):
    """What was turned, and how it was before and after."""

    model, through = Adjustment, "opening"
    serializer_class, filterset_class = shown.AdjustmentSerializer, filters.AdjustmentFilter
    orderings = {"id": ("pk",), "taken_at": ("taken_at",)}
    acts = {"create": "log an adjustment"}

    @extend_schema(request=bodies.AdjustmentIn, responses={201: shown.AdjustmentSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.entry(bodies.AdjustmentIn, afterwards.log_adjustment)
