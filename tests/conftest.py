"""What every test has."""

import gc
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
import redis
from django.core.cache import cache
from django.db import connection
from django.db.models.signals import post_migrate
from hypothesis import settings as hypothesis

from dashboard.broker import command
from inspections.services.checks import ship_checks
from tests import factories

# How long one example takes says more about what else the machine is doing than about the code.
hypothesis.register_profile("usual", deadline=None, max_examples=50)
hypothesis.register_profile("long", deadline=None, max_examples=1000)
hypothesis.load_profile("usual")

# Tests make much that is thrown away whole; to look through all that stands for it takes a tenth of their time.
gc.set_threshold(100_000, 50, 100)


def _ship_again(sender, **_) -> None:
    """A test with transactions of its own empties every table afterwards; what the migrations put there comes back."""
    if sender.name == "inspections":
        if connection.vendor == "sqlite":  # ids from one again, as after a rollback: see tests/kept.py
            with connection.cursor() as cursor:
                cursor.execute("DELETE FROM sqlite_sequence")
        ship_checks()


post_migrate.connect(_ship_again)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest first, so that at the end nobody waits for one of them."""
    items.sort(key=lambda item: "whole" not in item.path.parts)


@pytest.fixture(autouse=True)
def _empty_cache() -> Iterator[None]:
    """Requests counted by one test must not slow down the next."""
    yield
    cache.clear()


@pytest.fixture(autouse=True)
def _counted_from_one() -> None:
    """What is invented is called the same in every order of the tests."""
    factories.count_from_one()


@pytest.fixture(scope="session")
def _real_broker() -> Iterator[str]:
    with tempfile.TemporaryDirectory(prefix="sillbook-") as folder:
        socket = Path(folder) / "socket"
        url = f"unix://{socket}"
        server = subprocess.Popen(command(socket), stdout=subprocess.DEVNULL, stderr=subprocess.STDOUT)
        try:
            retry = redis.retry.Retry(redis.backoff.ConstantBackoff(0.02), 250)
            with redis.Redis.from_url(url, retry=retry, retry_on_error=[redis.ConnectionError]) as client:
                client.ping()
            yield url
        finally:
            server.terminate()
            server.wait(10)


@pytest.fixture
def broker_url(_real_broker: str, settings) -> str:
    """A real broker of this test's own, empty; the settings name it."""
    with redis.Redis.from_url(_real_broker) as client:
        client.flushall()
    settings.REDIS_URL = _real_broker
    return _real_broker
