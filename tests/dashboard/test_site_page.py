"""The site page: whose openings a telephone has, in which order, and what is entered on it."""

import datetime as dt

import pytest
from django.urls import reverse

from dashboard.forms.sheets import SHEETS, Filling, read
from dashboard.measures import Reader
from dashboard.site.sheets import sheet_told
from inspections.models import Check, Confirmation, Inspection, Photo
from jobs.models import Job, Opening, StageChange
from jobs.stages import Stage
from tests.browser import SHIFTED, violations
from tests.factories import give_work, make_job, make_opening, make_unit, make_user
from tests.phone import phone_of, until
from tests.pictures import jpeg
from tests.sent import as_sent
from tests.visits import queries, site_day, site_today
from units.models import PanelChange

pytestmark = pytest.mark.django_db(transaction=True)
OVER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def _as_sent(settings, tmp_path):
    with as_sent(settings, tmp_path / "sent"):
        yield


@pytest.fixture
def phone(browser, live_server, request):
    """A lead's telephone, with one opening whose frame is to be set, where the test says nothing else."""
    site = site_today(getattr(request, "param", Stage.OPENING_VERIFIED))
    with phone_of(browser, live_server.url, site.lead) as held:
        held.site = site
        held.open()
        held.page.wait_for_selector(".stop")
        yield held
        assert held.page.complaints == []


def day_of(client, person):
    client.force_login(person)
    return client.get(reverse("site-day")).json()


# ---- the day -----------------------------------------------------------------------------------------------


def test_a_crew_has_its_own_openings_in_driving_order_then_what_is_left_over_and_what_comes(client):
    site = site_today()
    site.crew.latitude, site.crew.longitude = 40.0, -70.0
    site.crew.save()
    today = site_day(site)
    Job.objects.filter(pk=site.opening.job_id).update(latitude=40.3, longitude=-70.0)
    for tag, north, days in (("near", 40.1, (0, 0)), ("far", 40.9, (0, 1)), ("late", 40.0, (-9, -8)),
                             ("soon", 40.0, (3, 4)), ("next month", 40.0, (30, 31))):
        job = make_job(number=f"J-{tag}", latitude=north, longitude=-70.0)
        first, last = (today + dt.timedelta(days=n) for n in days)
        give_work(make_opening(job, tag=tag), site.crew, start_day=first, end_day=last)
    other = make_opening(make_job(number="J-other"), tag="other")
    told = day_of(client, site.lead)["openings"]
    assert [(one["tag"], one["when"]) for one in told] == [
        ("near", "today"), (site.opening.tag, "today"), ("far", "today"), ("late", "late"), ("soon", "coming")]
    assert other.tag not in [one["tag"] for one in told]


def test_guests_and_customer_service_have_no_openings_and_nobody_without_a_sign_in_has_a_day(client):
    site_today()
    for role in ("guest", "customer-service"):
        assert day_of(client, make_user(role))["openings"] == []
    client.logout()
    answer = client.get(reverse("site-day"))
    assert (answer.status_code, answer.json()["code"]) == (401, "not-signed-in")


def test_asked_again_while_nothing_happened_nothing_is_sent(client):
    site = site_today()
    client.force_login(site.lead)
    mark = client.get(reverse("site-day"))["ETag"]
    again = client.get(reverse("site-day"), headers={"if-none-match": mark})
    assert (again.status_code, again.content) == (304, b"")
    site.confirm("header-in")
    assert client.get(reverse("site-day"), headers={"if-none-match": mark}).status_code == 200


def test_a_code_of_the_gate_never_reaches_a_telephone(client):
    site = site_today()
    site.opening.job.access_codes.create(what="gate", code="4711#")
    client.force_login(site.lead)
    assert b"4711#" not in client.get(reverse("site-day")).content


def test_a_day_costs_as_many_queries_for_each_opening_whatever_stands_in_it(client):
    site = site_today(Stage.OPENING_VERIFIED)
    client.force_login(site.lead)
    one = queries(client, reverse("site-day"))
    site.read("rough-opening", site_rough(), place="")
    site.confirm("header-in")
    assert queries(client, reverse("site-day")) == one
    unit = make_unit(make_opening(make_job(number="J-2"), tag="Z"), "ABC")
    give_work(unit.opening, site.crew, start_day=site_day(site), end_day=site_day(site))
    assert queries(client, reverse("site-day")) - one <= 32


