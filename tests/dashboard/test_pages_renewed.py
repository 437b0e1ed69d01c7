"""Pages that stay open renew themselves: nothing is lost, nothing shifts, and nothing is sent where nothing changed."""

import datetime as dt

import pytest
from django.utils import timezone

from inspections.services.closing import raise_punch_item
from inspections.services.waits import raise_wait
from jobs.acts import Act
from jobs.models import Crew, WorkStep
from tests.browser import opened
from tests.factories import give_work, make_crew, make_job, make_opening, make_unit, make_user
from tests.visits import site_day, site_today

pytestmark = pytest.mark.django_db(transaction=True)
WATCH = """window.shifts = 0; new PerformanceObserver(list => list.getEntries().forEach(
  entry => { window.shifts += entry.value; })).observe({type: 'layout-shift', buffered: true});"""
STATE = """() => ({focus: document.activeElement.textContent.trim(), selected: getSelection().toString(),
  top: Math.round(document.activeElement.getBoundingClientRect().top)})"""
SELECT = """words => { const root = document.querySelector('.renews');
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) if (walker.currentNode.data.includes(words)) {
    getSelection().selectAllChildren(walker.currentNode.parentNode); return; } throw words; }"""
SETTLED = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done))))"


@pytest.fixture
def cookie(client, live_server):
    def signed_in(person):
        client.force_login(person)
        return {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    return signed_in


class Renewing:
    """A page whose minutes pass when they are told to, with what was answered to each time it asked."""

    def __init__(self, page, url):
        self.page, self.answers = page, []
        page.clock.install(time=dt.datetime.now(dt.UTC))
        page.goto(url)
        page.on("response", lambda answer: self.answers.append((answer.status, int(
            answer.headers.get("content-length") or 0))) if "If-None-Match".lower() in answer.request.headers else None)
        page.evaluate(WATCH)

    def a_minute_later(self):
        count = len(self.answers)
        with self.page.expect_response(lambda answer: "if-none-match" in answer.request.headers):
            self.page.clock.run_for(60_000)
        self.page.wait_for_function("n => document.querySelector('.renews').dataset.asked == n", arg=str(count + 1))
        self.page.clock.run_for(100)

    @property
    def state(self):
        return self.page.evaluate(STATE)


def several_crews(count=6):
    today = timezone.now().date()
    for n in range(count):
        crew = make_crew(make_user("lead"), name=f"Crew {n + 1}")
        job = make_job(number=f"R-{n + 1}")
        for tag in "AB":
            opening = make_opening(job, tag=tag)
            make_unit(opening, "ABC")
            give_work(opening, crew, start_day=today, end_day=today)
    WorkStep.objects.update(ready=True, hands=1)


def test_after_three_renewals_focus_scroll_and_selection_are_where_they_were(browser, live_server, cookie):
    several_crews()
    office = make_user()
    first, last = Crew.objects.get(name="Crew 1"), Crew.objects.get(name="Crew 5")
    above, there = (crew.assignments.first().opening for crew in (first, last))
    with opened(browser, cookie(office)) as page:
        here = Renewing(page, live_server.url)
        link = page.locator(f"#o-{there.pk} a")
        link.focus()
        page.evaluate(SELECT, "Crew 5")
        page.evaluate(SETTLED)
        page.evaluate("window.shifts = 0")
        before = here.state
        assert before["focus"] == "R-5 · A" and before["selected"] == "Crew 5" and page.evaluate("scrollY") > 0
        here.a_minute_later()  # nothing has happened
        act = Act.of(office, timezone.now())
        raise_wait(act, above.pk, what_for="the floor, all along the sill", owed_by_kind="builder")
        here.a_minute_later()  # something above has grown
        raise_punch_item(act, there.pk, what="Scratch", owner_id=office.pk, due_day=timezone.now().date())
        here.a_minute_later()  # something happened where one looks, and is nothing that is drawn there
        assert "The builder owes: the floor, all along the sill" in page.inner_text(f"#a-{above.pk}")
        page.evaluate(SETTLED)
        assert here.state == before
        assert page.evaluate("window.shifts") == 0
        assert [status for status, _size in here.answers] == [304, 200, 200]
        assert here.answers[0] == (304, 0), "nothing is sent where nothing has happened"
        assert [c for c in page.complaints if "304" not in c] == []


def test_what_is_open_stays_open_and_what_is_typed_stays_typed(browser, live_server, cookie):
    site = site_today()
    with opened(browser, cookie(site.office)) as page:
        here = Renewing(page, f"{live_server.url}/needs-somebody/")
        page.fill("#job", "J-")
        raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder",
                   expected_day=site_day(site) - dt.timedelta(days=3))
        here.a_minute_later()
        assert "the floor" in page.inner_text("#needs")
        assert (page.input_value("#job"), page.evaluate("document.activeElement.id")) == ("J-", "job")


def test_a_page_whose_connection_is_cut_says_so_and_takes_it_back(browser, live_server, cookie):
    site = site_today()
    with opened(browser, cookie(site.office)) as page:
        here = Renewing(page, live_server.url)
        page.context.set_offline(True)
        page.clock.run_for(60_000)
        page.wait_for_selector("text=The connection is cut")
        page.context.set_offline(False)
        here.a_minute_later()
        assert not page.is_visible("text=The connection is cut")


def test_one_who_was_signed_out_meanwhile_is_asked_to_sign_in(browser, live_server, cookie, client):
    site = site_today()
    with opened(browser, cookie(site.office)) as page:
        Renewing(page, live_server.url)
        client.logout()
        page.clock.run_for(60_000)
        page.wait_for_selector("input[name=username]")
