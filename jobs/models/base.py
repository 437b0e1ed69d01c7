"""What office records and site records have in common."""

from __future__ import annotations

import uuid

import uuid_utils.compat
from django.conf import settings
from django.db import models
from django.utils import timezone


def new_id() -> uuid.UUID:
    """UUID version 7: sorts by time, as the devices' own ids do."""
    return uuid_utils.compat.uuid7()


class OfficeRecord(models.Model):
    """Kept by the office; two people never overwrite each other: a change names the version it changes."""

    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        abstract = True


class SiteRecord(models.Model):
    """Made on site: append-only, with an id the device chose. Sent twice it is one record.

    `taken_at` is the time that counts: the device's own where it can be believed, the server's otherwise.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()
    device_time = models.DateTimeField(null=True, blank=True)
    server_time = models.DateTimeField(default=timezone.now)
    fingerprint = models.CharField(max_length=64, default="", editable=False)  # of what was sent

    class Meta:
        abstract = True