def site_rough():
    return {"widths": {"top": "20' 1\""}}


# ---- on the telephone -------------------------------------------------------------------------------------


def test_what_is_done_next_comes_first_and_a_confirmation_with_its_photo_is_kept_and_sent(phone):
    assert "Next: " in phone.said
    phone.go(phone.site.opening.pk, "act", "check sill-supported ")
    phone.page.locator("label", has=phone.page.locator("[value=yes]")).click()
    phone.page.set_input_files("#f-photo", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg()})
    phone.page.wait_for_selector(".pictures li span")
    phone.keep("Record it")
    confirmed = Confirmation.objects.get(check_code="sill-supported")
    photo = Photo.objects.get(check_code="sill-supported")
    assert (confirmed.answer, confirmed.by, photo.about_id) == ("yes", phone.site.lead, str(confirmed.pk))


def test_a_stage_that_is_done_is_never_refused_and_what_became_of_it_stays_in_sight(phone):
    phone.go(phone.site.opening.pk, "act", "gate frame set")
    phone.keep("Done")
    change = StageChange.objects.order_by("server_time").last()
    assert (change.to_stage, change.advanced) == ("frame set", False)
    phone.page.evaluate("location.hash = '#/outbox'")
    phone.page.wait_for_selector("text=Recorded, not advanced")
    phone.press("Seen")
    phone.page.wait_for_function("() => !document.body.innerText.includes('Recorded, not advanced')")


@pytest.mark.parametrize(("body", "said"), [
    ({"entry": "part-set-aside", "data": {"what": "w" * 500}}, "Part: "),
    ({"entry": "inspection", "data": {"kind": "rough-opening", "given": {"unit": "in", "widths": {"top": "wide"}}}},
     "Top: write a length such as"),
])
def test_what_the_office_did_not_take_in_names_the_field_as_it_was_called_where_it_was_filled_in(phone, body, said):
    phone.page.evaluate("""async ([opening, body]) => {
      const { keep } = await import('/static/dashboard/site/outbox.js');
      const person = await (await import('/static/dashboard/site/store.js')).noted('person');
      await keep([{ person, opening, said: 'odd', body: { ...body, opening } }]); }""", [phone.site.opening.pk, body])
    phone.page.evaluate("dispatchEvent(new Event('online'))")
    phone.wait_until_sent()
    phone.page.evaluate("location.hash = '#/outbox'")
    phone.page.wait_for_selector("text=Not taken in")
    assert said in phone.said


def test_without_a_way_it_is_kept_and_said_so_and_goes_by_itself_when_there_is_one(phone):
    phone.page.context.set_offline(True)
    phone.go(phone.site.opening.pk, "act", "aside")
    phone.page.get_by_label("Part").fill("Track cover")
    phone.press("Set aside")
    phone.page.wait_for_selector("text=/1, oldest/")
    assert [(e["state"], e["said"]) for e in phone.outbox()] == [("on this phone", "Set a part aside")]
    phone.page.context.set_offline(False)
    phone.wait_until_sent()
    assert phone.site.opening.set_aside_parts.get().what == "Track cover"
    phone.page.complaints.clear()  # the browser's own word on a request without signal


def test_what_is_half_typed_is_there_again_when_the_page_was_killed(phone):
    phone.go(phone.site.opening.pk, "act", "aside")
    phone.page.get_by_label("Part").fill("Head block")
    until(phone.page, """async () => {
      const { draftOf } = await import('/static/dashboard/site/drafts.js');
      const { noted } = await import('/static/dashboard/site/store.js');
      const mine = `${await noted('person')} act ${location.hash.split('/')[2]} aside`;
      return (await draftOf(mine))?.what === 'Head block'; }""")
    phone.page.reload()
    phone.page.wait_for_function("() => document.querySelector('#f-what')?.value === 'Head block'")


