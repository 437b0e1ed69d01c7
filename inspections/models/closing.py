from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from jobs.models.base import SiteRecord
from jobs.models.history import StageChange
from jobs.models.jobs import Opening
from units.models import Panel


class SetAsidePart(SiteRecord):
    """Taken off, and must go back: a track cover, the head block, screw plugs."""

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="set_aside_parts")
    what = models.CharField(max_length=160)
    where_kept = models.CharField(max_length=160, blank=True)
    back_at = models.DateTimeField(null=True, blank=True)
    back_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    back_note = models.CharField(max_length=160, blank=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["taken_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(back_at=None, back_by=None) | Q(back_at__isnull=False,
                                   back_by__isnull=False), name="setaside_back_by_somebody"),
            models.CheckConstraint(condition=Q(back_at=None) | Q(back_at__gte=F("taken_at")),
                                   name="setaside_back_after"),
        ]
        indexes = [models.Index(fields=["opening"], name="setaside_out", condition=Q(back_at=None))]

    def __str__(self) -> str:
        return f"{self.opening}: {self.what}"


class PunchItemQuerySet(models.QuerySet):
    def still_open(self) -> PunchItemQuerySet:
        return self.filter(closed_at=None)


class PunchItem(SiteRecord):
    """What is left to put right: whose, by when. It stays until somebody closes it and says how."""

    CAUSES = [("", "Not said"), ("ours", "Our work"), ("maker", "The maker"), ("builder", "The builder"),
              ("trade", "Another trade"), ("transport", "Transport"), ("owner", "The owner")]

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="punch_items")
    number = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=240)
    panel = models.ForeignKey(Panel, models.PROTECT, null=True, blank=True, related_name="punch_items")
    place = models.CharField(max_length=60, blank=True)
    cause = models.CharField(max_length=10, choices=CAUSES, blank=True)
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="punch_items")
    due_day = models.DateField()  # in the job's time zone
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    closed_how = models.CharField(max_length=240, blank=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = PunchItemQuerySet.as_manager()

    class Meta:
        ordering = ["opening", "number"]
        constraints = [
            models.UniqueConstraint(fields=["opening", "number"], name="punchitem_number_unique"),
            models.CheckConstraint(condition=Q(closed_at=None, closed_by=None) | Q(closed_at__isnull=False,
                                   closed_by__isnull=False), name="punchitem_closed_by_somebody"),
            models.CheckConstraint(condition=Q(closed_at=None) | Q(closed_at__gte=F("taken_at")),
                                   name="punchitem_closed_after"),
        ]
        indexes = [models.Index(fields=["due_day"], name="punchitem_open", condition=Q(closed_at=None)),
                   models.Index(fields=["owner", "due_day"])]

    def __str__(self) -> str:
        return f"{self.opening} no. {self.number}: {self.what}"


class Acceptance(SiteRecord):
    """Who took the work, when and how; subject to which items. The warranty starts here, the items stay open."""

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="acceptances")
    change = models.OneToOneField(StageChange, models.PROTECT, related_name="acceptance")
    accepted_by = models.CharField(max_length=160)
    how = models.CharField(max_length=160)  # "signed on site", "by letter"
    subject_to = models.ManyToManyField(PunchItem, blank=True, related_name="subject_of")
    warranty_from = models.DateField()

    class Meta:
        ordering = ["taken_at", "id"]

    def __str__(self) -> str:
        return f"{self.opening} accepted by {self.accepted_by}"
