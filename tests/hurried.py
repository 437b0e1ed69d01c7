"""The site's own settings with beat in a hurry, for tests that run worker and beat as processes of their own."""

from datetime import timedelta

from dashboard.settings import *  # noqa: F403
from dashboard.settings import CELERY_BEAT_SCHEDULE as AS_SHIPPED

CELERY_BEAT_MAX_LOOP_INTERVAL = 0.5
CELERY_BEAT_SCHEDULE = {
    name: {**entry, "schedule": timedelta(seconds=1)} for name, entry in AS_SHIPPED.items() if "reminders" in name
}
