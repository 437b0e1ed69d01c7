from __future__ import annotations

import secrets

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from inspections.models.photos import Photo
from jobs.models.base import SiteRecord, new_id
from jobs.models.jobs import Opening

SALT_BYTES = 16


def new_salt() -> str:
    return secrets.token_hex(SALT_BYTES)


class BuilderLink(SiteRecord):
    """One opening's site report, open to whoever has the address, until it ends or is revoked.

    The address is signed with the site's key and the row's own salt: what is kept here opens nothing by itself.
    """

    opening = models.ForeignKey(Opening, models.PROTECT, related_name="builder_links")
    salt = models.CharField(max_length=32, default=new_salt, editable=False)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    last_opened_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-taken_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(expires_at__gt=F("taken_at")), name="builderlink_ends_after_its_start"),
            models.CheckConstraint(condition=~Q(salt=""), name="builderlink_has_its_salt"),
            models.CheckConstraint(condition=Q(revoked_at=None, revoked_by=None) | Q(revoked_at__isnull=False,
                                   revoked_by__isnull=False), name="builderlink_revoked_by_somebody"),
        ]
        indexes = [models.Index(fields=["opening", "-taken_at"])]

    def __str__(self) -> str:
        return f"{self.opening}: builder's link"


class CorrectionReport(models.Model):
    """The builder says it is put right. It closes nothing: it asks the crew to read again. Nobody is signed in."""

    id = models.UUIDField(primary_key=True, default=new_id)
    link = models.ForeignKey(BuilderLink, models.PROTECT, related_name="reports")
    note = models.CharField(max_length=1000)
    photo = models.OneToOneField(Photo, models.PROTECT, null=True, blank=True, related_name="correction")
    at = models.DateTimeField()
    seen_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    seen_at = models.DateTimeField(null=True, blank=True)
    fingerprint = models.CharField(max_length=64, default="", editable=False)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(condition=~Q(note=""), name="correction_says_what_was_done"),
            models.CheckConstraint(condition=Q(seen_at=None, seen_by=None) | Q(seen_at__isnull=False,
                                   seen_by__isnull=False), name="correction_seen_by_somebody"),
        ]
        indexes = [models.Index(fields=["link", "-at"])]

    def __str__(self) -> str:
        return f"{self.link.opening}: reported corrected"
