"""Whatever goes wrong at whatever step of a day on site: what was acknowledged to the person is what the office has,
and none twice. Each fault at each step in the long run."""

import datetime as dt
from contextlib import suppress
from itertools import cycle

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Error

from dashboard.site import kept
from jobs.stages import Stage
from tests.line import Line, Slow, answer_lost, half_answered, in_turn, request_cut, says
from tests.phone import Phone, phone_of, signed_in
from tests.visits import site_today
from tests.workday import ENDED, MADE, STEPS, WITH_THE_OFFICE, Day, counted_since, kind, made_since

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def day(browser, live_server, tmp_path, monkeypatch):
    line = Line(live_server.thread.httpd)
    day = Day(browser, live_server.url, tmp_path / "browser", site_today(Stage.OPENING_VERIFIED), line)
    monkeypatch.setattr(kept, "version", lambda: f"newer{day.versions:07}")
    day.switch_on()
    yield day
    day.kill()
    live_server.thread.httpd.set_app(line.office)


# ---- on the line -------------------------------------------------------------------------------------------


def on_the_line(fault):
    def struck(day, step):
        with day.line.struck_by(fault):
            day.does(step)
        day.has_signal()
    return struck


def no_signal(day, step):
    day.page.context.set_offline(True)
    day.does(step)
    day.page.context.set_offline(False)


def flapping(day, step):
    """The signal comes and goes, and of what gets through every other answer is lost."""
    context = day.page.context
    with day.line.struck_by(in_turn(answer_lost, None)):
        context.set_offline(True)
        day.enters(step)
        context.set_offline(False)
        context.set_offline(True)
        day.taps(step)
        for off in (False, True, False):
            context.set_offline(off)
    day.has_signal()


def slow(day, step):
    """The office answers long after the page has gone on."""
    answer = Slow()
    with day.line.struck_by(answer):
        day.does(step)
        day.page.evaluate("location.hash = '#/outbox'")
        day.page.wait_for_selector("text=On this phone (")
        answer.go.set()


def signed_out_in_a_batch(day, step):
    """The office takes a batch of three in, the phone hears of the first one, and then that nobody is signed in."""
    keep_beside(day, 2)

    def half_then_out(asked, environ):
        answer = half_answered(asked, environ)
        Session.objects.all().delete()
        return answer
    with day.line.struck_by(half_then_out):
        day.does(step)
    day.page.wait_for_selector("text=Your sign-in has ended")
    sign_in(day, day.site.lead)
    day.comes_back()


def keep_beside(day, count):
    day.page.evaluate("""async ([opening, count]) => {
      const { keep } = await import('/static/dashboard/site/outbox.js');
      const person = await (await import('/static/dashboard/site/store.js')).noted('person');
      await keep(Array.from({ length: count }, () => ({ person, opening, said: 'beside',
        body: { entry: 'event', opening, data: { kind: 're-pour' } } }))); }""", [day.site.opening.pk, count])
    day.acknowledged["event"] += count


def sign_in(day, person):
    day.page.context.clear_cookies()
    day.page.context.add_cookies([signed_in(person, day.base)])


def signed_out(day, step):
    Session.objects.all().delete()
    day.does(step)
    day.page.wait_for_selector("text=Your sign-in has ended")
    sign_in(day, day.site.lead)
    day.comes_back()


def somebody_else(day, step):
    """Kept without signal; before it can go, somebody else signs in on this phone and works with it."""
    context = day.page.context
    context.set_offline(True)
    day.does(step)
    sign_in(day, day.other)
    context.set_offline(False)
    day.phone.open()
    day.page.wait_for_selector(f"header >> text={day.other.name}")
    assert day.phone.outbox() == []
    sign_in(day, day.site.lead)
    day.comes_back()
    day.page.wait_for_selector(f"header >> text={day.site.lead.name}")


# ---- of the telephone --------------------------------------------------------------------------------------


def tab_killed(day, step):
    """Between the tap and whatever the page was about to say."""
    day.enters(step)
    context = day.page.context
    day.page.get_by_role("button", name=step.tap, exact=True).evaluate("one => { one.click(); }")
    with suppress(Error):
        day.page.goto("chrome://crash")
    day.phone = Phone(context.new_page(), day.base)
    day.open()
    after_a_kill(day, step)


def browser_killed(day, step):
    day.enters(step)
    day.page.get_by_role("button", name=step.tap, exact=True).evaluate("one => { one.click(); }")
    day.kill()
    day.switch_on()
    after_a_kill(day, step)


def after_a_kill(day, step):
    """What the phone does not show as kept is entered once more."""
    day.phone.wait_until_sent()
    there = {entry["id"] for entry in day.phone.outbox()} - day.seen
    if there:
        day.acknowledged.update(step.makes)
    else:
        day.does(step)


