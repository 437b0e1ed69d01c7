"""The site page without a way to the office, and with what comes in between: nothing is lost, nothing is mixed."""

import datetime as dt

import pytest

from dashboard.site import day, kept
from inspections.models import Inspection, SetAsidePart
from jobs.models import StageChange
from jobs.stages import Stage
from tests.line import Line, says
from tests.phone import phone_of, signed_in, until, with_own_disk
from tests.visits import on_the_crew, site_today

pytestmark = pytest.mark.django_db(transaction=True)
ENTRIES = "**/api/v1/site-entries/"
KEPT = """async () => { await navigator.serviceWorker.ready;
  const [name] = await caches.keys(); return (await (await caches.open(name)).keys()).length; }"""


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def line(live_server):
    server = live_server.thread.httpd
    line = Line(server)
    yield line
    server.set_app(line.office)


def set_aside(phone, site, what):
    phone.go(site.opening.pk, "act", "aside")
    phone.page.get_by_label("Part").fill(what)
    phone.press("Set aside", exact=True)
    phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")


def test_it_opens_in_a_cold_start_without_signal_a_week_later_with_everything_that_was_entered(
        browser, live_server, tmp_path):
    site = site_today(Stage.OPENING_VERIFIED)
    folder, cookie = tmp_path / "browser", signed_in(site.lead, live_server.url)
    with with_own_disk(browser, folder, live_server.url, cookie) as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        until(phone.page, f"async () => (await ({KEPT})()) > 30")
        phone.page.context.set_offline(True)
        set_aside(phone, site, "Track cover")
    with with_own_disk(browser, folder, live_server.url, None) as phone:
        phone.page.context.new_cdp_session(phone.page).send("Network.clearBrowserCache")
        phone.page.context.set_offline(True)
        phone.page.clock.install(time=dt.datetime.now() + dt.timedelta(days=8))
        phone.open()
        phone.page.wait_for_selector(".stop")
        assert f"{site.opening.job.number} · {site.opening.tag}" in phone.said
        head = phone.page.inner_text("header")
        assert "1, oldest 8 days" in head and "seven days without a visit" in head
        phone.go(site.opening.pk)
        assert "Track cover" not in [part.what for part in SetAsidePart.objects.all()]
    with with_own_disk(browser, folder, live_server.url, cookie) as phone:
        phone.open()
        phone.wait_until_sent()
        assert SetAsidePart.objects.get().what == "Track cover"


def test_a_newer_page_waits_while_somebody_types_and_takes_over_afterwards(browser, live_server, monkeypatch):
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.open()
        until(phone.page, f"async () => (await ({KEPT})()) > 30")
        phone.page.reload()  # now the worker is there from the start
        phone.page.wait_for_selector(".stop")
        phone.go(site.opening.pk, "sheet", "last-panel-gap")
        phone.page.wait_for_selector("#reading")
        phone.press("An inch more")
        monkeypatch.setattr(kept, "version", lambda: "anewer00page")
        phone.page.evaluate("navigator.serviceWorker.ready.then(r => r.update())")
        phone.page.wait_for_selector("text=A newer page is ready")
        assert phone.page.input_value("#reading") == "1", "nothing is taken away under the thumb"
        phone.press("Take it: the last one")
        phone.page.evaluate("window.before = true")
        phone.press("Load it")
        phone.wait_until_renewed()
        until(phone.page, "async () => (await caches.keys()).join() === 'sillbook-site-anewer00page'")
        phone.page.wait_for_selector("text=Taken so far: 1")
        phone.keep("Keep it")
        assert Inspection.objects.get(kind="last-panel-gap").given["gap"] == "1"


def test_two_phones_at_one_opening_both_add_and_of_two_stages_one_becomes_true(browser, live_server):
    site = site_today(Stage.OPENING_VERIFIED)
    site.evidence(Stage.FRAME_SET)
    other = on_the_crew(site, "installer")
    with phone_of(browser, live_server.url, site.lead) as one, \
            phone_of(browser, live_server.url, other) as two:
        for n, phone in enumerate((one, two)):
            phone.open()
            phone.page.wait_for_selector(".stop")
            phone.page.context.set_offline(True)
            phone.go(site.opening.pk, "sheet", "last-panel-gap")
            phone.page.fill("#reading", f"{18 + n}")
            phone.page.press("#reading", "Enter")
            phone.press("Keep it")
            phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
            phone.go(site.opening.pk, "act", "gate frame set")
            phone.press("Done", exact=True)
            phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
        for phone in (one, two):
            phone.page.context.set_offline(False)
            phone.wait_until_sent()
        assert {(i.by, i.given["gap"]) for i in Inspection.objects.filter(kind="last-panel-gap")} == {
            (site.lead, "18"), (other, "19")}
        changes = StageChange.objects.filter(to_stage="frame set")
        assert sorted(change.advanced for change in changes) == [False, True]
        assert "1, oldest" not in two.page.inner_text("header")
        assert {e["state"] for e in two.outbox()} == {"with the office", "recorded, not advanced"}


