"""The feed: everything that happened, in the order it was committed."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from jobs.filters import ChangeFilter
from jobs.models import Change
from jobs.rest.resources import ReadOnly
from jobs.serializers import ChangeSerializer


class ChangeResource(ReadOnly):
    """Resumable: follow `next`, or ask with `since`; a position once passed never fills up later."""

    model, through = Change, "opening"
    serializer_class, filterset_class = ChangeSerializer, ChangeFilter
    orderings = {"position": ("position",)}
    default_ordering = "position"

    def get_queryset(self) -> models.QuerySet:
        rows = super().get_queryset()
        return rows if getattr(self, "swagger_fake_view", False) else rows.shown_to(self.reader.role)

    def own(self, rows: models.QuerySet) -> models.QuerySet:
        """Of the reader's own openings, and of their jobs as such."""
        return rows.filter(Q(opening__in=self.reader.openings())
                           | Q(opening=None, record="jobs", job__in=self.reader.jobs().values("pk")))
