from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from jobs.models.base import OfficeRecord, SiteRecord
from jobs.models.crews import Crew, Equipment
from jobs.models.jobs import Job, Opening, Party
from jobs.stages import WORKED, Stage


class WorkStep(OfficeRecord):
    """The work that ends in one stage of one opening. Whether it is ready is written by the floors above."""

    opening = models.ForeignKey(Opening, models.CASCADE, related_name="work_steps")
    stage = models.CharField(max_length=20, choices=[(s.value, s.value) for s in WORKED])
    planned_minutes = models.PositiveIntegerField(default=0)  # person-minutes
    skills = models.JSONField(default=list, blank=True)
    hands = models.PositiveSmallIntegerField(default=1)
    lifting_grams = models.PositiveBigIntegerField(null=True, blank=True)
    wait_after_minutes = models.PositiveIntegerField(default=0)
    earliest_day = models.DateField(null=True, blank=True)
    ready = models.BooleanField(default=False, editable=False)
    not_ready = models.JSONField(default=list, editable=False)
    # Panels still to be brought in, as `route` is asked of them: {"load", "panels", "limits"}; by the floors above.
    to_bring_in = models.JSONField(default=dict, editable=False)

    class Meta:
        ordering = ["opening", "id"]
        constraints = [
            models.UniqueConstraint(fields=["opening", "stage"], name="workstep_once_a_stage"),
            models.CheckConstraint(condition=Q(stage__in=[s.value for s in WORKED]), name="workstep_stage_exists"),
        ]
        indexes = [models.Index(fields=["opening"], name="workstep_ready", condition=Q(ready=True))]

    def __str__(self) -> str:
        return f"{self.opening}: {Stage(self.stage)}"


class Assignment(OfficeRecord):
    """Who does which work step when. Pencilled may move, inked may not."""

    FIRMNESS = [("pencilled", "Pencilled"), ("inked", "Inked")]

    opening = models.ForeignKey(Opening, models.CASCADE, related_name="assignments")
    work_step = models.ForeignKey(WorkStep, models.CASCADE, related_name="assignments")
    crew = models.ForeignKey(Crew, models.PROTECT, related_name="assignments")
    equipment = models.ManyToManyField(Equipment, blank=True, related_name="assignments")
    start_day = models.DateField()
    end_day = models.DateField()
    planned_minutes = models.PositiveIntegerField(default=0)
    firmness = models.CharField(max_length=10, choices=FIRMNESS, default="pencilled")
    against = models.JSONField(default=list, editable=False)  # what stood against it when it was last saved
    told_at = models.DateTimeField(null=True, blank=True)
    told_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    told_whom = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["start_day", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(end_day__gte=F("start_day")), name="assignment_ends_after"),
            models.CheckConstraint(condition=Q(firmness__in=["pencilled", "inked"]), name="assignment_firmness"),
            models.CheckConstraint(condition=Q(told_at=None, told_by=None) | Q(told_at__isnull=False,
                                   told_by__isnull=False), name="assignment_told_by_somebody"),
        ]
        # By the last day: what is over is most of the rows, and nobody asks for it by crew.
        indexes = [models.Index(fields=["crew", "end_day", "start_day"]), models.Index(fields=["opening", "crew"])]

    def __str__(self) -> str:
        return f"{self.crew}: {self.work_step}"


class Visit(models.Model):
    """A crew goes to an opening beside the work that is given to it. The floor above writes it, and knows what for; the
    opening is that crew's too."""

    opening = models.ForeignKey(Opening, models.CASCADE, related_name="visits")
    crew = models.ForeignKey(Crew, models.CASCADE, related_name="visits")
    day = models.DateField()

    class Meta:
        ordering = ["day", "id"]
        constraints = [models.UniqueConstraint(fields=["opening", "crew", "day"], name="visit_once_a_day")]
        indexes = [models.Index(fields=["crew", "day"])]

    def __str__(self) -> str:
        return f"{self.crew} at {self.opening} on {self.day}"


class Wait(SiteRecord):
    """Waiting since … on somebody who owes something. While one is open, the opening does not advance."""

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="waits")
    what_for = models.CharField(max_length=240)
    owed_by_kind = models.CharField(max_length=12, choices=Party.KINDS)
    owed_by = models.ForeignKey(Party, models.PROTECT, null=True, blank=True, related_name="owes")
    expected_day = models.DateField(null=True, blank=True)
    because = models.JSONField(default=dict, blank=True)  # the verdict and correction it was raised from
    cleared_at = models.DateTimeField(null=True, blank=True)
    cleared_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    cleared_how = models.CharField(max_length=240, blank=True)
    standby_minutes = models.PositiveIntegerField(default=0)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["taken_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(cleared_at=None) | Q(cleared_at__gte=F("taken_at")),
                                   name="wait_ends_after_its_start"),
            models.CheckConstraint(condition=Q(cleared_at=None, cleared_by=None) | Q(cleared_at__isnull=False,
                                   cleared_by__isnull=False), name="wait_cleared_by_somebody"),
        ]
        indexes = [models.Index(fields=["opening"], name="wait_open", condition=Q(cleared_at=None))]

    def __str__(self) -> str:
        return f"{self.opening}: {self.what_for}"


class Delivery(OfficeRecord):
    """What brings material to a job, and when it came."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="deliveries")
    openings = models.ManyToManyField(Opening, blank=True, related_name="deliveries")
    supplier = models.ForeignKey(Party, models.PROTECT, null=True, blank=True, related_name="deliveries")
    what = models.CharField(max_length=240)
    expected_day = models.DateField(null=True, blank=True)
    received_at = models.DateTimeField(null=True, blank=True)
    received_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    condition = models.CharField(max_length=240, blank=True)

    class Meta:
        verbose_name_plural = "deliveries"
        ordering = ["expected_day", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(received_at=None, received_by=None) | Q(received_at__isnull=False,
                                   received_by__isnull=False), name="delivery_received_by_somebody"),
        ]
        indexes = [models.Index(fields=["expected_day"], name="delivery_awaited", condition=Q(received_at=None))]

    def __str__(self) -> str:
        return self.what


class TimeReport(SiteRecord):
    """Person-minutes used on a work step, as reported."""

    work_step = models.ForeignKey(WorkStep, models.PROTECT, related_name="time_reports")
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="time_reports")
    day = models.DateField()
    minutes = models.PositiveIntegerField()
    note = models.CharField(max_length=240, blank=True)

    class Meta:
        ordering = ["day", "id"]
        indexes = [models.Index(fields=["crew", "day"])]

    def __str__(self) -> str:
        return f"{self.minutes} min on {self.work_step}"


class EarnedMinutes(models.Model):
    """The ledger of planned minutes earned, and taken off again by stepping back. Sums of it always agree."""

    work_step = models.ForeignKey(WorkStep, models.CASCADE, related_name="earned")
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="earned")
    day = models.DateField()  # in the job's time zone
    minutes = models.IntegerField()
    because = models.CharField(max_length=60)  # "panels hung", "panel B hung", "stepped back"
    record = models.UUIDField(null=True)  # the stage or panel change it stands on

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["crew", "day"]), models.Index(fields=["work_step"])]

    def __str__(self) -> str:
        return f"{self.minutes:+} min, {self.because}"
