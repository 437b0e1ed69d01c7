"""A real browser, headless, and the rules every page is held to."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
# The same browser without a window that nobody sees: a page costs it a fourth. It cannot be asked to install one.
WITHOUT_WINDOW = os.environ.get("CHROMIUM_WITHOUT_WINDOW") or shutil.which("chromium-headless-shell") or CHROMIUM
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]
WCAG = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"], "resultTypes": ["violations"]}
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]},
           "resultTypes": ["violations"]}  # the rules that see another page by night
TARGETS = {"runOnly": {"type": "rule", "values": ["target-size"]},
           "resultTypes": ["violations"]}  # the rule that sees another page at a desk
BUT_COLOURS = {**WCAG, "rules": {name: {"enabled": False} for name in COLOURS["runOnly"]["values"]}}
PHONE, HELD_UPRIGHT, DESK = 360, 768, 1440  # a telephone, a tablet held upright, a desk
ZOOMED_IN = 320  # what 400 % leaves of 1280
# Wider than the page, and not inside something that scrolls by itself.
STICKS_OUT = """() => {
  const wide = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= wide) return [];
  return [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > wide + 1
    && !e.closest('.scroll')).slice(0, 5).map(e => `${e.tagName}.${e.className.baseVal ?? e.className}`);
}"""
# What moved after it was first drawn.
SHIFTED = """() => new Promise(done => {
  const found = [];
  new PerformanceObserver(list => found.push(...list.getEntries().map(e => `${e.value} ${e.sources.map(
    s => s.node?.className ?? s.node?.nodeName)}`))).observe({type: 'layout-shift', buffered: true});
  requestAnimationFrame(() => setTimeout(() => done(found)));
})"""


@contextmanager
def chromium(program: str = WITHOUT_WINDOW) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def opened(browser: Browser, cookie: dict[str, Any] | None, *, width: int = DESK, dark: bool = False,
           locale: str = "en-US") -> Iterator[Page]:
    """A page of its own, signed in by the cookie; whatever it complains of is in `page.complaints`."""
    context = browser.new_context(viewport={"width": width, "height": 900}, locale=locale,
                                  color_scheme="dark" if dark else "light", reduced_motion="reduce")
    if cookie is not None:
        context.add_cookies([cookie])
    page = context.new_page()
    page.complaints = []
    page.on("console", lambda message: page.complaints.append(message.text)
            if message.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    try:
        yield page
    finally:
        context.close()


def violations(page: Page, rules: dict[str, Any] = WCAG) -> list[str]:
    """What axe-core finds against WCAG 2.2 A and AA, or against these rules of it."""
    if page.evaluate("typeof axe === 'undefined'"):
        page.evaluate(Axe().axe_script)
    found = page.evaluate("rules => axe.run(rules).then(results => results.violations)", rules)
    return [f"{v['id']}: {node['target']} {node['failureSummary'][:200]}" for v in found for node in v["nodes"][:3]]
