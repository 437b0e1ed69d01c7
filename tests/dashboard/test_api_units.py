"""A unit over the API: what follows from it, its panels laid out, its door system kept with what its maker says."""

import pytest
from rest_framework.test import APIClient

from inspections.services.panels import handle_panel
from tests.factories import act_for, make_opening, make_unit, make_user
from units.models import DoorSystem, Unit

pytestmark = pytest.mark.django_db

# An invented system: W = 6000 - 60 - 40 = 5900; three panels: (5900 + 2 * 50 + 40 + 20) / 3 = 2020.
SAID = {"code": "harbour-3", "name": "Harbour 3", "lock_jamb_mm": 60, "interlock_mm": 40, "head_mm": 70, "sill_mm": 30,
        "height_deduction_mm": "-10 mm", "meeting_lap_mm": 50, "interlock_lap_mm": 40, "jamb_engagement_mm": 20,
        "increment_mm": 1, "middle_lap_mm": "-1/8 in", "pull_mm": 50, "stop_mm": 20, "pocket_clearance_mm": 10,
        "track_pitch_mm": 65, "covers_mm": 30, "stile_grams_per_m": 3000, "rail_grams_per_m": 4000,
        "hardware": [{"what": "rollers", "kg": 1.5, "count": 2}],
        "glasses": [{"name": "8 and 8", "layers": [{"kind": "pane", "nominal": 8}, {"kind": "pane", "nominal": 8}]}],
        "limits": {"panels": {"panel_width_most": {"value": "2100 mm", "source": "page 12"}}},
        "fasteners": [{"member": "head", "spacing_most": "16 in", "edge_least": "6 in", "fastener": "screw"}],
        "sources": {"meeting_lap": "page 9"}}


@pytest.fixture
def client() -> APIClient:
    client = APIClient()
    client.force_authenticate(make_user("office"))
    return client


@pytest.fixture
def system(client) -> dict:
    response = client.post("/api/v1/door-systems/", SAID)
    assert response.status_code == 201, response.json()
    return response.json()


@pytest.fixture
def unit(client, system) -> dict:
    sent = {"opening": make_opening(pocket_side="right").pk, "system": system["id"], "panel_count": 3,
            "frame_width_mm": 6000, "frame_height_mm": 3000}
    return client.post("/api/v1/units/", sent).json()


def test_a_door_system_keeps_what_its_maker_says_with_its_sources(system):
    assert system["meeting_lap_mm"] == "50.000000"
    assert (system["middle_lap_mm"], system["height_deduction_mm"]) == ("-3.175000", "-10.000000")
    assert system["limits"]["panels"]["panel_width_most"]["source"] == "page 12"
    assert system["sources"] == {"meeting_lap": "page 9"}


@pytest.mark.parametrize(("field", "sent", "says"), [
    ("meeting_lap_mm", "-50 mm", "negative"),
    ("increment_mm", 0, "more than nothing"),
    ("longest_piece_mm", 1, "at least 300 mm: check the unit"),
    ("lean_in_angle", 95, ""),
    ("glasses", [{"name": "odd", "layers": [{"kind": "pane", "nominal": 7}]}], "[0]"),
    ("glasses", [{"name": "twice", "layers": [{"kind": "pane", "nominal": 6}]}] * 2, "a name of its own"),
    ("hardware", [{"what": "rollers", "kg": -1}], "hardware[0].kg"),
    ("fasteners", [{"member": "head", "spacing_most": "16 in"}], "edge_least"),
    ("products", [{"name": "Limpet", "cartridge_ml": 0}], "[0].cartridge_ml: millilitres"),
    ("products", [{"name": "Limpet"}, {"name": "Other", "movement_pct": -3}], "[1].movement_pct"),
    ("joints", [{"place": "head", "rule": "seal", "width": "wide", "depth": "6 mm"}], "[0].width: write a length"),
    ("joints", [{"place": "head", "rule": "seal", "width": "gap", "depth": 0}], "[0].depth: more than nothing"),
    ("meeting_lap_mm", 2100, "less than a panel, which is 2100 mm wide at most"),
    ("jamb_engagement_mm", 61, "less than the jamb itself, 60 mm"),
    ("panel_thickness_mm", 65, "thinner than from track to track, which is 65 mm"),
    ("stile_face_mm", 1050, "less than half of the largest panel, which is 2100 mm"),
    ("limits", {"panels": {"panel_width_least": "3 m", "panel_width_most": "2 m"}},
     "limits.panel_width_least: not above the most, 2000 mm"),
    ("limits", {"weights": {"panel_mass_most": 15_000}}, "limits.panel_mass_most: at most 2000 kg for one panel"),
    ("limits", {"panes": {}}, "panels, weights"),
    ("limits", {"panels": {"panel_width_most": "wide"}}, "panel_width_most"),
    ("limits", {"panels": {"panel_wideness": 1}}, "panel_wideness"),
])
def test_what_no_maker_could_say_is_refused_by_its_field(client, field, sent, says):
    response = client.post("/api/v1/door-systems/", {**SAID, field: sent})
    assert response.status_code == 422
    assert says in response.json()["fields"][field]


