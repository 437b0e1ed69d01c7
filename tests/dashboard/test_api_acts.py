"""Acts, batches and calculations over HTTP: the services do the work, the API hands their words on."""

from __future__ import annotations

import io
import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from rest_framework.test import APIClient

from inspections.api.computed import INPUTS, JUDGED
from inspections.calc.kinds import KINDS
from inspections.models import Inspection
from jobs.models import Opening, StageChange, WorkStep
from tests.factories import make_user
from tests.site import Site, floor, reveal, rough_opening, sealing, under_load

pytestmark = pytest.mark.django_db
STATIONS = floor([0, 1, 1, 2, 3, 3, 4, 5, 4, 3, 3, 2, 1, 1])  # published with the floor's calculation


def acting(user) -> APIClient:
    client = APIClient()
    client.force_authenticate(user)
    return client


@pytest.fixture
def site() -> Site:
    return Site()


def at(site: Site, act: str = "") -> str:
    return f"/api/v1/openings/{site.opening.pk}/{act}"


# --- the gate ---------------------------------------------------------------------------------------------------------

def test_a_gate_asked_beforehand_says_no_and_why(site):
    gate = acting(site.lead).get(at(site, "gate/")).json()
    assert gate["to_stage"] == "opening verified"
    assert gate["passes"] is False
    assert {"code", "result", "missing"} <= gate["checks"][0].keys()
    assert Opening.objects.get(pk=site.opening.pk).stage == "to be measured"


def test_the_hold_point_has_a_gate_of_its_own(site):
    gate = acting(site.lead).get(at(site, "gate/?to=the pocket closes")).json()
    assert gate["to_stage"] == "the pocket closes"
    assert gate["blocks"] == [{"reason": "frame-not-set", "stage": "to be measured"}]


def test_a_stage_that_is_none_is_refused_with_those_there_are(site):
    response = acting(site.lead).get(at(site, "gate/?to=finished"))
    assert response.status_code == 422
    assert "frame set" in response.json()["fields"]["to"]


def test_a_gate_that_says_no_gives_every_reason_at_once(site):
    response = acting(site.lead).post(at(site, "advance/"))
    assert response.status_code == 409
    document = response.json()
    assert document["code"] == "gate-says-no"
    assert len(document["reasons"]) > 5
    assert not StageChange.objects.exists()


def test_told_that_it_is_done_the_record_keeps_it(site):
    body = {"id": str(uuid.uuid4()), "done_on_site": True}
    first = acting(site.lead).post(at(site, "advance/"), body)
    assert first.status_code == 201
    assert first.json()["advanced"] is False
    assert first.json()["reasons"]
    again = acting(site.lead).post(at(site, "advance/"), body)
    assert again.status_code == 200
    assert again.json() == first.json()
    assert StageChange.objects.count() == 1
    settled = acting(site.office).post("/api/v1/settlements/", {
        "stage_change": body["id"], "how": "mistaken", "note": "pressed by mistake"})
    assert settled.status_code == 201
    assert acting(site.office).get(f"/api/v1/stage-changes/{body['id']}/").json()["settled"] == "mistaken"


def test_the_same_id_with_other_content_is_refused(site):
    body = {"id": str(uuid.uuid4()), "done_on_site": True}
    acting(site.lead).post(at(site, "advance/"), body)
    response = acting(site.lead).post(at(site, "advance/"), {**body, "to": "frame set"})
    assert response.status_code == 409
    assert response.json()["code"] == "same-id-other-content"


def test_a_gate_that_passes_moves_the_opening(site):
    site.evidence("opening verified")
    response = acting(site.lead).post(at(site, "advance/"))
    if response.status_code == 409:  # what was verified under the site's own clock is not fresh by the server's
        assert {r["result"] for r in response.json()["reasons"]} == {"stale"}
    else:
        assert response.json()["to_stage"] == "opening verified"


def test_a_panel_is_not_hung_before_its_turn(site):
    panel = site.panel("B")
    response = acting(site.lead).post(f"/api/v1/panels/{panel.pk}/hang/")
    assert response.status_code == 409
    assert {r["reason"] for r in response.json()["reasons"]} >= {"panel-state", "frame-not-set", "out-of-order"}
    kept = acting(site.lead).post(f"/api/v1/panels/{panel.pk}/hang/", {"done_on_site": True})
    assert kept.status_code == 201
    assert kept.json()["advanced"] is False
    received = acting(site.lead).post(f"/api/v1/panels/{panel.pk}/receive/")
    assert received.json()["to_state"] == "received"


