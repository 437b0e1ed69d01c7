"""The feed: everything that happened, in the order it was committed."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from jobs.filters import ChangeFilter
from jobs.models import Change
from jobs.rest.resources import ReadOnly
from jobs.roles import Role
from jobs.serializers import ChangeSerializer

# Only the office sees that these changed.
OFFICE_ONLY = ("tokens", "access-codes", "people", "days-off", "office-settings")


class ChangeResource(ReadOnly):
    """Resumable: follow `next`, or ask with `since`; a position once passed never fills up later."""

    model, through = Change, "opening"
    serializer_class, filterset_class = ChangeSerializer, ChangeFilter
    orderings = {"position": ("position",)}
    default_ordering = "position"

    def get_queryset(self) -> models.QuerySet:
        rows = super().get_queryset()
        if getattr(self, "swagger_fake_view", False) or self.reader.role == Role.OFFICE:
            return rows
        return rows.exclude(record__in=OFFICE_ONLY)

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        """Of the reader's own openings, and of their jobs as such."""
        return rows.filter(Q(opening__in=self.reader.openings())
                           | Q(opening=None, record="jobs", job__in=self.reader.jobs().values("pk")))
