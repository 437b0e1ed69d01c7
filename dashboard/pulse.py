"""Who is alive: worker and beat leave a mark at the broker that fades when they stop."""

import logging

import redis
from django.conf import settings
from django.db import DatabaseError, connection

log = logging.getLogger(__name__)

WORKER = "sillbook:alive:worker"
BEAT = "sillbook:alive:beat"
FADES_AFTER = 15  # seconds; the worker marks every 2 s, beat at least every 5 s
PATIENCE = 2  # seconds the broker has to answer


def client() -> redis.Redis:
    """A client of the broker that would rather fail than hang."""
    return redis.Redis.from_url(settings.REDIS_URL, socket_timeout=PATIENCE, socket_connect_timeout=PATIENCE)


def mark(who: str) -> None:
    """Leaves the mark of one that is alive."""
    with client() as broker:
        broker.set(who, "1", ex=FADES_AFTER)


def alive() -> dict[str, bool]:
    """Of database, broker, worker and beat: which are."""
    return {"database": _database_answers(), **_behind_the_broker()}


def _database_answers() -> bool:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            return cursor.fetchone() == (1,)
    except DatabaseError as error:
        log.warning("The database does not answer: %s", error)
        return False


def _behind_the_broker() -> dict[str, bool]:
    try:
        with client() as broker:
            worker, beat = broker.mget(WORKER, BEAT)
    except (redis.RedisError, OSError) as error:
        log.warning("The broker does not answer: %s", error)
        return {"broker": False, "worker": False, "beat": False}
    return {"broker": True, "worker": worker is not None, "beat": beat is not None}
