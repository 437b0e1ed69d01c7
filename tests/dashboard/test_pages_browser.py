"""The pages in a real browser: nothing sticks out, nothing is complained of, everybody can read and use them."""

import datetime as dt
from itertools import groupby
from urllib.parse import urlsplit

import pytest
from django.urls import resolve, reverse
from django.utils import timezone

from dashboard.demo.company import EQUIPMENT
from dashboard.phrases import TONIGHT
from inspections.models import Adjustment, BuilderLink, Check, Inspection, Photo, PunchItem, ReturnTrip
from inspections.services.afterwards import book_return_trip, close_callback, log_adjustment, log_callback
from inspections.services.builders_link import make_link, report_corrected, token_of
from inspections.services.closing import raise_punch_item, set_part_aside
from inspections.services.custody import hand_over
from inspections.services.gates import pass_over
from inspections.services.panels import handle_panel
from inspections.services.parts import make_parts, note_part_came
from inspections.services.waits import raise_wait
from inspections.services.walls import countersign_wall
from jobs.models import (
    Assignment,
    Crew,
    DayOff,
    Delivery,
    EarnedMinutes,
    Equipment,
    OfficeSettings,
    Opening,
    OutOfUse,
    Wait,
)
from jobs.services.finding import refresh
from jobs.stages import Stage
from tests.browser import (
    BUT_COLOURS,
    COLOURS,
    DESK,
    HELD_UPRIGHT,
    PHONE,
    SHIFTED,
    STICKS_OUT,
    TARGETS,
    WCAG,
    ZOOMED_IN,
    opened,
    violations,
)
from tests.dashboard.test_pages_roles import PAGES, SHEETS
from tests.factories import MADE, make_opening, make_party, make_system, make_user
from tests.phone import until
from tests.site import floor, force, frame, reveal
from tests.visits import at, site_day, site_today
from units.models import DoorSystem, Unit

pytestmark = pytest.mark.django_db(transaction=True)
# What the server sends open stays open.
FOLD_ALL = """document.querySelectorAll('details').forEach(fold => {
  fold.dataset.sent ??= fold.open ? 'open' : 'folded'; fold.open = fold.dataset.sent === 'open'; })"""
OPEN_ALL = "document.querySelectorAll('details').forEach(fold => { fold.open = true; })"
FLOOR = [0, 1, 1, 2, 3, 3, 4, 6, 5, 4, 3, 3, 2, 1, 1, 0, 0, 0, 1, 1, 1, 2, 2, 1, 1, 0, 0]


