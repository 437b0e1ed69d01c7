"""How often one person or token may ask. Counted in the cache, by the minute; a cache that is away lets all pass."""

from __future__ import annotations

from random import randrange
from time import time
from typing import Any

from django.conf import settings
from django.core.cache import cache
from redis.exceptions import RedisError
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

MINUTE = 60
SAMPLED = 16  # of the reads, one in so many is counted, as that many: counting each would cost as much as a short list


def counted(key: str, weight: int) -> int:
    """Adds to the count of this minute and returns it."""
    slot = f"rate:{key}:{int(time() // MINUTE)}"
    try:
        cache.add(slot, 0, 2 * MINUTE)
        return cache.incr(slot, weight)
    except (RedisError, ValueError):
        return 0


class ByTheMinute(BaseThrottle):
    """`RATES` in the settings: reads, writes, calculations, tokens; a view names its own with `rate`."""

    def allow_request(self, request: Request, view: Any) -> bool:
        reading = request.method in ("GET", "HEAD", "OPTIONS")
        rate = getattr(view, "rate", None) or ("reads" if reading else "writes")
        weight = SAMPLED if rate == "reads" else 1
        if weight > 1 and randrange(weight):  # noqa: S311 - no secret hangs on it
            return True
        who = request.user.pk if request.user and request.user.is_authenticated else self.get_ident(request)
        return counted(f"{rate}:{who}", weight) <= settings.RATES[rate]

    def wait(self) -> float:
        return MINUTE - time() % MINUTE