def test_a_panel_is_found_by_its_mark_typed_or_read_off_its_code(phone):
    site = phone.site
    phone.page.evaluate("location.hash = '#/mark'")
    phone.page.get_by_label("Tag, job or panel").fill(f"{site.opening.job.number} {site.opening.tag} b")
    phone.press("Go there")
    phone.page.wait_for_function("() => location.hash.includes('panel')")
    assert "B, " in phone.page.inner_text("h1")
    found = phone.page.evaluate("""async ([other, id]) => {
      const { byCode } = await import('/static/dashboard/site/mark.js');
      const openings = [{ id, panels: [{ letter: 'A' }, { letter: 'B' }] }];
      return [`${location.origin}/openings/${id}/?at=B`, `${location.origin}/openings/${id}/`, other, 'B1',
        `https://elsewhere.example/openings/${id}/`].map(code => byCode(openings, code)?.panel?.letter
          ?? byCode(openings, code)?.opening.id ?? null); }""", ["http://[", site.opening.pk])
    assert found == ["B", site.opening.pk, None, None, None]


def test_what_is_pressed_twice_is_kept_once(phone):
    opening = phone.site.opening.pk
    twice = "button => { button.click(); button.click(); }"
    phone.go(opening, "act", "aside")
    phone.page.get_by_label("Part").fill("Track cover")
    phone.page.get_by_role("button", name="Set aside").evaluate(twice)
    phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
    phone.go(opening, "photo")
    phone.page.set_input_files("#f-photo", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg()})
    phone.page.wait_for_selector(".pictures li span")
    phone.page.get_by_role("button", name="Keep it").evaluate(twice)
    phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
    phone.go(opening, "sheet", "last-panel-gap")
    phone.page.fill("#reading", "18")
    phone.page.press("#reading", "Enter")
    phone.page.get_by_role("button", name="Keep it").evaluate(twice)
    phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
    phone.wait_until_sent()
    assert [e["body"].get("entry", "photo") for e in reversed(phone.outbox())] == [
        "part-set-aside", "photo", "inspection"]


def test_what_is_pressed_is_not_taken_away_before_it_is_let_go_and_no_key_moves_under_the_thumb(phone):
    page = phone.page
    phone.go(phone.site.opening.pk)
    key = page.get_by_role("link", name="Report hours")
    key.evaluate("key => key.scrollIntoView({ block: 'end' })")
    place = key.bounding_box()
    page.evaluate("window.before = document.querySelector('main').firstChild")
    page.mouse.move(place["x"] + 30, place["y"] + 20)
    page.mouse.down()
    phone.site.confirm("splices-sealed")
    phone.site.confirm("set-aside-listed")  # two checks fewer above it
    with page.expect_response("**/site/day/"):
        page.evaluate("dispatchEvent(new Event('online'))")
    page.wait_for_timeout(300)
    assert page.evaluate("window.before.isConnected"), "it waits"
    page.mouse.move(5, place["y"] + 20)
    page.mouse.up()  # thought better of it
    page.wait_for_function("() => !window.before.isConnected")
    assert page.get_by_role("link", name="Splices and fastener holes sealed").count() == 0
    assert abs(key.bounding_box()["y"] - place["y"]) <= 1


def test_panels_are_hung_one_after_the_other(phone):
    site = phone.site
    Opening.objects.filter(pk=site.opening.pk).update(stage=Stage.FRAME_SET.value)
    phone.page.reload()
    phone.page.wait_for_selector(".stop")
    panel = site.panel("A")
    phone.go(site.opening.pk, "act", f"panel {panel.pk}")
    assert "site rules and local law decide" in phone.said, "the caution of lifting goes with it"
    phone.keep("Received")
    assert PanelChange.objects.get(panel=panel).act == "receive"


def test_who_comes_to_a_form_before_the_day_is_there_has_it_once_the_day_is(browser, live_server):
    site, asked = site_today(Stage.OPENING_VERIFIED), []
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.page.route("**/site/day/", lambda route: asked.append(route))
        phone.open(f"#/opening/{site.opening.pk}/act/aside")
        phone.page.wait_for_selector("text=Asking the office for your day")
        while asked:
            asked.pop().continue_()
        phone.page.unroute("**/site/day/")
        phone.page.get_by_label("Part").fill("Track cover")


@pytest.mark.parametrize("width", [360, 1440])
def test_nothing_moves_while_it_comes_up_whatever_the_browser_says_of_the_disk(phone, width):
    phone.page.set_viewport_size({"width": width, "height": 800})
    for _ in range(2):
        phone.page.reload()
        phone.page.wait_for_selector("header .note >> text=does not promise")
        phone.page.wait_for_selector(".stop")
        assert phone.page.evaluate(SHIFTED) == []


