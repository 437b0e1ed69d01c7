from __future__ import annotations

from django.db import models
from django.db.models import Q

from jobs.models.base import SiteRecord
from jobs.models.crews import Crew
from jobs.models.jobs import Opening
from units.models import Panel


class Inspection(SiteRecord):
    """One set of readings of one kind, taken at one visit to one opening, and the verdict on them that day."""

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="inspections")
    kind = models.CharField(max_length=20)  # a calculation: "floor-profile"
    occasion = models.CharField(max_length=20, blank=True)  # "frame-set", "under-load", "stacked", "as-left"
    panel = models.ForeignKey(Panel, models.PROTECT, null=True, blank=True, related_name="inspections")
    place = models.CharField(max_length=20, blank=True)  # "lock-jamb", "interlock", a panel's letter
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="+")
    given = models.JSONField()  # as sent
    asked_of = models.JSONField(default=dict)  # the datums filled in from opening, unit and system
    limits = models.JSONField(default=dict)  # as they stood
    result = models.CharField(max_length=20)
    verdict = models.JSONField()
    quantities = models.JSONField(default=list)  # what its findings are about
    device_verdict = models.JSONField(null=True, blank=True)
    differs = models.BooleanField(default=False)  # the device judged the same readings otherwise
    clock_doubtful = models.BooleanField(default=False)
    note = models.CharField(max_length=240, blank=True)

    class Meta:
        ordering = ["-taken_at", "-id"]
        indexes = [models.Index(fields=["opening", "kind", "-taken_at"]),
                   models.Index(fields=["opening"], name="inspection_failed", condition=Q(result="fail"))]

    def __str__(self) -> str:
        return f"{self.opening}: {self.kind}"


class Reading(models.Model):
    """One reading of an inspection: what, where along the member, how much. Lengths are nanometres."""

    inspection = models.ForeignKey(Inspection, models.CASCADE, related_name="readings")
    quantity = models.CharField(max_length=60)
    at = models.BigIntegerField(null=True)
    length = models.BigIntegerField(null=True)
    number = models.FloatField(null=True)
    unit = models.CharField(max_length=10, default="mm")

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(condition=Q(length=None) ^ Q(number=None), name="reading_length_or_number"),
        ]

    def __str__(self) -> str:
        return self.quantity


class Confirmation(SiteRecord):
    """Somebody looked: what at, and whether it was so."""

    ANSWERS = [("yes", "Yes"), ("no", "No"), ("maker-forbids", "The maker does not allow it"),
               ("other-evidence", "Other evidence")]

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="confirmations")
    check_code = models.SlugField(max_length=60)
    panel = models.ForeignKey(Panel, models.PROTECT, null=True, blank=True, related_name="confirmations")
    place = models.CharField(max_length=20, blank=True)
    answer = models.CharField(max_length=16, choices=ANSWERS)
    looked_at = models.CharField(max_length=400, blank=True)
    stands_at = models.CharField(max_length=200, blank=True)  # where the maker says so; what the evidence is
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-taken_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=~Q(answer__in=["maker-forbids", "other-evidence"]) | ~Q(stands_at=""),
                                   name="confirmation_says_where"),
        ]
        indexes = [models.Index(fields=["opening", "check_code", "-taken_at"]),
                   models.Index(fields=["opening"], name="confirmation_no", condition=Q(answer="no"))]

    def __str__(self) -> str:
        return f"{self.opening}: {self.check_code} {self.answer}"


class Joint(SiteRecord):
    """A joint that was sealed, or looked at because it must never be: at any stage, in what conditions."""

    RULES = [("seal", "Seal"), ("never-seal", "Never seal")]

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="joints")
    place = models.CharField(max_length=60)
    side = models.CharField(max_length=20, blank=True)
    rule = models.CharField(max_length=10, choices=RULES)
    product = models.CharField(max_length=120, blank=True)
    conditions = models.ForeignKey(Inspection, models.PROTECT, null=True, blank=True, related_name="joints")
    done = models.BooleanField(default=True)  # never-seal: it is open, as it must be
    note = models.CharField(max_length=240, blank=True)
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-taken_at", "-id"]
        constraints = [models.CheckConstraint(condition=Q(rule__in=["seal", "never-seal"]), name="joint_rule")]
        indexes = [models.Index(fields=["opening", "place", "side"])]

    def __str__(self) -> str:
        return f"{self.opening}: {self.place} {self.side}"


