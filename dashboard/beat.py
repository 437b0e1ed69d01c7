"""Celery beat, made sure to be the only one: two that send would send everything twice."""

import logging
from contextlib import suppress
from typing import Any

from celery.beat import PersistentScheduler
from redis.exceptions import LockError, RedisError

from dashboard import pulse

log = logging.getLogger(__name__)

LOCK = "sillbook:beat"
LOCK_LASTS = 30  # seconds; renewed with every tick, at least every 5 s


class OnlyOneScheduler(PersistentScheduler):
    """Sends only while it holds the lock at the broker; another one stands by and takes over when the first is gone."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self._lock = pulse.client().lock(LOCK, timeout=LOCK_LASTS, blocking=False)
        super().__init__(*args, **kwargs)

    def tick(self, *args: Any, **kwargs: Any) -> float:
        try:
            mine = self._hold_lock()
            pulse.mark(pulse.BEAT)
        except (RedisError, OSError) as error:
            log.warning("Beat waits for the broker: %s", error)
            mine = False
        return super().tick(*args, **kwargs) if mine else self.max_interval

    def close(self) -> None:
        # Celery closes twice when it is told to stop; and a lock that cannot be given back runs out by itself.
        with suppress(LockError, RedisError, OSError):
            self._lock.release()
        super().close()

    def _hold_lock(self) -> bool:
        try:
            return self._lock.reacquire()
        except LockError:  # never held, or run out while this process was stopped
            return self._lock.acquire()
