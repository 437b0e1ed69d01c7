"""What the record knows of the unit stands over what is sent with readings: a door is not made smaller to pass."""

import pytest

from inspections.calc import gate as judging
from inspections.services.inspecting import record_inspection
from inspections.services.looking import look_at
from jobs.calc.verdict import BadInput
from tests.site import Site, floor, force, rough_opening, under_load
from units.models import Unit

pytestmark = pytest.mark.django_db
FOOT = 304_800_000  # nm


@pytest.fixture
def site() -> Site:
    site = Site()
    Unit.objects.filter(opening=site.opening).update(sill_length=26 * FOOT)
    site.opening.refresh_from_db()
    return site


def recorded(site: Site, kind: str, given: dict, **more):
    return record_inspection(site.act(), site.opening.pk, kind, given, **more)


def outcome(site: Site, code: str) -> str:
    site.opening.refresh_from_db()
    return next(o.result for o in look_at(site.opening, site.now).outcomes if o.code == code)


def test_two_feet_of_a_floor_are_not_the_floor_whatever_is_said_of_the_sill(site):
    kept = recorded(site, "floor-profile", floor([0, 0, 0]))
    assert kept.result == "not_enough_readings"
    assert kept.asked_of["sill_to"] == "7924.800000 mm"  # 26 ft
    assert kept.given["sill_to"] == "2 ft"
    assert outcome(site, "floor-bed") == judging.NOT_ENOUGH


def test_a_sill_of_four_tracks_is_not_read_along_one_line(site):
    sent = floor(tracks=1)
    del sent["inner"]
    assert recorded(site, "floor-profile", sent).result == "not_enough_readings"
    assert outcome(site, "floor-across") == judging.NOT_ENOUGH


@pytest.mark.parametrize("ends", [{}, {"sill_from": None, "sill_to": None}, {"sill_from": 0, "sill_to": 0}])
def test_a_sill_nobody_measured_is_as_long_as_the_units(site, ends):
    sent = {k: v for k, v in floor().items() if k not in ("sill_from", "sill_to")}
    assert recorded(site, "floor-profile", {**sent, **ends}).result == "pass"


def test_stations_may_be_counted_from_anywhere(site):
    moved = [{"at": f"{n + 10} ft", "reading": 0} for n in range(27)]
    ends = {"sill_from": "10 ft", "sill_to": "36 ft"}
    assert recorded(site, "floor-profile", {"stations": moved, "inner": moved, **ends}).result == "pass"


def test_a_sill_that_ends_before_it_starts_is_still_refused(site):
    with pytest.raises(BadInput, match="sill_to"):
        recorded(site, "floor-profile", floor(sill_from="30 ft"))


def test_the_unit_says_what_size_is_needed(site):
    small = {"required": {"width": "100 in", "height": "80 in"}}
    kept = recorded(site, "rough-opening", rough_opening(**small))
    assert {f["quantity"]: f["limit_mm"] for f in kept.verdict["findings"]}["tightest_width"] != "2540.000000"
    assert kept.verdict == recorded(site, "rough-opening", rough_opening()).verdict


def test_what_the_engineer_allows_for_is_not_sent_with_the_readings(site):
    site.opening.deflection_allowed = 16_900_000
    site.opening.save(update_fields=["deflection_allowed"])
    sent = under_load()
    less = {**sent, "watch": {**sent["watch"], "deflection_allowed": "0 mm"}}
    one, other = recorded(site, "frame", sent), recorded(site, "frame", less)
    assert one.verdict == other.verdict


def test_the_force_of_one_panel_is_not_that_of_each_and_of_the_train(site):
    one = recorded(site, "force", {"panels": force(site.panels)["panels"][:1], "letters": []})
    assert one.result == "not_enough_readings"
    asked = {(lack["what"], lack.get("panel")) for lack in one.verdict["missing"]}
    assert asked == {(f"force_to_{act}", letter) for act in ("start", "keep_moving") for letter in "BCD"} | {
        ("train", None)}
    assert recorded(site, "force", force(site.panels)).result == "pass"


# ---- rollers, panel by panel --------------------------------------------------------------------------------


def preset(*read: str) -> dict:
    return {"rollers": [{"panel": panel, "roller": n, "reading": "3/8"} for panel, n in read]}


def at_preset(site: Site) -> dict[str, str]:
    site.opening.refresh_from_db()
    return {o.place: o.result for o in look_at(site.opening, site.now, "panels hung").outcomes
            if o.code == "rollers-preset"}


def test_the_rollers_of_one_panel_say_nothing_of_another(site):
    recorded(site, "roller-preset", {"panels": ["B"], **preset("B1", "B2")}, place="A")
    assert at_preset(site) == {"A": judging.NOT_ENOUGH, "B": judging.MISSING, "C": judging.MISSING,
                               "D": judging.MISSING}


def test_one_roller_of_a_panel_is_not_both(site):
    recorded(site, "roller-preset", preset("A1"), place="A")
    assert at_preset(site)["A"] == judging.NOT_ENOUGH


def test_rollers_of_several_panels_may_be_read_in_one_go(site):
    recorded(site, "roller-preset", preset("A1", "A2", "B1", "B2", "C1"))
    assert at_preset(site) == {"A": judging.PASSES, "B": judging.PASSES, "C": judging.NOT_ENOUGH,
                               "D": judging.MISSING}


def test_of_rollers_read_in_one_go_each_panel_is_judged_by_its_own(site):
    far_off = {"panel": "B", "roller": "2", "reading": "5/8"}
    recorded(site, "roller-preset", {"rollers": [*preset("A1", "A2", "B1")["rollers"], far_off]})
    assert (at_preset(site)["A"], at_preset(site)["B"]) == (judging.PASSES, judging.FAILED)
