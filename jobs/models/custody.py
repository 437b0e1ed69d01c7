from __future__ import annotations

from django.db import models
from django.db.models import Q

from jobs.models.base import SiteRecord
from jobs.models.crews import Crew
from jobs.models.jobs import Opening


class Custody(SiteRecord):
    """Who has the opening from when, and its condition as they took it over. The latest stands."""

    HOLDERS = [("crew", "Our crew"), ("builder", "The builder"), ("other-trades", "Other trades"),
               ("owner", "The owner")]

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="custody")
    holder = models.CharField(max_length=12, choices=HOLDERS)
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="+")
    who = models.CharField(max_length=160, blank=True)  # of them: a name, a trade
    condition = models.CharField(max_length=400)

    class Meta:
        verbose_name_plural = "custody"
        ordering = ["taken_at", "server_time", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(holder__in=["crew", "builder", "other-trades", "owner"]),
                                   name="custody_holder_exists"),
            models.CheckConstraint(condition=~Q(condition=""), name="custody_says_its_condition"),
            models.CheckConstraint(condition=Q(holder="crew") | Q(crew=None), name="custody_crew_holds_it"),
        ]
        indexes = [models.Index(fields=["opening", "-taken_at"])]

    def __str__(self) -> str:
        return f"{self.opening}: {self.get_holder_display()}"
