from __future__ import annotations

from django.db import models
from django.db.models import Q

from jobs.fields import LengthField, not_negative
from jobs.models.base import OfficeRecord


class DoorSystem(OfficeRecord):
    """The maker's data for one system and edition, entered by the office. A new edition is a new row."""

    MATERIALS = [("wood-clad", "Wood, clad"), ("aluminium", "Aluminium"), ("other", "Other")]

    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=120)
    edition = models.CharField(max_length=40, default="1")
    material = models.CharField(max_length=12, choices=MATERIALS, default="aluminium")
    roller_preset = LengthField(null=True, blank=True)
    roller_lowest = LengthField(null=True, blank=True)  # travel, from stile bottom to sill top
    roller_highest = LengthField(null=True, blank=True)
    thread_pitch = LengthField(null=True, blank=True)  # a turn
    roller_from_edge = LengthField(null=True, blank=True)
    head_clearance = LengthField(null=True, blank=True)  # above the panels, as designed
    head_clearance_least = LengthField(null=True, blank=True)
    pan_test_allowed = models.BooleanField(default=True)
    finishing_steps = models.JSONField(default=list, blank=True)
    joints = models.JSONField(default=list, blank=True)  # [{"place", "side", "rule": "seal" | "never-seal"}]
    products = models.JSONField(default=list, blank=True)  # sealants, each with its range, cure and source
    sources = models.JSONField(default=dict, blank=True)  # field name: where it stands in the maker's instructions
    withdrawn_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["name", "edition"]
        constraints = [
            models.UniqueConstraint(fields=["code", "edition"], name="system_edition_once"),
            *not_negative("thread_pitch", "roller_from_edge", "head_clearance", "head_clearance_least", on="system"),
            models.CheckConstraint(condition=Q(roller_lowest=None) | Q(roller_highest=None)
                                   | Q(roller_highest__gte=models.F("roller_lowest")), name="system_roller_travel"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, edition {self.edition}"
