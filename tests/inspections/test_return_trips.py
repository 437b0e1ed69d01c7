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
from jobs.errors import Invalid, NotAllowed, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Change
from jobs.stages import Stage
from tests.factories import make_crew
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
