"""Will it get there: each panel against each leg, by how much not, and that what is said to help does."""

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from jobs.calc import route
from jobs.calc.legs import Leg
from jobs.calc.route import CAUTION, LIMITS
from jobs.calc.route_sent import Load
from jobs.calc.verdict import RESULTS, BadInput, Limit
from tests.verdicts import limits_of, unlike, vectors

MM = 1_000_000
ROWS = [pytest.param(row, id=row["name"]) for row in vectors("route")]
PANEL = {"length": 2100, "height": 2700, "thickness": 600, "cart_height": 250, "bare_thickness": 90, "mass": 190,
         "cart_mass": 60}
MAY_LEAN = {"lean_most": Limit(20, "an invented maker")}


def leg(kind, name="the way in", **sizes):
    return {"name": name, "kind": kind, "sizes": sizes}


def judge(*legs, limits=MAY_LEAN, panels=None, **load):
    return route.judge({"load": PANEL | load, "panels": panels, "legs": list(legs)}, limits)


def finding(verdict, quantity):
    return next(f for f in verdict.findings if f.quantity == quantity)


def only(verdict):
    return verdict.computed["panels"][0]["legs"][0]


def ways(verdict):
    failed = next(f for f in verdict.findings if f.within is False)
    return {way["way"]: way for way in failed.remedy.values["ways"]}


@pytest.mark.parametrize("row", [one for one in ROWS if "expect" in one.values[0]])
def test_each_vector_gets_the_answer_it_expects(row):
    actual = route.judge(row["given"], limits_of(row, LIMITS)).as_dict()
    assert unlike(row["expect"], actual) == []
    assert actual["result"] in RESULTS
    assert actual["caution"] == CAUTION


@pytest.mark.parametrize("row", [one for one in ROWS if "error" in one.values[0]])
def test_each_vector_that_cannot_be_is_refused_by_the_field_it_names_and_told_what_would_be_right(row):
    with pytest.raises(BadInput) as refused:
        route.judge(row["given"], limits_of(row, LIMITS))
    assert refused.value.field == row["error"]["field"]
    assert row["error"]["right"] in refused.value.right


# ---- leg by leg -----------------------------------------------------------------------------------------


def test_a_corner_of_1_2_by_1_2_m_stops_a_panel_of_2_195_m_and_says_by_how_much():
    verdict = judge(leg("corner", in_width=1200, out_width=1200), length=2195)
    failed = finding(verdict, "length")
    assert (verdict.result, failed.limit - failed.value) == ("fail", 2_194_113_000 - 2_195_000_000)
    assert judge(leg("corner", in_width=1200, out_width=1200), length=2194.113).result == "pass"


def test_it_says_whether_it_turns_the_corner_or_passes_sideways():
    assert only(judge(leg("corner", in_width=1200, out_width=1200)))["how"] == "turning"
    assert only(judge(leg("corner", in_width=600, out_width=2100)))["how"] == "sideways"
    assert only(judge(leg("corner", in_width=600, out_width=2099)))["passes"] is False


def test_a_corridor_as_wide_as_the_cart_takes_it_and_a_hair_less_does_not():
    assert judge(leg("corridor", width=600)).result == "pass"
    verdict = judge(leg("corridor", width=599.999))
    assert finding(verdict, "thickness").as_dict()["margin_mm"] == "-0.001000"
    assert ways(verdict)["make_it_larger"]["width_mm"] == 600 * MM


def test_under_a_head_it_leans_as_far_as_it_must_and_no_further_than_its_maker_lets_it():
    door = {"width": 1500, "room_before": 4000, "room_after": 4000}
    upright = judge(leg("doorway", height=2950, **door))
    assert (only(upright)["lean_deg"], finding(upright, "height").within) == (0, True)
    leaning = judge(leg("doorway", height=2900, **door), bare_thickness=90, thickness=200)
    assert leaning.result == "pass"
    assert finding(leaning, "lean").remedy.code == "lean_it"
    assert 0 < finding(leaning, "lean").value <= 20
    too_far = judge(leg("doorway", height=2600, **door), thickness=200)
    assert (too_far.result, finding(too_far, "lean").within) == ("fail", False)


def test_how_far_it_may_lean_is_nobodys_to_guess():
    verdict = judge(leg("ceiling", height=2900), thickness=200, limits={})
    assert verdict.result == "no_limit_set"
    assert only(verdict)["passes"] is None