def clock_off(days):
    def off(day, step):
        day.page.clock.set_system_time(dt.datetime.now() + dt.timedelta(days=days))
        day.does(step)
        day.phone.wait_until_sent()
        day.page.clock.set_system_time(dt.datetime.now())
    return off


def disk_full(day, step):
    day.enters(step)
    day.page.evaluate("""() => { const real = IDBObjectStore.prototype.add; window.roomAgain = () => {
        IDBObjectStore.prototype.add = real; };
      IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }""")
    day.phone.press(step.tap, exact=True)
    day.page.wait_for_selector("text=This phone is full: it was not kept")
    day.page.evaluate("roomAgain()")
    day.taps(step)


def disk_gone(day, step):
    """The browser keeps nothing any more: the page says it was not kept, and nothing is."""
    day.enters(step)
    day.page.evaluate("""async () => { (await import('/static/dashboard/site/store.js')).drop();
      IDBFactory.prototype.open = () => { throw new DOMException('denied', 'SecurityError'); }; }""")
    day.phone.press(step.tap, exact=True)
    day.page.wait_for_selector("text=It was not kept")
    day.comes_back()
    day.does(step)


def connection_dead(day, step):
    day.enters(step)
    day.page.evaluate("""() => { const real = IDBDatabase.prototype.transaction;
      IDBDatabase.prototype.transaction = function () { IDBDatabase.prototype.transaction = real;
        throw new DOMException('closing', 'InvalidStateError'); }; }""")
    day.taps(step)


def two_phones(day, step):
    """The same person does it on both, without signal; then both have some."""
    with phone_of(day.browser, day.base, day.site.lead) as two:
        two.open()
        two.page.wait_for_selector(".stop")
        one = day.phone
        for phone in (one, two):
            phone.page.context.set_offline(True)
            day.phone = phone
            day.does(step)
        for phone in (one, two):
            phone.page.context.set_offline(False)
        day.phone = one
        for phone in (one, two):
            phone.wait_until_sent()
        day.elsewhere += two.outbox()
    day.acknowledged.subtract(one for one in step.makes if one in ENDED)  # what is over ends but once


def newer_worker(day, step):
    """A newer page takes over while the outbox is full."""
    day.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    day.comes_back()  # with the worker there from the start
    with day.line.struck_by(says("503 Busy", {"code": "busy"})):
        day.does(step)
        day.versions += 1
        day.page.evaluate("window.before = true")
        day.page.evaluate("() => { navigator.serviceWorker.ready.then(worker => worker.update()); }")
        day.phone.wait_until_renewed("() => window.before === undefined && document.body.dataset.unsent > 0")
    day.has_signal()


FAULTS = {
    "no signal": no_signal, "flapping": flapping, "slow": slow,
    "500": on_the_line(says("500 Broken")),
    "502": on_the_line(says("502 Bad gateway", "<html>502</html>", "text/html")),
    "busy": on_the_line(says("503 Busy", {"code": "busy"})),
    "too often": on_the_line(says("429 Too often", {"code": "too-often"})),
    "a hotel's page": on_the_line(says("200 OK", "<html>sign in</html>", "text/html")),
    "garbage": on_the_line(says("200 OK", {"results": [{"id": 7, "result": "stored"}, None, "x"]})),
    "a request cut in half": on_the_line(request_cut), "an answer lost": on_the_line(answer_lost),
    "an answer to half of it": on_the_line(half_answered),
    "401 in the middle of a batch": signed_out_in_a_batch, "signed out": signed_out, "somebody else": somebody_else,
    "tab killed": tab_killed, "browser killed": browser_killed,
    "a day ahead": clock_off(1), "a day behind": clock_off(-1),
    "disk full": disk_full, "disk gone": disk_gone, "connection dead": connection_dead,
    "two phones": two_phones, "a newer worker": newer_worker,
}


def compare(day):
    """What the page said it had kept, what the phone shows, and what the office has."""
    day.phone.wait_until_sent()
    shown = day.phone.outbox() + day.elsewhere
    assert {entry["state"] for entry in shown} <= WITH_THE_OFFICE, shown
    assert sorted(entry["id"] for entry in shown if kind(entry) in MADE) == made_since(day.before)
    assert day.acknowledged == counted_since(day.before)
    day.seen = {entry["id"] for entry in shown}


@pytest.mark.long
@pytest.mark.parametrize("fault", FAULTS)
def test_whatever_goes_wrong_at_whatever_step_the_office_has_what_was_acknowledged_and_none_twice(day, fault):
    for step in STEPS:
        FAULTS[fault](day, step)
        compare(day)


def test_after_a_day_of_every_fault_and_ten_killed_browsers_the_office_has_what_was_acknowledged(day):
    day.is_killed = True
    for n, (fault, step) in enumerate(zip(FAULTS, cycle(STEPS), strict=False)):
        FAULTS[fault](day, step)
        if n % 6 == 2:
            day.comes_back()
        compare(day)
    assert day.killed == 10