def test_readings_come_back_with_their_verdict(site):
    response = acting(site.lead).post("/api/v1/inspections/", {
        "opening": site.opening.pk, "kind": "floor-profile", "given": STATIONS})
    assert response.status_code == 201
    made = response.json()
    assert made["result"] == made["verdict"]["result"] == "fail"
    listed = acting(site.lead).get("/api/v1/inspections/?result=fail").json()["results"]
    assert [row["id"] for row in listed] == [made["id"]]
    assert "verdict" not in listed[0]


def test_readings_nobody_can_read_name_the_field(site):
    given = {**STATIONS, "stations": [{"at": "0", "reading": "about level"}]}
    response = acting(site.lead).post("/api/v1/inspections/", {
        "opening": site.opening.pk, "kind": "floor-profile", "given": given})
    assert response.status_code == 422
    assert "stations[0].reading" in response.json()["fields"] or "reading" in str(response.json()["fields"])


def test_a_wait_is_raised_and_cleared_under_its_version(site):
    office = acting(site.office)
    body = {"opening": site.opening.pk, "what_for": "the floor", "owed_by_kind": "builder"}
    made = office.post("/api/v1/waits/", body)
    where = f"/api/v1/waits/{made.json()['id']}/clear/"
    assert office.post(where, {"how": "ground"}).status_code == 428
    cleared = office.post(where, {"how": "ground", "standby_minutes": 90}, HTTP_IF_MATCH=made["ETag"])
    assert cleared.json()["cleared_how"] == "ground"
    assert office.post(where, {"how": "ground"}, HTTP_IF_MATCH=made["ETag"]).status_code == 412


def test_a_new_opening_has_its_work_steps(site):
    office = acting(site.office)
    made = office.post("/api/v1/openings/", {"job": site.opening.job_id, "tag": "NEW"}).json()
    steps = office.get(f"/api/v1/work-steps/?opening={made['id']}").json()["results"]
    assert [step["stage"] for step in steps][:2] == ["opening verified", "frame set"]
    assert len(steps) == 7


def test_work_is_given_and_told(site):
    office = acting(site.office)
    step = site.opening.work_steps.get(stage="frame set")
    body = {"work_step": step.pk, "crew": site.crew.pk, "start_day": "2026-03-10", "end_day": "2026-03-09"}
    assert office.post("/api/v1/assignments/", body).json()["fields"].keys() == {"end_day"}
    made = office.post("/api/v1/assignments/", {**body, "end_day": "2026-03-11"})
    assert made.status_code == 201
    assert made.json()["against"]
    inked = office.patch(f"/api/v1/assignments/{made.json()['id']}/", {"firmness": "inked"}, HTTP_IF_MATCH=made["ETag"])
    assert inked.status_code == 409
    told = office.post(f"/api/v1/assignments/{made.json()['id']}/tell/", {"whom": "the builder"},
                       HTTP_IF_MATCH=made["ETag"])
    assert told.json()["told_whom"] == "the builder"


def test_somebody_new_signs_in_with_their_password(site):
    office = acting(site.office)
    body = {"username": "new", "name": "Somebody New", "role": "lead", "password": "1234567890"}
    assert "password" in office.post("/api/v1/people/", body).json()["fields"]
    made = office.post("/api/v1/people/", {**body, "password": "a harder one to guess"})
    assert made.status_code == 201
    assert "password" not in made.json()
    token = APIClient().post("/api/v1/tokens/", {"name": "t", "username": "new", "password": "a harder one to guess"})
    assert token.status_code == 201


def test_the_last_who_keeps_the_office_is_not_closed(site):
    office = acting(site.office)
    mark = office.get(f"/api/v1/people/{site.office.pk}/")["ETag"]
    response = office.patch(f"/api/v1/people/{site.office.pk}/", {"role": "guest"}, HTTP_IF_MATCH=mark)
    assert response.status_code == 409
    site.office.refresh_from_db()
    assert site.office.role == "office"


