"""Parts, what came of them, what that stops, and who has an opening: over the API and from a telephone."""

import pytest
from rest_framework.test import APIClient

from jobs.models.base import new_id
from tests.factories import give_work, make_crew, make_job, make_opening, make_unit, make_user

pytestmark = pytest.mark.django_db


def client_of(user) -> APIClient:
    client = APIClient()
    client.force_authenticate(user)
    return client


@pytest.fixture
def office() -> APIClient:
    return client_of(make_user("office"))


@pytest.fixture
def unit():
    return make_unit(make_opening(tag="K1"), "AB")


@pytest.fixture
def installer(unit) -> APIClient:
    user = make_user("installer")
    opening = unit.opening
    give_work(opening, make_crew(user), start_day="2020-01-01", end_day="2020-01-02")
    return client_of(user)


@pytest.fixture
def delivery(office, unit) -> dict:
    """Its parts listed, and one delivery that brings them."""
    made = office.post("/api/v1/deliveries/", {"job": unit.opening.job_id, "openings": [unit.opening_id],
                                               "what": "all of it", "expected_day": "2031-03-20"})
    assert office.post(f"/api/v1/units/{unit.pk}/list-parts/", headers={"If-Match": '"1"'}).status_code == 200
    for part in parts(office, f"unit={unit.pk}"):
        path, mark = f"/api/v1/parts/{part['id']}/", {"If-Match": f'"{part["version"]}"'}
        assert office.patch(path, {"delivery": made.json()["id"]}, headers=mark).status_code == 200
    return made.json()


def parts(client, asked: str) -> list[dict]:
    response = client.get(f"/api/v1/parts/?{asked}")
    assert response.status_code == 200, response.json()
    return response.json()["results"]


def part_named(client, name: str) -> dict:
    return next(part for part in parts(client, "") if part["name"] == name)


def receive(client, delivery: dict, *came: dict, version: int = 1):
    return client.post(f"/api/v1/deliveries/{delivery['id']}/receive/", {"condition": "as said", "parts": list(came)},
                       headers={"If-Match": f'"{version}"'})


def test_a_part_says_how_many_are_missing_and_when_they_are_expected(office, delivery):
    sill = part_named(office, "Sill")
    assert (sill["wanted"], sill["missing"], sill["short"], sill["expected_day"]) == (1, 1, 0, "2031-03-20")
    assert (sill["length_mm"], sill["delivery_what"], sill["by_hand"]) == ("6096.000000", "all of it", False)


def test_an_installer_says_part_by_part_what_came(office, installer, unit, delivery):
    sill, head = part_named(office, "Sill"), part_named(office, "Head")
    response = receive(installer, delivery, {"part": sill["id"], "whole": 1}, {"part": head["id"], "short": 1})
    assert response.status_code == 200, response.json()
    assert response.json()["received_at"] is not None
    assert [(part["name"], part["missing"]) for part in parts(office, "came_short=true")] == [("Head", 1)]
    assert "Sill" not in {part["name"] for part in parts(office, "missing=true")}
    assert receive(installer, delivery, {"part": sill["id"], "whole": 1}).status_code == 412, "it was read before"


def test_the_form_before_there_were_parts_still_works(office, delivery):
    path = f"/api/v1/deliveries/{delivery['id']}/receive/"
    response = office.post(path, {"condition": "complete"}, headers={"If-Match": '"1"'})
    assert (response.status_code, response.json()["condition"]) == (200, "complete")
    assert part_named(office, "Sill")["looked_through"] is False


