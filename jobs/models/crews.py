from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

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
    """A lifter, a panel cart. `rating_includes` says what its rated capacity already allows for."""

    name = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=60)
    rated_grams = models.PositiveBigIntegerField(null=True, blank=True)
    rating_includes = models.TextField(blank=True)
    rating_source = models.CharField(max_length=200, blank=True)
    inspected_until = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        verbose_name_plural = "equipment"
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
