from __future__ import annotations

from django.db import models
from django.db.models import Q

from jobs.models.base import SiteRecord
from jobs.models.jobs import Opening


class Photo(SiteRecord):
    """Re-encoded on arrival, without its location; served only to those who may see the opening."""

    ABOUT = [("", "The opening"), ("inspection", "Inspection"), ("confirmation", "Confirmation"), ("joint", "Joint"),
             ("punch-item", "Punch item"), ("adjustment", "Adjustment"), ("panel", "Panel"), ("callback", "Callback"),
             ("set-aside-part", "Set-aside part"), ("wait", "Wait"), ("part-arrival", "Part that came")]

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="photos")
    about = models.CharField(max_length=16, choices=ABOUT, blank=True)
    about_id = models.CharField(max_length=40, blank=True)
    check_code = models.SlugField(max_length=60, blank=True)  # the check it is evidence for
    caption = models.CharField(max_length=240, blank=True)
    sha256 = models.CharField(max_length=64)  # of what was sent
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    size = models.PositiveIntegerField()  # bytes, as kept
    thumbnail_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-taken_at", "-id"]
        indexes = [models.Index(fields=["opening", "check_code"]),
                   models.Index(fields=["id"], name="photo_no_thumbnail", condition=Q(thumbnail_at=None))]

    def __str__(self) -> str:
        return self.caption or f"Photo of {self.opening}"
