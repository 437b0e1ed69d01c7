"""Work of the site itself for later."""

from celery import shared_task
from django.core.management import call_command


@shared_task
def forget_expired_sign_ins() -> None:
    """Removes sessions that have run out."""
    call_command("clearsessions")
