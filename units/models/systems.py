from __future__ import annotations

import datetime as dt

from django.db import models
from django.db.models import Q

from jobs.fields import LengthField, not_negative
from jobs.models.base import OfficeRecord

SIZES = ("lock_jamb", "interlock", "head", "sill", "meeting_lap", "interlock_lap", "jamb_engagement", "increment",
         "panel_thickness", "track_pitch", "covers", "pull", "stop", "pocket_clearance", "stile_face", "rail_face",
         "glass_inset", "longest_piece")


class DoorSystemQuerySet(models.QuerySet):
    def made_on(self, day: dt.date) -> DoorSystemQuerySet:
        """Those a unit may be ordered of on this day."""
        return self.filter(Q(withdrawn_on=None) | Q(withdrawn_on__gt=day))


class DoorSystem(OfficeRecord):
    """The maker's data for one system and edition, entered by the office. A new edition is a new row."""

    MATERIALS = [("wood-clad", "Wood, clad"), ("aluminium", "Aluminium"), ("other", "Other")]

    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=120)
    edition = models.CharField(max_length=40, default="1")
    material = models.CharField(max_length=12, choices=MATERIALS, default="aluminium")
    # What the frame takes of its own outside, and its tracks of the clear height (less than nothing where a panel
    # runs up into the head).
    lock_jamb = LengthField(null=True, blank=True)
    interlock = LengthField(null=True, blank=True)
    head = LengthField(null=True, blank=True)
    sill = LengthField(null=True, blank=True)
    height_deduction = LengthField(null=True, blank=True)

    meeting_lap = LengthField(null=True, blank=True)
    middle_lap = LengthField(null=True, blank=True)  # where a two-way door meets in the middle; negative: a gap
    interlock_lap = LengthField(null=True, blank=True)
    jamb_engagement = LengthField(null=True, blank=True)
    lead_wider_by = LengthField(null=True, blank=True)  # negative: narrower
    increment = LengthField(null=True, blank=True)  # what the maker's shop cuts to

    panel_thickness = LengthField(null=True, blank=True)
    track_pitch = LengthField(null=True, blank=True)
    covers = LengthField(null=True, blank=True)  # both together
    pull = LengthField(null=True, blank=True)
    stop = LengthField(null=True, blank=True)
    pocket_clearance = LengthField(null=True, blank=True)
    lean_in_angle = models.FloatField(null=True, blank=True)  # degrees from upright

    stile_face = LengthField(null=True, blank=True)
    rail_face = LengthField(null=True, blank=True)
    glass_inset = LengthField(null=True, blank=True)  # how much of an edge the glass leaves free
    stile_grams_per_m = models.PositiveIntegerField(null=True, blank=True)
    rail_grams_per_m = models.PositiveIntegerField(null=True, blank=True)
    hardware = models.JSONField(default=list, blank=True)  # [{"what", "kg", "count"}] of each panel
    glasses = models.JSONField(default=list, blank=True)  # glass allowed: [{"name", "layers": as `weights` reads it}]

    roller_preset = LengthField(null=True, blank=True)
    roller_lowest = LengthField(null=True, blank=True)  # travel, from stile bottom to sill top
    roller_highest = LengthField(null=True, blank=True)
    thread_pitch = LengthField(null=True, blank=True)  # a turn
    roller_from_edge = LengthField(null=True, blank=True)
    head_clearance = LengthField(null=True, blank=True)  # above the panels, as designed
    head_clearance_least = LengthField(null=True, blank=True)

    longest_piece = LengthField(null=True, blank=True)  # sills and heads longer than this come spliced
    pan_test_allowed = models.BooleanField(default=True)
    finishing_steps = models.JSONField(default=list, blank=True)
    joints = models.JSONField(default=list, blank=True)  # [{"place", "side", "rule": "seal" | "never-seal", ..}]
    products = models.JSONField(default=list, blank=True)  # sealants, each with its range, cure and source
    fasteners = models.JSONField(default=list, blank=True)  # [{"member", "spacing_most", "edge_least", "fastener"}]
    limits = models.JSONField(default=dict, blank=True)  # {"panels": {"panel_width_most": {"value", "source"}}, ..}
    sources = models.JSONField(default=dict, blank=True)  # field name: where it stands in the maker's instructions
    withdrawn_on = models.DateField(null=True, blank=True)

    objects = DoorSystemQuerySet.as_manager()

    class Meta:
        ordering = ["name", "edition"]
        constraints = [
            models.UniqueConstraint(fields=["code", "edition"], name="system_edition_once"),
            *not_negative("thread_pitch", "roller_from_edge", "head_clearance", "head_clearance_least", *SIZES,
                          on="system"),
            models.CheckConstraint(condition=Q(roller_lowest=None) | Q(roller_highest=None)
                                   | Q(roller_highest__gte=models.F("roller_lowest")), name="system_roller_travel"),
            models.CheckConstraint(condition=Q(lean_in_angle=None) | Q(lean_in_angle__gt=0, lean_in_angle__lt=90),
                                   name="system_lean_in_angle"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, edition {self.edition}"

    def is_made_on(self, day: dt.date) -> bool:
        return self.withdrawn_on is None or self.withdrawn_on > day
