"""The company's own settings: one record, at one address."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.http import HttpResponse
from rest_framework.request import Request

from jobs.models import OfficeSettings
from jobs.rest.resources import OfficeResource
from jobs.rest.rows import Row
from jobs.serializers import OfficeSettingsSerializer
from jobs.services.company import change_settings


class OfficeSettingsResource(OfficeResource):
    """The company's name, clock and holidays, after how many days an open punch item is recalled, and where answers to
    its mail go."""

    model, named, reads = OfficeSettings, "office-settings", "keep office records"
    serializer_class = OfficeSettingsSerializer
    pagination_class, filter_backends = None, []

    def found(self, what: str | None = None) -> Any:
        return OfficeSettings.current()

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        return self.shown(self._row())

    def _row(self) -> Row:
        """As it is kept; the defaults, before anybody has changed them."""
        standing, plan = self.found(), self.plan()
        return plan.made(OfficeSettings, [tuple(getattr(standing, path) for path in plan.paths)])[0]

    def alter(self, found: Any, values: dict[str, Any], version: int) -> models.Model:
        return change_settings(self.act(), values, version=version)
