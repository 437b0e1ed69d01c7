"""Work of the site itself for later."""

from celery import shared_task
from django.core.management import call_command
from django.utils import timezone

from jobs.rest.once import forget_old_answers as forget_answers_before


@shared_task
def forget_expired_sign_ins() -> None:
    """Removes sessions that have run out."""
    call_command("clearsessions")


@shared_task
def forget_old_answers() -> None:
    """Removes the answers kept for requests sent again, a day after they were given."""
    forget_answers_before(timezone.now())