def test_leaned_it_needs_more_width():
    verdict = judge(leg("doorway", width=700, height=2900, room_before=4000, room_after=4000), thickness=200)
    failed = finding(verdict, "thickness")
    assert failed.within is False
    assert failed.value > 200 * MM
    assert ways(verdict)["make_it_larger"] == {"way": "make_it_larger", "height_mm": 2950 * MM}


def test_where_it_gets_under_in_no_way_the_height_fails_by_all_it_is_too_tall():
    verdict = judge(leg("ceiling", height=800))
    assert finding(verdict, "height").limit - finding(verdict, "height").value == -2150 * MM


def test_a_doorway_takes_its_length_straight_on_or_turned_in_like_a_corner():
    door = {"width": 1200, "height": 3000, "room_after": 4000}
    assert judge(leg("doorway", room_before=2100, **door)).result == "pass"
    assert judge(leg("doorway", room_before=1200, **door)).result == "pass"  # 2194 mm turn in out of 1200
    verdict = judge(leg("doorway", room_before=1100, **door))
    assert finding(verdict, "length_in_room_before").within is False
    assert finding(verdict, "length_in_room_after").within is True


def test_up_a_stair_it_is_carried_without_its_cart_under_headroom_square_to_the_pitch():
    """cos 60 = 1/2: of 5400 mm straight up 2700 are left."""
    verdict = judge(leg("stairs", width=1000, headroom=5400, pitch_deg=60))
    assert (finding(verdict, "height").value, finding(verdict, "height").limit) == (2700 * MM, 2700 * MM)
    assert only(verdict)["by_hand"] is True
    assert finding(verdict, "thickness").value == 90 * MM


def test_on_a_landing_it_turns_as_round_a_corner():
    stair = {"width": 1000, "headroom": 5400, "pitch_deg": 60}
    assert judge(leg("stairs", landing=1000, **stair)).result == "pass"
    assert judge(leg("stairs", landing=1000, **stair), length=2800).result == "fail"


def test_in_a_lift_it_stands_straight_or_from_corner_to_corner():
    lift = {"door_width": 1000, "door_height": 3000, "height": 3000, "capacity": 630}
    assert only(judge(leg("lift", width=1100, depth=2100, **lift)))["how"] == "straight"
    assert only(judge(leg("lift", width=1100, depth=2000, **lift), thickness=150))["how"] == "diagonal"
    assert only(judge(leg("lift", width=1100, depth=1400, **lift)))["passes"] is False


def test_a_lift_bears_panel_and_cart_together():
    lift = {"door_width": 1000, "door_height": 3000, "height": 3000, "width": 1100, "depth": 2100}
    assert judge(leg("lift", capacity=250, **lift)).result == "pass"
    verdict = judge(leg("lift", capacity=249, **lift))
    assert (finding(verdict, "mass").value, "without_its_cart" in ways(verdict)) == (250, True)
    unknown = judge(leg("lift", capacity=249, **lift), cart_mass=None)
    assert (unknown.result, unknown.missing[0]["what"]) == ("not_enough_data", "cart_mass")
    assert only(unknown)["passes"] is None
    assert judge(leg("lift", capacity=189, **lift), cart_mass=None).result == "fail"


def test_a_panel_nobody_weighed_still_gets_through_where_nothing_must_bear_it():
    verdict = judge(leg("corridor", width=600), mass=None, cart_mass=None)
    assert (verdict.result, only(verdict)["passes"]) == ("pass", True)


def test_a_lift_too_small_says_each_size_that_would_do_and_none_that_does():
    lift = {"door_width": 700, "door_height": 2950, "height": 2950, "capacity": 250}
    small = ways(judge(leg("lift", width=500, depth=1400, **lift)))["make_it_larger"]
    assert small == {"way": "make_it_larger", "depth_mm": 2100 * MM, "width_mm": 600 * MM}
    short = ways(judge(leg("lift", width=1000, depth=900, **lift)))["make_it_larger"]
    assert short == {"way": "make_it_larger", "width_mm": 2100 * MM}


