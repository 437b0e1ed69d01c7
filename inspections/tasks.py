"""Work for later. Each task may run twice, or beside itself, and nothing happens twice."""

from __future__ import annotations

import uuid

from celery import shared_task
from django.utils import timezone

from inspections.services import photos, readiness, reminders

THUMBNAIL_STALE_AFTER = 30  # seconds; what still waits then is asked for again by the next look round


@shared_task
def make_thumbnail(photo_id: str) -> bool:
    return photos.make_thumbnail(uuid.UUID(photo_id), timezone.now())


@shared_task
def make_missing_thumbnails() -> int:
    """Asks for each by itself, so that a picture which breaks its worker takes no other with it."""
    waiting = photos.without_thumbnail()
    for photo_id in waiting:
        make_thumbnail.apply_async((str(photo_id),), expires=THUMBNAIL_STALE_AFTER)
    return len(waiting)


@shared_task
def plan_reminders() -> int:
    return reminders.plan_reminders(timezone.now())


@shared_task
def send_reminders() -> int:
    reminders.put_back_stale(timezone.now())
    return reminders.send_due(timezone.now)


@shared_task
def refresh_readiness() -> int:
    return readiness.refresh_by_the_clock(timezone.now())