def test_a_value_is_weighed_against_those_that_stand_and_only_where_it_is_of_them(client, system):
    at = f"/api/v1/door-systems/{system['id']}/"
    refused = client.patch(at, {"panel_thickness_mm": 70}, headers={"If-Match": '"1"'})
    assert (refused.status_code, list(refused.json()["fields"])) == (422, ["panel_thickness_mm"])
    DoorSystem.objects.update(panel_thickness=70_000_000)
    assert client.patch(at, {"withdrawn_on": "2026-01-31"}, headers={"If-Match": '"1"'}).status_code == 200


def test_what_follows_from_a_unit_is_worked_out_and_nothing_kept(client, unit):
    explained = client.get(f"/api/v1/units/{unit['id']}/explained/").json()
    assert [panel["width_mm"] for panel in explained["panels"]["computed"]["panels"]] == ["2020.000000"] * 3
    assert explained["panels"]["computed"]["panel_height_mm"] == "2910.000000"
    assert explained["weights"]["computed"]["heaviest"] == "A"
    assert not client.get(f"/api/v1/panels/?unit={unit['id']}").json()["results"]


def test_why_nothing_follows_is_said_by_its_field(client, unit):
    Unit.objects.update(glass="10 and 10")
    refused = client.get(f"/api/v1/units/{unit['id']}/explained/").json()["refused"]
    assert refused["field"] == "glass"
    assert "8 and 8" in refused["right"]


def test_its_panels_are_laid_out_under_its_version(client, unit):
    path = f"/api/v1/units/{unit['id']}/lay-out/"
    assert client.post(path).status_code == 428
    response = client.post(path, headers={"If-Match": '"1"'})
    assert response.status_code == 200
    assert response.json()["pocket_depth_needed_mm"] == "2100.000000"
    panels = client.get(f"/api/v1/panels/?unit={unit['id']}&ordering=hanging_order").json()["results"]
    assert [(p["letter"], p["side"], p["width_mm"]) for p in panels] == [
        ("A", "right", "2020.000000"), ("B", "right", "2020.000000"), ("C", "right", "2020.000000")]
    assert all(panel["grams"] > 200_000 for panel in panels)
    assert client.post(path, headers={"If-Match": '"1"'}).status_code == 412


def test_what_cannot_be_built_is_a_refusal_with_the_nearest_that_can(client, unit):
    client.patch(f"/api/v1/units/{unit['id']}/", {"panel_count": 2}, headers={"If-Match": '"1"'})
    problem = client.post(f"/api/v1/units/{unit['id']}/lay-out/", headers={"If-Match": '"2"'})
    assert problem.status_code == 409
    width = next(r for r in problem.json()["reasons"] if r["quantity"] == "panel_width_most")
    assert (width["limit_mm"], width["source"]) == ("2100.000000", "page 12")
    assert width["remedy"]["values"]["panels"] == 3


