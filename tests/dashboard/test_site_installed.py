"""The site page among the telephone's programs: it can be put there, renews itself, and sends while it is closed."""

import json

import pytest
from django.templatetags.static import static

from dashboard.site import kept
from dashboard.static_files import SITE
from inspections.models import Inspection, SetAsidePart
from jobs.stages import Stage
from tests.browser import CHROMIUM
from tests.phone import Phone, phone_of, until
from tests.sent import as_sent
from tests.visits import site_today
from tests.workday import read_gap

pytestmark = pytest.mark.django_db(transaction=True)
PROGRAM = CHROMIUM  # only with its window does it know of installing
ENTRIES = "**/api/v1/site-entries/"
ALL_KEPT = "async () => (await navigator.serviceWorker.ready).active.state === 'activated'"


@pytest.fixture
def phone(browser, live_server, settings, tmp_path):
    """With the page as a started server sends it: one script."""
    site = site_today(Stage.OPENING_VERIFIED)
    with as_sent(settings, tmp_path / "sent"), phone_of(browser, live_server.url, site.lead) as held:
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
    phone.wait_until_renewed()
    phone.page.wait_for_selector(".stop")
    until(phone.page, "async () => (await caches.keys()).join() === 'sillbook-site-anewer00page'")
    assert "A newer page" not in phone.page.inner_text("body")


def test_a_page_that_was_on_its_way_before_this_one_asked_takes_over_too(phone, monkeypatch):
    """As where the browser looks for a newer one by itself, as soon as the page is asked for."""
    monkeypatch.setattr(kept, "version", lambda: "anewer00page")
    phone.page.add_init_script("""
      sessionStorage.loads = Number(sessionStorage.loads ?? 0) + 1;
      if (sessionStorage.loads === '1') {
        const register = ServiceWorkerContainer.prototype.register;
        ServiceWorkerContainer.prototype.register = async function (...how) {
          const found = await register.apply(this, how);
          found.update();
          while (found.installing === null) await new Promise(done => { setTimeout(done, 1); });
          return found;
        };
      }""")
    phone.page.reload()
    phone.wait_until_renewed("() => sessionStorage.loads === '2'")
    until(phone.page, "async () => (await caches.keys()).join() === 'sillbook-site-anewer00page'")


def test_where_somebody_types_nothing_is_renewed_because_another_page_of_the_phone_was(phone, monkeypatch):
    phone.go(phone.site.opening.pk, "act", "aside")
    phone.page.get_by_label("Part").fill("Track cover")
    phone.page.evaluate("window.before = true")
    other = phone.page.context.new_page()
    other.goto(f"{phone.base}/site/")
    other.wait_for_selector(".stop")
    other.evaluate("window.before = true")
    monkeypatch.setattr(kept, "version", lambda: "anewer00page")
    other.evaluate("navigator.serviceWorker.ready.then(r => { r.update(); })")
    Phone(other, phone.base).wait_until_renewed()
    phone.page.wait_for_selector("text=A newer page is ready")
    assert phone.page.get_by_label("Part").input_value() == "Track cover"
    assert phone.page.evaluate("window.before")
    phone.press("Load it")
    phone.page.wait_for_function("() => window.before === undefined")
    phone.page.wait_for_selector("h1")
    assert phone.page.get_by_label("Part").input_value() == "Track cover"


def test_as_it_is_sent_it_opens_without_signal_and_sends_what_was_kept(phone):
    assert phone.page.evaluate("performance.getEntriesByType('resource').map(one => one.name)"
                               ".filter(name => name.endsWith('.js'))") == [f"{phone.base}{static(SITE)}"]
    phone.page.context.set_offline(True)
    phone.page.reload()
    phone.page.wait_for_selector(".stop")
    read_gap(phone, phone.site)
    phone.press("Keep it", exact=True)
    phone.page.wait_for_function("() => document.body.dataset.unsent === '1'")
    phone.page.context.set_offline(False)
    phone.wait_until_sent()
    assert Inspection.objects.get(kind="last-panel-gap").given["gap"] == "18"


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