# --- a batch from a telephone ---------------------------------------------------------------------------------------

def entry(kind: str, opening: int, data: dict, **more: object) -> dict:
    return {"id": str(uuid.uuid4()), "entry": kind, "opening": opening, "data": data, **more}


def test_a_batch_is_taken_in_in_its_order_with_a_result_for_each(site):
    pk = site.opening.pk
    confirmed = entry("confirmation", pk, {"check_code": "header-in", "answer": "yes"})
    entries = [
        entry("inspection", pk, {"kind": "floor-profile", "given": STATIONS}),
        confirmed,
        entry("confirmation", pk, {"check_code": "header-in", "answer": "perhaps"}),
        confirmed,
        entry("stage-change", pk, {}),
        entry("event", pk, {"kind": "re-pour"}),
    ]
    response = acting(site.lead).post("/api/v1/site-entries/", {"entries": entries})
    assert response.status_code == 200
    results = response.json()["results"]
    assert [r["result"] for r in results] == ["stored", "stored", "refused", "had already", "recorded, not advanced",
                                              "stored"]
    assert results[0]["verdict"]["result"] == "fail"
    assert results[2]["problem"]["fields"]
    assert results[4]["reasons"]
    assert [r["id"] for r in results] == [e["id"] for e in entries]


def test_more_than_a_thousand_entries_are_too_many(site):
    response = acting(site.lead).post("/api/v1/site-entries/", {"entries": [{}] * 1001})
    assert response.status_code == 422
    assert "1000" in response.json()["fields"]["entries"]


@pytest.mark.parametrize("wrong", [None, 7, "entry", [], {}, {"id": 1}, {"entry": "dance"}, {"entry": ["a"]},
                                   {"entry": "inspection", "id": "x", "opening": {}, "data": []}], ids=repr)
def test_an_entry_nobody_can_read_is_refused_and_the_next_is_stored(site, wrong):
    fine = entry("event", site.opening.pk, {"kind": "re-pour"})
    response = acting(site.lead).post("/api/v1/site-entries/", {"entries": [wrong, fine]})
    assert [r["result"] for r in response.json()["results"]] == ["refused", "stored"]


@pytest.mark.parametrize("turns", [["near"], [{"roller": "near"}, 1], [None], "near"], ids=repr)
def test_turns_that_are_no_objects_are_refused_in_a_batch_as_elsewhere(site, turns):
    sent = entry("adjustment", site.opening.pk, {"what": "rollers", "turns": turns})
    (result,) = acting(site.lead).post("/api/v1/site-entries/", {"entries": [sent]}).json()["results"]
    assert "data.turns" in result["problem"]["fields"]


@pytest.mark.parametrize("day", ["0001-01-01", "1999-12-31", "9999-12-31"])
def test_a_due_day_of_another_age_is_refused(site, day):
    body = {"opening": site.opening.pk, "what": "scratch", "owner": site.lead.pk, "due_day": day}
    response = acting(site.lead).post("/api/v1/punch-items/", body)
    assert response.status_code == 422
    assert "due_day" in response.json()["fields"]


@pytest.mark.parametrize("day", ["0001-01-01", "1999-12-31", "9999-12-31"])
def test_nobody_waits_works_or_is_off_on_a_day_of_another_age(site, day):
    step, office = WorkStep.objects.filter(opening=site.opening).latest("pk"), acting(site.office)
    for where, body, field in (
            ("waits", {"opening": site.opening.pk, "what_for": "floor", "owed_by_kind": "builder", "expected_day": day},
             "expected_day"),
            ("deliveries", {"job": site.opening.job_id, "what": "covers", "expected_day": day}, "expected_day"),
            ("days-off", {"crew": site.crew.pk, "from_day": "2026-03-30", "to_day": day}, "to_day"),
            ("assignments", {"work_step": step.pk, "crew": site.crew.pk, "start_day": day, "end_day": "2026-03-31"},
             "start_day")):
        response = office.post(f"/api/v1/{where}/", body)
        assert (response.status_code, field in response.json()["fields"]) == (422, True), (where, response.json())
        assert "look at the year" in response.json()["fields"][field], where


