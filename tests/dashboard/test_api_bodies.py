"""Bad input: always a problem document that names the field and says what would be right; never a 500."""

from __future__ import annotations

import json
import uuid

import pytest
from django.test import Client, RequestFactory
from django.urls import resolve
from rest_framework.test import APIClient, force_authenticate

from jobs.models import Job, Party
from tests.factories import make_crew, make_job, make_opening, make_unit, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> APIClient:
    client = APIClient()
    client.force_authenticate(make_user("office"))
    return client


def problem(response, status: int) -> dict:
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    document = json.loads(response.content)
    assert document["status"] == status
    assert document["type"] == "urn:sillbook:problem:" + document["code"]
    assert document["detail"]
    return document


def send(client: APIClient, body: str | bytes, kind: str = "application/json", to: str = "/api/v1/parties/"):
    return client.post(to, data=body, content_type=kind)


# --- bodies ---------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("body", ["{", "kind=builder", "{'kind': 'builder'}", "[1,", "\x00", "NaN", '{"a": NaN}'])
def test_a_body_that_is_not_json_says_so(office, body):
    document = problem(send(office, body), 400)
    assert "JSON" in document["detail"]


def test_a_body_in_another_encoding_is_refused(office):
    problem(send(office, '{"kind": "builder", "name": "Café"}'.encode("latin-1")), 400)


def test_a_null_character_is_refused_before_any_database_sees_it(office):
    document = problem(send(office, r'{"kind": "builder", "name": "a\u0000b"}'), 400)
    assert "null character" in document["detail"]
    assert send(office, r'{"kind": "builder", "name": "a\\u0000b"}').status_code == 201  # only the letters of it


def test_a_form_is_not_read_where_json_is_expected(office):
    document = problem(send(office, "kind=builder", "application/x-www-form-urlencoded"), 415)
    assert "application/json" in document["detail"]


def test_a_huge_body_is_refused_unread(office, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    document = problem(send(office, json.dumps({"kind": "builder", "name": "x" * 2000})), 413)
    assert "larger" in document["detail"]
    assert not Party.objects.exists()


def test_who_sends_too_much_is_heard_out_so_that_they_hear_why(settings):
    """A program that is still sending when it is answered sees a broken line, and no sentence."""
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    where = "/api/v1/parties/"
    request = RequestFactory().post(where, b"x" * 300_000, content_type="application/json")
    force_authenticate(request, make_user("office"))
    problem(resolve(where).func(request), 413)
    assert request._stream.read() == b""


@pytest.mark.parametrize("body", ["[]", '"text"', "7", "null", "true", "[{}]"])
@pytest.mark.parametrize("to", ["/api/v1/parties/", "/api/v1/site-entries/", "/api/v1/inspections/", "/api/v1/tokens/",
                                "/api/v1/calculations/lengths/", "/api/v1/calculations/floor-profile/"])
def test_json_of_the_wrong_kind_is_refused(office, body, to):
    problem(send(office, body, to=to), 422)


@pytest.mark.parametrize("levels", [100, 250, 900, 100_000])
def test_deeply_nested_json_is_refused(office, levels):
    problem(send(office, "[" * levels + "]" * levels), 400)


def test_what_is_kept_can_always_be_read_again(office):
    deep: dict = {}
    for _ in range(40):
        deep = {"a": deep}
    body = {"opening": make_opening().pk, "kind": "benchmark", "given": {"benchmark": 0}, "device_verdict": deep}
    made = send(office, json.dumps(body), to="/api/v1/inspections/")
    assert made.status_code == 201, made.content
    assert office.get(f"/api/v1/inspections/{made.json()['id']}/").json()["device_verdict"] == deep


WRONG = ["", [], {}, 1.5, -1, 10**30, True, None, "x" * 5000, "ü'\"<>;--", {"a": [1]}]


@pytest.mark.parametrize("wrong", WRONG, ids=repr)
def test_a_field_of_the_wrong_kind_is_named(office, wrong):
    job = make_job()
    for name in ("job", "tag", "substrate", "rough_width_mm", "recess_mm", "pocket_side", "location"):
        body = {"job": job.pk, "tag": f"for {name}", name: wrong}
        response = office.post("/api/v1/openings/", body)
        assert response.status_code in (201, 422), (name, response.content)
        if response.status_code == 422:
            assert name in problem(response, 422)["fields"]


@pytest.mark.parametrize("wrong", WRONG, ids=repr)
def test_no_field_of_any_kind_of_entry_breaks_the_server(office, wrong):
    opening = make_opening()
    for name, body in {
        "inspections": {"kind": "floor-profile", "given": {}},
        "confirmations": {"check_code": "header-in", "answer": "yes"},
        "joints": {"place": "sill"}, "punch-items": {"what": "scratch", "owner": 1, "due_day": "2026-03-10"},
        "waits": {"what_for": "the floor", "owed_by_kind": "builder"}, "adjustments": {"what": "rollers"},
        "events": {"kind": "re-pour"}, "set-aside-parts": {"what": "cover"},
    }.items():
        whole = {"opening": opening.pk, "note": "", "id": str(uuid.uuid4()), "taken_at": "2026-03-10T10:00:00Z", **body}
        for field in whole:
            response = office.post(f"/api/v1/{name}/", {**whole, field: wrong})
            assert response.status_code < 500, (name, field, response.content)


# --- lengths --------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize(("sent", "mm"), [
    (6121.4, "6121.400000"), ("6121.4", "6121.400000"), ("6121.400000", "6121.400000"), ("241 in", "6121.400000"),
    ("20' 1\"", "6121.400000"), ("0.396875", "0.396875"), ("1/64\"", "0.396875"), (0, "0.000000"), (None, None),
])
def test_a_length_comes_in_in_any_unit_and_goes_out_in_millimetres(office, sent, mm):
    response = office.post("/api/v1/openings/", {"job": make_job().pk, "tag": "A1", "rough_width_mm": sent})
    assert response.status_code == 201
    assert response.json()["rough_width_mm"] == mm


