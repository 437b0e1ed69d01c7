from __future__ import annotations

from django.db import models
from django.db.models import Q

from jobs.models.base import OfficeRecord
from jobs.models.jobs import Job
from jobs.stages import Stage
from units.models import DoorSystem

GUARDED = ("water", "structure", "lifting", "pocket")


class Check(OfficeRecord):
    """What one stage asks, by which limits from which source. Data, not code: how a kind is judged is in calc/.

    A row with a `system` or a `job` stands over the shipped row of the same code: what it leaves empty (None)
    stays as shipped; its `limits` replace the shipped ones name by name.
    """

    JUDGED_BY = [(k, k) for k in (
        "rough-opening", "floor-profile", "frame", "reveal", "force", "sealing-conditions", "pocket", "fastener",
        "benchmark", "last-panel-gap", "roller-preset", "confirmed", "photo", "panels", "joints", "punch-items",
        "set-aside-parts", "acceptance",
    )]
    CLASSES = [("", "–"), *((c, c) for c in GUARDED)]
    HOLD_POINT = "the pocket closes"

    code = models.SlugField(max_length=60)
    system = models.ForeignKey(DoorSystem, models.CASCADE, null=True, blank=True, related_name="checks")
    job = models.ForeignKey(Job, models.CASCADE, null=True, blank=True, related_name="checks")
    title = models.CharField(max_length=160, blank=True)
    stage = models.CharField(max_length=20, blank=True)  # a stage, or the hold point
    judged_by = models.CharField(max_length=20, choices=JUDGED_BY, blank=True)
    findings = models.JSONField(null=True, blank=True)  # quantities of the verdict that this check looks at
    # Where it is asked: ["lock-jamb"], ["each-panel"], ["each-pocket"]; [] once.
    places = models.JSONField(null=True, blank=True)
    occasion = models.CharField(max_length=20, null=True, blank=True)  # which reading of several: "under-load"  # noqa: DJ001
    photo = models.BooleanField(null=True, blank=True)
    maker_may_forbid = models.BooleanField(null=True, blank=True)
    by_office = models.BooleanField(null=True, blank=True)  # the office's to confirm, nobody else's
    limits = models.JSONField(default=dict, blank=True)  # {"rack": {"value": "3.175 mm", "source": ".."}}
    source = models.CharField(max_length=200, blank=True)
    guards = models.CharField(max_length=10, choices=CLASSES, null=True, blank=True)  # noqa: DJ001 - None: as shipped
    fresh_days = models.PositiveSmallIntegerField(null=True, blank=True)
    asked = models.BooleanField(null=True, blank=True)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "code", "id"]
        constraints = [
            models.UniqueConstraint(fields=["code"], condition=Q(system=None, job=None), name="check_shipped_once"),
            models.UniqueConstraint(fields=["code", "system"], condition=Q(job=None), name="check_once_a_system"),
            models.UniqueConstraint(fields=["code", "job"], condition=Q(system=None), name="check_once_a_job"),
            models.CheckConstraint(condition=Q(system=None) | Q(job=None), name="check_system_or_job"),
            models.CheckConstraint(condition=Q(stage__in=["", "the pocket closes", *(s.value for s in Stage)]),
                                   name="check_stage_exists"),
        ]

    def __str__(self) -> str:
        return self.title or self.code
