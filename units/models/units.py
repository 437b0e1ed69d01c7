from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.functional import cached_property

from jobs.fields import LengthField, not_negative
from jobs.models.base import OfficeRecord, SiteRecord
from jobs.models.crews import Crew
from jobs.models.jobs import Opening
from units.models.systems import DoorSystem


class Unit(OfficeRecord):
    """What goes in an opening: one unit an opening."""

    WAYS = [("one-way", "One way"), ("two-way", "Two ways")]
    SIDES = [("left", "Left"), ("right", "Right")]

    opening = models.OneToOneField(Opening, models.PROTECT, related_name="unit")
    system = models.ForeignKey(DoorSystem, models.PROTECT, related_name="units", null=True, blank=True)
    order_number = models.CharField(max_length=60, blank=True)
    ways = models.CharField(max_length=8, choices=WAYS, default="one-way")
    panel_count = models.PositiveSmallIntegerField(null=True, blank=True)
    more_on = models.CharField(max_length=5, choices=SIDES, blank=True)  # of an odd number two ways
    glass = models.CharField(max_length=120, blank=True)  # by its name in the door system
    frame_width = LengthField(null=True, blank=True)  # outside of the frame, without the pocket
    frame_height = LengthField(null=True, blank=True)
    sill_length = LengthField(null=True, blank=True)  # with its run into the pocket
    pocket_depth_needed = LengthField(null=True, blank=True)
    pocket_thickness_needed = LengthField(null=True, blank=True)
    roller_spacing = LengthField(null=True, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = not_negative("frame_width", "frame_height", "sill_length", "pocket_depth_needed",
                                   "pocket_thickness_needed", "roller_spacing", on="unit")

    def __str__(self) -> str:
        return f"Unit in {self.opening}"

    @cached_property
    def tracks(self) -> int | None:
        """How many tracks its panels run on; None until it has panels."""
        return self.panels.aggregate(most=models.Max("track"))["most"]


class Panel(OfficeRecord):
    """One panel, by its letter. Its state is written in one place only: units/services/panels.py."""

    POSITIONS = [("lead", "Lead"), ("intermediate", "Intermediate"), ("pocket", "Pocket")]
    STATES = [("expected", "Expected"), ("received", "Received"), ("hung", "Hung"), ("adjusted", "Adjusted")]

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="panels")
    letter = models.CharField(max_length=4)
    position = models.CharField(max_length=12, choices=POSITIONS)
    track = models.PositiveSmallIntegerField()  # 1 is the outermost
    side = models.CharField(max_length=5, choices=Unit.SIDES, blank=True)  # whose pocket it runs into, from outside
    hanging_order = models.PositiveSmallIntegerField()
    width = LengthField(null=True, blank=True)
    height = LengthField(null=True, blank=True)
    glass = models.CharField(max_length=120, blank=True)
    computed_grams = models.PositiveBigIntegerField(null=True, blank=True)
    weighed_grams = models.PositiveBigIntegerField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=STATES, default="expected", editable=False)
    damaged = models.BooleanField(default=False, editable=False)
    replaced = models.PositiveSmallIntegerField(default=0, editable=False)  # how often

    class Meta:
        ordering = ["unit", "hanging_order", "letter"]
        constraints = [
            models.UniqueConstraint(fields=["unit", "letter"], name="panel_letter_unique_in_unit"),
            models.UniqueConstraint(fields=["unit", "hanging_order"], name="panel_order_unique_in_unit"),
            models.CheckConstraint(condition=Q(state__in=["expected", "received", "hung", "adjusted"]),
                                   name="panel_state_exists"),
            models.CheckConstraint(condition=Q(track__gte=1), name="panel_track_from_one"),
            *not_negative("width", "height", on="panel"),
        ]

    def __str__(self) -> str:
        return f"Panel {self.letter} of {self.unit.opening}"

    @property
    def grams(self) -> int | None:
        """Weighed where it was weighed, computed otherwise."""
        return self.weighed_grams if self.weighed_grams is not None else self.computed_grams


class PanelChange(SiteRecord):
    """One step of one panel: or one that was done and kept, but not advanced, with the reasons."""

    ACTS = [("receive", "Received"), ("hang", "Hung"), ("adjust", "Adjusted"), ("take-out", "Taken out"),
            ("damage", "Damaged"), ("replace", "Replaced")]

    panel = models.ForeignKey(Panel, models.PROTECT, related_name="changes")
    act = models.CharField(max_length=10, choices=ACTS)
    from_state = models.CharField(max_length=10, choices=Panel.STATES)
    to_state = models.CharField(max_length=10, choices=Panel.STATES)
    advanced = models.BooleanField()
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.TextField(blank=True)
    reasons = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["taken_at", "server_time", "id"]
        constraints = [
            models.CheckConstraint(condition=~Q(act__in=["take-out", "damage"]) | ~Q(reason=""),
                                   name="panelchange_has_its_reason"),
        ]
        indexes = [models.Index(fields=["panel", "taken_at"]),
                   models.Index(fields=["panel"], name="panelchange_not_advanced", condition=Q(advanced=False))]

    def __str__(self) -> str:
        return f"{self.panel}: {self.get_act_display()}"
