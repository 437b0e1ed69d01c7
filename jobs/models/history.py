from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.base import SiteRecord
from jobs.models.crews import Crew
from jobs.models.jobs import Job, Opening
from jobs.roles import Role
from jobs.stages import Stage

STAGE_CHOICES = [(s.value, s.value) for s in Stage]


class StageChange(SiteRecord):
    """One step of one opening, or an attempt that was recorded and not advanced, with every reason."""

    KINDS = [("advance", "Advanced"), ("pass-over", "Passed over"), ("step-back", "Stepped back"),
             ("put-back", "Put back")]

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="stage_changes")
    kind = models.CharField(max_length=10, choices=KINDS, default="advance")
    from_stage = models.CharField(max_length=20, choices=STAGE_CHOICES)
    to_stage = models.CharField(max_length=20, choices=STAGE_CHOICES)
    advanced = models.BooleanField()
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="stage_changes")
    reason = models.TextField(blank=True)
    reasons = models.JSONField(default=list, blank=True)  # why it was not advanced
    gate = models.JSONField(default=dict, blank=True)  # what it stood on: outcomes with readings, limits, sources

    class Meta:
        ordering = ["taken_at", "server_time", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(from_stage__in=[s.value for s in Stage]), name="change_from_exists"),
            models.CheckConstraint(condition=Q(to_stage__in=[s.value for s in Stage]), name="change_to_exists"),
            models.CheckConstraint(condition=Q(kind="advance") | ~Q(reason=""), name="change_has_its_reason"),
        ]
        indexes = [models.Index(fields=["opening", "taken_at"]),
                   models.Index(fields=["server_time"], name="change_in_time", condition=Q(advanced=True)),
                   models.Index(fields=["opening"], name="change_not_advanced", condition=Q(advanced=False)),
                   models.Index(fields=["crew"], name="change_passed_over", condition=Q(kind="pass-over"))]

    def __str__(self) -> str:
        return f"{self.opening}: {self.from_stage} → {self.to_stage}"


class Event(SiteRecord):
    """Something that ends what was verified: a re-pour, work on the structure, other trades in the opening."""

    KINDS = [("re-pour", "Floor poured again"), ("structure", "Work on the structure"),
             ("other-trades", "Other trades in the opening")]

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="events")
    kind = models.CharField(max_length=14, choices=KINDS)
    note = models.CharField(max_length=240, blank=True)

    class Meta:
        ordering = ["taken_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=["re-pour", "structure", "other-trades"]), name="event_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.opening}: {self.get_kind_display()}"


class Tally(models.Model):
    """One row: the position of the last change. Its row lock, taken last in a transaction, puts changes in the
    order they commit, so that a reader of the feed never skips one."""

    position = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return str(self.position)


# Only the office sees that these changed.
OFFICE_ONLY = ("tokens", "access-codes", "people", "days-off", "office-settings")


class ChangeQuerySet(models.QuerySet):
    def shown_to(self, role: str) -> ChangeQuerySet:
        """Wherever the feed is read; of which openings, is for whoever reads it to ask besides."""
        return self if role == Role.OFFICE else self.exclude(record__in=OFFICE_ONLY)


class Change(models.Model):
    """The feed of everything that happened, in the order it was committed."""

    position = models.BigIntegerField(primary_key=True)
    at = models.DateTimeField()
    what = models.CharField(max_length=60)  # "opening advanced", "reading recorded"
    record = models.CharField(max_length=40)  # the resource's plural name in the API
    record_id = models.CharField(max_length=40)
    opening = models.ForeignKey(Opening, models.SET_NULL, null=True, blank=True, related_name="+", db_constraint=False)
    job = models.ForeignKey(Job, models.SET_NULL, null=True, blank=True, related_name="+", db_constraint=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+")
    more = models.JSONField(default=dict, blank=True)

    objects = ChangeQuerySet.as_manager()

    class Meta:
        ordering = ["position"]
        indexes = [models.Index(fields=["opening", "position"]),
                   # Who set which limit when, among everything that ever happened.
                   models.Index(fields=["record", "position"], name="change_of_a_check",
                                condition=Q(record="checks"))]

    def __str__(self) -> str:
        return f"{self.position} {self.what}"


class IdempotentAnswer(models.Model):
    """The answer given under an `Idempotency-Key`, kept so that the same request gets it again."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    key = models.CharField(max_length=120)
    request = models.CharField(max_length=64)  # hash of method, path and body
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True)
    status = models.PositiveSmallIntegerField(null=True)
    headers = models.JSONField(default=dict)
    body = models.TextField(default="")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "key"], name="idempotency_key_once")]

    def __str__(self) -> str:
        return self.key