def test_once_a_panel_has_come_the_pocket_stays_where_it_is(client, unit):
    client.post(f"/api/v1/units/{unit['id']}/lay-out/", headers={"If-Match": '"1"'})
    path = f"/api/v1/openings/{unit['opening']}/"
    assert client.patch(path, {"pocket_side": "left"}, headers={"If-Match": '"1"'}).json()["pocket_side"] == "left"
    handle_panel(act_for(), Unit.objects.get().panels.get(letter="B").pk, "receive")
    refused = client.patch(path, {"pocket_side": "right"}, headers={"If-Match": '"2"'})
    assert (refused.status_code, refused.json()["fields"]) == (
        409, {"pocket_side": "as it was when its panels were made"})
    assert "come already (B)" in refused.json()["detail"]
    kept = client.patch(path, {"pocket_side": "left", "location": "hall"}, headers={"If-Match": '"2"'})
    assert (kept.status_code, kept.json()["location"]) == (200, "hall")


def test_an_opening_has_one_unit(client, unit):
    second = client.post("/api/v1/units/", {"opening": unit["opening"], "panel_count": 3})
    assert second.status_code == 422
    assert "opening" in second.json()["fields"]


def test_a_new_edition_leaves_the_units_ordered_before_as_they_were(client, unit, system):
    client.post("/api/v1/door-systems/", {**SAID, "edition": "2", "meeting_lap_mm": 80})
    assert client.get(f"/api/v1/units/{unit['id']}/").json()["system"] == system["id"]
    width = client.get(f"/api/v1/units/{unit['id']}/explained/").json()["panels"]["computed"]["width_mm"]
    assert width == "2020.000000"


def test_a_withdrawn_edition_takes_no_new_units(client, system):
    client.patch(f"/api/v1/door-systems/{system['id']}/", {"withdrawn_on": "2026-01-31"}, headers={"If-Match": '"1"'})
    response = client.post("/api/v1/units/", {"opening": make_opening().pk, "system": system["id"]})
    assert response.status_code == 422
    assert "withdrawn" in response.json()["fields"]["system"]


def test_units_of_a_system_withdrawn_since_may_still_be_changed(client, unit, system):
    client.patch(f"/api/v1/door-systems/{system['id']}/", {"withdrawn_on": "2026-01-31"}, headers={"If-Match": '"1"'})
    response = client.patch(f"/api/v1/units/{unit['id']}/", {"order_number": "7"}, headers={"If-Match": '"1"'})
    assert response.status_code == 200


def test_an_installer_reads_what_follows_from_a_unit_of_theirs_and_lays_nothing_out(unit):
    installer = APIClient()
    installer.force_authenticate(make_user("installer"))
    assert installer.get(f"/api/v1/units/{unit['id']}/explained/").status_code == 404
    assert installer.post(f"/api/v1/units/{unit['id']}/lay-out/", headers={"If-Match": '"1"'}).status_code == 403


def test_what_a_unit_takes_is_off_the_drawing_until_the_opening_is_measured(client, unit):
    taken = client.get(f"/api/v1/units/{unit['id']}/take-off/").json()
    assert [m["member"] for m in taken["drawn"]["verdict"]["computed"]["members"]] == ["head"]
    assert (taken["measured"], taken["changed"]) == (None, [])


def test_a_job_adds_up_what_its_units_take_and_names_those_it_knows_nothing_of(client, unit):
    job = Unit.objects.get(pk=unit["id"]).opening.job
    bare = make_unit(make_opening(job, tag="Z9"), "", system=None)
    needed = client.get(f"/api/v1/jobs/{job.pk}/materials/").json()
    assert needed["anchors"] == [{"fastener": "screw", "count": 16}]  # 6000 - 2 * 152.4 is 14.01 times 406.4
    assert needed["unknown"] == [bare.opening.tag]


