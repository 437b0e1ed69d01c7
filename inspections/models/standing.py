from __future__ import annotations

from functools import reduce
from operator import or_

from django.conf import settings
from django.db import models
from django.db.models import Q

from inspections.models.checks import Check
from jobs.models.base import SiteRecord
from jobs.models.history import StageChange
from jobs.models.jobs import Opening
from units.models import PanelChange


class HoldPoint(SiteRecord):
    """*The pocket closes*, released: on what, by whom. Stepping back before it undoes it.

    Closed on site before it was released, it is kept and not advanced, with the reasons.
    """

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="hold_points")
    name = models.CharField(max_length=40, default=Check.HOLD_POINT)
    advanced = models.BooleanField(default=True)
    reasons = models.JSONField(default=list, blank=True)  # why it was not released
    gate = models.JSONField(default=dict)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(StageChange, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["taken_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["opening", "name"], condition=Q(undone_at=None, advanced=True),
                                    name="holdpoint_released_once"),
        ]
        indexes = [models.Index(fields=["opening"], name="holdpoint_not_advanced", condition=Q(advanced=False))]

    def __str__(self) -> str:
        return f"{self.opening}: {self.name}"


class Countersignature(models.Model):
    """The office's word on a gate that a lead passed over: owed, given or refused."""

    STATES = [("owed", "Owed"), ("given", "Given"), ("refused", "Refused")]

    change = models.OneToOneField(StageChange, models.PROTECT, related_name="countersignature")
    state = models.CharField(max_length=8, choices=STATES, default="owed")
    owed_since = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    at = models.DateTimeField(null=True, blank=True)
    reason = models.TextField(blank=True)
    put_back = models.ForeignKey(StageChange, models.PROTECT, null=True, blank=True, related_name="+")
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["owed_since", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(state="owed", by=None, at=None) | Q(state__in=["given", "refused"],
                                   by__isnull=False, at__isnull=False), name="countersignature_by_somebody"),
            models.CheckConstraint(condition=~Q(state="refused") | ~Q(reason=""), name="countersignature_says_why"),
        ]
        indexes = [models.Index(fields=["owed_since"], name="countersignature_owed", condition=Q(state="owed"))]

    def __str__(self) -> str:
        return f"{self.change}: {self.state}"


def _exactly_one(*names: str) -> Q:
    return reduce(or_, (Q(**{f"{other}__isnull": other != name for other in names}) for name in names))


class Settlement(models.Model):
    """How the office or the lead dealt with something recorded and not advanced."""

    HOW = [("advanced", "Advanced since"), ("put-right", "Put right on site"), ("stands", "Stands as it is"),
           ("mistaken", "Entered by mistake")]

    stage_change = models.OneToOneField(StageChange, models.PROTECT, null=True, blank=True, related_name="settlement")
    panel_change = models.OneToOneField(PanelChange, models.PROTECT, null=True, blank=True, related_name="settlement")
    hold_point = models.OneToOneField(HoldPoint, models.PROTECT, null=True, blank=True, related_name="settlement")
    how = models.CharField(max_length=10, choices=HOW)
    note = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(condition=_exactly_one("stage_change", "panel_change", "hold_point"),
                                   name="settlement_of_one"),
            models.CheckConstraint(condition=~Q(note=""), name="settlement_says_how"),
        ]

    def __str__(self) -> str:
        return f"{self.stage_change or self.panel_change or self.hold_point}: {self.how}"
