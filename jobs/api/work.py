"""Work steps, and giving them to crews."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.http import HttpResponse
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request

from jobs.filters import AssignmentFilter, WorkStepFilter
from jobs.models import Assignment, WorkStep
from jobs.rest.fields import Id
from jobs.rest.resources import IF_MATCH, OfficeResource
from jobs.rest.rows import Row
from jobs.serializers import AssignmentSerializer, WorkStepSerializer
from jobs.services import planning
from jobs.services.objections import new_since, standing_now


class WorkStepResource(OfficeResource):
    """What each stage of an opening takes, and whether it is ready."""

    model, named, through = WorkStep, "work-steps", "opening"
    serializer_class, filterset_class = WorkStepSerializer, WorkStepFilter
    orderings = {"id": ("pk",), "earliest_day": ("earliest_day",)}


class AssignmentIn(serializers.Serializer):
    crew = Id(source="crew_id")
    start_day = serializers.DateField()
    end_day = serializers.DateField()
    planned_minutes = serializers.IntegerField(required=False, min_value=0, max_value=10_000_000)
    firmness = serializers.ChoiceField(Assignment.FIRMNESS, required=False)
    equipment = serializers.ListField(child=Id(), required=False, max_length=50)
    knowing = serializers.BooleanField(required=False, default=False,
                                       help_text="To ink it although something stands against it.")


class NewAssignment(AssignmentIn):
    work_step = Id(source="work_step_id")


class ToldIn(serializers.Serializer):
    whom = serializers.CharField(max_length=160)


@extend_schema_view(
    create=extend_schema(request=NewAssignment, responses={201: AssignmentSerializer}),
    partial_update=extend_schema(request=AssignmentIn, responses=AssignmentSerializer, parameters=[IF_MATCH]),
)
class AssignmentResource(OfficeResource):
    """Who does which work step when: pencilled or inked, and who has been told. `against` is what stands against it."""

    model, named, through = Assignment, "assignments", "opening"
    serializer_class, filterset_class = AssignmentSerializer, AssignmentFilter
    orderings = {"id": ("pk",), "start_day": ("start_day",)}
    hides = {"read contacts": ("told_whom",)}
    acts = {"tell": "keep office records"}
    http_method_names = ["get", "head", "options", "post", "patch", "delete"]

    def completed(self, rows: list[Row]) -> list[Row]:
        """What stands against each now: crew, equipment, panels and days may have changed since it was given."""
        now = standing_now([row["id"] for row in rows], self.act().today())
        return [{**row, "against_now": now.get(row["id"]), "new_since": new_since(row["against"], now[row["id"]])
                 if row["id"] in now else None} for row in rows]

    def create(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        return self.record(planning.assign(self.act(), **self.sent(NewAssignment)), 201)

    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        found = self.found(self.keeps)
        version = self.version(found)
        sent = self.sent(AssignmentIn, partial=True)
        knowing = sent.pop("knowing", False)
        return self.record(planning.change_assignment(self.act(), found.pk, sent, version=version, knowing=knowing))

    def destroy(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        found = self.found(self.keeps)
        planning.take_back(self.act(), found.pk, version=self.version(found))
        return HttpResponse(status=204)

    @extend_schema(request=ToldIn, responses=AssignmentSerializer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"])
    def tell(self, request: Request, pk: str) -> HttpResponse:
        """Notes who has been told of it."""
        found: models.Model = self.found()
        version = self.version(found)
        return self.record(planning.tell(self.act(), found.pk, version=version, **self.sent(ToldIn)))