def test_another_person_on_the_same_phone_neither_sends_nor_sees_what_is_not_theirs(browser, live_server):
    site = site_today(Stage.OPENING_VERIFIED)
    stranger = on_the_crew(site, "installer")
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        phone.page.context.set_offline(True)
        set_aside(phone, site, "Track cover")
        phone.page.context.clear_cookies()
        phone.page.context.add_cookies([signed_in(stranger, live_server.url)])
        phone.page.context.set_offline(False)  # and at once the page tries to send what is the other's
        phone.open()
        phone.page.wait_for_selector(f"header >> text={stranger.name}")
        assert phone.outbox() == []
        assert not SetAsidePart.objects.exists()
        assert "Entries of somebody else on this phone: 1." in phone.page.inner_text("body")
        phone.page.context.clear_cookies()
        phone.page.context.add_cookies([signed_in(site.lead, live_server.url)])
        phone.open()
        phone.page.wait_for_selector(f"header >> text={site.lead.name}")
        phone.wait_until_sent()
        assert SetAsidePart.objects.get().by == site.lead


def test_signing_out_takes_the_day_from_the_phone_and_leaves_what_is_not_sent_for_its_person(
        browser, live_server, line):
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        phone.page.context.set_offline(True)
        set_aside(phone, site, "Track cover")
        phone.page.evaluate("location.hash = '#/'")
        phone.press("Sign out", exact=True)
        phone.page.wait_for_selector("text=you are still signed in")
        line.fault = says("503 Busy", {"code": "busy"})
        beside = phone.page.context.new_page()
        phone.page.context.set_offline(False)
        beside.goto(phone.page.url)
        beside.wait_for_selector(".stop")
        phone.press("Sign out", exact=True)
        for page in (phone.page, beside):
            page.wait_for_selector("text=No day on this phone yet")
            assert "Entries of somebody else on this phone: 1." in page.inner_text("header")
        assert phone.page.evaluate(ON_DISK) == {"days": 0, "entries": 1}
        line.fault = None
        phone.page.context.add_cookies([signed_in(site.lead, live_server.url)])
        phone.open()
        phone.page.wait_for_selector(".stop")
        phone.wait_until_sent()
        assert SetAsidePart.objects.get().by == site.lead


def test_what_did_not_go_is_tried_again_every_half_minute_by_the_page_itself(browser, live_server, line):
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.page.add_init_script("delete Navigator.prototype.serviceWorker")  # nothing else sends
        phone.page.clock.install()
        phone.open()
        phone.page.wait_for_selector(".stop")
        with line.struck_by(says("500 Broken")):
            set_aside(phone, site, "Track cover")
        assert not SetAsidePart.objects.exists()
        phone.page.clock.fast_forward(30_000)
        phone.wait_until_sent()
        assert SetAsidePart.objects.get().what == "Track cover"


ON_DISK = """async () => { const { asked, using } = await import('/static/dashboard/site/store.js');
  return using('readonly', ['days', 'entries'], async ({ days, entries }) => (
    { days: await asked(days.count()), entries: await asked(entries.count()) })); }"""


def test_nobody_finds_in_a_form_what_another_one_typed_and_who_typed_it_does_until_it_is_kept(browser, live_server):
    """What was typed goes in the step in which it is kept: killed between the two, one would keep it twice."""
    site = site_today(Stage.OPENING_VERIFIED)
    other = on_the_crew(site, "installer")
    with phone_of(browser, live_server.url, site.lead) as phone:
        found = []
        for person, typed in ((site.lead, "Head block"), (other, "Track cover"), (site.lead, "")):
            phone.page.context.clear_cookies()
            phone.page.context.add_cookies([signed_in(person, live_server.url)])
            phone.open()
            phone.page.wait_for_selector(f"header >> text={person.name}")
            found.append(typed_before(phone, site))
            if typed:
                phone.page.get_by_label("Part").fill(typed)
                phone.page.evaluate(ONE_LOOK)
        phone.page.evaluate("""() => { const real = IDBObjectStore.prototype.delete;
          IDBObjectStore.prototype.delete = function (key) {
            return this.transaction.objectStoreNames.contains('entries') ? real.call(this, key) : null; }; }""")
        phone.press("Set aside", exact=True)
        phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
        assert [*found, typed_before(phone, site)] == ["", "", "Head block", ""]


