"""The builder's link, and what was reported corrected through it."""

from __future__ import annotations

from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request

from inspections import filters
from inspections import serializers as shown
from inspections.api import bodies
from inspections.models import BuilderLink, CorrectionReport
from inspections.services import builders_link
from jobs.rest.bodies import answer
from jobs.rest.resources import SiteResource


class BuilderLinkResource(SiteResource):
    """One opening's site report for its builder: who has the address needs no account, until the link ends."""

    model, through, reads = BuilderLink, "opening", builders_link.MAY_KEEP
    serializer_class, filterset_class = shown.BuilderLinkSerializer, filters.BuilderLinkFilter
    orderings = {"id": ("pk",), "taken_at": ("taken_at",)}
    acts = dict.fromkeys(("create", "revoke", "address"), builders_link.MAY_KEEP)

    @extend_schema(request=bodies.BuilderLinkIn, responses={201: shown.BuilderLinkSerializer})
    def create(self, request: Request) -> HttpResponse:
        """Through the last day named, or for two weeks. Its address is at `address`."""
        return self.entry(bodies.BuilderLinkIn, builders_link.make_link)

    @extend_schema(responses=bodies.AddressOut)
    @action(detail=True, methods=["get"])
    def address(self, request: Request, pk: str) -> HttpResponse:
        """Where the builder opens it. Whoever has this address sees the report; it is kept nowhere."""
        token = builders_link.token_of(self.found())
        found = answer({"address": request.build_absolute_uri(reverse("for-the-builder", args=[token]))})
        found["Cache-Control"] = "no-store"
        return found

    @extend_schema(request=None, responses=shown.BuilderLinkSerializer)
    @action(detail=True, methods=["post"])
    def revoke(self, request: Request, pk: str) -> HttpResponse:
        """From the next request on it opens nothing."""
        return self.record(builders_link.revoke_link(self.act(), self.found().pk))


class CorrectionReportResource(SiteResource):
    """The builder says it is put right. That closes no wait and changes no gate: what is read decides."""

    model, through = CorrectionReport, "link__opening"
    serializer_class, filterset_class = shown.CorrectionReportSerializer, filters.CorrectionReportFilter
    orderings = {"id": ("pk",), "at": ("at",)}
    acts = {"take_note": builders_link.MAY_NOTE}

    @extend_schema(request=None, responses=shown.CorrectionReportSerializer)
    @action(detail=True, methods=["post"], url_path="take-note")
    def take_note(self, request: Request, pk: str) -> HttpResponse:
        """Seen by one of ours; who was first stays."""
        return self.record(builders_link.take_note(self.act(), self.found().pk))
