"""The site page among the telephone's programs: it can be put there, renews itself, and sends while it is closed."""

import json

import pytest

from dashboard.site import kept
from inspections.models import SetAsidePart
from jobs.stages import Stage
from tests.browser import CHROMIUM
from tests.phone import phone_of, until
from tests.visits import site_today

pytestmark = pytest.mark.django_db(transaction=True)
PROGRAM = CHROMIUM  # only with its window does it know of installing
ENTRIES = "**/api/v1/site-entries/"
ALL_KEPT = "async () => (await navigator.serviceWorker.ready).active.state === 'activated'"


@pytest.fixture
def phone(browser, live_server):
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as held:
        held.site = site
        held.open()
        held.page.wait_for_selector(".stop")
        until(held.page, ALL_KEPT)
        held.page.reload()  # now the worker is there from the start
        held.page.wait_for_selector(".stop")
        yield held


def test_a_newer_page_takes_over_by_itself_where_nobody_types(phone, monkeypatch):
    phone.page.evaluate("window.before = true")
    monkeypatch.setattr(kept, "version", lambda: "anewer00page")
    phone.page.evaluate("navigator.serviceWorker.ready.then(r => { r.update(); })")
    phone.page.wait_for_function("() => window.before === undefined")
    phone.page.wait_for_selector(".stop")
    until(phone.page, "async () => (await caches.keys()).join() === 'sillbook-site-anewer00page'")
    assert "A newer page" not in phone.page.inner_text("body")


def test_nothing_keeps_it_from_being_installed_and_woken_by_the_browser_it_sends_what_the_page_could_not(phone):
    """What the page sends is stopped on the way; what the worker sends is not."""
    browser = phone.page.context.new_cdp_session(phone.page)
    found = browser.send("Page.getInstallabilityErrors")["installabilityErrors"]
    assert [one["errorId"] for one in found] == ["in-incognito"], "which is how a test opens its browser"
    told = browser.send("Page.getAppManifest")
    assert told["errors"] == []
    manifest = json.loads(told["data"])
    assert (manifest["start_url"], manifest["scope"], manifest["display"]) == ("/site/", "/site/", "standalone")
    assert [icon["sizes"] for icon in manifest["icons"]] == ["192x192", "512x512"]
    assert all("maskable" in icon["purpose"] and "any" in icon["purpose"] for icon in manifest["icons"])
    assert {"name", "short_name", "theme_color", "background_color", "lang", "id"} <= set(manifest)
    known = []
    browser.on("ServiceWorker.workerRegistrationUpdated", lambda told: known.extend(told["registrations"]))
    browser.send("ServiceWorker.enable")
    phone.page.route(ENTRIES, lambda route: route.abort())
    phone.go(phone.site.opening.pk, "act", "aside")
    phone.page.get_by_label("Part").fill("Track cover")
    phone.press("Set aside", exact=True)
    phone.page.wait_for_function("() => document.body.dataset.unsent === '1'")
    [registration] = {one["registrationId"] for one in known if not one["isDeleted"]}
    browser.send("ServiceWorker.dispatchSyncEvent", {
        "origin": phone.base, "registrationId": registration, "tag": "outbox", "lastChance": False})
    phone.wait_until_sent()
    assert SetAsidePart.objects.get().what == "Track cover"
    assert [entry["state"] for entry in phone.outbox()] == ["with the office"]
