from __future__ import annotations

import datetime as dt
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from jobs.fields import LengthField, not_negative
from jobs.models.base import OfficeRecord


class Crew(OfficeRecord):
    """People who go out together. `working_days` is Monday to Sunday, 1 for a day they work."""

    name = models.CharField(max_length=80, unique=True)
    base = models.CharField(max_length=160, blank=True)
    latitude = models.FloatField(null=True, blank=True)
    longitude = models.FloatField(null=True, blank=True)
    time_zone = models.CharField(max_length=64, default="UTC")
    holiday_region = models.CharField(max_length=12, blank=True)
    working_days = models.CharField(max_length=7, default="1111100")
    minutes_a_day = models.PositiveIntegerField(default=480)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class CrewMember(OfficeRecord):
    crew = models.ForeignKey(Crew, models.CASCADE, related_name="members")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="memberships")
    leads = models.BooleanField(default=False)
    skills = models.JSONField(default=list, blank=True)
    from_day = models.DateField()
    to_day = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["crew", "-leads", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(to_day=None) | Q(to_day__gte=F("from_day")), name="member_ends_after"),
            models.UniqueConstraint(fields=["crew", "user", "from_day"], name="member_once_a_day"),
        ]
        indexes = [models.Index(fields=["user", "from_day"])]

    def __str__(self) -> str:
        return f"{self.user} in {self.crew}"


def of_a_crew_of(user: Any, today: dt.date) -> Q:
    """Of what a crew has: what one has that the person is on today."""
    return Q(Q(crew__members__to_day=None) | Q(crew__members__to_day__gte=today), crew__members__user=user,
             crew__members__from_day__lte=today)


class DayOff(OfficeRecord):
    """Days on which a person, or the whole crew, does not work."""

    crew = models.ForeignKey(Crew, models.CASCADE, null=True, blank=True, related_name="days_off")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, blank=True, related_name="days_off")
    from_day = models.DateField()
    to_day = models.DateField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        verbose_name_plural = "days off"
        ordering = ["from_day", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(to_day__gte=F("from_day")), name="dayoff_ends_after"),
            models.CheckConstraint(condition=Q(crew=None) ^ Q(user=None), name="dayoff_crew_or_person"),
        ]

    def __str__(self) -> str:
        return f"{self.crew or self.user} off {self.from_day}"


class Equipment(OfficeRecord):
    """A lifter, a panel cart. `rating_includes` names what its rated capacity already allows for (None: nobody knows),
    `reductions` what its manual takes off besides: [{"why", "factor", "source"}]."""

    name = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=60)
    rated_grams = models.PositiveBigIntegerField(null=True, blank=True)
    rating_includes = models.JSONField(null=True, blank=True)
    rating_source = models.CharField(max_length=200, blank=True)
    reductions = models.JSONField(default=list, blank=True)
    circuits = models.PositiveSmallIntegerField(null=True, blank=True)  # of a vacuum, each holding by itself
    left_with_one_circuit_lost = models.FloatField(null=True, blank=True)  # the part that still holds
    people_to_steer = models.PositiveSmallIntegerField(null=True, blank=True)
    stop_wind_m_per_s = models.FloatField(null=True, blank=True)
    own_grams = models.PositiveBigIntegerField(null=True, blank=True)
    carries_at = LengthField(null=True, blank=True)  # how high above the ground a panel stands on it
    width_loaded = LengthField(null=True, blank=True)  # of a cart and the panel on it
    inspected_until = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        verbose_name_plural = "equipment"
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=Q(circuits=None) | Q(circuits__gte=1), name="equipment_circuits"),
            models.CheckConstraint(condition=Q(people_to_steer=None) | Q(people_to_steer__gte=1),
                                   name="equipment_people_to_steer"),
            models.CheckConstraint(condition=Q(left_with_one_circuit_lost=None)
                                   | Q(left_with_one_circuit_lost__range=(0, 1)), name="equipment_part_left"),
            models.CheckConstraint(condition=Q(stop_wind_m_per_s=None) | Q(stop_wind_m_per_s__gte=0),
                                   name="equipment_stop_wind"),
            *not_negative("carries_at", "width_loaded", on="equipment"),
        ]

    def __str__(self) -> str:
        return self.name


class OutOfUse(OfficeRecord):
    """Days on which equipment goes nowhere: at its yearly inspection, broken, lent to somebody."""

    equipment = models.ForeignKey(Equipment, models.CASCADE, related_name="out_of_use")
    from_day = models.DateField()
    to_day = models.DateField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        verbose_name = "time out of use"
        verbose_name_plural = "times out of use"
        ordering = ["from_day", "id"]
        constraints = [models.CheckConstraint(condition=Q(to_day__gte=F("from_day")), name="outofuse_ends_after")]

    def __str__(self) -> str:
        return f"{self.equipment} out of use {self.from_day}"