@pytest.fixture
def cookie(client, live_server):
    def signed_in(person):
        client.force_login(person)
        return {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    return signed_in


def a_site_with_everything():
    """One crew: an opening to be measured whose floor failed, one in the middle of hanging, one passed over."""
    OfficeSettings.objects.create(pk=1, company="Marrow Bay Sliding Walls")
    site = site_today(Stage.FRAME_SET, panels="ABCD", tag="A2", location="great room")
    site.close_pocket()
    for letter in "AD":
        handle_panel(site.act(), site.panel(letter).pk, "receive")
    handle_panel(site.act(), site.panel("A").pk, "hang")
    handle_panel(site.act(), site.panel("D").pk, "hang", done_on_site=True)
    handle_panel(site.act(), site.panel("C").pk, "damage", reason="a corner of the glass is chipped")
    for what, panel in (("Scratch on the sill cover", "A"), ("A reveal that is a hair tight at the head", "B")):
        raise_punch_item(site.act(), site.opening.pk, what=what, owner_id=site.lead.pk, place="sill",
                         due_day=timezone.now().date() - dt.timedelta(days=2), panel_id=site.panel(panel).pk)
    set_part_aside(site.act(), site.opening.pk, what="Track cover", where_kept="in the van")
    Unit.objects.filter(pk=site.unit.pk).update(frame_width=12_000_000_000, frame_height=3_000_000_000)
    crate = Delivery.objects.create(job=site.opening.job, what="Sill, head and jambs", expected_day=site_day(site))
    make_parts(site.act(site.office), site.unit.pk, version=1)
    site.unit.parts.update(delivery=crate)
    note_part_came(site.act(), site.unit.parts.get(kind="sill").pk, short=1, note="The second length is not in it.")
    hand_over(site.act(), site.opening.pk, holder="crew", condition="Swept, the floor covered.")
    hand_over(site.act(), site.opening.pk, holder="owner", who="the housekeeper", condition="Washed and working.")
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"})
    countersign_wall(site.act(), site.opening.pk, name="Pat Lund", trade="drywall")
    site.read("fastener", {"longest": "1 3/4", "board": "1/2", "stud": "1 1/2"})
    measured = site_today(tag="B1", pocket_side="right", panels="ABC", rough_width=9_144_000_000)
    measured.read("floor-profile", floor(FLOOR, inner=floor([0] * 27)["stations"]))
    raise_wait(measured.act(), measured.opening.pk, what_for="the floor: grind the high place", owed_by_kind="builder",
               inspection_id=Inspection.objects.get(opening=measured.opening).pk)
    measured.read("fastener", {"longest": "1 1/2", "board": "5/8", "stud": "1 1/2"})
    DoorSystem.objects.filter(pk=measured.unit.system_id).update(**MADE)
    Unit.objects.filter(pk=measured.unit.pk).update(panel_count=3)
    make_opening(measured.opening.job, tag="B9")
    link = make_link(measured.act(), measured.opening.pk)
    report_corrected(token_of(link), measured.now, note="Ground the high place at 7 ft.")
    passed = site_today(Stage.OPENING_VERIFIED, tag="C1", pocket_side="both", panels="ABCDEF",
                        rough_width=12_192_000_000)
    passed.read("frame", frame(end_gaps={"left": 10, "right": 16}), occasion="frame-set")
    passed.evidence(Stage.FRAME_SET, without=("frame",))
    pass_over(passed.act(), passed.opening.pk, "The trim covers it; the builder agreed on site.")
    lifter, _cart = (Equipment.objects.create(**EQUIPMENT[n]) for n in (0, 3))
    for work in Assignment.objects.all():
        work.equipment.add(lifter)
    OutOfUse.objects.create(equipment=lifter, from_day=site_day(site), to_day=site_day(site), reason="inspection")
    Assignment.objects.update(crew=site.crew)
    DayOff.objects.create(crew=site.crew, from_day=site_day(site), to_day=site_day(site), reason="the yard is moved")
    Crew.objects.exclude(pk=site.crew.pk).update(active=False)
    return site, measured, passed


def a_door_called_about():
    """One call that somebody goes for, one for which a trip is still to be booked; the pages of both."""
    site = site_today(tag="D1", location="dining room")
    site.read("reveal", reveal(), place="lock-jamb")
    site.read("force", force(site.panels))
    Opening.objects.filter(pk=site.opening.pk).update(stage="accepted")
    refresh([site.opening.pk])
    act = site.act(site.office)
    seen = [log_callback(act, site.opening.pk, severity=severity, symptom="It does not lock, and drags in the sun.",
                         caller="Maud Ansel, 555-0187") for severity in ("cannot-be-secured", "drags")]
    book_return_trip(act, seen[0].pk, day=site_day(site), crew_id=site.crew.pk, arrival="at nine")
    log_adjustment(site.act(), site.opening.pk, what="rollers", callback_id=seen[0].pk, before={"gaps": {"top": 10.0}},
                   turns=[{"roller": "near", "eighths": 11}], after={"gaps": {"top": 8.0}})
    return [f"/find/?q=D1+{site.opening.job.number}", "/find/?q=zzzz", at(site, "call"), "/callbacks/",
            *(reverse("callback", args=[call.pk]) for call in seen)]


def pages(site, measured, passed):
    verdict = Inspection.objects.get(opening=measured.opening, kind="floor-profile")
    first, second = Inspection.objects.filter(opening=site.opening, kind="fastener").order_by("taken_at", "pk")[:2]
    link = BuilderLink.objects.get()
    for_the_builder = reverse("for-the-builder", args=[token_of(link)])
    return [for_the_builder, f"{for_the_builder}?units=mm", at(measured, "builder-link", link.pk),
            "/", "/jobs/", reverse("job", args=[site.opening.job_id]), *a_delivery(site),
            at(site), at(site) + "?at=A", at(measured), at(passed),
            at(measured, "unit") + "?panels=2", at(measured, "unit") + "?panels=0&width=wide",
            reverse("unit-new", args=[Opening.objects.get(unit=None).pk]) + f"?system={measured.unit.system_id}"
            "&width=236&height=118&panels=3&way=right&sill_length=long",
            at(site, "compare"), at(site, "compare") + f"?a={first.pk}&b={second.pk}",
            at(measured, "drawings"), at(measured, "inspection", verdict.pk), at(measured, "readings", "floor-profile"),
            at(site, "readings", "rough-opening"), at(site, "readings", "frame"), at(site, "readings", "force"),
            at(site, "readings", "sealing-conditions"), "/punch-items/", "/reminders/", "/your-password/",
            "/needs-somebody/", "/crews-weeks/", f"/crews-weeks/?crew={site.crew.pk}", at(passed, "assign"),
            "/settings/", "/settings/limits/", reverse("limits-edit", args=[Check.objects.get(code="floor-bed").pk]),
            "/your-settings/", reverse("site-copies"), "/crews/", "/crews/new/",
            *(reverse(name, args=[site.crew.pk]) for name in ("crew", "crew-edit", "crew-member-new")),
            reverse("crew-member", args=[site.crew.members.first().pk]), "/days-off/new/",
            reverse("day-off", args=[DayOff.objects.get().pk]), "/people/", "/people/new/",
            *(reverse(name, args=[site.lead.pk]) for name in ("person", "person-edit", "person-password")),
            "/equipment/", "/equipment/new/", reverse("out-of-use", args=[OutOfUse.objects.get().pk]),
            *(reverse(f"equipment-{name}", args=[Equipment.objects.first().pk]) for name in ("one", "edit", "out")),
            "/reports/", "/reports/openings-by-stage/", "/reports/hours/?by=crew-week", "/reports/waits/?by=wait",
            *a_door_called_about(), "/door-systems/", "/door-systems/new/",
            *(reverse(name, args=[measured.unit.system_id])
              for name in ("door-system", "door-system-edit", "door-system-new-edition"))]


def a_delivery(site):
    keys = [Delivery.objects.get(job=site.opening.job_id).pk]
    return [reverse("delivery-new", args=[site.opening.job_id]),
            *(reverse(name, args=keys) for name in ("delivery", "delivery-edit"))]


# Nothing written on a drawing or a sheet is too small to be read, however narrow the place it is shown in.
SMALLEST = """() => Math.min(...[...document.querySelectorAll('main text')].filter(e => e.checkVisibility()).map(e =>
  parseFloat(getComputedStyle(e).fontSize) * (e.ownerSVGElement.getScreenCTM()?.a ?? 1)))"""

# Drawings that are neither named nor passed over on purpose.
WORDLESS = """() => [...document.querySelectorAll('svg')].filter(e => !e.closest('[aria-hidden=true]')
  && !e.parentElement.closest('svg') && !e.hasAttribute('aria-label') && !e.hasAttribute('aria-labelledby')
  && !e.querySelector(':scope > title')?.textContent.trim()).map(e => e.outerHTML.slice(0, 90))"""

# What the office is shown; sheets and files are no pages, signing in and the site page have tests of their own.
ALL_PAGES = {name for name, row in PAGES.items() if row.startswith("2")} - SHEETS - {
    "report-file", "photo", "photo-thumbnail", "site", "site-day", "site-words", "site-worker", "site-manifest"}


PRESSED = "all => all.filter(e => e.checkVisibility()).map(e => e.textContent.trim())"  # of links and buttons


def test_on_paper_there_is_nothing_to_press_and_the_flags_keep_their_numbers(browser, live_server, cookie):
    site = site_today()
    with opened(browser, cookie(site.office), dark=True) as page:
        page.emulate_media(media="print")
        for url in (at(site), "/needs-somebody/", "/crews-weeks/"):
            page.goto(live_server.url + url)
            assert page.eval_on_selector_all("button, a.act, .masthead nav, .on-this-sheet", PRESSED) == []
            assert page.evaluate("getComputedStyle(document.querySelector('h2, h1')).color") == "rgb(22, 33, 44)", "ink"
        page.goto(live_server.url + at(site))
        assert page.eval_on_selector(".flag", "e => getComputedStyle(e).printColorAdjust") == "exact"


def wrong_with(page, url, *, twice=True):
    """Everything wrong with this page: at every width, folded and unfolded, with text twice as large, by night too.
    `twice`: the rules of accessibility at a desk as well as on a telephone; its elements are the same."""
    page.goto(url)
    found = [f"shifts while loading: {e}" for e in page.evaluate(SHIFTED)]
    for width in (PHONE, HELD_UPRIGHT, DESK):
        page.set_viewport_size({"width": width, "height": 900})
        page.evaluate(FOLD_ALL)
        found += [f"sticks out at {width}: {e}" for e in page.evaluate(STICKS_OUT)]
        page.evaluate(OPEN_ALL)
        found += [f"sticks out unfolded at {width}: {e}" for e in page.evaluate(STICKS_OUT)]
        if width in (PHONE, DESK):  # a desk has the colours of a telephone
            found += violations(page, WCAG if width == PHONE else BUT_COLOURS if twice else TARGETS)
    found += [f"is drawn without words: {e}" for e in page.evaluate(WORDLESS)]
    found += out_when_larger(page)
    page.emulate_media(color_scheme="dark")
    found += [f"by night: {v}" for v in violations(page, COLOURS)]
    page.emulate_media(color_scheme="light")
    found += [f"complains: {c}" for c in page.complaints]
    page.complaints.clear()
    return found


def out_when_larger(page):
    """What sticks out of a desk's page four times as large, and for people whose browser writes twice as large."""
    page.set_viewport_size({"width": ZOOMED_IN, "height": 900})
    found = [f"sticks out at {ZOOMED_IN}: {e}" for e in page.evaluate(STICKS_OUT)]
    letters(page, 32)
    for width in (HELD_UPRIGHT, DESK):
        page.set_viewport_size({"width": width, "height": 900})
        found += [f"sticks out at {width} written twice as large: {e}" for e in page.evaluate(STICKS_OUT)]
    letters(page, 16)
    return found


def letters(page, size):
    session = page.context.new_cdp_session(page)
    session.send("Page.setFontSizes", {"fontSizes": {"standard": size}})
    session.detach()


@pytest.mark.parametrize("half", [0, 1])
def test_every_page_at_a_desk_and_on_a_phone_by_day_and_by_night(browser, live_server, cookie, half):
    looked_over(browser, live_server, cookie, half, twice=False)


@pytest.mark.long
@pytest.mark.parametrize("half", [0, 1])
def test_every_page_keeps_the_rules_at_a_desk_too(browser, live_server, cookie, half):
    looked_over(browser, live_server, cookie, half, twice=True)


def looked_over(browser, live_server, cookie, half, *, twice):
    made = a_site_with_everything()
    looked_at = pages(*made)
    assert ALL_PAGES - {resolve(urlsplit(url).path).url_name for url in looked_at} == set(), "each page is among them"
    with opened(browser, cookie(made[0].office)) as page:
        each = ((url, wrong_with(page, live_server.url + url, twice=twice)) for url in looked_at[half::2])
        wrong = {url: found for url, found in each if found}
    assert not wrong, "\n".join(f"{url} {one}" for url, found in wrong.items() for one in found)


def test_signing_in_and_being_lost_are_in_the_same_look(browser, live_server):
    with opened(browser, None) as page:
        assert wrong_with(page, f"{live_server.url}/sign-in/") == []
        assert [w for w in wrong_with(page, f"{live_server.url}/nothing-here/") if "404" not in w] == []


def test_the_rules_would_find_something_if_there_were_something(browser, live_server):
    with opened(browser, None, width=PHONE) as page:
        page.goto(f"{live_server.url}/sign-in/")
        page.evaluate("document.querySelector('label').remove()")
        page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=\"color: red\">hard to read</p>')")
        page.evaluate("document.querySelector('main').append(Object.assign(document.createElement('img'),"
                      " {width: 900, src: '/static/dashboard/sillbook.svg'}))")
        assert page.evaluate(STICKS_OUT)
        assert any("label" in found for found in violations(page))
        page.emulate_media(color_scheme="dark")
        page.evaluate("document.querySelector('body > p').style.color = '#222'")
        assert any("color-contrast" in found for found in violations(page, COLOURS))
        assert any("Content Security Policy" in complaint for complaint in page.complaints)
        page.evaluate("document.body.prepend(Object.assign(document.createElement('p'), {textContent: 'late'}))")
        assert page.evaluate(SHIFTED)
        letters(page, 32)
        assert page.evaluate("getComputedStyle(document.body).fontSize") == "32px"