def test_what_a_measure_types_before_the_pad_is_there_is_not_cut_short(phone):
    phone.page.evaluate("""at => new Promise(done => {
      addEventListener('hashchange', () => { // the view is made, the pad not yet
        for (const key of [...'18 1/4', 'Enter']) {
          document.dispatchEvent(new KeyboardEvent('keydown', { key, cancelable: true }));
        }
        done(document.querySelector('#reading'));
      }, { once: true });
      location.hash = at; })""", f"#/opening/{phone.site.opening.pk}/sheet/last-panel-gap")
    phone.keep("Keep it")
    assert Inspection.objects.get(kind="last-panel-gap").given == {"unit": "in", "gap": "18 1/4"}


def test_the_pad_steps_on_reads_back_and_takes_a_correction(phone):
    phone.go(phone.site.opening.pk, "sheet", "last-panel-gap")
    for _ in range(18):
        phone.press("An inch more")
    phone.press("3/16", exact=True)
    phone.press("Take it: the last one")
    assert "Taken. Gap: 18 3/16." in phone.said
    phone.page.get_by_text("Taken so far: 1").click()
    phone.press("Gap: 18 3/16")
    phone.press("+1/8")
    phone.page.fill("#reading", "18 1/4")  # a measure that types like a keyboard
    phone.page.press("#reading", "Enter")
    phone.keep("Keep it")
    assert Inspection.objects.get(kind="last-panel-gap").given == {"unit": "in", "gap": "18 1/4"}


@pytest.mark.parametrize("units", ["in", "mm"])
def test_a_sheet_filled_in_on_a_telephone_is_put_together_as_on_the_pages(phone, units):
    """The same readings typed into both are judged from the same payload, sheet by sheet."""
    site = phone.site
    opening = Opening.objects.select_related("job", "unit__system").get(pk=site.opening.pk)
    panels = list(site.unit.panels.order_by("hanging_order"))
    reader = Reader(units).at(opening.job.time_zone)
    filling = Filling(opening, panels, reader, now=site.act().now)
    for sheet in SHEETS.values():
        told = sheet_told(sheet, filling)
        place = told["places"][0][0] if told["places"] else ""
        typed = readings_for(sheet, filling)
        given = phone.page.evaluate("""async ([sheet, typed, place, now]) => {
          const { givenBy } = await import('/static/dashboard/site/given.js');
          return givenBy(sheet, typed, place, new Date(now)); }""", [told, typed, place, site.act().now.isoformat()])
        on_the_page = read(sheet, Filling(opening, panels, reader, {**handed_out(sheet, filling), **typed},
                                          place=place, now=site.act().now)).given
        assert comparable(given) == comparable(on_the_page), sheet.key


def handed_out(sheet, filling):
    return {f.name: f.value for group in sheet.groups(filling) for f in group.all_fields if f.value}


def readings_for(sheet, filling):
    """Something in every field that is read, but for some of the rows."""
    typed = {}
    for n, field in enumerate(f for group in sheet.groups(filling) for f in group.all_fields):
        if field.name.endswith("].at") or n % 5 == 4:
            continue
        typed[field.name] = next((v for v, _ in field.choices if v), "") if field.choices else str(n + 1)
    return typed


def comparable(given):
    """Hours of a forecast are moments, however their zone is written."""
    hours = [{**hour, "at": dt.datetime.fromisoformat(hour["at"].replace("Z", "+00:00"))}
             for hour in given.get("forecast", [])]
    return {**given, **({"forecast": hours} if hours else {})}


def test_no_view_breaks_a_rule_of_accessibility_by_day_or_night_at_320_or_with_doubled_text(phone):
    opening, panel = phone.site.opening.pk, phone.site.panel("A").pk
    wrong = {}
    for width in (320, 390):
        phone.page.set_viewport_size({"width": width, "height": 800})
        for dark in ("light", "dark"):
            phone.page.emulate_media(color_scheme=dark)
            for view in ("#/", "#/outbox", f"#/opening/{opening}", f"#/opening/{opening}/sheet/frame",
                         f"#/opening/{opening}/act/check%20sill-supported%20", f"#/opening/{opening}/act/item",
                         f"#/opening/{opening}/act/panel%20{panel}", f"#/opening/{opening}/photo"):
                phone.page.evaluate("at => { location.hash = at; }", view)
                phone.page.wait_for_function("at => document.body.dataset.shown === at", arg=view)
                phone.page.evaluate("document.documentElement.style.fontSize = '200%'")
                over = phone.page.evaluate(OVER)
                phone.page.evaluate("document.documentElement.style.fontSize = ''")
                found = violations(phone.page, {"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "wcag2aaa"],
                                                "resultTypes": ["violations"]})
                if found or over > 0:
                    wrong[width, dark, view] = (found, over)
    assert wrong == {}


