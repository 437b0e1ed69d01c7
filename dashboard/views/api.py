"""The API's description and its readable docs; and photos handed out to programs."""

from __future__ import annotations

import uuid
from typing import Any

from csp.decorators import csp_update
from django.http import HttpResponse
from django.utils.translation import get_language
from drf_spectacular.utils import OpenApiResponse, extend_schema
from drf_spectacular.views import SpectacularJSONAPIView, SpectacularSwaggerSplitView
from rest_framework.decorators import action
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request

from dashboard.site.refused import problem_said
from dashboard.views.photos import picture_response
from inspections.api.computed import SiteEntryResource as SiteEntries
from inspections.api.site import PhotoResource as Photos
from jobs.rest.bodies import dumped
from jobs.rest.marks import content_mark, is_known, marked, unchanged

PICTURE = {(200, "image/jpeg"): OpenApiResponse(bytes, description="The picture.")}


class PhotoResource(Photos):
    """Photos, without their location; the pictures themselves are at `picture` and `thumbnail`."""

    @extend_schema(responses=PICTURE, filters=False)
    @action(detail=True)
    def picture(self, request: Request, pk: str) -> HttpResponse:
        return picture_response(request, self.act(), uuid.UUID(pk))

    @extend_schema(responses=PICTURE, filters=False)
    @action(detail=True)
    def thumbnail(self, request: Request, pk: str) -> HttpResponse:
        return picture_response(request, self.act(), uuid.UUID(pk), small=True)


class SiteEntryResource(SiteEntries):
    """Everything a telephone kept while it had no signal."""

    def taken_in(self, entries: list[Any]) -> list[dict[str, Any]]:
        """What is refused is said in the telephone's language."""
        return [{**told, "problem": problem_said(told["problem"])} if "problem" in told else told
                for told in super().taken_in(entries)]


class DocsView(SpectacularSwaggerSplitView):
    """Script and style from this site only; the page's own script is a second request to the same address."""

    permission_classes = [IsAuthenticated]
    url_name = "api:schema"


class DescriptionView(SpectacularJSONAPIView):
    """Written once a process and language: it takes a second, and is the same for everybody."""

    permission_classes = [IsAuthenticated]
    written: dict[str, bytes] = {}

    @extend_schema(exclude=True)
    def get(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        language = get_language() or ""
        if language not in self.written:
            self.written[language] = dumped(super().get(request, *args, **kwargs).data)
        body = self.written[language]
        mark = content_mark(body)
        if is_known(request.headers.get("If-None-Match"), mark):
            return unchanged(mark)
        return marked(HttpResponse(body, content_type="application/vnd.oai.openapi+json"), mark)


schema = DescriptionView.as_view()
# Swagger writes styles into the page and draws its arrows as data: for this page alone, and nothing from elsewhere.
docs = csp_update({"style-src": ["'self'", "'unsafe-inline'"]})(DocsView.as_view())