ONE_LOOK = "import('/static/dashboard/site/store.js').then(store => store.noted('person'))"  # behind what is on its way


def typed_before(phone, site):
    phone.go(site.opening.pk, "act", "aside")
    phone.page.evaluate(ONE_LOOK)
    return phone.page.get_by_label("Part").input_value()


def full_outbox(phone, opening, count=5000):
    phone.page.evaluate("""async ([opening, count]) => {
      const { keep } = await import('/static/dashboard/site/outbox.js');
      const { noted } = await import('/static/dashboard/site/store.js');
      const person = await noted('person');
      await keep(Array.from({ length: count }, (_, n) => ({ person, opening, said: `${n}`,
        body: { entry: 'part-set-aside', opening, data: { what: `${n}` } } }))); }""", [opening, count])


def test_five_thousand_entries_are_counted_and_no_more_are_listed_than_one_reads(browser, live_server):
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        phone.page.route(ENTRIES, lambda route: route.abort())
        full_outbox(phone, site.opening.pk)
        phone.page.evaluate("location.hash = '#/outbox'")
        phone.press("Send now")
        phone.page.wait_for_selector("text=On this phone only: 5000.")
        assert phone.page.locator(".checks > li").count() == 200


@pytest.mark.long
def test_five_thousand_entries_are_sent_in_their_order_and_none_twice(browser, live_server):
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        full_outbox(phone, site.opening.pk)
        phone.open()
        phone.page.wait_for_function("() => document.body.dataset.unsent === '0'", timeout=300_000)
        assert [p.what for p in SetAsidePart.objects.order_by("pk")] == [str(n) for n in range(5000)]


def test_a_page_older_than_the_office_wants_says_so_and_keeps_what_it_has(browser, live_server, monkeypatch):
    site = site_today(Stage.OPENING_VERIFIED)
    monkeypatch.setattr(day, "FORM_LEAST", 2)
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        assert "older than the office wants" in phone.page.inner_text("header")
        set_aside(phone, site, "Track cover")
        phone.wait_until_sent()
        assert SetAsidePart.objects.get().what == "Track cover"


@pytest.mark.parametrize("refusal", [
    "IDBFactory.prototype.open = () => { throw new DOMException('denied', 'SecurityError'); }",
    """IDBFactory.prototype.open = () => { const request = { error: new DOMException('broken', 'UnknownError') };
       setTimeout(() => request.onerror()); return request; }"""], ids=["denied", "broken"])
def test_a_phone_that_keeps_nothing_says_so_beforehand_and_shows_the_day_all_the_same(browser, live_server, refusal):
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.page.add_init_script(refusal)
        phone.open()
        phone.page.wait_for_selector(".stop")
        assert "would be lost" in phone.page.inner_text("header")
        phone.go(site.opening.pk, "act", "aside")
        assert "would be lost" in phone.page.inner_text("header"), "whichever way one came there"
        phone.page.get_by_label("Part").fill("Track cover")
        phone.press("Set aside", exact=True)
        phone.page.wait_for_selector("text=It was not kept")
        assert not SetAsidePart.objects.exists()


def test_a_disk_that_dies_while_the_page_still_asks_for_the_day_takes_nothing_away_that_is_open(browser, live_server):
    site = site_today(Stage.PANELS_HUNG)
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        asked = []
        phone.page.route("**/site/day/", lambda route: asked.append(route))
        phone.page.reload()
        phone.page.wait_for_selector(".stop")
        phone.page.evaluate("""async () => { (await import('/static/dashboard/site/store.js')).drop();
          IDBFactory.prototype.open = () => { throw new DOMException('denied', 'SecurityError'); }; }""")
        phone.go(site.opening.pk, "sheet", "last-panel-gap")
        phone.page.wait_for_selector("#reading")
        with phone.page.expect_response("**/site/day/"):
            asked[0].continue_()
        phone.press("An inch more")
        assert phone.page.input_value("#reading") == "1"
        assert "could not be opened" not in phone.said


def test_a_private_window_and_a_phone_that_fills_up_are_said_before_anything_is_lost(browser, live_server):
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as phone:  # a private window, as every context of a test is
        phone.open()
        phone.page.wait_for_selector("header >> text=in a private window")
        phone.page.evaluate("navigator.storage.estimate = async () => ({ quota: 9e9, usage: 9e9 - 4e7 })")
        set_aside(phone, site, "Track cover")
        phone.page.wait_for_selector("header >> text=This phone is nearly full")
