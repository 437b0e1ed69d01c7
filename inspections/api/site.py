"""Recorded on site: readings, confirmations, joints, parts set aside, punch items, events, hours, photos."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from inspections import filters
from inspections import serializers as shown
from inspections.api import bodies
from inspections.imaging import MOST_BYTES
from inspections.models import Confirmation, Inspection, Joint, Photo, PunchItem, SetAsidePart
from inspections.services import closing, inspecting, joints, work
from inspections.services.photos import store_photo
from jobs.acts import Act
from jobs.errors import Invalid
from jobs.filters import TimeReportFilter
from jobs.models import Event, TimeReport
from jobs.rest.resources import IF_MATCH, SiteResource
from jobs.serializers import EventSerializer, TimeReportSerializer

BY_TIME = {"id": ("pk",), "taken_at": ("taken_at",)}


class InspectionResource(SiteResource):
    """Sets of readings, each with the verdict of the day it was taken. Never changed: new readings supersede them."""

    model, through = Inspection, "opening"
    serializer_class, listed = shown.InspectionSerializer, shown.InspectionShortSerializer
    filterset_class = filters.InspectionFilter
    orderings = BY_TIME
    acts = {"create": "record readings"}

    @extend_schema(request=bodies.InspectionIn, responses={201: shown.InspectionSerializer})
    def create(self, request: Request) -> HttpResponse:
        """Judged at once, and kept whether it passes or not."""
        return self.entry(bodies.InspectionIn, inspecting.record_inspection)


class ConfirmationResource(SiteResource):
    """Somebody looked: what at, and whether it was so."""

    model, through = Confirmation, "opening"
    serializer_class, filterset_class = shown.ConfirmationSerializer, filters.ConfirmationFilter
    orderings = BY_TIME
    acts = {"create": "record readings"}

    @extend_schema(request=bodies.ConfirmationIn, responses={201: shown.ConfirmationSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.entry(bodies.ConfirmationIn, inspecting.confirm)


class JointResource(SiteResource):
    """Joints sealed, in what conditions; and joints seen open that must never be sealed."""

    model, through = Joint, "opening"
    serializer_class, filterset_class = shown.JointSerializer, filters.JointFilter
    orderings = BY_TIME
    acts = {"create": "do a joint"}

    @extend_schema(request=bodies.JointIn, responses={201: shown.JointSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.entry(bodies.JointIn, joints.do_joint)


class SetAsidePartResource(SiteResource):
    """Taken off, and must go back before the door is accepted."""

    model, through = SetAsidePart, "opening"
    serializer_class, filterset_class = shown.SetAsidePartSerializer, filters.SetAsidePartFilter
    orderings = BY_TIME
    acts = {"create": "set a part aside", "put_back": "set a part aside"}

    @extend_schema(request=bodies.SetAsideIn, responses={201: shown.SetAsidePartSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.entry(bodies.SetAsideIn, closing.set_part_aside)

    @extend_schema(request=bodies.PutBackIn, responses=shown.SetAsidePartSerializer)
    @action(detail=True, methods=["post"], url_path="put-back")
    def put_back(self, request: Request, pk: str) -> HttpResponse:
        part = self.found()
        return self.record(closing.put_part_back(self.act(), part.pk, **self.sent(bodies.PutBackIn)))


class PunchItemResource(SiteResource):
    """What is left to put right: whose, by when."""

    model, through = PunchItem, "opening"
    serializer_class, filterset_class = shown.PunchItemSerializer, filters.PunchItemFilter
    orderings = {**BY_TIME, "due_day": ("due_day",)}
    acts = {"create": "raise a punch item", "partial_update": "change a punch item", "close": "close a punch item"}

    @extend_schema(request=bodies.PunchItemIn, responses={201: shown.PunchItemSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.entry(bodies.PunchItemIn, closing.raise_punch_item)

    @extend_schema(request=bodies.PunchItemChange, responses=shown.PunchItemSerializer, parameters=[IF_MATCH])
    def partial_update(self, request: Request, pk: str) -> HttpResponse:
        item = self.found()
        version = self.version(item)
        sent = self.sent(bodies.PunchItemChange, partial=True)
        return self.record(closing.change_punch_item(self.act(), item.pk, sent, version=version))

    @extend_schema(request=bodies.HowIn, responses=shown.PunchItemSerializer)
    @action(detail=True, methods=["post"])
    def close(self, request: Request, pk: str) -> HttpResponse:
        """Put right, and how. With `If-Match` only as it was read."""
        item = self.found()
        version = self.version(item) if "If-Match" in request.headers else None
        return self.record(closing.close_punch_item(self.act(), item.pk, version=version, **self.sent(bodies.HowIn)))


class EventResource(SiteResource):
    """What ends what was verified: a re-pour, work on the structure, other trades in the opening."""

    model, through = Event, "opening"
    serializer_class, filterset_class = EventSerializer, filters.EventFilter
    orderings = BY_TIME
    acts = {"create": "note an event"}

    @extend_schema(request=bodies.EventIn, responses={201: EventSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.entry(bodies.EventIn, work.note_event)


class TimeReportResource(SiteResource):
    """Person-minutes used on a work step, as reported."""

    model, through = TimeReport, "work_step__opening"
    serializer_class, filterset_class = TimeReportSerializer, TimeReportFilter
    orderings = {"id": ("pk",), "day": ("day",)}
    acts = {"create": "report hours"}

    @extend_schema(request=bodies.HoursIn, responses={201: TimeReportSerializer})
    def create(self, request: Request) -> HttpResponse:
        return self.entry(bodies.HoursIn, work.report_hours)


class PhotoResource(SiteResource):
    """Photos, without their location; the pictures themselves are at `picture` and `thumbnail`."""

    model, through = Photo, "opening"
    serializer_class, filterset_class = shown.PhotoSerializer, filters.PhotoFilter
    orderings = BY_TIME
    acts = {"create": "add photos"}

    def get_parsers(self) -> list[Any]:
        return [MultiPartParser()] if self.request is None or self.request.method == "POST" else super().get_parsers()

    def also_marked_by(self) -> tuple[Any, ...]:
        return (Photo.objects.filter(thumbnail_at=None).count(),)

    @extend_schema(request={"multipart/form-data": bodies.PhotoIn}, responses={201: shown.PhotoSerializer})
    def create(self, request: Request) -> HttpResponse:
        """A picture and what it shows, as multipart/form-data."""
        return self.entry(bodies.PhotoIn, _stored)


def _stored(act: Act, *, opening_id: int, photo: Any, **sent: Any) -> Photo:
    if photo.size > MOST_BYTES:
        raise Invalid("That picture is too large.", fields={"photo": f"at most {MOST_BYTES // 2**20} MB"})
    return store_photo(act, opening_id, photo.read(), **sent)

