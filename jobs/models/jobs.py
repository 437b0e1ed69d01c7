from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.utils import timezone

from jobs.fields import LengthField, not_negative
from jobs.models.base import OfficeRecord
from jobs.models.crews import of_a_crew_of
from jobs.roles import Reach, Role, reach
from jobs.stages import Stage


class Party(OfficeRecord):
    """A builder, a home's owner, an architect, a supplier."""

    KINDS = [("builder", "Builder"), ("owner", "Owner"), ("architect", "Architect"), ("supplier", "Supplier"),
             ("trade", "Other trade"), ("office", "Our office")]

    kind = models.CharField(max_length=12, choices=KINDS)
    name = models.CharField(max_length=160)
    contact = models.CharField(max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    address = models.CharField(max_length=240, blank=True)
    may_be_told = models.CharField(max_length=240, blank=True)

    class Meta:
        verbose_name_plural = "parties"
        ordering = ["name", "id"]
        indexes = [models.Index(fields=["kind", "name"])]

    def __str__(self) -> str:
        return self.name


class Job(OfficeRecord):
    number = models.CharField(max_length=24, unique=True)
    title = models.CharField(max_length=160)
    builder = models.ForeignKey(Party, models.PROTECT, null=True, blank=True, related_name="jobs_as_builder")
    owner = models.ForeignKey(Party, models.PROTECT, null=True, blank=True, related_name="jobs_as_owner")
    address = models.CharField(max_length=240, blank=True)
    latitude = models.FloatField(null=True, blank=True)
    longitude = models.FloatField(null=True, blank=True)
    time_zone = models.CharField(max_length=64, default="UTC")
    holiday_region = models.CharField(max_length=12, blank=True)  # "US-CA": country, subdivision
    promised_date = models.DateField(null=True, blank=True)
    contract_cents = models.BigIntegerField(null=True, blank=True)
    access_notes = models.TextField(blank=True)
    way_in = models.JSONField(default=list, blank=True)  # leg by leg: [{"name", "kind", "sizes"}]

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(condition=Q(latitude=None) | Q(latitude__range=(-90, 90)), name="job_latitude"),
            models.CheckConstraint(condition=Q(longitude=None) | Q(longitude__range=(-180, 180)), name="job_longitude"),
            models.CheckConstraint(condition=Q(contract_cents=None) | Q(contract_cents__gte=0), name="job_contract"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"


class AccessCode(OfficeRecord):
    """A gate or alarm code: for the office and the assigned crew on the day; never in a list, export or message."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="access_codes")
    what = models.CharField(max_length=80)
    code = models.CharField(max_length=80)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.what


class OpeningQuerySet(models.QuerySet):
    def visible_to(self, user: Any, role: str, today: dt.date) -> OpeningQuerySet:
        """What this person may read, in this role. Start every query here, so that a forgotten filter cannot leak."""
        return self._reached(reach(role, "read"), user, role, today)

    def open_to(self, act: str, user: Any, role: str, today: dt.date) -> OpeningQuerySet:
        """The openings on which this person may do `act`."""
        return self._reached(reach(role, act), user, role, today)

    def _reached(self, how_far: Reach | None, user: Any, role: str, today: dt.date) -> OpeningQuerySet:
        if how_far is None:
            return self.none()
        if how_far is Reach.ALL:
            return self
        if role == Role.CUSTOMER_SERVICE:
            return self.filter(Q(stage=Stage.ACCEPTED.value) | Q(called_back=True))
        return self.of_crews_of(user, today)

    def of_crews_of(self, user: Any, today: dt.date) -> OpeningQuerySet:
        """Openings with work given to a crew the person is on today, or to which it goes besides."""
        theirs = of_a_crew_of(user, today)
        given, besides = (self.model._meta.get_field(name).related_model.objects.filter(theirs, opening=OuterRef("pk"))
                          for name in ("assignments", "visits"))
        return self.filter(Exists(given) | Exists(besides))

    def active(self) -> OpeningQuerySet:
        return self.exclude(stage=Stage.ACCEPTED.value)


class Opening(OfficeRecord):
    """A hole in a wall that a unit goes into. Its stage is written in one place only: services/stages.py."""

    SUBSTRATES = [("concrete", "Concrete"), ("wood", "Wood"), ("steel", "Steel"), ("screed", "Screed"),
                  ("other", "Other")]
    POCKETS = [("left", "Left"), ("right", "Right"), ("both", "Both sides"), ("none", "No pocket")]

    job = models.ForeignKey(Job, models.PROTECT, related_name="openings")
    tag = models.CharField(max_length=40)
    location = models.CharField(max_length=160, blank=True)
    rough_width = LengthField(null=True, blank=True)
    rough_height = LengthField(null=True, blank=True)
    substrate = models.CharField(max_length=12, choices=SUBSTRATES, default="concrete")
    pocket_side = models.CharField(max_length=6, choices=POCKETS, default="left")  # as seen from outside
    recess = LengthField(null=True, blank=True)
    benchmark = models.CharField(max_length=160, blank=True)
    pocket_depth_needed = LengthField(null=True, blank=True)  # off the shop drawing, until the unit says
    pocket_thickness_needed = LengthField(null=True, blank=True)
    deflection_allowed = LengthField(null=True, blank=True)  # of the header, by the engineer of record
    stage = models.CharField(max_length=20, default=Stage.TO_BE_MEASURED.value, editable=False,
                             choices=[(s.value, s.value) for s in Stage])
    stage_since = models.DateTimeField(default=timezone.now, editable=False)
    # Why, where its stage was reached over a gate that did not pass: shown wherever the stage is.
    passed_over = models.TextField(blank=True, default="", db_default="", editable=False)
    called_back = models.BooleanField(default=False, editable=False)  # written by the floor above

    objects = OpeningQuerySet.as_manager()

    class Meta:
        ordering = ["job__number", "tag"]
        constraints = [
            models.UniqueConstraint(fields=["job", "tag"], name="opening_tag_unique_in_job"),
            models.CheckConstraint(condition=Q(stage__in=[s.value for s in Stage]), name="opening_stage_exists"),
            *not_negative("rough_width", "rough_height", "recess", "pocket_depth_needed", "pocket_thickness_needed",
                          "deflection_allowed", on="opening"),
        ]
        indexes = [
            models.Index(fields=["stage", "id"], name="opening_active",
                         condition=~Q(stage=Stage.ACCEPTED.value)),
            models.Index(fields=["stage", "stage_since"]),
            models.Index(fields=["created_at"], name="opening_entered"),
        ]

    def __str__(self) -> str:
        return f"{self.job.number} · {self.tag}"