def test_every_list_with_nothing_in_it_says_so(browser, live_server, cookie):
    wrong = []
    with opened(browser, cookie(make_user()), width=PHONE) as page:
        for name in ("crew-progress", "jobs", "needs-somebody", "crews-weeks", "punch-items", "reminders", "callbacks",
                     "equipment", "crews", "door-systems"):
            page.goto(live_server.url + reverse(name))
            assert page.locator("main .empty").count(), name
            wrong += [(name, one) for one in violations(page, BUT_COLOURS) + page.evaluate(STICKS_OUT)]
    assert not wrong, "\n".join(map(str, wrong))


SEND_AS_IT_IS = """const form = [...document.querySelectorAll('main form[method=post]')].pop();
  form.noValidate = true; form.requestSubmit();"""
# Fields that are marked as wrong, and not told why to those who do not see it.
NOT_TOLD = """() => [...document.querySelectorAll('main [aria-invalid=true]')].filter(e => !(e.getAttribute(
  'aria-describedby') ?? '').split(' ').some(id => document.getElementById(id)?.matches('.error'))).map(e => e.name)"""


def test_what_is_refused_is_told_at_the_field_to_everybody(browser, live_server, cookie):
    site = site_today()
    Opening.objects.update(stage="accepted")
    with opened(browser, cookie(site.office), width=PHONE) as page:
        for url in ("/people/new/", "/your-password/", at(site, "call")):
            page.goto(live_server.url + url)
            with page.expect_navigation():
                page.evaluate(SEND_AS_IT_IS)
            assert page.locator("main [aria-invalid=true]").count(), url
            assert page.evaluate(NOT_TOLD) == []
            assert violations(page) + page.evaluate(STICKS_OUT) == [], url
            page.emulate_media(color_scheme="dark")
            assert violations(page, COLOURS) == [], f"{url} by night"
            page.emulate_media(color_scheme="light")