def test_an_entry_on_anothers_opening_is_refused(site):
    other = Site()
    entries = [entry("event", where.opening.pk, {"kind": "re-pour"}) for where in (other, site)]
    results = acting(site.lead).post("/api/v1/site-entries/", {"entries": entries}).json()["results"]
    assert [r["result"] for r in results] == ["refused", "stored"]
    assert results[0]["problem"]["status"] == 404


# --- calculations -----------------------------------------------------------------------------------------------------

def calculated(name: str, body: dict, status: int = 200) -> dict:
    response = acting(make_user("guest")).post(f"/api/v1/calculations/{name}/", body)
    assert response.status_code == status, response.content
    return response.json()


def test_the_floor_is_judged_by_the_shipped_limits_and_corrected():
    # Published with the calculation: rise exactly 1/16 in, range 5/16 in beyond 1/4 in, 241.935 mm2 of fill.
    verdict = calculated("floor-profile", {**STATIONS, "limits": {"bed_least": 0, "bead": "1/2"}})
    rise, spread = verdict["findings"][0], next(f for f in verdict["findings"] if f["quantity"] == "total_range")
    assert verdict["result"] == "fail"
    assert rise["value_mm"] == rise["limit_mm"] == "1.587500"
    assert (spread["value_mm"], spread["limit_mm"], spread["within"]) == ("7.937500", "6.350000", False)
    assert verdict["computed"]["correction"]["proven"] is True


def test_limits_that_are_sent_stand_over_the_shipped_ones():
    sent = {"total_range": {"value": "3/8", "source": "the maker's sheet"}}
    verdict = calculated("floor-profile", {**STATIONS, "limits": sent})
    spread = next(f for f in verdict["findings"] if f["quantity"] == "total_range")
    assert (spread["limit_mm"], spread["within"], spread["source"]) == ("9.525000", True, "the maker's sheet")


@pytest.mark.parametrize("name", list(JUDGED))
def test_the_example_of_each_calculation_is_answered_with_a_verdict(name):
    verdict = calculated(name, dict(INPUTS[name].example))
    assert verdict.keys() == {"result", "findings", "computed", "missing", "second_look", "caution"}
    assert verdict["findings"] or name == "benchmark"


@pytest.mark.parametrize(("name", "body"), [
    ("rough-opening", rough_opening()), ("reveal", reveal()), ("sealing-conditions", sealing()),
    ("force", {"panels": [], "train": {"mass": 700, "opening": {"start": 1, "keep_moving": 1},
                                       "closing": {"start": 1, "keep_moving": 1}}}),
])
def test_what_an_inspection_keeps_can_be_judged_without_keeping_it(name, body):
    assert calculated(name, body)["findings"]
    assert not Inspection.objects.exists()


@pytest.mark.parametrize(("name", "body", "field", "sent", "right"), [
    ("floor-profile", {"stations": [], "sil_from": "1'"}, "sil_from", "1'", "no such field here; there are: bench"),
    ("floor-profile", {"stations": [], "total_range": "3/8"}, "total_range", "3/8", "send it as limits.total_range"),
    ("rough-opening", {"widths": {"top": "-9'"}}, "widths.top", "-9'", "a size cannot be negative"),
    ("frame", {"sill": [{"at": 9, "reading": 0}, {"at": 8, "reading": 0}]}, "sill[1].at", "8", "beyond 9.000000 mm"),
    ("reveal", {"gaps": {"top": "1,5"}, "heights": {"top": 9}}, "gaps.top", "1,5", "a comma can mean"),
    ("force", {"panels": [{"panel": "A", "mass": "2 stone"}]}, "panels[0].mass", "2 stone", "kilograms, or text such"),
    ("sealing-conditions", {"air_c": 20, "surface_c": 20, "humidity_pct": 140}, "humidity_pct", "140", "1 to 100"),
    ("lengths", {"text": "8' - 1/2\""}, "text", "8' - 1/2\"", "added or taken off"),
    ("lengths", {"value": True}, "value", True, "a length is a number of millimetres or text"),
    ("reveal", {"gaps": {"top": 5}}, "heights", None, "this is needed"),
    ("lengths", {"text": "1", "round": 16}, "round", "16", "no such field here; there are: parts"),
])
def test_what_cannot_be_is_refused_with_its_field_what_was_sent_and_what_would_be_right(name, body, field, sent, right):
    document = calculated(name, body, 422)
    assert document["fields"].keys() == {field}
    assert document["sent"] == {field: sent}
    assert re.search(right, document["fields"][field])


