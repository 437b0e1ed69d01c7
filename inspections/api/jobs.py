"""Jobs, and what all their units take together."""

from __future__ import annotations

from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request

from inspections.services.taking_off import materials_shown
from jobs.api.jobs import JobResource as OfficeJobs


class MaterialsSerializer(serializers.Serializer):
    """`short`: tags of openings whose take-off leaves something out; `unknown`: those with none at all."""

    sealant = serializers.ListField(child=serializers.DictField())
    anchors = serializers.ListField(child=serializers.DictField())
    shims = serializers.ListField(child=serializers.DictField())
    short = serializers.ListField(child=serializers.CharField())
    unknown = serializers.ListField(child=serializers.CharField())


class JobResource(OfficeJobs):
    """Jobs, and what all their units take together."""

    @extend_schema(responses=MaterialsSerializer, filters=False)
    @action(detail=True)
    def materials(self, request: Request, pk: str) -> HttpResponse:
        """Every unit's take-off added up, of those openings the reader may see."""
        job = self.found("read")
        return self.shown(materials_shown(self.reader.openings().filter(job=job)))
