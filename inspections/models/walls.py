from __future__ import annotations

from django.db import models
from django.db.models import Q

from inspections.models.photos import Photo
from inspections.models.site import Inspection
from jobs.models.base import SiteRecord
from jobs.models.jobs import Opening


class WallAgreement(SiteRecord):
    """Somebody of the builder's side saw how deep anything may be fixed into the wall that hides the panels: on the
    figures as they stood. Once these are others it no longer counts; it stays all the same."""

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="wall_agreements")
    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="+")
    name = models.CharField(max_length=160)
    trade = models.CharField(max_length=160)
    figures = models.JSONField()
    figures_sha256 = models.CharField(max_length=64)
    photo = models.ForeignKey(Photo, models.PROTECT, null=True, blank=True, related_name="+")  # of the signed paper

    class Meta:
        ordering = ["taken_at", "server_time", "id"]
        constraints = [
            models.CheckConstraint(condition=~Q(name="") & ~Q(trade=""), name="wallagreement_says_who"),
            models.CheckConstraint(condition=~Q(figures_sha256=""), name="wallagreement_on_figures"),
        ]
        indexes = [models.Index(fields=["opening", "taken_at"])]

    def __str__(self) -> str:
        return f"{self.opening}: {self.name}, {self.trade}"