@pytest.mark.parametrize(("sent", "right"), [
    ("about nine feet", "write a length"), ("1,200", "comma"), ("96 1/2", "read two ways"), (-5, "negative"),
    ("-1/16\"", "negative"), ("900 m 1", "write a length"), (True, "a length is"), ("2 km", "write a length"),
])
def test_a_length_nobody_can_read_says_what_would_be_right(office, sent, right):
    response = office.post("/api/v1/openings/", {"job": make_job().pk, "tag": "A1", "rough_width_mm": sent})
    assert right in problem(response, 422)["fields"]["rough_width_mm"]


# --- addresses ------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("address", [
    "/api/v1/nothing/", "/api/v1/openings/999999/", "/api/v1/openings/999999999999999999999999/", "/api/v1/openings/x/",
    "/api/v1/inspections/not-a-uuid/", "/api/v1/inspections/------------------------------------/",
    "/api/v1/calculations/lengths/more/", "/api/v1/jobs/1/access-codes/1/", "/api/v2/",
])
def test_what_is_not_there_is_a_problem_too(office, address):
    problem(office.get(address), 404)


def test_an_act_that_is_not_done_here_says_what_is(office):
    response = office.delete("/api/v1/openings/")
    problem(response, 405)
    assert "POST" in response["Allow"]
    assert "POST" in response.json()["detail"]


def test_who_did_not_sign_in_or_wants_no_json_is_told_what_would_be_right(office):
    assert "Bearer" in problem(APIClient().get("/api/v1/openings/"), 401)["detail"]
    assert "application/json" in problem(office.get("/api/v1/openings/", HTTP_ACCEPT="text/html"), 406)["detail"]


@pytest.mark.parametrize(("query", "named"), [
    ("stage=nailed", "stage"), ("job=x", "job"), ("job=-1", "job"), ("job=1.5", "job"), ("page_size=0", "page_size"),
    ("page_size=100000", "page_size"), ("page_size=ten", "page_size"), ("ordering=colour", "ordering"),
    ("cursor=xyz", "cursor"), ("cursor=W10", "cursor"), ("colour=red", "colour"), ("called_back=maybe", "called_back"),
    ("stage_since_before=yesterday", "stage_since_before"),
    ("stage_since_before=9999-12-31T23:59:59-14:00", "stage_since_before"),
    ("stage_since_before=0001-01-01T00:00:00%2B14:00", "stage_since_before"), ("job=99999999999999999999", "job"),
    ("search=%00", "address"), ("search=" + "x" * 100, "search"),
])
def test_a_query_nobody_can_read_names_its_parameter(office, query, named):
    document = problem(office.get(f"/api/v1/openings/?{query}"), 400)
    assert list(document["fields"]) == [named]


def test_a_refused_filter_lists_those_there_are(office):
    document = problem(office.get("/api/v1/openings/?status=1"), 400)
    assert "stage" in document["fields"]["status"]


def test_a_time_without_its_zone_is_asked_for_it(office):
    body = {"opening": make_opening().pk, "kind": "re-pour", "taken_at": "2026-03-10T09:30:00"}
    assert "zone" in problem(office.post("/api/v1/events/", body), 422)["fields"]["taken_at"]
    assert office.post("/api/v1/events/", {**body, "taken_at": "2026-03-10T09:30:00-07:00"}).status_code == 201


@pytest.mark.parametrize("address", ["openings/", "openings/1/", "site-entries/", "tokens/", "calculations/lengths/"])
def test_nothing_is_told_by_asking_for_options(office, address):
    problem(office.options(f"/api/v1/{address}"), 405)


# --- office records -------------------------------------------------------------------------------------------------

def test_a_tag_that_is_taken_is_refused_in_words(office):
    opening = make_opening()
    document = problem(office.post("/api/v1/openings/", {"job": opening.job_id, "tag": opening.tag}), 422)
    assert document["fields"] == {"tag": "this job has an opening with this tag already"}


