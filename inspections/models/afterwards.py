from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.base import OfficeRecord, SiteRecord
from jobs.models.crews import Crew
from jobs.models.jobs import Opening
from units.models import Panel


class Callback(OfficeRecord):
    """A call after acceptance: what is wrong, how urgent, and what it turned out to be."""

    SEVERITIES = [("cannot-be-secured", "Cannot be secured"), ("broken-glass", "Broken glass"), ("water", "Water in"),
                  ("drags", "Drags"), ("looks", "Looks")]
    WHOSE = [("", "Not yet known"), ("ours", "Our work"), ("maker", "The maker"), ("builder", "The builder"),
             ("wear", "Wear and use"), ("none", "Nothing found")]

    number = models.CharField(max_length=24, unique=True)
    opening = models.ForeignKey(Opening, models.PROTECT, related_name="callbacks")
    panel = models.ForeignKey(Panel, models.PROTECT, null=True, blank=True, related_name="callbacks")
    called_at = models.DateTimeField()
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    caller = models.CharField(max_length=120, blank=True)
    best_time = models.CharField(max_length=120, blank=True, default="", db_default="")  # to reach them, and how
    severity = models.CharField(max_length=20, choices=SEVERITIES)
    symptom = models.CharField(max_length=400)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    finding = models.CharField(max_length=400, blank=True)
    whose = models.CharField(max_length=10, choices=WHOSE, blank=True)

    class Meta:
        ordering = ["-called_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(closed_at=None, closed_by=None) | (
                Q(closed_at__isnull=False, closed_by__isnull=False) & ~Q(finding="")),
                name="callback_closed_with_finding"),
        ]
        indexes = [models.Index(fields=["opening", "called_at"]),
                   models.Index(fields=["opening"], name="callback_open", condition=Q(closed_at=None))]

    def __str__(self) -> str:
        return f"{self.number} {self.symptom}"


class ReturnTripQuerySet(models.QuerySet):
    def not_dropped(self) -> ReturnTripQuerySet:
        """Made, or still to be made: of a callback that was closed without it, nobody goes any more."""
        return self.exclude(done_at=None, callback__closed_at__isnull=False)

    def to_be_made(self) -> ReturnTripQuerySet:
        return self.filter(done_at=None, callback__closed_at=None)


class ReturnTrip(OfficeRecord):
    """Somebody goes back: when, who, and what came of it."""

    callback = models.ForeignKey(Callback, models.PROTECT, related_name="return_trips")
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="return_trips")
    day = models.DateField()
    arrival = models.CharField(max_length=60, blank=True)  # as agreed with the owner
    bring = models.CharField(max_length=240, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(max_length=240, blank=True)

    objects = ReturnTripQuerySet.as_manager()

    class Meta:
        ordering = ["day", "id"]
        indexes = [models.Index(fields=["crew", "day"])]  # a crew's week, however many weeks there were

    def __str__(self) -> str:
        return f"{self.callback.number} on {self.day}"


class Adjustment(SiteRecord):
    """What was turned, and how it was before and after."""

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="adjustments")
    callback = models.ForeignKey(Callback, models.PROTECT, null=True, blank=True, related_name="adjustments")
    trip = models.ForeignKey(ReturnTrip, models.PROTECT, null=True, blank=True, related_name="adjustments")
    panel = models.ForeignKey(Panel, models.PROTECT, null=True, blank=True, related_name="adjustments")
    what = models.CharField(max_length=240)
    turns = models.JSONField(default=list, blank=True)  # [{"roller": "lead", "eighths": 3}]: up is positive
    before = models.JSONField(default=dict, blank=True)  # readings, in the words of the calculation
    after = models.JSONField(default=dict, blank=True)
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        ordering = ["taken_at", "id"]

    def __str__(self) -> str:
        return f"{self.opening}: {self.what}"
