"""Return trips on the telephone: whoever goes back to a door has it with them, and logs there what was turned."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.models import Adjustment, Photo, ReturnTrip
from inspections.services.afterwards import book_return_trip, finish_return_trip, log_callback
from jobs.acts import Act
from jobs.stages import Stage
from tests.factories import make_crew, make_user
from tests.phone import phone_of
from tests.pictures import jpeg
from tests.visits import site_day, site_today

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def trip():
    """To a door that was handed over; by a crew that it was never given to."""
    site = site_today(Stage.ACCEPTED)
    call = log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="drags at noon",
                        caller="Mrs Ebb, 555-0142")
    goer = make_user("installer")
    booked = book_return_trip(site.act(site.office), call.pk, day=site_day(site), bring="a roller", arrival="at nine",
                              crew_id=make_crew(goer, name="Goes back").pk)
    booked.site, booked.goer = site, goer
    return booked


def told_to(client, person):
    client.force_login(person)
    return client.get(reverse("site-day")).json()["openings"]


def test_who_goes_back_and_customer_service_have_the_door_of_today_s_trip_and_nobody_else_has(client, trip):
    site, service = trip.site, make_user("customer-service")
    for person in (trip.goer, service, site.office):
        [told] = told_to(client, person)
        assert (told["id"], told["when"], told["call"]["symptom"]) == (site.opening.pk, "today", "drags at noon")
        assert told["call"]["adjust"]["data"] == {"callback_id": trip.callback_id, "trip_id": trip.pk}
        assert "at nine" in told["call"]["when"] and told["call"]["bring"] == "a roller"
    assert told_to(client, site.lead) == told_to(client, make_user("guest")) == []
    ReturnTrip.objects.update(day=trip.day - dt.timedelta(days=2))
    assert told_to(client, service)[0]["when"] == "late"
    ReturnTrip.objects.update(day=trip.day + dt.timedelta(days=30))
    assert told_to(client, service) == []
    ReturnTrip.objects.update(day=trip.day)
    finish_return_trip(Act.of(site.office, timezone.now()), trip.pk, outcome="put right", version=1)
    assert told_to(client, trip.goer) == []


def test_what_was_turned_is_logged_without_signal_before_and_after_with_its_photo(browser, live_server, trip):
    opening = trip.site.opening.pk
    with phone_of(browser, live_server.url, trip.goer) as phone:
        phone.open()
        phone.page.wait_for_selector(".stop")
        phone.page.context.set_offline(True)
        phone.press("drags at noon")
        for label, value in (("What was adjusted", "rollers"), ("Near roller, turns up", "1 3/8"),
                             ("Far roller, turns up", "-1/4"), ("Before: reveal, top", "3/16"),
                             ("After: reveal, top", "5 mm"), ("Before: force to start", "20")):
            phone.page.get_by_label(label).fill(value)
        phone.page.get_by_label("After: reveal, bottom").fill("1 3")
        phone.press("Log the adjustment", exact=True)
        phone.page.wait_for_selector("text=After: reveal, bottom: that cannot be read.")
        phone.page.get_by_label("After: reveal, bottom").fill("")
        phone.page.set_input_files("#f-photo", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg()})
        phone.page.wait_for_selector(".pictures li span")
        phone.press("Log the adjustment", exact=True)
        phone.page.wait_for_function("() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)")
        phone.page.context.set_offline(False)
        phone.wait_until_sent()
        done = Adjustment.objects.get()
        assert (done.opening_id, done.trip, done.callback_id, done.by) == (opening, trip, trip.callback_id, trip.goer)
        assert done.turns == [{"roller": "near", "eighths": 11}, {"roller": "far", "eighths": -2}]
        assert done.before == {"gaps": {"top": "3/16 in"}, "start_n": "89.0"}
        assert done.after == {"gaps": {"top": "5 mm"}}
        assert Photo.objects.get(about="adjustment").about_id == str(done.pk)
        phone.go(opening, "photo")
        phone.page.set_input_files("#f-photo", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg(96, 48)})
        phone.page.wait_for_selector(".pictures li span")
        phone.keep("Keep it")
        assert Photo.objects.filter(about="callback", about_id=str(trip.callback_id)).count() == 1


def test_customer_service_without_a_trip_reads_where_its_work_is(browser, live_server):
    with phone_of(browser, live_server.url, make_user("customer-service")) as phone:
        phone.open()
        phone.page.wait_for_selector("text=No return trip is booked for today or the next days.")
        assert phone.page.complaints == []
