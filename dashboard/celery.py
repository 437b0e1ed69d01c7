"""The Celery app: run with `celery -A dashboard.celery worker` and `celery -A dashboard.celery beat`."""

import logging
import os
from typing import Any

from celery import Celery
from celery.signals import heartbeat_sent
from redis.exceptions import RedisError

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dashboard.settings")

app = Celery("sillbook")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

from dashboard import pulse  # noqa: E402  (reads the settings, which the line above names)

log = logging.getLogger(__name__)


@heartbeat_sent.connect
def mark_worker(**_: Any) -> None:
    """Every two seconds, from the worker's main process."""
    try:
        pulse.mark(pulse.WORKER)
    except (RedisError, OSError) as error:
        log.warning("The worker cannot say that it is alive: %s", error)