@pytest.mark.parametrize(("to", "body", "field"), [
    ("days-off", {"crew": None, "from_day": "2026-12-02", "to_day": "2026-12-03"}, "crew"),
    ("days-off", {"user": "me", "from_day": "2026-12-02", "to_day": "2026-12-01"}, "to_day"),
    ("jobs", {"number": "J-1", "title": "House", "contract_cents": -5}, "contract_cents"),
    ("checks", {"code": "size", "job": "a job"}, "code"),
    ("crew-members", {"user": "me", "crew": "theirs", "from_day": "2026-12-01"}, "from_day"),
    ("work-steps", {"opening": "there", "stage": "sealed"}, "stage"),
    ("door-systems", {"code": "S", "name": "S", "edition": "1"}, "edition"),
    ("panels", {"unit": "its", "letter": "A", "position": "lead", "track": 1, "hanging_order": 9}, "letter"),
    ("panels", {"unit": "its", "letter": "Z", "position": "lead", "track": 1, "hanging_order": 1}, "hanging_order"),
], ids=str)
def test_what_cannot_stand_names_its_field_in_words(office, to, body, field):
    opening = make_opening()
    there = {"user": make_user().pk, "job": make_job().pk, "opening": opening.pk, "crew": make_crew().pk,
             "unit": make_unit(opening).pk}
    body = {**body, **{name: pk for name, pk in there.items() if body.get(name)}}
    office.post(f"/api/v1/{to}/", body)
    document = problem(office.post(f"/api/v1/{to}/", body), 422)
    assert field in document["fields"]
    assert "onstraint" not in str(document["fields"])


@pytest.mark.parametrize(("to", "name", "sent", "says"), [
    ("units", "sill_length_mm", 0, "more than nothing"),
    ("units", "roller_spacing_mm", "0", "more than nothing"),
    ("door-systems", "thread_pitch_mm", 0, "more than nothing"),
    ("door-systems", "products", [{"name": "A"}, {"skin_minutes": "soon"}], "[1].skin_minutes: write a plain number"),
    ("door-systems", "products", [{"surface_least_c": "5 K"}], "[0].surface_least_c: write it as 50 F"),
    ("door-systems", "products", [{"cure_mm_per_sqrt_day": 0}], "[0].cure_mm_per_sqrt_day"),
    ("door-systems", "products", [{"source": 7}], "[0].source: text"),
    ("door-systems", "products", [{"air_least_c": 41, "air_most_c": 40}], "[0].air_least_c: it must not lie above"),
])
def test_what_readings_could_never_be_judged_by_is_said_to_whoever_types_it(office, to, name, sent, says):
    body = {"opening": make_opening().pk} if to == "units" else {"code": "S", "name": "S", "edition": "1"}
    document = problem(office.post(f"/api/v1/{to}/", {**body, name: sent}), 422)
    assert says in str(document["fields"][name])
    assert office.post(f"/api/v1/{to}/", {**body, name: [] if name == "products" else None}).status_code == 201


def test_a_products_sheet_is_kept_as_it_was_written(office):
    sheet = {"name": "Joint sealant A", "source": "its sheet", "air_least_c": "41 F", "skin_minutes": 60,
             "cure_mm_per_sqrt_day": 2.5, "bead_depth": "1/2", "colours": ["grey"], "load_after_days": None}
    made = office.post("/api/v1/door-systems/", {"code": "S", "name": "S", "edition": "1", "products": [sheet]})
    assert made.json()["products"] == [sheet]


def test_a_time_zone_that_is_none_is_refused(office):
    response = office.post("/api/v1/jobs/", {"number": "J-1", "title": "A house", "time_zone": "Mars/One"})
    document = problem(response, 422)
    assert "America/Los_Angeles" in document["fields"]["time_zone"]


def test_a_stage_cannot_be_written(office):
    response = office.post("/api/v1/openings/", {"job": make_job().pk, "tag": "A1", "stage": "accepted"})
    assert response.json()["stage"] == "to be measured"


def test_an_opening_with_work_on_it_is_not_removed(office):
    opening = make_opening()
    office.post("/api/v1/events/", {"opening": opening.pk, "kind": "re-pour"})
    problem(office.delete(f"/api/v1/openings/{opening.pk}/", HTTP_IF_MATCH='"1"'), 409)


def test_two_numbers_beyond_the_earth_are_refused(office):
    for value in (91, "nan", "inf", 1e400):
        body = json.dumps({"number": "J-1", "title": "A house", "latitude": value}).replace("Infinity", "1e999")
        assert send(office, body, to="/api/v1/jobs/").status_code in (400, 422)
    assert not Job.objects.exists()


def test_a_session_needs_its_csrf_token():
    client = Client(enforce_csrf_checks=True)
    client.force_login(make_user("office"))
    response = client.post("/api/v1/parties/", "{}", content_type="application/json")
    problem(response, 403)
