"""What the company decides once for everybody is kept by the office over the API, and holds from then on."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.core import mail
from rest_framework.test import APIClient

from inspections.models import PunchItem
from inspections.services import reminders
from jobs.models import Change, OfficeSettings
from tests.factories import NOW, make_crew, make_opening, make_user

pytestmark = pytest.mark.django_db
URL = "/api/v1/office-settings/"


def acting(role: str) -> APIClient:
    client = APIClient()
    client.force_authenticate(make_user(role))
    return client


@pytest.fixture
def office() -> APIClient:
    return acting("office")


def test_before_anybody_has_decided_the_defaults_stand_there(office):
    said = office.get(URL)
    assert said.json() == {
        "version": 1, "company": "", "time_zone": "UTC", "holiday_region": "", "working_days": "1111100",
        "reminder_interval_days": 3, "reply_address": "", "site_address": "", "shims": []}
    assert not OfficeSettings.objects.exists(), "reading keeps nothing"
    assert office.get(URL, HTTP_IF_NONE_MATCH=said["ETag"]).status_code == 304


def test_shims_at_hand_are_thicknesses_that_can_be_read(office):
    first = office.get(URL)["ETag"]
    refused = office.patch(URL, {"shims": ["1/16\"", "thick"]}, HTTP_IF_MATCH=first)
    assert refused.status_code == 422
    assert "[1]" in refused.json()["fields"]["shims"]
    assert office.patch(URL, {"shims": ["0"]}, HTTP_IF_MATCH=first).status_code == 422
    kept = office.patch(URL, {"shims": ["1/16\"", "1.5 mm"]}, HTTP_IF_MATCH=first)
    assert kept.json()["shims"] == ["1/16\"", "1.5 mm"]


def test_they_are_changed_under_their_version(office):
    assert office.patch(URL, {"company": "Marrow Doors"}).status_code == 428
    first = office.get(URL)["ETag"]
    assert office.patch(URL, {"company": "Marrow Doors"}, HTTP_IF_MATCH=first).json()["version"] == 2
    assert office.patch(URL, {"company": "Another"}, HTTP_IF_MATCH=first).status_code == 412
    assert office.get(URL).json()["company"] == "Marrow Doors"
    assert Change.objects.filter(record="office-settings").count() == 1


@pytest.mark.parametrize(("field", "sent"), [
    ("time_zone", "Mars/Base"), ("holiday_region", "US-XX"), ("holiday_region", "nowhere"), ("working_days", "12345"),
    ("reminder_interval_days", 0), ("reminder_interval_days", 61), ("reminder_interval_days", "often"),
    ("reply_address", "the office"), ("site_address", "javascript:alert(1)"),
])
def test_what_cannot_hold_is_refused_by_its_field_and_nothing_is_kept(office, field: str, sent: Any):
    said = office.patch(URL, {field: sent}, HTTP_IF_MATCH='"1"')
    assert (said.status_code, list(said.json()["fields"])) == (422, [field])
    assert not OfficeSettings.objects.exists()


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_they_are_the_offices(role):
    client = acting(role)
    assert {client.get(URL).status_code, client.patch(URL, {}, HTTP_IF_MATCH='"1"').status_code} == {403}


@pytest.mark.parametrize(("days", "told"), [(1, [0, 1, 2]), (2, [0, 2]), (60, [0])])
def test_an_open_item_is_recalled_by_the_interval_that_was_set(office, days: int, told: list[int]):
    office.patch(URL, {"reminder_interval_days": days, "working_days": "1111111"}, HTTP_IF_MATCH='"1"')
    owner = make_user("installer", time_zone="America/Los_Angeles")
    PunchItem.objects.create(opening=make_opening(), number=1, what="scratch", by=owner, owner=owner,
                             due_day=NOW.date(), taken_at=NOW)
    said = []
    for n in range(3):
        now = NOW + dt.timedelta(days=n)
        reminders.plan_reminders(now)
        said += [n] * reminders.send_due(lambda now=now: now)
    assert said == told
    assert {letter.to[0] for letter in mail.outbox[:2]} == {owner.email}


def test_the_office_reads_what_was_said_and_nobody_else_but_who_was_told(office):
    owner, other = make_user("installer"), make_user("installer")
    PunchItem.objects.create(opening=make_opening(), number=1, what="Weep is blocked", by=owner, owner=owner,
                             due_day=NOW.date(), taken_at=NOW)
    reminders.plan_reminders(NOW)
    reminders.send_due(lambda: NOW)
    where = f"/api/v1/reminders/{office.get('/api/v1/reminders/').json()['results'][0]['id']}/"
    said = office.get(where).json()
    assert (said["subject"], said["text"]) == (mail.outbox[0].subject, mail.outbox[0].body)
    assert "Weep is blocked" in said["text"]
    theirs, others = APIClient(), APIClient()
    theirs.force_authenticate(owner)
    others.force_authenticate(other)
    assert theirs.get(where).json() == said
    assert others.get(where).status_code == 404


@pytest.mark.parametrize(("sent", "kept"), [("us-ca", "US-CA"), ("US", "US"), ("", "")])
def test_a_crews_region_is_kept_as_it_is_known(office, sent: str, kept: str):
    made = office.post("/api/v1/crews/", {"name": "Alder", "holiday_region": sent})
    assert (made.status_code, made.json()["holiday_region"]) == (201, kept)


@pytest.mark.parametrize("address", ["crews", "jobs"])
def test_a_region_nobody_knows_is_refused_wherever_it_stands(office, address: str):
    said = office.post(f"/api/v1/{address}/", {"name": "Alder", "number": "J-1", "title": "House",
                                               "time_zone": "America/Denver", "holiday_region": "US-XX"})
    assert (said.status_code, list(said.json()["fields"])) == (422, ["holiday_region"])


def test_a_crew_is_never_given_work_that_no_calendar_holds(office):
    crew, opening = make_crew(holiday_region="US"), make_opening()
    said = office.post("/api/v1/assignments/", {"work_step": opening.work_steps.first().pk, "crew": crew.pk,
                                                "start_day": "0001-01-01", "end_day": "9999-12-31"})
    assert (said.status_code, list(said.json()["fields"])) == (422, ["start_day", "end_day"])


def test_that_they_changed_is_the_offices_to_know(office):
    office.patch(URL, {"company": "Marrow Doors"}, HTTP_IF_MATCH='"1"')
    for role, seen in (("office", 1), ("customer-service", 0), ("guest", 0), ("lead", 0)):
        assert len(acting(role).get("/api/v1/changes/?record=office-settings").json()["results"]) == seen
