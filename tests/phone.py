"""A telephone with the site page open: a real browser against the real server, with the faults a day on site brings."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.test import Client
from django.urls import reverse
from playwright.sync_api import Browser, Page

from jobs.models import User
from tests.browser import opened

WIDE = 390
SETTLED = "() => new Promise(done => setTimeout(done, 0))"


class Phone:
    def __init__(self, page: Page, base: str) -> None:
        self.page, self.base = page, base

    def open(self, at: str = "#/") -> None:
        self.page.goto(f"{self.base}{reverse('site')}{at}")
        self.page.wait_for_selector("h1")

    def go(self, *parts: Any) -> None:
        """To something about an opening."""
        address = "#/opening/" + "/".join(str(part).replace(" ", "%20") for part in parts)
        self.page.evaluate("at => { location.hash = at; }", address)
        self.page.wait_for_function("at => document.body.dataset.shown === at", arg=address)

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
        self.page.wait_for_function("() => document.body.dataset.unsent === '0'")

    @property
    def said(self) -> str:
        return self.page.inner_text("#main")


@contextmanager
def phone_of(browser: Browser, client: Client, base: str, person: User, width: int = WIDE,
             **how: Any) -> Iterator[Phone]:
    client.force_login(person)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": base}
    with opened(browser, cookie, width=width, **how) as page:
        page.set_default_timeout(8000)
        yield Phone(page, base)
