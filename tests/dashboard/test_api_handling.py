"""Handling over the API: equipment is entered with what its rating includes, a job with its way in, a unit answers."""

from __future__ import annotations

from typing import Any

import pytest
from rest_framework.test import APIClient

from jobs.models import Equipment
from tests.factories import make_job, make_opening, make_unit, make_user
from units.calc.lifting import CAUTION
from units.models import Panel, Unit

pytestmark = pytest.mark.django_db
RATED = {"name": "Lifter 1", "kind": "vacuum lifter", "rated_grams": 400_000, "circuits": 2, "people_to_steer": 2,
         "rating_includes": ["design factor", "angle"], "rating_source": "an invented plate", "stop_wind_m_per_s": 9,
         "reductions": [{"why": why, "factor": 1, "source": "manual, page 12"}
                        for why in ("surface", "temperature", "overhang", "pads", "elevation")]}
CART = {"name": "Cart 1", "kind": "panel cart", "rated_grams": 500_000, "rating_includes": ["design factor"],
        "people_to_steer": 2, "own_grams": 80_000, "carries_at_mm": "8 in", "width_loaded_mm": 600}
HALL = {"name": "hall", "kind": "corner", "sizes": {"in_width": "1200 mm", "out_width": "4'"}}


@pytest.fixture
def client() -> APIClient:
    client = APIClient()
    client.force_authenticate(make_user("office"))
    return client


@pytest.fixture
def unit() -> Unit:
    unit = make_unit(make_opening(make_job(way_in=[HALL])), "AB")
    Panel.objects.update(width=1_500_000_000, height=2_600_000_000)
    return unit


def entered(client: APIClient, sent: dict[str, Any]) -> dict[str, Any]:
    response = client.post("/api/v1/equipment/", sent)
    assert response.status_code == 201, response.json()
    return response.json()


def test_equipment_keeps_what_its_manual_says(client):
    made = entered(client, RATED)
    assert made["rating_includes"] == ["design factor", "angle"]
    assert (made["reductions"][0]["why"], made["circuits"], made["stop_wind_m_per_s"]) == ("surface", 2, 9.0)
    assert entered(client, CART)["carries_at_mm"] == "203.200000"


@pytest.mark.parametrize(("over", "field", "says"), [
    ({"rating_includes": None}, "rating_includes", "may already include its design factor"),
    ({"rating_includes": "design factor"}, "rating_includes", "a list"),
    ({"rating_includes": [7]}, "rating_includes", "[0]"),
    ({"reductions": [{"why": "design factor", "factor": 0.5}]}, "reductions", "includes it already"),
    ({"reductions": [{"why": "surface", "factor": 2}]}, "reductions", "a factor of 2 to 1 leaves 0.5"),
    ({"reductions": [{"why": "pads", "factor": 1}] * 2}, "reductions", "once"),
    ({"reductions": "none"}, "reductions", "a list"),
    ({"circuits": 0}, "circuits", "1 to 20"),
    ({"people_to_steer": 99}, "people_to_steer", "1 to 20"),
    ({"left_with_one_circuit_lost": 1.5}, "left_with_one_circuit_lost", "1"),
    ({"stop_wind_m_per_s": 200}, "stop_wind_m_per_s", "60"),
    ({"rated_grams": 15_000_000_000}, "rated_grams", "20000000"),
    ({"own_grams": 15_000_000_000}, "own_grams", "20000000"),
    ({"width_loaded_mm": 0}, "width_loaded_mm", "more than nothing"),
])
def test_what_no_manual_could_say_is_refused_with_what_would_be_right(client, over, field, says):
    response = client.post("/api/v1/equipment/", {**RATED, **over})
    assert response.status_code == 422
    assert says in response.json()["fields"][field]
    assert not Equipment.objects.exists()


def test_what_a_rating_includes_may_be_unknown_but_not_unsaid(client):
    sent = {**RATED, "reductions": []}
    made = entered(client, {**sent, "rating_includes": "unknown"})
    path, match = f"/api/v1/equipment/{made['id']}/", {"If-Match": '"1"'}
    assert client.patch(path, {"rating_includes": None}, headers=match).status_code == 422
    assert client.patch(path, {"notes": "in the yard"}, headers=match).status_code == 200


def test_a_job_keeps_its_way_in_and_refuses_a_leg_nobody_can_go(client):
    job = client.post("/api/v1/jobs/", {"number": "J-9", "title": "A house", "way_in": [HALL]}).json()
    assert job["way_in"] == [HALL]
    for legs, says in (([{**HALL, "kind": "slide"}], "way_in[0].kind"), ("the gate", "way_in"),
                       ([{**HALL, "sizes": {"in_width": 0}}], "more than nought"),
                       ([{**HALL, "sizes": {"width": 900}}], "there are: in_width, out_width")):
        refused = client.post("/api/v1/jobs/", {"number": "J-10", "title": "A house", "way_in": legs})
        assert refused.status_code == 422
        assert says in refused.json()["fields"]["way_in"]


def test_a_unit_answers_panel_by_panel_with_the_equipment_and_hands_named(client, unit):
    gear = [entered(client, sent)["id"] for sent in (RATED, CART)]
    path = f"/api/v1/units/{unit.pk}/handling/?equipment={gear[0]},{gear[1]}&hands=3"
    told = client.get(path).json()
    assert {one["panel"]: one["result"] for one in told["lifting"]} == {"A": "pass", "B": "pass"}
    assert (told["heaviest"], told["heaviest_grams"], told["route"]["result"]) == ("B", 182_000, "pass")
    assert told["caution"] == CAUTION
    windy = client.get(f"{path}&wind=25 mph").json()
    assert [one["result"] for one in windy["lifting"]] == ["fail", "fail"]


def test_with_nothing_planned_and_nothing_named_it_says_what_is_lacking(client, unit):
    told = client.get(f"/api/v1/units/{unit.pk}/handling/").json()
    assert told["lifting"][0]["result"] == "not_enough_data"
    assert [lack["what"] for lack in told["lifting"][0]["missing"]] == ["hands_or_equipment"]


@pytest.mark.parametrize(("query", "field"), [
    ("equipment=999", "equipment"), ("equipment=big", "equipment"), ("hands=0", "hands"), ("hands=two", "hands"),
    ("wind=gale", "wind"), ("wind=90 m/s", "wind"), ("winds=3", "winds"),
])
def test_what_cannot_be_asked_is_refused_by_its_name(client, unit, query, field):
    response = client.get(f"/api/v1/units/{unit.pk}/handling/?{query}")
    assert response.status_code == 400
    assert field in str(response.json())
