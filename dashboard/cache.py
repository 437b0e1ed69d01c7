"""A cache that is allowed to be away: what it holds makes things quicker or counts requests, never decides anything."""

import logging
from typing import Any

from django.core.cache.backends.redis import RedisCache
from redis.exceptions import RedisError

log = logging.getLogger(__name__)


class ForgivingRedisCache(RedisCache):
    """Redis as Django's cache; while the broker is down, reads find nothing and writes are dropped."""

    def get(self, key: Any, default: Any = None, version: int | None = None) -> Any:
        try:
            return super().get(key, default, version)
        except RedisError as error:
            log.warning("The cache cannot be read: %s", error)
            return default

    def set(self, key: Any, value: Any, timeout: Any = 300, version: int | None = None) -> None:
        try:
            super().set(key, value, timeout, version)
        except RedisError as error:
            log.warning("The cache cannot be written: %s", error)

    def delete(self, key: Any, version: int | None = None) -> bool:
        try:
            return super().delete(key, version)
        except RedisError as error:
            log.warning("The cache cannot be written: %s", error)
            return False