# ---- the answer at once ------------------------------------------------------------------------------------


def measure_floor(phone, readings):
    """Reads the outer line off a rod with the pad; how many times it was touched."""
    touches = 0

    def touch(locator):
        nonlocal touches
        locator.click()
        touches += 1
    page = phone.page
    page.get_by_role("button", name="off a rod").click()
    for _ in range(3):
        page.get_by_role("button", name="Not read").click()
    last = None
    for inches, parts in readings:
        if last is None:
            for _ in range(inches):
                touch(page.get_by_role("button", name="An inch more"))
            touch(page.locator(".marks .key").nth(parts))
        else:
            by = parts - last
            touch(page.locator(".nudges .key").nth(by + 2) if abs(by) <= 2 else page.locator(".marks .key").nth(parts))
        last = parts
        touch(page.locator("#next"))
    return touches


to_be_measured = pytest.mark.parametrize("phone", [Stage.TO_BE_MEASURED], indirect=True, ids=[""])


@pytest.mark.usefixtures("_as_sent")
@to_be_measured
def test_a_floor_is_read_in_a_few_touches_and_what_fails_is_said_at_once_without_signal(phone):
    phone.page.context.set_offline(True)
    phone.go(phone.site.opening.pk, "sheet", "floor-profile")
    touches = measure_floor(phone, [(4, n) for n in (3, 3, 3, 4, 4, 3, 3, 2, 2, 5, 5, 5, 5, 5)])
    assert touches <= 2 * 14 + 6
    said = phone.page.inner_text(".note:not(header *)")
    assert "Rise in a foot: 3/16\"" in said and "at most 1/16\"" in said and "This phone's answer" in said
    assert phone.page.locator("svg.profile .bad").count() == 1
    while phone.page.get_by_role("button", name="Not read").count():
        phone.page.get_by_role("button", name="Not read").click()
    phone.press("Keep it")
    phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
    assert "Rise in a foot" in phone.said, "it stands beside its check until the office has judged it"
    phone.page.context.set_offline(False)
    phone.wait_until_sent()
    kept = Inspection.objects.filter(kind="floor-profile").order_by("server_time").last()
    assert kept.result == "fail" and not kept.differs
    assert kept.device_verdict["findings"] == kept.verdict["findings"]
    phone.page.complaints.clear()  # the browser's own word on requests without signal


@to_be_measured
def test_where_the_office_judges_otherwise_it_stands_and_the_difference_is_kept_and_shown(phone):
    phone.page.context.set_offline(True)
    phone.go(phone.site.opening.pk, "sheet", "floor-profile")
    measure_floor(phone, [(4, n) for n in (3, 3, 3, 4)])
    while phone.page.get_by_role("button", name="Not read").count():
        phone.page.get_by_role("button", name="Not read").click()
    phone.press("Keep it")
    phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
    Check.objects.filter(code="floor-rise", system=None, job=None).update(limits={
        **Check.objects.get(code="floor-rise", system=None, job=None).limits,
        "rise_in_a_foot": {"value": "1/64 in", "source": "changed meanwhile"}})
    phone.page.context.set_offline(False)
    phone.wait_until_sent()
    kept = Inspection.objects.filter(kind="floor-profile").order_by("server_time").last()
    assert kept.differs and kept.device_verdict != kept.verdict
    phone.page.evaluate("location.hash = '#/outbox'")
    phone.page.wait_for_selector("text=The office judged it otherwise")
    phone.page.complaints.clear()


def test_until_the_office_has_answered_it_says_that_it_asks_and_not_that_nobody_is_signed_in(browser, live_server):
    site, waiting = site_today(Stage.OPENING_VERIFIED), []
    with phone_of(browser, live_server.url, site.lead) as phone:
        phone.page.route("**/site/day/", lambda route: waiting.append(route))
        phone.open()
        assert phone.said == "Asking the office for your day"
        assert "Nobody" not in phone.page.inner_text("header")
        waiting[0].continue_()
        phone.page.wait_for_selector(".stop")
