from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from jobs.models.base import OfficeRecord


class OfficeSettings(OfficeRecord):
    """What the company decides once for everybody. One row; before anybody has made it, the defaults hold."""

    company = models.CharField(max_length=120, blank=True)
    time_zone = models.CharField(max_length=64, default="UTC")
    holiday_region = models.CharField(max_length=12, blank=True)  # "US-CA": country, subdivision
    working_days = models.CharField(max_length=7, default="1111100")  # for who is on no crew
    reminder_interval_days = models.PositiveSmallIntegerField(
        default=3, validators=[MinValueValidator(1), MaxValueValidator(60)])
    reply_address = models.EmailField(blank=True)  # where answers to our mail go
    shims = models.JSONField(default=list, blank=True)  # thicknesses at hand, as people write them
    site_address = models.URLField(blank=True)  # where people reach the pages, for links in mail

    class Meta:
        verbose_name_plural = "office settings"
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="officesettings_one_row"),
            models.CheckConstraint(condition=Q(reminder_interval_days__gte=1), name="officesettings_interval"),
        ]

    def __str__(self) -> str:
        return self.company or "our company"

    @classmethod
    def current(cls) -> OfficeSettings:
        return cls.objects.filter(pk=1).first() or cls(pk=1)