# ---- by keyboard alone -----------------------------------------------------------------------------------


def tab_to(page, wanted, most=150):
    """Tab until what has the focus says or is called so."""
    for _ in range(most):
        page.keyboard.press("Tab")
        here = page.evaluate(r"(e => e.name || e.textContent || '')(document.activeElement).replace(/\s+/g, ' ')")
        if wanted in here:
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid", "one sees where"
            return
    raise AssertionError(f"{wanted!r} is not reached by keyboard")


def test_a_floor_is_read_by_keyboard_alone(browser, live_server):
    site = site_today(tag="B1")
    with opened(browser, None) as page:
        page.goto(live_server.url)
        page.wait_for_function("document.activeElement.name === 'username'")
        page.keyboard.type(site.lead.username)
        page.keyboard.press("Tab")
        page.keyboard.type("a long enough password")
        page.keyboard.press("Enter")
        page.wait_for_url(f"{live_server.url}/")
        tab_to(page, f"{site.opening.job.number} · B1")
        page.keyboard.press("Enter")
        page.wait_for_url(f"**{at(site)}")
        tab_to(page, "Enter readings: Floor, rise in a foot")
        page.keyboard.press("Enter")
        page.wait_for_url("**/readings/floor-profile/")
        for name, typed in (("sill_to", "2'0\""), ("floor[0].outer", "0"), ("floor[1].outer", "3/16"),
                            ("floor[2].outer", "0")):
            tab_to(page, name)
            page.keyboard.type(typed)  # what stands in a field is selected on coming to it, and typed over
        page.keyboard.press("Enter")
        page.wait_for_url("**/inspections/**")
        assert page.title().startswith("Floor, B1")
        assert "3/16\" between" in page.inner_text("main")
    assert Inspection.objects.get().result == "fail"


