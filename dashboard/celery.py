"""The Celery app: run with `celery -A dashboard worker` and `celery -A dashboard beat`."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dashboard.settings")

app = Celery("sillbook")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
