from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from jobs.fields import LengthField, not_negative
from jobs.models.base import OfficeRecord, SiteRecord
from jobs.models.work import Delivery
from units.calc import parts
from units.models.units import Panel, Unit


class PartQuerySet(models.QuerySet):
    def lacking(self) -> PartQuerySet:
        """Those of which something is not here, or not whole."""
        return self.filter(LACKING)

    def came_short(self) -> PartQuerySet:
        """Those somebody looked for, and of which something is still lacking."""
        return self.lacking().filter(looked_through=True)


# As `parts.missing` has it.
LACKING = Q(panel=None, whole__lt=F("wanted")) | Q(panel__state="expected") | Q(panel__damaged=True)


class Part(OfficeRecord):
    """What a unit is made of: listed from its door system, panels and take-off, or added by hand."""

    KINDS = [("sill", "Sill"), ("head", "Head"), ("lock-jamb", "Lock jamb"), ("interlock", "Pocket interlock"),
             ("panel", "Panel"), ("cover", "Cover"), ("cartridge", "Cartridge"), ("other", "Other")]

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="parts")
    kind = models.CharField(max_length=10, choices=KINDS)
    name = models.CharField(max_length=120)
    length = LengthField(null=True, blank=True)
    wanted = models.PositiveIntegerField(default=1)
    delivery = models.ForeignKey(Delivery, models.PROTECT, null=True, blank=True, related_name="parts")
    panel = models.OneToOneField(Panel, models.CASCADE, null=True, blank=True, editable=False, related_name="part")
    by_hand = models.BooleanField(default=True, editable=False)
    whole = models.PositiveIntegerField(default=0, editable=False)  # came whole, in all
    broken = models.PositiveIntegerField(default=0, editable=False)  # came damaged, in all
    looked_through = models.BooleanField(default=False, editable=False)  # somebody said what came

    objects = PartQuerySet.as_manager()

    class Meta:
        ordering = ["unit", "id"]
        constraints = [
            models.UniqueConstraint(fields=["unit", "kind", "name"], name="part_once_in_unit"),
            models.CheckConstraint(condition=Q(kind__in=parts.KINDS), name="part_kind_exists"),
            models.CheckConstraint(condition=Q(wanted__gte=1), name="part_wanted_from_one"),
            models.CheckConstraint(condition=Q(panel=None) | Q(kind="panel", wanted=1), name="part_panel_by_itself"),
            models.CheckConstraint(condition=Q(looked_through=True) | Q(whole=0, broken=0),
                                   name="part_came_is_looked_through"),
            *not_negative("length", on="part"),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.unit}"

    @property
    def missing(self) -> int:
        panel = self.panel
        if panel is None:
            return parts.missing(self.wanted, self.whole)
        return parts.missing(self.wanted, self.whole, panel.state, panel.damaged)

    @property
    def surplus(self) -> int:
        return parts.surplus(self.wanted, self.whole, 0 if self.panel is None else self.panel.replaced)


class PartArrival(SiteRecord):
    """What came of one part: whole, damaged, or not at all where it should have."""

    part = models.ForeignKey(Part, models.PROTECT, related_name="arrivals")
    delivery = models.ForeignKey(Delivery, models.PROTECT, null=True, blank=True, related_name="arrivals")
    whole = models.PositiveIntegerField(default=0)
    short = models.PositiveIntegerField(default=0)
    damaged = models.PositiveIntegerField(default=0)
    note = models.CharField(max_length=240, blank=True)

    class Meta:
        ordering = ["taken_at", "server_time", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(whole__gte=1) | Q(short__gte=1) | Q(damaged__gte=1),
                                   name="partarrival_says_something"),
        ]
        indexes = [models.Index(fields=["part", "taken_at"])]

    def __str__(self) -> str:
        return f"{self.part}: {self.whole} whole, {self.short} short, {self.damaged} damaged"
