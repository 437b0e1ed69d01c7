"""What units are made of and what came of it; who has an opening, and who saw what may go into its wall."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.db import models
from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request

from inspections import filters
from inspections.api import bodies
from inspections.models import WallAgreement
from inspections.serializers import WallAgreementSerializer
from inspections.services import parts, walls
from inspections.services.custody import hand_over
from jobs.models import Custody
from jobs.rest.resources import OfficeResource, SiteResource
from jobs.rest.rows import Row
from jobs.serializers import CustodySerializer
from units.filters import PartArrivalFilter, PartFilter
from units.models import Part, PartArrival
from units.serializers import PartArrivalSerializer, PartSerializer

BY_TIME = {"id": ("pk",), "taken_at": ("taken_at",)}


class PartResource(OfficeResource):
    """What a unit is made of, which delivery brings it, and what came of it: listed by the unit's `list-parts`, or
    added by hand."""

    model, named, through = Part, "parts", "unit__opening"
    serializer_class, filterset_class = PartSerializer, PartFilter
    orderings = {"id": ("pk",), "name": ("name",)}
    acts = {"came": parts.RECEIVE}

    def make(self, values: dict[str, Any]) -> models.Model:
        return parts.make_part(self.act(), values)

    def alter(self, found: Any, values: dict[str, Any], version: int) -> models.Model:
        return parts.change_part(self.act(), found, values, version=version)

    def take_away(self, found: Any, version: int) -> None:
        parts.remove_part(self.act(), found, version=version)

    @extend_schema(request=bodies.PartCameIn, responses={201: PartArrivalSerializer, 200: PartArrivalSerializer})
    @action(detail=True, methods=["post"])
    def came(self, request: Request, pk: str) -> HttpResponse:
        """How many came whole, short or damaged."""
        part = self.found()
        note = partial(_noted, part_id=part.pk)
        return self.entry(bodies.PartCameIn, note, PartArrivalSerializer)


def _noted(act: Any, *, part_id: int, **sent: Any) -> PartArrival:
    return parts.note_part_came(act, part_id, **sent)


class PartArrivalResource(SiteResource):
    """What came of each part, every time somebody said it."""

    model, through = PartArrival, "part__unit__opening"
    serializer_class, filterset_class = PartArrivalSerializer, PartArrivalFilter
    orderings = BY_TIME


class CustodyResource(SiteResource):
    """Who has each opening from when, and its condition at each change."""

    model, through = Custody, "opening"
    serializer_class, filterset_class = CustodySerializer, filters.CustodyFilter
    orderings = BY_TIME
    acts = {"create": "hand over an opening"}

    @extend_schema(request=bodies.CustodyIn, responses={201: CustodySerializer})
    def create(self, request: Request) -> HttpResponse:
        """Handed over to other trades, what was verified for a time no longer counts."""
        return self.entry(bodies.CustodyIn, hand_over)


class WallAgreementResource(SiteResource):
    """Who of the builder's side saw how deep anything may be fixed into the wall that hides the panels, on what
    figures. No gate asks for it."""

    model, through = WallAgreement, "opening"
    serializer_class, filterset_class = WallAgreementSerializer, filters.WallAgreementFilter
    orderings = BY_TIME
    acts = {"create": walls.MAY}

    def completed(self, rows: list[Row]) -> list[Row]:
        """Whether the figures are still those that were seen."""
        now = walls.marks_now({row["opening"] for row in rows})
        return [{**row, "counts": row["figures_sha256"] == now.get(row["opening"], "")} for row in rows]

    @extend_schema(request=bodies.WallAgreementIn, responses={201: WallAgreementSerializer})
    def create(self, request: Request) -> HttpResponse:
        """It stands on the figures as they are now; read anew, it no longer counts."""
        return self.entry(bodies.WallAgreementIn, walls.countersign_wall)