def test_a_doorway_too_narrow_and_too_near_a_wall_says_both():
    """The room it asks for is that of a doorway already widened."""
    verdict = judge(leg("doorway", width=500, height=3000, room_before=900, room_after=9000))
    larger = ways(verdict)["make_it_larger"]
    assert larger["width_mm"] == 600 * MM
    widened = {"width": 600, "height": 3000, "room_after": 9000}
    assert judge(leg("doorway", room_before=larger["room_before_mm"] / MM, **widened)).result == "pass"
    assert judge(leg("doorway", room_before=larger["room_before_mm"] / MM - 0.001, **widened)).result == "fail"


# ---- which panel, where, and what would let it pass -----------------------------------------------------


def test_each_panel_brings_its_own_sizes_and_the_first_leg_that_stops_it_is_named():
    legs = [leg("corridor", "hall", width=1200), leg("corner", "the turn", in_width=1200, out_width=1200),
            leg("ceiling", "the beam", height=2000)]
    verdict = judge(*legs, panels=[{"panel": "A"}, {"panel": "B", "length": 2400}], height=1700)
    assert [(one["panel"], one["passes"], one["stops_at"]) for one in verdict.computed["panels"]] == [
        ("A", True, None), ("B", False, "the turn")]
    assert {f.where["panel"] for f in verdict.findings if f.within is False} == {"B"}


def test_turning_it_on_its_side_helps_where_its_height_is_less_than_its_length():
    verdict = judge(leg("corner", in_width=1200, out_width=1200), length=2700, height=2100)
    assert "turn_it" in ways(verdict)
    assert judge(leg("corner", in_width=1200, out_width=1200), length=2100, height=2700).result == "pass"


def test_the_nearest_help_comes_first():
    verdict = judge(leg("corner", in_width=1200, out_width=1200), length=2700, height=2900)
    assert finding(verdict, "length").remedy.code == "without_its_cart"


SIZES = st.integers(600, 3600)


@given(length=SIZES, height=st.integers(1800, 3300), thickness=st.integers(90, 800), a=SIZES, b=SIZES, h=SIZES,
       kind=st.sampled_from(["corridor", "corner", "doorway", "stairs", "ceiling", "lift"]))
def test_whatever_is_said_to_let_it_pass_does(length, height, thickness, a, b, h, kind):
    sizes = {"corridor": {"width": a, "height": h}, "corner": {"in_width": a, "out_width": b, "height": h},
             "doorway": {"width": a, "height": h, "room_before": b, "room_after": 9000}, "ceiling": {"height": h},
             "stairs": {"width": a, "headroom": h, "pitch_deg": 35, "landing": b},
             "lift": {"door_width": 1500, "door_height": h, "height": 3000, "width": a, "depth": b, "capacity": 240}}
    load = Load("A", length * MM, height * MM, thickness * MM, 250 * MM, 60 * MM, Fraction(190), Fraction(60))
    one = Leg("here", kind, {name: Fraction(v) if name in ("pitch_deg", "capacity") else v * MM
                             for name, v in sizes[kind].items()})
    limits = {"lean_most": Limit(15), "tight": Limit(None)}
    assume(any(f.within is False for f in route.checks(load, one, limits)))
    bare = load.bare()
    tried = {"turn_it": bare.turned() if kind == "stairs" else load.turned(), "without_its_cart": bare,
             "turn_it_without_its_cart": bare.turned()}
    offered = {way["way"]: way for way in route.ways_through(load, one, limits)}
    for name, other in tried.items():
        assert route.passes(other, one, limits) is (name in offered)
    for larger in larger_legs(one, offered.get("make_it_larger", {})):
        assert route.passes(bare if one.by_hand else load, larger, limits)


def larger_legs(one, way):
    """The leg made larger as said: each width of a corner by itself, and both together."""
    sizes = {name.rsplit("_", 1)[0]: size for name, size in way.items() if name != "way"}
    alone = {name: size for name, size in sizes.items() if name.endswith(("_alone", "_widths"))}
    plain = {name: size for name, size in sizes.items() if name not in alone}
    both = ("in_width", "out_width") if one.kind == "corner" else ("width", "landing")
    changes = [{each: size for each in (both if name == "both_widths" else (name.removesuffix("_alone"),))}
               for name, size in alone.items()] or [{}]
    return [Leg(one.name, one.kind, {**one.sizes, **plain, **change}) for change in changes if way]


def test_a_stair_too_narrow_says_how_wide_it_would_have_to_be():
    verdict = judge(leg("stairs", width=80, headroom=5400, pitch_deg=60))
    assert ways(verdict)["make_it_larger"]["width_mm"] == 90 * MM


