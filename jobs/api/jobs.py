"""Jobs with their access codes, and openings as the office keeps them. What happens to an opening is added above."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Count
from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request

from jobs.api.people import unhung
from jobs.errors import NotThere
from jobs.filters import JobFilter, OpeningFilter
from jobs.models import AccessCode, Job, Opening
from jobs.rest.bodies import answer
from jobs.rest.resources import IF_MATCH, OfficeResource
from jobs.rest.rows import Row
from jobs.serializers import AccessCodeNameSerializer, AccessCodeSerializer, JobSerializer, OpeningSerializer
from jobs.services import office
from jobs.services.codes import codes_of
from jobs.services.openings import make_opening
from jobs.stages import ORDER

CODE = r"access-codes/(?P<code>[0-9]{1,18})"


class JobResource(OfficeResource):
    """Jobs, with how many of their openings stand at which stage."""

    model, named = Job, "jobs"
    serializer_class, filterset_class = JobSerializer, JobFilter
    through = "openings"
    orderings = {"id": ("pk",), "number": ("number",), "promised_date": ("promised_date",)}
    hides = {
        "read money": ("contract_cents",),
        "read contacts": ("address", "latitude", "longitude", "access_notes"),
    }
    acts = {"access_codes": "read access codes", "access_code": "read access codes",
            "add_access_code": "keep office records", "change_access_code": "keep office records",
            "remove_access_code": "keep office records"}

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        return rows.filter(pk__in=self.reader.openings().values("job_id"))

    def found(self, what: str | None = None) -> Any:
        return unhung(self)

    def completed(self, rows: list[Row]) -> list[Row]:
        counts: dict[int, dict[str, int]] = {row["id"]: {} for row in rows}
        stood = self.reader.openings().filter(job_id__in=counts).order_by().values_list("job_id", "stage")
        for job_id, stage, n in stood.annotate(n=Count("id")):
            counts[job_id][stage] = n
        for row in rows:
            row["openings_by_stage"] = {s.value: counts[row["id"]][s] for s in ORDER if s in counts[row["id"]]}
        return rows

    # Codes are never in a list of anything: a job says which there are, and each is read by itself.

    @extend_schema(responses={200: AccessCodeNameSerializer(many=True)}, filters=False)
    @action(detail=True, url_path="access-codes", pagination_class=None, filter_backends=[])
    def access_codes(self, request: Request, pk: str) -> HttpResponse:
        """Which codes there are, for the office and for the assigned crew on the day."""
        rows = self.plan(AccessCodeNameSerializer).rows(codes_of(self.act(), self.found())[:200])
        return _unkept(answer(rows))

    @extend_schema(request=AccessCodeSerializer, responses={201: AccessCodeNameSerializer})
    @access_codes.mapping.post
    def add_access_code(self, request: Request, pk: str) -> HttpResponse:
        job, sent = self.found(), self.sent(AccessCodeSerializer)
        made = office.create(self.act(), AccessCode, {**sent, "job": job}, record="access-codes")
        return _unkept(answer(self.plan(AccessCodeNameSerializer).rows(AccessCode.objects.filter(pk=made.pk))[0], 201))

    @extend_schema(responses={200: AccessCodeSerializer})
    @action(detail=True, url_path=CODE)
    def access_code(self, request: Request, pk: str, code: str) -> HttpResponse:
        """One code."""
        rows = self.plan(AccessCodeSerializer).rows(codes_of(self.act(), self.found()).filter(pk=code))
        if not rows:
            raise NotThere("This job has no such code.")
        response = _unkept(answer(rows[0]))
        response["ETag"] = f'"{rows[0]["version"]}"'
        return response

    @extend_schema(request=AccessCodeSerializer, responses={200: AccessCodeNameSerializer}, parameters=[IF_MATCH])
    @access_code.mapping.patch
    def change_access_code(self, request: Request, pk: str, code: str) -> HttpResponse:
        found = self._code(code)
        version = self.version(found)
        sent = self.sent(AccessCodeSerializer, instance=found, partial=True)
        office.change(self.act(), found, sent, version=version, record="access-codes")
        return _unkept(answer(self.plan(AccessCodeNameSerializer).rows(AccessCode.objects.filter(pk=found.pk))[0]))

    @extend_schema(responses={204: None}, parameters=[IF_MATCH])
    @access_code.mapping.delete
    def remove_access_code(self, request: Request, pk: str, code: str) -> HttpResponse:
        found = self._code(code)
        office.remove(self.act(), found, version=self.version(found), record="access-codes")
        return HttpResponse(status=204)

    def _code(self, code: str) -> AccessCode:
        found = AccessCode.objects.select_related("job").filter(job=self.found(), pk=code).first()
        if found is None:
            raise NotThere("This job has no such code.")
        return found


def _unkept(response: HttpResponse) -> HttpResponse:
    """Nothing on the way keeps a copy."""
    response["Cache-Control"] = "no-store"
    return response


class OpeningResource(OfficeResource):
    """Openings: tag, sizes from the shop drawing, where the pocket is, and the stage they stand at."""

    model, named = Opening, "openings"
    serializer_class, filterset_class = OpeningSerializer, OpeningFilter
    through = ""
    orderings = {"id": ("pk",), "tag": ("tag",), "stage_since": ("stage_since",), "job": ("job__number", "tag")}

    def make(self, values: dict[str, Any]) -> models.Model:
        return make_opening(self.act(), values)