def test_the_first_stop_leads_past_the_title_block(browser, live_server, cookie):
    site = site_today()
    with opened(browser, cookie(site.lead)) as page:
        page.goto(live_server.url)
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.innerText") == "Skip to the sheet"
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "main"


# ---- without and with scripts ----------------------------------------------------------------------------


def test_an_act_works_without_any_script(browser, live_server, cookie):
    site = site_today()
    context = browser.new_context(java_script_enabled=False)
    context.add_cookies([cookie(site.lead)])
    page = context.new_page()
    page.goto(live_server.url + at(site))
    page.click("#waits summary:has-text('Raise a wait')")
    page.fill("#waits input[name=what_for]", "the floor")
    page.click("#waits button:has-text('Raise the wait')")
    assert "Waiting since now" in page.inner_text("[role=status]")
    context.close()
    assert Wait.objects.get().what_for == "the floor"


def test_crew_progress_takes_up_by_itself_what_has_happened(browser, live_server, cookie):
    site = site_today()
    with opened(browser, cookie(site.office)) as page:
        page.goto(live_server.url)
        raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder")
        page.evaluate("document.querySelector('#crews').dispatchEvent(new Event('renew'))")
        page.wait_for_selector("text=The builder owes: the floor")
        assert page.complaints == []


def a_unit_to_try():
    site = site_today(pocket_side="right", panels="")
    DoorSystem.objects.filter(pk=site.unit.system_id).update(**MADE)
    Unit.objects.update(panel_count=3)
    return site


def test_trying_another_unit_swaps_what_follows_and_leaves_the_form_as_it_is(browser, live_server, cookie):
    site = a_unit_to_try()
    with opened(browser, cookie(site.office)) as page:
        page.goto(live_server.url + at(site, "unit"))
        page.evaluate("document.body.dataset.same = 'yes'")
        page.fill("[name=panels]", "4")
        page.keyboard.press("Tab")
        page.wait_for_selector("text=As tried")
        assert page.evaluate("document.activeElement.name") == "more_on", "one types on"
        assert page.inner_text("[role=status]"), "and hears of it"
        page.fill("[name=width]", "wide")
        page.keyboard.press("Enter")
        page.wait_for_selector("#f-width-error:not([hidden])")
        page.fill("[name=width]", "19' 6\"")
        page.keyboard.press("Enter")
        page.wait_for_selector("#f-width-error", state="hidden")
        assert page.evaluate("document.body.dataset.same") == "yes", "no page was loaded anew"
        assert page.evaluate("Object.keys(localStorage)") == []
        assert "panels=4" in page.url
        assert "csrf" not in page.url
        page.click("text=Keep it so and lay the panels out")
        page.wait_for_selector("text=Kept; 4 panels are laid out.")
        assert page.complaints == []