def test_a_tight_passage_is_worth_a_second_look():
    verdict = judge(leg("corridor", width=620), limits={"tight": Limit(20 * MM)})
    assert (verdict.result, [look["why"] for look in verdict.second_look]) == ("pass", ["tight"])
    assert judge(leg("corridor", width=620.001), limits={"tight": Limit(20 * MM)}).second_look == ()


def test_a_load_thicker_than_long_is_kept_for_a_second_look():
    assert [look["why"] for look in judge(leg("corridor", width=1200), length=500).second_look] == [
        "more_than_its_length"]


# ---- what is not known, what cannot be ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "sizes", "what"),
    [
        ("corridor", {}, "width"), ("corner", {"in_width": 1200}, "out_width"), ("ceiling", {}, "height"),
        ("doorway", {"width": 1200, "height": 3000, "room_before": 3000}, "room_after"),
        ("stairs", {"width": 1200, "headroom": 6000}, "pitch_deg"),
        ("lift", {"door_width": 1200, "door_height": 3000, "width": 2000, "depth": 3000, "height": 3000}, "capacity"),
        ("lift", {"door_width": 1200, "door_height": 3000, "width": 2000, "capacity": 900, "height": 3000}, "depth"),
    ],
)
def test_a_leg_without_all_its_sizes_is_asked_for_them_and_passes_nothing(kind, sizes, what):
    verdict = judge(leg(kind, **sizes))
    assert (verdict.result, verdict.missing) == ("not_enough_data", ({"what": what, "leg": "the way in"},))
    assert only(verdict)["passes"] is None


@pytest.mark.parametrize("name", ["length", "height", "thickness", "cart_height"])
def test_a_load_without_all_its_sizes_is_asked_for_them(name):
    verdict = judge(leg("corridor", width=1200), **{name: None})
    assert verdict.result == "not_enough_data"
    assert verdict.missing == ({"what": name, "panel": None},)
    assert verdict.computed["panels"][0]["passes"] is None


def test_what_fails_on_what_is_known_fails_whatever_is_still_to_be_read():
    assert judge(leg("doorway", width=500, height=3000)).result == "fail"


def test_no_legs_are_no_way():
    verdict = judge()
    assert (verdict.result, verdict.missing) == ("not_enough_data", ({"what": "legs"},))


@pytest.mark.parametrize(
    ("legs", "load", "field"),
    [
        ([leg("corridor", width=0)], {}, "legs[0].sizes.width"),
        ([leg("corridor", width=-5)], {}, "legs[0].sizes.width"),
        ([leg("tunnel")], {}, "legs[0].kind"), ([leg("corridor", breadth=5)], {}, "legs[0].sizes.breadth"),
        ([leg("stairs", pitch_deg=80)], {}, "legs[0].sizes.pitch_deg"),
        ([leg("lift", capacity=0)], {}, "legs[0].sizes.capacity"), ([{"kind": "corridor"}], {}, "legs[0].name"),
        ([7], {}, "legs[0]"), ([], {"length": 0}, "load.length"), ([], {"length": 25_000}, "load.length"),
        ([], {"cart_height": -1}, "load.cart_height"), ([], {"bare_thickness": 700}, "load.bare_thickness"),
        ([], {"mass": 15000}, "load.mass"), ([], {"thickness": "6,5"}, "load.thickness"),
        ([], {"panels": [{"panel": "A"}, {"panel": "A"}]}, "panels[1].panel"),
        ([], {"panels": [{}]}, "panels[0].panel"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(legs, load, field):
    with pytest.raises(BadInput) as refused:
        judge(*legs, **load)
    assert refused.value.field == field


def test_neither_load_nor_panels_is_nothing_to_judge():
    with pytest.raises(BadInput, match="send the sizes of a load"):
        route.judge({"legs": []}, {})


@given(width=st.integers(500, 2000), more=st.integers(1, 500), height=st.integers(700, 3300))
def test_a_wider_or_higher_way_never_stops_what_went_through(width, more, height):
    sizes = {"room_before": 2500, "room_after": 2500}
    if judge(leg("doorway", width=width, height=height, **sizes)).result == "pass":
        assert judge(leg("doorway", width=width + more, height=height, **sizes)).result == "pass"
        assert judge(leg("doorway", width=width, height=height + more, **sizes)).result == "pass"
