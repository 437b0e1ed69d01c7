"""Somebody goes back: booked, moved, made, with what came of it."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from rest_framework.test import APIClient

from inspections.models import ReturnTrip
from inspections.services.afterwards import (
    book_return_trip,
    change_return_trip,
    close_callback,
    finish_return_trip,
    log_callback,
)
from jobs.acts import Act
from jobs.errors import Invalid, NotAllowed, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Change, User
from jobs.services.access import may, may_see
from jobs.services.codes import codes_of
from jobs.stages import Stage
from tests.factories import make_crew, make_user
from tests.site import Site

pytestmark = pytest.mark.django_db
NEXT_DAY = dt.timedelta(days=1)


@pytest.fixture
def site() -> Site:
    return Site("AB").bring_to(Stage.ACCEPTED)


@pytest.fixture
def trip(site: Site) -> ReturnTrip:
    callback = log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="drags at noon")
    return book_return_trip(site.act(site.office), callback.pk, day=site.now.date(), crew_id=site.crew.pk)


def test_it_is_moved_to_another_day_and_crew(site, trip):
    other, day = make_crew(), trip.day + NEXT_DAY
    changed = change_return_trip(site.act(site.office), trip.pk, {"day": day, "crew_id": other.pk}, version=1)
    assert (changed.day, changed.crew_id, changed.version) == (day, other.pk, 2)
    assert Change.objects.filter(what="return trip changed").count() == 1


@pytest.mark.parametrize("days", [-1, -3650, 3654, 2_000_000])
def test_it_is_booked_and_moved_to_days_that_come_not_to_slips(site, trip, days):
    day = trip.day + dt.timedelta(days=days)
    callback = log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="drags again")
    with pytest.raises(Invalid) as booked:
        book_return_trip(site.act(site.office), callback.pk, day=day)
    with pytest.raises(Invalid) as moved:
        change_return_trip(site.act(site.office), trip.pk, {"day": day}, version=1)
    assert "day" in booked.value.fields and "day" in moved.value.fields


def test_what_else_is_agreed_may_change_when_its_day_is_over(site, trip):
    late = replace(site.act(site.office), now=site.now + dt.timedelta(days=2))
    changed = change_return_trip(late, trip.pk, {"day": trip.day, "bring": "a roller"}, version=1)
    assert changed.bring == "a roller"


def test_a_trip_of_a_closed_callback_is_not_changed(site, trip):
    close_callback(site.act(site.office), trip.callback_id, finding="grit", whose="wear", version=1)
    with pytest.raises(Refusal, match="nobody goes"):
        change_return_trip(site.act(site.office), trip.pk, {"day": trip.day + NEXT_DAY}, version=1)


def test_made_it_says_what_came_of_it_and_the_callback_stays_open(site, trip):
    made = finish_return_trip(site.act(site.office), trip.pk, outcome=" put right ", version=1)
    assert (made.outcome, made.done_at, made.callback.closed_at) == ("put right", site.now, None)
    close_callback(site.act(site.office), trip.callback_id, finding="grit", whose="wear", version=1)


def test_once_made_it_is_neither_moved_nor_made_again(site, trip):
    finish_return_trip(site.act(site.office), trip.pk, outcome="put right", version=1)
    with pytest.raises(Refusal, match="book another"):
        finish_return_trip(site.act(site.office), trip.pk, outcome="again", version=2)
    with pytest.raises(Refusal, match="book another"):
        change_return_trip(site.act(site.office), trip.pk, {"bring": "a roller"}, version=2)
    assert ReturnTrip.objects.get().outcome == "put right"


@pytest.mark.parametrize("version", [0, 2])
def test_the_version_that_stands_is_asked_for(site, trip, version):
    for late in (lambda: change_return_trip(site.act(site.office), trip.pk, {"bring": "x"}, version=version),
                 lambda: finish_return_trip(site.act(site.office), trip.pk, outcome="x", version=version)):
        with pytest.raises(SomeoneWasFaster):
            late()


def test_what_cannot_be_is_refused_by_its_field(site, trip):
    act = site.act(site.office)
    wrong = {
        "crew": lambda: change_return_trip(act, trip.pk, {"crew_id": 2**40}, version=1),
        "done_at": lambda: change_return_trip(act, trip.pk, {"done_at": act.now}, version=1),
        "outcome": lambda: finish_return_trip(act, trip.pk, outcome="  ", version=1),
        "day": lambda: finish_return_trip(replace(act, now=act.now - 3 * NEXT_DAY), trip.pk, outcome="x", version=1),
    }
    for field, done in wrong.items():
        with pytest.raises(Invalid) as refused:
            done()
        assert list(refused.value.fields) == [field]
    with pytest.raises(NotThere):
        finish_return_trip(act, 2**40, outcome="x", version=1)


def test_the_crew_does_not_book_for_customer_service(site, trip):
    with pytest.raises(NotAllowed):
        finish_return_trip(site.act(site.lead), trip.pk, outcome="x", version=1)


@pytest.fixture
def goer(site) -> User:
    """An installer of a crew that was never given this door."""
    person = make_user("installer")
    make_crew(person, name="goes back")
    return person


def has_it(site, person, when=None):
    act = Act.of(person, when or site.now)
    return may_see(act, site.opening), may(act, "log an adjustment", site.opening)


def test_the_crew_that_goes_back_reads_and_acts_on_a_door_that_was_never_given_to_it(site, trip, goer):
    assert has_it(site, goer) == (False, False)
    crew = goer.memberships.get().crew
    change_return_trip(site.act(site.office), trip.pk, {"crew_id": crew.pk}, version=1)
    assert has_it(site, goer) == (True, True)
    finish_return_trip(site.act(site.office), trip.pk, outcome="put right", version=2)
    close_callback(site.act(site.office), trip.callback_id, finding="grit", whose="wear", version=1)
    later = site.now + 30 * NEXT_DAY
    assert has_it(site, goer, later) == (True, True), "what was entered there may still be on its way"


def test_a_crew_that_goes_no_more_has_it_no_more(site, trip, goer):
    crew, act = goer.memberships.get().crew, site.act(site.office)
    change_return_trip(act, trip.pk, {"crew_id": crew.pk}, version=1)
    change_return_trip(act, trip.pk, {"crew_id": None}, version=2)
    assert has_it(site, goer) == (False, False)
    change_return_trip(act, trip.pk, {"crew_id": crew.pk}, version=3)
    close_callback(act, trip.callback_id, finding="grit", whose="wear", version=1)
    assert has_it(site, goer) == (False, False), "closed without the trip: nobody goes"


def test_it_has_the_codes_of_the_gate_on_the_day_of_the_trip_and_on_no_other(site, trip, goer):
    site.opening.job.access_codes.create(what="gate", code="4711#")
    change_return_trip(site.act(site.office), trip.pk, {"crew_id": goer.memberships.get().crew_id}, version=1)
    assert codes_of(Act.of(goer, site.now), site.opening.job).get().code == "4711#"
    with pytest.raises(NotAllowed):
        codes_of(Act.of(goer, site.now + NEXT_DAY), site.opening.job)


def test_what_is_found_asked_again_and_counted_is_theirs_too_as_soon_as_they_are_booked(site, trip, goer, time_machine):
    time_machine.move_to(site.now, tick=False)
    client = APIClient()
    client.force_authenticate(goer)
    before = client.get("/api/v1/openings/")
    change_return_trip(site.act(site.office), trip.pk, {"crew_id": goer.memberships.get().crew_id}, version=1)
    after = client.get("/api/v1/openings/", HTTP_IF_NONE_MATCH=before["ETag"])
    assert (before.json()["results"], [row["id"] for row in after.json()["results"]]) == ([], [site.opening.pk])


def test_over_http_it_is_found_by_whether_it_was_made(site, trip, time_machine):
    time_machine.move_to(site.now, tick=False)
    client = APIClient()
    client.force_authenticate(site.office)
    where = f"/api/v1/return-trips/{trip.pk}/"
    assert client.patch(where, {"bring": "a roller"}).status_code == 428
    moved = client.patch(where, {"bring": "a roller"}, HTTP_IF_MATCH='"1"')
    assert moved.json()["bring"] == "a roller"
    said = client.post(f"{where}finish/", {"outcome": "put right"}, HTTP_IF_MATCH=moved["ETag"])
    assert (said.status_code, said.json()["outcome"]) == (200, "put right")
    assert [row["id"] for row in client.get("/api/v1/return-trips/?done=true").json()["results"]] == [trip.pk]
    assert client.get("/api/v1/return-trips/?done=false").json()["results"] == []