def test_another_unit_is_tried_without_any_script(browser, live_server, cookie):
    site = a_unit_to_try()
    context = browser.new_context(java_script_enabled=False)
    context.add_cookies([cookie(site.lead)])
    page = context.new_page()
    page.goto(live_server.url + at(site, "unit"))
    page.fill("[name=panels]", "2")
    page.click("button:has-text('See what follows')")
    assert "it cannot be built so" in page.inner_text("#follows h2")
    page.click("#follows p a:has-text('3')")
    assert page.input_value("[name=panels]") == "3"
    context.close()


def test_what_is_typed_is_what_is_kept_without_any_script_too(browser, live_server, cookie):
    site = a_unit_to_try()
    context = browser.new_context(java_script_enabled=False)
    context.add_cookies([cookie(site.office)])
    page = context.new_page()
    page.goto(live_server.url + at(site, "unit"))
    page.fill("[name=panels]", "2")
    page.keyboard.press("Enter")
    page.wait_for_selector("#follows h2:has-text('it cannot be built so')")
    assert Unit.objects.get().panel_count == 3
    page.fill("[name=panels]", "4")
    page.fill("[name=order_number]", "J-7")
    page.click("text=Keep what is typed")
    page.wait_for_selector("text=Kept; no panels are laid out yet.")
    assert (Unit.objects.get().panel_count, Unit.objects.get().order_number) == (4, "J-7")
    context.close()


def test_a_unit_is_put_in_by_keyboard_and_the_glass_follows_the_system(browser, live_server, cookie):
    site = site_today()
    opening, system = make_opening(site.opening.job, pocket_side="right"), make_system(name="Quay", **MADE)
    with opened(browser, cookie(site.office)) as page:
        page.goto(live_server.url + reverse("unit-new", args=[opening.pk]))
        page.focus("[name=system]")
        page.select_option("[name=system]", str(system.pk))
        page.wait_for_selector("#f-glass option[value='8 and 8']", state="attached")
        assert page.evaluate("document.activeElement.name") == "system", "one types on"
        for name, value in (("width", "236"), ("height", "118"), ("panels", "3")):
            page.focus(f"[name={name}]")
            page.keyboard.type(value)
        page.keyboard.press("Enter")
        page.wait_for_load_state("networkidle")  # what follows is swapped in once more, after the last letter
        page.click("text=Put it in and lay the panels out")
        page.wait_for_selector("text=Kept; 3 panels are laid out.")
        assert page.complaints == []


def test_letters_and_dimensions_on_a_drawing_stay_large_enough_to_be_read(browser, live_server, cookie):
    made = a_site_with_everything()
    verdict = Inspection.objects.get(opening=made[1].opening, kind="floor-profile")
    with opened(browser, cookie(made[0].office)) as page:
        for url in (at(made[0]), at(made[2]), at(made[1], "drawings"), at(made[1], "inspection", verdict.pk)):
            page.goto(live_server.url + url)
            for width in (DESK, 1000, 768, PHONE):
                page.set_viewport_size({"width": width, "height": 900})
                assert page.evaluate(SMALLEST) >= 9.5, (url, width)


# Pairs of words of one plot that stand on each other, and words that stand beside the paper.
MEET = """() => [...document.querySelectorAll('svg.plot')].filter(e => e.checkVisibility()).flatMap(svg => {
  const paper = svg.getBoundingClientRect();
  const words = [...svg.querySelectorAll('text')].map(e => [e.textContent, e.getBoundingClientRect()]);
  return words.flatMap(([a, r], n) => [
    ...(r.left < paper.left - 1 || r.right > paper.right + 1 ? [`${a} beside the paper`] : []),
    ...words.slice(n + 1).filter(([, q]) => Math.min(r.right, q.right) - Math.max(r.left, q.left) > 1
      && Math.min(r.bottom, q.bottom) - Math.max(r.top, q.top) > 3).map(([b]) => `${a} on ${b}`)]);
})"""


def test_words_on_a_plot_never_meet_and_are_large_enough_however_long_they_are(browser, live_server, cookie):
    site = site_today()
    now = timezone.now()
    for n, name in enumerate(("WIDE MILLWORK & GLAZING " * 6, "Wm" * 40, "Alder")):
        crew = Crew.objects.create(name=name[:80], active=False)
        Wait.objects.create(opening=site.opening, what_for=name, owed_by_kind="builder", by=site.lead, cleared_at=now,
                            taken_at=now - dt.timedelta(days=400 * n), cleared_by=site.lead,
                            standby_minutes=999_999 * n)
        EarnedMinutes.objects.create(work_step=site.opening.work_steps.first(), crew=crew, day=now.date(),
                                     minutes=123_456_789 * n)
    with opened(browser, cookie(site.office)) as page:
        for url in ("openings-by-stage/?each=day", "hours/", "waits/?by=wait"):
            page.goto(f"{live_server.url}/reports/{url}")
            for width in (DESK, 1000, 768, PHONE):
                page.set_viewport_size({"width": width, "height": 900})
                assert page.evaluate(MEET) == [], (url, width)
                assert page.evaluate(SMALLEST) >= 9.5, (url, width)


