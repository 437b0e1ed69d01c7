"""Conditional requests: what did not change is not sent again, and nobody's change is lost."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from dashboard.api_urls import RESOURCES
from jobs.acts import Act, carry_out
from jobs.models import Assignment, CrewMember, Opening, Party, User
from tests.dashboard.world import World
from tests.factories import give_work, make_crew, make_opening, make_party, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> APIClient:
    client = APIClient()
    client.force_authenticate(make_user("office"))
    return client


def something_happens() -> None:
    user = make_user("office")
    act = Act.of(user, timezone.now())
    with carry_out(act) as done:
        done.note(act, "something happened", "jobs", 1)


# --- If-Match -------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_a_change_without_a_version_is_asked_for_one(office, method):
    party = make_party()
    response = getattr(office, method)(f"/api/v1/parties/{party.pk}/", {"name": "Another"})
    assert response.status_code == 428
    assert '"1"' in response.json()["detail"]
    assert Party.objects.get().name == party.name


def test_a_star_is_no_version(office):
    party = make_party()
    assert office.patch(f"/api/v1/parties/{party.pk}/", {"name": "Another"}, HTTP_IF_MATCH="*").status_code == 428


def test_the_second_of_two_changes_loses(office):
    party = make_party()
    mark = office.get(f"/api/v1/parties/{party.pk}/")["ETag"]
    assert mark.startswith('"1-')
    first = office.patch(f"/api/v1/parties/{party.pk}/", {"name": "First"}, HTTP_IF_MATCH=mark)
    assert first.status_code == 200
    assert first.json()["version"] == 2
    second = office.patch(f"/api/v1/parties/{party.pk}/", {"name": "Second"}, HTTP_IF_MATCH=mark)
    assert second.status_code == 412
    assert second["Content-Type"] == "application/problem+json"
    assert Party.objects.get().name == "First"
    third = office.patch(f"/api/v1/parties/{party.pk}/", {"name": "Third"}, HTTP_IF_MATCH=first["ETag"])
    assert third.status_code == 200


@pytest.mark.parametrize(("sent", "status"), [
    ('"1"', 200), ('"7", "1"', 200), ('"1-abc"', 200), ('W/"1"', 412), ('"2"', 412), ("1", 412), ('"one"', 412),
])
def test_the_version_alone_is_enough_and_a_weak_mark_is_not(office, sent, status):
    party = make_party()
    response = office.patch(f"/api/v1/parties/{party.pk}/", {"name": "Another"}, HTTP_IF_MATCH=sent)
    assert response.status_code == status


def test_a_put_names_what_is_lacking(office):
    party = make_party()
    response = office.put(f"/api/v1/parties/{party.pk}/", {"name": "Another"}, HTTP_IF_MATCH='"1"')
    assert response.status_code == 422
    assert list(response.json()["fields"]) == ["kind"]


def test_a_removal_under_its_version_is_done_once(office):
    party = make_party()
    assert office.delete(f"/api/v1/parties/{party.pk}/", HTTP_IF_MATCH='"1"').status_code == 204
    assert office.delete(f"/api/v1/parties/{party.pk}/", HTTP_IF_MATCH='"1"').status_code == 404


# --- If-None-Match on lists -----------------------------------------------------------------------------------------

def test_a_list_that_did_not_change_is_not_sent_again(office, django_assert_num_queries):
    make_opening()
    first = office.get("/api/v1/openings/")
    with django_assert_num_queries(1):  # where the feed stands
        again = office.get("/api/v1/openings/", HTTP_IF_NONE_MATCH=first["ETag"])
    assert again.status_code == 304
    assert again.content == b""
    assert again["ETag"] == first["ETag"]
    assert again["Cache-Control"] == first["Cache-Control"] == "private, no-cache"


def test_a_list_is_sent_again_after_anything_happened(office):
    mark = office.get("/api/v1/openings/")["ETag"]
    something_happens()
    assert office.get("/api/v1/openings/", HTTP_IF_NONE_MATCH=mark).status_code == 200


def test_another_page_of_a_list_has_another_mark(office):
    marks = {office.get(f"/api/v1/openings/{query}")["ETag"] for query in ("", "?page_size=2", "?stage=accepted")}
    assert len(marks) == 3


def test_two_readers_never_share_a_mark():
    World()
    marks = set()
    for role in ("office", "office", "lead", "guest"):
        client = APIClient()
        client.force_authenticate(make_user(role))
        marks.add(client.get("/api/v1/openings/")["ETag"])
    assert len(marks) == 4


def test_several_marks_may_be_sent_and_weak_ones_count(office):
    mark = office.get("/api/v1/openings/")["ETag"]
    assert office.get("/api/v1/openings/", HTTP_IF_NONE_MATCH=f'"other", W/{mark}').status_code == 304


# --- a 304 after the reader's rights were cut -------------------------------------------------------------------------

@pytest.fixture
def lead() -> User:
    return make_user("lead")


def reading(user: User) -> APIClient:
    client = APIClient()
    client.force_authenticate(user)
    return client


CUTS = {
    "off the crew": lambda lead: CrewMember.objects.filter(user=lead).update(to_day=dt.date(2020, 1, 2)),
    "the work given to others": lambda lead: Assignment.objects.all().delete(),
    "another role": lambda lead: User.objects.filter(pk=lead.pk).update(role="installer"),
}


@pytest.mark.parametrize("cut", CUTS)
@pytest.mark.parametrize("address", ["openings/", "openings/{opening}/", "jobs/", "changes/", "progress/"])
def test_no_304_is_given_after_the_rights_were_cut(lead, cut, address):
    opening = make_opening()
    give_work(opening, make_crew(lead))
    where = "/api/v1/" + address.format(opening=opening.pk)
    mark = reading(lead).get(where)["ETag"]
    assert reading(lead).get(where, HTTP_IF_NONE_MATCH=mark).status_code == 304
    CUTS[cut](lead)
    lead.refresh_from_db()
    response = reading(lead).get(where, HTTP_IF_NONE_MATCH=mark)
    if cut == "another role" and address == "openings/{opening}/":
        assert response.status_code == 304  # an installer reads of it what a lead reads
    else:
        assert response.status_code in (200, 404)


def test_a_closed_account_gets_no_304(office):
    user = make_user("guest")
    client = APIClient()
    client.force_login(user)
    mark = client.get("/api/v1/openings/")["ETag"]
    User.objects.filter(pk=user.pk).update(is_active=False)
    assert client.get("/api/v1/openings/", HTTP_IF_NONE_MATCH=mark).status_code == 401


def test_somebody_made_a_guest_does_not_keep_what_the_office_saw():
    world = World()
    where = f"/api/v1/parties/{world.id('own', 'parties')}/"
    mark = world.client("office").get(where)["ETag"]
    assert world.client("guest").get(where, HTTP_IF_NONE_MATCH=mark).status_code == 200


# --- If-None-Match on records -----------------------------------------------------------------------------------------

def test_a_record_that_did_not_change_is_not_sent_again(office):
    opening = make_opening()
    mark = office.get(f"/api/v1/openings/{opening.pk}/")["ETag"]
    something_happens()
    assert office.get(f"/api/v1/openings/{opening.pk}/", HTTP_IF_NONE_MATCH=mark).status_code == 304
    Opening.objects.update(called_back=True)  # the version stays: it is no change of the office's
    assert office.get(f"/api/v1/openings/{opening.pk}/", HTTP_IF_NONE_MATCH=mark).status_code == 200


def test_every_list_and_every_record_has_a_mark_and_honours_it():
    world = World()
    client = world.client("office")

    for name in RESOURCES:
        for where in (f"/api/v1/{name}/", f"/api/v1/{name}/{world.id('own', name)}/"):
            mark = client.get(where)["ETag"]
            assert client.get(where, HTTP_IF_NONE_MATCH=mark).status_code == 304, where