def test_a_short_delivery_shows_which_openings_and_which_work_it_stops(office, unit, delivery):
    receive(office, delivery, {"part": part_named(office, "Sill")["id"], "short": 1})
    found = office.get("/api/v1/deliveries/?missing=true").json()["results"]
    stopped = found[0]["stops"][0]
    assert (stopped["opening"], stopped["opening_tag"]) == (unit.opening_id, "K1")
    assert ("Sill", 1) in {(part["name"], part["missing"]) for part in stopped["parts"]}
    assert stopped["work_steps"][0]["stage"] == "frame set"
    step = office.get(f"/api/v1/work-steps/{stopped['work_steps'][0]['work_step']}/").json()
    why = next(reason for reason in step["not_ready"] if reason["reason"] == "material-missing")
    assert (step["ready"], why["delivery"]) == (False, delivery["id"])


def test_a_delivery_that_stops_nothing_says_nothing(office, unit, delivery):
    came = [{"part": part["id"], "whole": part["wanted"]} for part in parts(office, f"unit={unit.pk}")]
    assert receive(office, delivery, *came).json()["stops"] == []
    assert office.get("/api/v1/deliveries/?missing=true").json()["results"] == []


def test_a_crew_sees_what_a_delivery_stops_on_its_own_openings_only(office, installer, unit, delivery):
    other = make_unit(make_opening(unit.opening.job, tag="K2"), "AB")
    office.post("/api/v1/parts/", {"unit": other.pk, "kind": "sill", "name": "Sill", "delivery": delivery["id"]})
    path = f"/api/v1/deliveries/{delivery['id']}/"
    assert {row["opening_tag"] for row in office.get(path).json()["stops"]} == {"K1", "K2"}
    assert {row["opening_tag"] for row in installer.get(path).json()["stops"]} == {"K1"}


@pytest.mark.parametrize(("sent", "field"), [
    ({"kind": "hinge"}, "kind"), ({"wanted": 0}, "wanted"), ({"length_mm": 0}, "length_mm"), ({"name": ""}, "name")])
def test_a_part_that_cannot_be_is_refused_by_its_field(office, unit, sent, field):
    response = office.post("/api/v1/parts/", {"unit": unit.pk, "kind": "other", "name": "Head block", **sent})
    assert response.status_code == 422
    assert field in response.json()["fields"]


def test_a_part_of_another_job_does_not_come_with_this_delivery(office, delivery):
    other = make_unit(make_opening(make_job()), "AB")
    made = office.post("/api/v1/parts/", {"unit": other.pk, "kind": "sill", "name": "Sill"}).json()
    response = receive(office, delivery, {"part": made["id"], "whole": 1})
    assert response.status_code == 422
    assert "delivery" in response.json()["fields"]


def test_from_a_telephone_what_came_is_one_record_however_often_it_is_sent(office, installer, delivery):
    entry = {"id": str(new_id()), "entry": "part-came", "unit_part": part_named(office, "Sill")["id"],
             "data": {"whole": 1, "note": "in its crate"}}
    for result in ("stored", "had already"):
        response = installer.post("/api/v1/site-entries/", {"entries": [entry]})
        assert [one["result"] for one in response.json()["results"]] == [result]
    came = office.get("/api/v1/part-arrivals/").json()["results"]
    assert [(one["id"], one["name"], one["whole"]) for one in came] == [(entry["id"], "Sill", 1)]


def test_who_has_the_opening_now_is_the_latest_of_its_custody(office, installer, unit):
    for holder in ("builder", "crew"):
        sent = {"opening": unit.opening_id, "holder": holder, "condition": "Swept, wall open."}
        assert installer.post("/api/v1/custody/", sent).status_code == 201
    now = office.get(f"/api/v1/custody/?opening={unit.opening_id}&standing=true").json()["results"]
    assert [(one["holder"], one["crew_name"] is not None, one["condition"]) for one in now] == [
        ("crew", True, "Swept, wall open.")]
    assert len(office.get("/api/v1/custody/").json()["results"]) == 2


def test_a_custody_sent_twice_under_its_id_is_one(office, unit):
    sent = {"id": str(new_id()), "opening": unit.opening_id, "holder": "owner", "condition": "Swept."}
    assert [office.post("/api/v1/custody/", sent).status_code for _ in range(2)] == [201, 200]
