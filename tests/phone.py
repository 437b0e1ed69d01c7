"""A telephone with the site page open: a real browser against the real server, with the faults a day on site brings."""

from __future__ import annotations

import datetime as dt
import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Error, Page

from jobs.models import User
from tests.browser import FLAGS, WITHOUT_WINDOW, opened

WIDE = 390
PATIENCE = 30_000  # ms; on a busy machine a newer page takes ten seconds to come


def until(page: Page, told: str, arg: Any = None) -> None:
    """Until this async function of the page says yes: `wait_for_function` would take its promise for a yes."""
    end = time.monotonic() + PATIENCE / 1000
    while True:
        with suppress(Error):  # the page is loading anew
            if page.evaluate(told, arg):
                return
        assert time.monotonic() < end, f"still not so: {told}"
        page.wait_for_timeout(20)


class Phone:
    def __init__(self, page: Page, base: str) -> None:
        self.page, self.base = page, base

    def open(self, at: str = "#/") -> None:
        self.page.goto("about:blank")  # or the browser would only go to another place of the same page
        self.page.goto(f"{self.base}{reverse('site')}{at}")
        self.page.wait_for_selector("h1")

    def go(self, *parts: Any) -> None:
        """To something about an opening."""
        address = "#/opening/" + "/".join(str(part).replace(" ", "%20") for part in parts)
        self.page.evaluate("at => { location.hash = at; }", address)
        self.page.wait_for_function("""at => document.body.dataset.shown === at
          && document.querySelector('.sheet > .step:empty') === null""", arg=address)  # what was typed before is there

    def press(self, name: str, exact: bool = False) -> None:
        self.page.get_by_role("button", name=name, exact=exact).or_(
            self.page.get_by_role("link", name=name, exact=exact)).first.click()

    def keep(self, name: str) -> None:
        """Presses what keeps an entry, until the page says it is kept and the office has it."""
        self.press(name, exact=True)
        self.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
        self.wait_until_sent()

    def outbox(self) -> list[dict[str, Any]]:
        """What the phone has of its person, the latest first."""
        return self.page.evaluate("""async () => {
          const name = (await import('/static/dashboard/site/store.js'));
          const person = await name.noted('person');
          return (await import('/static/dashboard/site/outbox.js')).inSight(person);
        }""")

    def wait_until_sent(self) -> None:
        """By the phone's disk, and then by the page: what it shows comes a moment later."""
        until(self.page, """async () => {
          const person = await (await import('/static/dashboard/site/store.js')).noted('person');
          const left = await (await import('/static/dashboard/site/outbox.js')).unsent(person);
          return left.count === 0 && document.body.dataset.unsent === '0';
        }""")

    def wait_until_renewed(self, told: str = "() => window.before === undefined") -> None:
        """Until a newer page is there. A browser that is watched never lets the worker before it be idle, and the newer
        one waits for that: it is stopped here, as a browser that nobody watches stops it after a while."""
        watching = self.page.context.new_cdp_session(self.page)
        watching.send("ServiceWorker.enable")
        for _ in range(PATIENCE // 1000):
            with suppress(Error):  # it goes just now
                self.page.wait_for_function(told, timeout=1000)
                return
            with suppress(Error):
                if self.page.evaluate("async () => (await navigator.serviceWorker.getRegistration()).waiting !== null"):
                    watching.send("ServiceWorker.stopAllWorkers")
        self.page.wait_for_function(told)

    @property
    def said(self) -> str:
        return self.page.inner_text("#main")


def signed_in(person: User, base: str) -> dict[str, Any]:
    """The cookie of a session of their own."""
    client = Client()
    client.force_login(person)
    in_a_fortnight = (timezone.now() + dt.timedelta(days=14)).timestamp()
    return {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": base, "expires": in_a_fortnight}


@contextmanager
def phone_of(browser: Browser, base: str, person: User, width: int = WIDE, **how: Any) -> Iterator[Phone]:
    with opened(browser, signed_in(person, base), width=width, **how) as page:
        page.set_default_timeout(PATIENCE)
        yield Phone(page, base)


@contextmanager
def with_own_disk(browser: Browser, folder: Path, base: str, cookie: dict[str, Any] | None) -> Iterator[Phone]:
    """A telephone that can be switched off and on again: another browser, with a disk of its own."""
    context = browser.browser_type.launch_persistent_context(
        str(folder), executable_path=WITHOUT_WINDOW, args=FLAGS, viewport={"width": WIDE, "height": 800})
    context.set_default_timeout(PATIENCE)
    if cookie:
        context.add_cookies([cookie])
    try:
        yield Phone(context.pages[0], base)
    finally:
        _kill(folder)
        with suppress(Error):
            context.close()


def _kill(folder: Path) -> None:
    """Without a word to the page: a browser that is closed has time to say more than one that was killed."""
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if f"--user-data-dir={folder}".encode() in (process / "cmdline").read_bytes():
                os.kill(int(process.name), signal.SIGKILL)