@pytest.mark.parametrize(("field", "sent", "right"), [
    ("panel_count", 0, "a whole number from 1 to 24"),
    ("panel_count", 25, "a whole number from 1 to 24"),
    ("ways", "three ways", "one of: one-way, two-way"),
    ("system", 999, "the id of one that is there; there is no 999"),
    ("glass", "10 and 10", "a glass of this door system: 8 and 8"),
    ("frame_width_mm", 0, "more than nothing"),
])
def test_a_unit_that_nobody_makes_is_refused_with_what_would_be_right(client, unit, field, sent, right):
    response = client.patch(f"/api/v1/units/{unit['id']}/", {field: sent}, headers={"If-Match": '"1"'})
    assert response.status_code == 422
    assert right in response.json()["fields"][field]


def test_another_system_is_refused_while_its_glass_is_not_made_for_it(client, unit, system):
    mark = {"headers": {"If-Match": '"1"'}}
    other = client.post("/api/v1/door-systems/", {**SAID, "edition": "2", "glasses": [
        {"name": "6 and 6", "layers": [{"kind": "pane", "nominal": 6}]}]}).json()["id"]
    Unit.objects.update(glass="8 and 8")
    refused = client.patch(f"/api/v1/units/{unit['id']}/", {"system": other}, **mark)
    assert (refused.status_code, refused.json()["fields"]["glass"]) == (422, "a glass of this door system: 6 and 6")
    taken = client.patch(f"/api/v1/units/{unit['id']}/", {"system": other, "glass": "6 and 6"}, **mark)
    assert taken.status_code == 200


@pytest.mark.parametrize(("field", "sent"), [
    ("panel_count", 4), ("ways", "two-way"), ("frame_width_mm", 5000), ("system", None), ("glass", "8 and 8")])
def test_once_a_panel_has_come_what_made_the_panels_stays(client, unit, field, sent):
    panels = client.post(f"/api/v1/units/{unit['id']}/lay-out/", headers={"If-Match": '"1"'})
    assert panels.status_code == 200, panels.json()
    of = Unit.objects.get()
    handle_panel(act_for(make_user("office")), of.panels.get(letter="B").pk, "receive")
    mark = {"headers": {"If-Match": f'"{of.version}"'}}
    refused = client.patch(f"/api/v1/units/{of.pk}/", {field: sent}, **mark)
    if field == "glass":  # nobody had chosen one yet
        assert refused.status_code == 200
        return
    assert (refused.status_code, refused.json()["code"]) == (409, "in-use")
    assert refused.json()["fields"] == {field.removesuffix("_mm"): "as it was when its panels were made"}
    assert "Panels have come already (B)" in refused.json()["detail"]
    assert client.patch(f"/api/v1/units/{of.pk}/", {"order_number": "7"}, **mark).status_code == 200


@pytest.mark.parametrize("moved", [False, True])
def test_an_opening_that_has_a_unit_takes_no_other_and_says_which_it_has(client, unit, moved):
    if moved:
        other = make_unit(make_opening(), "")
        response = client.patch(f"/api/v1/units/{other.pk}/", {"opening": unit["opening"]}, headers={"If-Match": '"1"'})
    else:
        response = client.post("/api/v1/units/", {"opening": unit["opening"], "panel_count": 3})
    assert response.status_code == 422
    assert f"unit {unit['id']} already: change that" in response.json()["fields"]["opening"]


@pytest.mark.parametrize(("field", "sent", "right"), [
    ("weighed_grams", 15_000_000, "at most 2000 kg for one panel"),
    ("weighed_grams", 0, "more than nothing"),
    ("computed_grams", 15_000_000, "at most 2000 kg for one panel"),
    ("width_mm", 0, "more than nothing"),
    ("height_mm", 0, "more than nothing"),
])
def test_a_panel_that_cannot_be_is_refused_with_what_would_be_right(client, field, sent, right):
    panel = make_unit(make_opening(), "A").panels.get()
    response = client.patch(f"/api/v1/panels/{panel.pk}/", {field: sent}, headers={"If-Match": '"1"'})
    assert response.status_code == 422
    assert right in response.json()["fields"][field]