def test_an_opening_is_no_longer_on_a_telephone_than_a_hand_scrolls(browser, live_server, cookie):
    made = a_site_with_everything()
    with opened(browser, cookie(made[0].lead), width=PHONE) as page:
        for site in made:
            page.goto(live_server.url + at(site))
            folded = page.evaluate("document.documentElement.scrollHeight")
            page.goto(live_server.url + at(site) + "?all=1")
            assert folded < 7500 and folded < page.evaluate("document.documentElement.scrollHeight")


def test_what_was_done_lies_open_when_one_comes_back_to_it(browser, live_server, cookie):
    site = site_today()
    context = browser.new_context(java_script_enabled=False)
    context.add_cookies([cookie(site.lead)])
    page = context.new_page()
    page.goto(live_server.url + at(site))
    page.click("summary:has-text('Events')")
    page.click("#events summary:has-text('Note an event')")
    page.select_option("#events select", "other-trades")
    page.click("#events button:has-text('Note it')")
    page.wait_for_url("**#events")
    assert page.is_visible("#events >> text=Other trades in the opening")
    context.close()


def test_what_needs_somebody_is_given_inked_and_told_by_keyboard_alone(browser, live_server, cookie):
    site = site_today(Stage.OPENING_VERIFIED, tag="B2")
    Assignment.objects.all().delete()
    with opened(browser, cookie(site.office)) as page:
        page.goto(live_server.url)
        tab_to(page, "What needs somebody")
        page.keyboard.press("Enter")
        page.wait_for_url("**/needs-somebody/")
        tab_to(page, f"Give it to a crew: Ready and nobody's: frame set, 10 hours, {site.opening.job.number} · B2")
        page.keyboard.press("Enter")
        page.wait_for_url(f"**{at(site, 'assign')}")
        tab_to(page, "taken")  # the button of the best week
        page.keyboard.press("Enter")
        page.wait_for_url("**#given")
        tab_to(page, "Change it: Frame set")
        page.keyboard.press("Enter")
        tab_to(page, "firmness")
        page.keyboard.press("ArrowDown")
        tab_to(page, "knowing")  # what speaks against it is known
        page.keyboard.press("Space")
        page.keyboard.press("Enter")
        page.locator("#given .firm.inked").wait_for()
        tab_to(page, "Note who was told: Frame set")
        page.keyboard.press("Enter")
        tab_to(page, "whom")
        page.keyboard.type("Pat Lund")
        page.keyboard.press("Enter")
        page.get_by_text("Noted: Pat Lund was told.").wait_for()
        assert page.complaints == []
    given = Assignment.objects.get(work_step__stage="frame set")
    assert (given.firmness, given.told_whom) == ("inked", "Pat Lund")


def test_a_call_is_taken_and_a_trip_booked_by_keyboard_alone(browser, live_server, cookie):
    site = site_today(tag="D1", location="dining room")
    Opening.objects.filter(pk=site.opening.pk).update(stage="accepted")
    site.opening.job.owner = make_party("owner", name="Maud Ansel", phone="(212) 555-0187")
    site.opening.job.save()
    refresh([site.opening.pk])
    with opened(browser, cookie(make_user("customer-service"))) as page:
        page.goto(f"{live_server.url}/find/")
        page.wait_for_function("document.activeElement.name === 'q'")  # one types at once
        page.keyboard.type("555 0178")  # two figures swapped
        page.keyboard.press("Enter")
        page.wait_for_url("**/find/?q=*")
        tab_to(page, f"{site.opening.job.number} · D1")
        page.keyboard.press("Enter")
        page.wait_for_url(f"**{at(site, 'call')}")
        tab_to(page, "symptom")
        page.keyboard.type("It stands open and will not lock")
        tab_to(page, "severity")
        page.keyboard.press("Space")
        assert page.get_by_text(str(TONIGHT["cannot-be-secured"][0])).is_visible(), "said before it is logged"
        page.keyboard.press("ArrowDown")
        assert page.get_by_text(str(TONIGHT["broken-glass"][0])).is_visible()
        assert not page.get_by_text(str(TONIGHT["cannot-be-secured"][0])).is_visible()
        page.keyboard.press("ArrowUp")
        tab_to(page, "caller")
        page.keyboard.type("Maud Ansel, 555-0187")
        page.keyboard.press("Enter")
        page.wait_for_url("**/callbacks/*/")
        tab_to(page, "slot")
        page.keyboard.press("Space")
        tab_to(page, "arrival")
        page.keyboard.type("at nine")
        page.keyboard.press("Enter")
        page.wait_for_url("**#trips")
        assert "at nine" in page.inner_text("#trips")
        assert page.complaints == []
    trip = ReturnTrip.objects.get()
    assert (trip.callback.severity, trip.callback.caller) == ("cannot-be-secured", "Maud Ansel, 555-0187")
    assert trip.crew is not None


