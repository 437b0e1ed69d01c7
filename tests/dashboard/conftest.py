"""What the tests of pages have."""

import os
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.browser import WITHOUT_WINDOW, chromium


@pytest.fixture(scope="module")
def browser(request: pytest.FixtureRequest) -> Iterator[Browser]:
    # Playwright runs a loop of its own in this thread; Django would take our plain calls for calls from inside it.
    before = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with chromium(getattr(request.module, "PROGRAM", WITHOUT_WINDOW)) as running:
        yield running
    if before is None:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]