@pytest.mark.parametrize("name", list(KINDS))
def test_nothing_to_judge_is_a_problem_that_names_a_field_or_a_verdict_that_names_what_is_missing(name):
    response = acting(make_user("guest")).post(f"/api/v1/calculations/{name}/", {})
    assert response.status_code in (200, 422)
    document = response.json()
    assert document.get("fields") or document["missing"] or document["result"] == "no_limit_set"


def test_a_length_is_read_and_said_in_every_way():
    assert calculated("lengths", {"text": "8' 0-1/2\""})["length_mm"] == "2451.100000"
    assert "text" in calculated("lengths", {"text": "1,200"}, 422)["fields"]


def test_a_calculation_that_is_none_is_not_there():
    assert calculated("astrology", {}, 404)["code"] == "not-there"


def test_the_calculations_are_listed_with_their_shipped_limits():
    listed = acting(make_user("guest")).get("/api/v1/calculations/").json()
    by_name = {line["name"]: line["limits"] for line in listed}
    assert by_name.keys() == {"lengths", *JUDGED}
    assert by_name["floor-profile"]["total_range"]["value"] == "6.350000"
    assert by_name["floor-profile"]["total_range"]["source"]
    assert by_name["sealing-conditions"]["dew_margin"]["value"] == "3.00"
    assert by_name["panels"]["last_panel_gap"]["value"] == "457.200000"
    assert all(limit["source"] for limits in by_name.values() for limit in limits.values())
    assert all(line["says"] and line["fields_taken"] and line["example"] for line in listed)


# --- photos -----------------------------------------------------------------------------------------------------------

def jpeg() -> SimpleUploadedFile:
    data = io.BytesIO()
    Image.new("RGB", (40, 30), "tan").save(data, "JPEG")
    return SimpleUploadedFile("IMG_0001.exe", data.getvalue(), content_type="text/html")


def test_a_photo_is_sent_and_handed_out_to_those_who_may_see_its_opening(site):
    lead = acting(site.lead)
    made = lead.post("/api/v1/photos/", {"opening": site.opening.pk, "photo": jpeg(), "caption": "the sill"},
                     format="multipart")
    assert made.status_code == 201
    where = f"/api/v1/photos/{made.json()['id']}/"
    picture = lead.get(f"{where}picture/")
    assert picture["Content-Type"] == "image/jpeg"
    assert Image.open(io.BytesIO(picture.content)).size == (40, 30)
    assert lead.get(f"{where}picture/", HTTP_IF_NONE_MATCH=picture["ETag"]).status_code == 304
    stranger = acting(make_user("lead"))
    assert stranger.get(f"{where}picture/").status_code == 404
    assert stranger.get(where).status_code == 404


def test_what_is_no_picture_is_refused(site):
    body = {"opening": site.opening.pk, "photo": SimpleUploadedFile("a.jpg", b"<script>alert(1)</script>")}
    response = acting(site.lead).post("/api/v1/photos/", body, format="multipart")
    assert 400 <= response.status_code < 500
    assert response["Content-Type"] == "application/problem+json"
    assert acting(site.lead).post("/api/v1/photos/", {"opening": 1}, format="json").status_code == 415


def test_what_the_engineer_allows_for_is_entered_on_the_opening_and_counts_in_the_head_watch(site):
    office = acting(site.office)
    tag = office.get(at(site))["ETag"]
    made = office.patch(at(site), {"deflection_allowed_mm": "8"}, headers={"If-Match": tag})
    assert made.json()["deflection_allowed_mm"] == "8.000000"
    watch = {**under_load(), "watch": {**under_load()["watch"], "deflection_allowed": "0 mm"}}
    kept = acting(site.lead).post("/api/v1/inspections/", {
        "opening": site.opening.pk, "kind": "frame", "occasion": "under-load", "given": watch}).json()
    assert kept["asked_of"]["watch"]["deflection_allowed"] == "8.000000 mm"
