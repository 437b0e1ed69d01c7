"""Every page of the demo as pictures, to be looked at: three widths, by day and by night.

    .venv/bin/python -m tests.screenshots [folder] [name of a page ...]

The pages are found by walking the links from the first one as the office, a few of each kind; those for people who are
not signed in besides. The folder (`.screenshots` where none is given) is left out of the record. Says what sticks out
of its page, what shifts while loading, which page is heavier than 60 kB without its pictures, and what the browser
complained of.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
from collections import Counter, deque
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import django
from django.urls import Resolver404, resolve
from playwright.sync_api import Browser, Page

from tests.browser import DESK, HELD_UPRIGHT, PHONE, SHIFTED, STICKS_OUT, chromium
from tests.running import ROOT, Running

WIDTHS = (PHONE, HELD_UPRIGHT, DESK)
THEMES = {"day": "light", "night": "dark"}
OF_A_KIND = 3  # an opening to be measured, one half built, one accepted look different
DOWNLOADS = re.compile(r"\.(pdf|csv|xlsx|json|ya?ml)$|^/(api|photos|static)/|^/sign-out/")
HEAVIEST = 60_000  # bytes of a page and all it loads, as they come over the line, without pictures
WEIGHT = """() => [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
  .filter(e => !/^.(photos|media)./.test(new URL(e.name).pathname)).reduce((sum, e) => sum + e.encodedBodySize, 0)"""
SIGN_IN = re.compile(r"Office +sign in as (\S+) +password (\S+)")


def kind_of(path: str) -> str:
    try:
        return resolve(path).url_name or ""
    except Resolver404:
        return ""


def sign_in(page: Page, base: str, printed: str) -> None:
    name, password = SIGN_IN.search(printed).groups()
    page.goto(f"{base}/sign-in/")
    page.fill("[name=username]", name)
    page.fill("[name=password]", password)
    page.press("[name=password]", "Enter")
    page.wait_for_url(f"{base}/")


def walked(page: Page, base: str) -> Iterator[str]:
    """Follows links; the name of each page when it is open."""
    seen, counted, waiting = set(), Counter(), deque(["/"])
    while waiting:
        path = waiting.popleft()
        kind = kind_of(urlsplit(path).path)
        if path in seen or not kind or counted[kind] >= OF_A_KIND:
            continue
        seen.add(path)
        counted[kind] += 1
        page.goto(base + path)
        waiting.extend(links_on(page, base))
        yield f"{kind}-{counted[kind]}"


def links_on(page: Page, base: str) -> Iterator[str]:
    """Where the links lead, those of drawings among them."""
    for link in page.eval_on_selector_all("a[href]", "all => all.map(a => a.getAttribute('href'))"):
        address = urljoin(page.url, link)
        parts = urlsplit(address)
        if address.startswith(base) and not DOWNLOADS.search(parts.path):
            yield parts.path + (f"?{parts.query}" if parts.query else "")


def take(page: Page, name: str, folder: Path) -> None:
    """Pictures of the page that is open, and what is wrong with it."""
    if (weight := page.evaluate(WEIGHT)) > HEAVIEST:
        print(f"{name}: {weight} bytes")
    for moved in page.evaluate(SHIFTED):
        print(f"{name} shifts: {moved}")
    for theme, scheme in THEMES.items():
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            page.screenshot(path=folder / f"{name}-{width}-{theme}.png", full_page=True)
            if theme == "day" and (out := page.evaluate(STICKS_OUT)):
                print(f"{name} at {width}: {out} stick out")


def take_all(browser: Browser, running: Running, folder: Path, wanted: list[str]) -> int:
    page = browser.new_context().new_page()
    page.on("pageerror", lambda error: print(f"{page.url}: {error}"))
    signed_out = [("sign-in-1", "/sign-in/"), ("not-found-1", "/nothing-here/")]
    for name, path in signed_out:
        page.goto(running.address + path)
        take(page, name, folder)
    sign_in(page, running.address, running.printed())
    count = len(signed_out)
    for name in walked(page, running.address):
        if not wanted or name.rpartition("-")[0] in wanted:
            take(page, name, folder)
            count += 1
    return count


def main(folder: str = ".screenshots", *wanted: str) -> None:
    into = ROOT / folder
    into.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as data:
        os.environ.update(DJANGO_SETTINGS_MODULE="dashboard.settings", SILLBOOK_DATA=data)
        django.setup()
        with Running(Path(data) / "demo", command="demo") as running, chromium() as browser:
            running.wait_until_alive(120)
            count = take_all(browser, running, into, list(wanted))
    print(f"{count} pages, {count * len(WIDTHS) * len(THEMES)} pictures in {into}")


if __name__ == "__main__":
    main(*sys.argv[1:])
