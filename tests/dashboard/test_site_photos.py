"""Photos of the site page: asked before the crew packs up, made small, sent whole until there is a receipt."""

import json
from contextlib import suppress

import pytest
from PIL import Image
from playwright.sync_api import Error

from inspections.models import Photo
from inspections.services.photos import picture_file
from jobs.models import StageChange
from jobs.stages import Stage
from tests.factories import make_user
from tests.phone import phone_of, until
from tests.pictures import jpeg
from tests.visits import site_today

pytestmark = pytest.mark.django_db(transaction=True)
PHOTOS = "**/api/v1/photos/"


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def phone(browser, live_server):
    """A lead's telephone; of the frame's gate nothing is left but the sill, which asks for a photo."""
    site = site_today(Stage.OPENING_VERIFIED)
    site.evidence(Stage.FRAME_SET, without=("sill-supported",))
    with phone_of(browser, live_server.url, site.lead) as held:
        held.site = site
        held.open()
        held.page.wait_for_selector(".stop")
        yield held


def take(phone, *pictures):
    """From the camera, one after the other."""
    for n, picture in enumerate(pictures or (jpeg(),), start=1):
        phone.page.set_input_files("#f-photo", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": picture})
        phone.page.wait_for_selector(f".pictures li:nth-child({n}) span")


def press_and_come_back(phone, name):
    phone.press(name, exact=True)
    phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")


def test_a_check_that_asks_for_a_photo_says_so_at_the_check_in_the_list_and_where_the_stage_is_called_done(phone):
    opening, lacks = phone.site.opening.pk, "Photo still to be taken"
    phone.page.context.set_offline(True)
    phone.go(opening)
    assert lacks in phone.said
    phone.go(opening, "act", "check sill-supported ")
    assert "asks for a photo before the crew packs up" in phone.said
    phone.page.locator("label", has=phone.page.locator("[value=yes]")).click()
    phone.press("Record it", exact=True)
    phone.page.wait_for_selector("text=This check asks for a photo.")
    press_and_come_back(phone, "Keep it without the photo")
    assert lacks in phone.said
    phone.go(opening, "act", "gate frame set")
    assert "Before you pack up: of these a photo is still to be taken." in phone.said
    phone.press("Sill supported on its bed")
    phone.page.wait_for_selector("#f-caption")
    take(phone)
    press_and_come_back(phone, "Keep it")
    assert lacks not in phone.said
    phone.go(opening, "act", "gate frame set")
    assert "still to be taken" not in phone.said and "Still asked" not in phone.said
    press_and_come_back(phone, "Done")
    phone.page.context.set_offline(False)
    phone.wait_until_sent()
    assert Photo.objects.filter(check_code="sill-supported").count() == 1


def test_however_often_it_breaks_off_each_is_sent_whole_and_taken_in_once_and_knows_what_it_is_about(phone):
    opening, fault = phone.site.opening, {"n": 0}

    def faults(route):
        fault["n"] += 1
        with suppress(Error):
            if fault["n"] == 1:
                route.abort()
            elif fault["n"] == 2:
                route.fulfill(status=502, body="<html>")
            elif fault["n"] == 3:
                route.fetch()  # taken in, and its receipt is lost
                route.abort()
            elif fault["n"] == 4:
                route.fulfill(status=201, content_type="application/json", body=json.dumps({"id": "another"}))
            else:
                route.continue_()

    phone.page.route(PHOTOS, faults)
    phone.go(opening.pk, "act", "item")
    phone.page.get_by_label("What is left to put right").or_(phone.page.locator("#f-what")).first.fill("Scratch")
    phone.page.locator("#f-due_day").fill(phone.site.now.date().replace(year=2031).isoformat())
    owner = phone.page.locator("#f-owner_id")
    if owner.count():
        owner.select_option(index=1)
    else:
        phone.page.locator("[name=owner_id]").first.check(force=True)
    take(phone, jpeg(), jpeg(96, 48))
    phone.page.locator("form button.main").click()
    phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
    phone.page.wait_for_function(
        "() => { dispatchEvent(new Event('online')); return document.body.dataset.unsent === '0'; }", polling=120)
    item = opening.punch_items.get()
    photos = Photo.objects.filter(about="punch-item", about_id=str(item.pk))
    assert sorted((one.width, one.height) for one in photos) == [(64, 32), (96, 48)]
    assert Photo.objects.filter(about="punch-item").count() == 2, "none twice"
    for one in photos:
        with Image.open(picture_file(one)) as kept:
            kept.load()
    phone.page.complaints.clear()


def test_a_panel_that_came_damaged_has_its_photo_and_one_that_was_hung_asks_for_none(phone):
    opening = phone.site.opening
    panel = opening.unit.panels.get(letter="A")
    phone.go(opening.pk, "act", f"panel {panel.pk}")
    assert phone.page.locator("#f-photo").count() == 0, "what is done all day is one touch"
    phone.go(opening.pk, "act", f"other {panel.pk}")
    phone.page.locator("label", has=phone.page.locator("[value=damage]")).click()
    phone.page.get_by_label("Reason").fill("corner chipped")
    take(phone)
    phone.keep("Record it")
    assert Photo.objects.get(about="panel").about_id == str(panel.pk)


def test_of_a_camera_s_picture_about_four_hundred_kilobytes_are_kept_and_a_tape_is_read_in_it(browser, live_server):
    """Across twelve million pixels of gravel lie two metres of a tape, with a mark at each centimetre."""
    with phone_of(browser, live_server.url, make_user("guest")) as phone:
        phone.open()
        size, widest, marks = phone.page.evaluate("""async () => {
      const { made } = await import('/static/dashboard/site/pictures.js');
      const gravel = new OffscreenCanvas(1000, 750), stones = new ImageData(1000, 750);
      let chance = 7;
      stones.data.forEach((_, n) => {
        chance = (chance * 1664525 + 1013904223) % 4294967296;
        stones.data[n] = n % 4 === 3 ? 255 : chance / 16777216;
      });
      gravel.getContext('2d').putImageData(stones, 0, 0);
      const taken = new OffscreenCanvas(4000, 3000), pen = taken.getContext('2d');
      pen.drawImage(gravel, 0, 0, 4000, 3000);
      pen.fillStyle = 'white';
      pen.fillRect(0, 1400, 4000, 160);
      pen.fillStyle = 'black';
      for (let n = 0; n < 200; n++) pen.fillRect(n * 20, 1400, 7, 160);
      const blob = await made(await taken.convertToBlob({ type: 'image/jpeg', quality: 0.9 }));
      const small = await createImageBitmap(blob), look = new OffscreenCanvas(small.width, 1).getContext('2d');
      look.drawImage(small, 0, -Math.round(1480 / 3000 * small.height));
      const { data } = look.getImageData(0, 0, small.width, 1);
      let dark = false, marks = 0;
      for (let at = 0; at < data.length; at += 4) {
        if (!dark && data[at] < 110) marks += 1;
        dark = dark ? data[at] < 145 : data[at] < 110;
      }
      return [blob.size, Math.max(small.width, small.height), marks]; }""")
    assert size < 450_000
    assert widest >= 1200
    assert marks == 200, "each mark by itself"


def call_the_frame_done_without_signal(phone):
    """With the photo its gate asks for, and one more entry after it."""
    opening = phone.site.opening.pk
    phone.page.context.set_offline(True)
    phone.go(opening, "act", "check sill-supported ")
    phone.page.locator("label", has=phone.page.locator("[value=yes]")).click()
    take(phone)
    press_and_come_back(phone, "Record it")
    phone.go(opening, "act", "gate frame set")
    press_and_come_back(phone, "Done")
    phone.go(opening, "act", "aside")
    phone.page.get_by_label("Part").fill("Track cover")
    press_and_come_back(phone, "Set aside")


def test_a_stage_called_done_without_signal_goes_after_the_photos_taken_before_it(phone):
    sent = []
    phone.page.on("request", lambda r: r.method == "POST" and sent.append(
        [e["entry"] for e in r.post_data_json["entries"]] if "site-entries" in r.url else "photo"))
    call_the_frame_done_without_signal(phone)
    phone.page.context.set_offline(False)
    phone.wait_until_sent()
    assert sent == [["confirmation"], "photo", ["stage-change", "part-set-aside"]]
    assert StageChange.objects.get(to_stage="frame set").advanced


def test_where_photos_do_not_arrive_three_times_running_the_stage_waits_no_longer(phone):
    call_the_frame_done_without_signal(phone)
    phone.page.route(PHOTOS, lambda route: route.fulfill(status=502, body="no"))
    phone.page.context.set_offline(False)
    until(phone.page, """async () => {
      const { noted } = await import('/static/dashboard/site/store.js');
      const { unsent } = await import('/static/dashboard/site/outbox.js');
      dispatchEvent(new Event('online'));
      return (await unsent(await noted('person'))).count === 1; }""")
    change = StageChange.objects.get(to_stage="frame set")
    assert (change.advanced, [why["result"] for why in change.reasons]) == (False, ["photo missing"])