LONG, MANY = "W" * 300, 120  # nowhere to break it


def one_opening_with_far_too_many():
    """Of everything that is kept of it, in the longest words there is room for, one call among it."""
    site = site_today(tag="W" * 40, location=LONG[:120])
    opening, day = site.opening, site_day(site)
    job = opening.job
    job.title, job.address, job.owner = LONG[:160], LONG[:240], make_party("owner", name=LONG[:160])
    job.save()
    site.crew.name, site.lead.first_name, site.lead.last_name = LONG[:80], LONG[:150], LONG[:150]
    site.crew.save()
    site.lead.save()
    read = site.read("reveal", reveal(30), place="lock-jamb")
    Opening.objects.filter(pk=opening.pk).update(stage="accepted")
    refresh([opening.pk])
    call = log_callback(site.act(site.office), opening.pk, severity="drags", symptom=LONG, caller=LONG[:120],
                        best_time=LONG[:120])
    kept = {"by": site.lead, "taken_at": site.now, "opening": opening}
    made = [Inspection(**kept, kind=read.kind, place=read.place, result=read.result, given=read.given,
                       verdict=read.verdict, note=LONG[:240]) for _ in range(MANY)]
    made += [PunchItem(**kept, number=n, what=LONG[:240], owner=site.lead, due_day=day, place="sill",
                       panel=site.panel("A")) for n in range(1, MANY + 1)]
    made += [Photo(**kept, caption=LONG[:240], width=4, height=3, size=9) for _ in range(MANY)]
    made += [Wait(**kept, what_for=LONG[:240], owed_by_kind="builder") for _ in range(20)]
    made += [ReturnTrip(callback=call, day=day, crew=site.crew, bring=LONG[:240], outcome=LONG[:240])
             for _ in range(20)]
    made += [Adjustment(**kept, what=LONG[:240], note=LONG, callback=call) for _ in range(20)]
    for kind, rows in groupby(made, type):
        kind.objects.bulk_create(rows)
    return site, call


def test_far_too_many_of_everything_in_the_longest_words_stay_on_the_page(browser, live_server, cookie):
    site, call = one_opening_with_far_too_many()
    at_it = [at(site), at(site, "call"), at(site, "compare"), reverse("callback", args=[call.pk]), "/callbacks/",
             reverse("job", args=[site.opening.job_id]), f"/find/?q={site.opening.job.number}", f"/find/?q={LONG}"]
    with opened(browser, cookie(site.office), width=PHONE) as page:
        out = {}
        for url in at_it:
            page.goto(live_server.url + url)
            page.evaluate(OPEN_ALL)
            assert page.locator("h1").count() == 1
            for width in (PHONE, DESK):
                page.set_viewport_size({"width": width, "height": 900})
                if found := page.evaluate(STICKS_OUT):
                    out[url, width] = found
        assert not out, "\n".join(f"{u} {w}: {e}" for (u, w), e in out.items())


@pytest.fixture
def closing(browser, live_server, cookie):
    """A telephone with the form open by which a callback is closed, and its finding written."""
    site = site_today(Stage.ACCEPTED)
    call = log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="It drags.")
    with opened(browser, cookie(site.office), width=PHONE) as page:
        page.goto(f"{live_server.url}{reverse('callback', args=[call.pk])}")
        page.click("#close summary")
        page.fill("#close-finding", "grit in the track")
        yield site, call, page


def test_a_refusal_is_in_sight_with_the_field_it_is_about(closing):
    _site, _call, page = closing
    page.eval_on_selector("#close form", "form => form.noValidate = true")
    page.click("#close button")
    page.wait_for_selector(".told")
    until(page, "() => document.activeElement.id === 'close-whose'")
    box = page.locator("#close-whose").bounding_box()
    assert 0 <= box["y"] <= page.viewport_size["height"] - box["height"]
    assert page.input_value("#close-finding") == "grit in the track"


def test_a_refusal_about_no_field_is_in_sight_itself(closing):
    site, call, page = closing
    page.select_option("#close-whose", "wear")
    close_callback(site.act(site.office), call.pk, finding="a weep", whose="ours", version=1)
    page.click("#close button")
    page.wait_for_selector(".told")
    until(page, "() => window.scrollY > 0")
    box = page.locator(".told").bounding_box()
    assert (0 <= box["y"] < 200, "grit in the track" in page.inner_text(".told")) == (True, True)
