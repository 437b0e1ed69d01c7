"""Take-off: what a unit takes, and what is judged of it."""

import copy
import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.exact import every_limit
from jobs.calc.verdict import RESULTS, BadInput, Limit, printed
from tests.verdicts import limits_of, unlike, vectors
from units.calc import takeoff
from units.calc.sealant import Joint, Rectangle
from units.calc.takeoff_sent import Asked

INCH, MM = 25_400_000, 1_000_000
VECTORS = [pytest.param(row, id=row["name"]) for row in vectors("take-off")]
JUDGED = [one for one in VECTORS if "expect" in one.values[0]]
REFUSED = [one for one in VECTORS if "error" in one.values[0]]
LIMITS = {
    "joint_width_least": Limit(6 * MM), "joint_depth_least": Limit(6 * MM), "joint_depth_most": Limit(13 * MM),
    "joint_depth_of_width": Limit(50), "waste": Limit(10), "anchor_spacing": Limit(16 * INCH),
    "anchor_edge": Limit(6 * INCH), "clearance": Limit(6 * MM), "temperature_range": Limit(50),
}
UNIT = {
    "joints": [
        {"place": "head", "side": "outside", "rule": "seal", "length": 4000, "width": 12, "depth": 6, "product": "P"},
        {"place": "sill", "side": "inside", "rule": "seal", "length": 4000, "leg": 10, "product": "P"},
        {"place": "sill", "side": "outside", "rule": "never-seal", "length": 4000},
    ],
    "products": {"P": {"cartridge_ml": 300, "movement_pct": 50, "source": "an invented data sheet"}},
    "movement": {"expansion_per_c": 23, "length": 4000, "tolerance": 2},
    "members": [{"name": "head", "length": 4000}],
    "anchors": {"fastener": "screw"},
    "stations": [{"at": 0, "packing": "3/16"}, {"at": 300, "packing": "1/4"}],
    "shims": ["1/16", "1/8"],
    "wall": {"board": 15.9, "stud": 38.1, "fasteners": [32, 64]},
}


def unit(**more):
    return copy.deepcopy(UNIT) | more


def judge(limits=LIMITS, **more):
    return takeoff.judge(unit(**more), limits)


def finding(verdict, quantity):
    return next(f for f in verdict.findings if f.quantity == quantity)


def joint(**more):
    return {"place": "head", "length": 4000, "width": 12, "depth": 6, "product": "P"} | more


@pytest.mark.parametrize("row", JUDGED)
def test_each_vector_gets_the_verdict_it_expects(row):
    actual = takeoff.judge(row["given"], limits_of(row, takeoff.LIMITS)).as_dict()
    assert unlike(row["expect"], actual) == []
    assert actual["result"] in RESULTS


@pytest.mark.parametrize("row", REFUSED)
def test_each_vector_that_cannot_be_is_refused_by_the_field_it_names(row):
    with pytest.raises(BadInput) as refused:
        takeoff.judge(row["given"], limits_of(row, takeoff.LIMITS))
    assert refused.value.field == row["error"]["field"]


def test_a_whole_unit_passes_and_its_answer_is_json():
    verdict = judge()
    assert verdict.result == "pass"
    assert json.loads(json.dumps(verdict.as_dict()))["computed"]["sealant"][0]["cartridges"] == 2


def test_a_joint_that_must_not_be_sealed_is_listed_as_such_without_a_volume():
    listed = judge().as_dict()["computed"]["joints"][2]
    assert (listed["place"], listed["side"], listed["rule"], listed["volume_ml"], listed["product"]) == (
        "sill", "outside", "never-seal", None, None)


def test_joints_that_are_never_sealed_change_no_cartridge():
    with_them, without = (judge(joints=UNIT["joints"][:n]).computed["sealant"] for n in (3, 2))
    assert with_them == without


def test_neither_a_fillet_nor_a_joint_never_sealed_is_judged_by_width():
    judged = {(f.where["place"], f.where["side"]) for f in judge().findings if "joint" in f.quantity}
    assert judged == {("head", "outside")}


def test_a_joint_never_sealed_is_not_judged_even_where_its_gap_is_known():
    gap = Joint("sill", "outside", "never-seal", 4000 * MM, Rectangle(MM, MM))
    verdict = takeoff.judge_take_off(Asked(joints=(gap,)), every_limit(takeoff.LIMITS, LIMITS))
    assert (verdict.result, verdict.findings) == ("pass", ())


def test_no_limit_at_all_never_passes_a_joint_or_a_wall():
    assert judge(limits={}, movement=None, members=[]).result == "not_enough_data"
    only_joint = {"joints": [joint()], "products": {"P": {"cartridge_ml": 300, "waste_pct": 0}}}
    assert takeoff.judge(only_joint, {}).result == "no_limit_set"


def test_a_joint_too_narrow_says_how_wide_or_how_much_more_the_sealant_must_move():
    """2 (23e-6 x 4000 x 50 + 0) + 2 = 11.2 mm, checked by hand; at 10 mm: 100 x 4.6 / 8 = 57.5 %."""
    verdict = judge(joints=[joint(width=10)])
    failed = finding(verdict, "joint_width_for_movement").as_dict()
    assert (verdict.result, failed["limit_mm"], failed["source"]) == ("fail", "11.200000", "an invented data sheet")
    assert failed["remedy"] == {"code": "widen_the_joint",
                                "values": {"width_mm": "11.200000", "or_movement_pct": "57.5"}}


@given(st.integers(6, 15), st.integers(1, 40), st.integers(1, 8000), st.integers(1, 9))
def test_what_a_joint_too_narrow_is_told_is_enough(width, millionths, length, tolerance):
    moves = {"expansion_per_c": millionths, "length": length, "tolerance": tolerance}
    stiff = {"P": {"cartridge_ml": 300, "movement_pct": 37}}
    findings = judge(joints=[joint(width=width)], movement=moves, products=stiff)
    told = finding(findings, "joint_width_for_movement").remedy
    if told is None:
        return
    wide = f"{printed(told.values['width_mm'], 'mm')} mm"
    wider = judge(joints=[joint(width=wide)], movement=moves, products=stiff)
    assert finding(wider, "joint_width_for_movement").within
    if told.values.get("or_movement_pct", 1000) <= 200:
        other = {"P": {"cartridge_ml": 300, "movement_pct": float(told.values["or_movement_pct"])}}
        better = judge(joints=[joint(width=width)], movement=moves, products=other)
        assert finding(better, "joint_width_for_movement").within


def test_degrees_fahrenheit_and_celsius_come_to_the_same_width():
    one, other = (
        judge(joints=[joint()], movement={"length": 4000, "tolerance": 2, **moves}).computed["joints"][0]
        for moves in ({"expansion_per_f": 3.6, "range_c": "90 F"}, {"expansion_per_c": 6.48, "range_c": 50}))
    assert one["width_for_movement_mm"] == other["width_for_movement_mm"] == Fraction("4.592") * MM


def test_the_range_of_temperature_that_nobody_gave_is_the_limits():
    asked = judge(joints=[joint()], movement={"expansion_per_c": 23, "length": 4000, "tolerance": 2, "range_c": 25})
    assert asked.computed["joints"][0]["width_for_movement_mm"] == Fraction("6.6") * MM
    assert judge(joints=[joint()]).computed["joints"][0]["width_for_movement_mm"] == Fraction("11.2") * MM


def test_a_joint_has_its_own_movement_or_none():
    own = judge(joints=[joint(movement={"length": 2000}), joint(place="sill", movement=False)]).computed["joints"]
    assert [one["width_for_movement_mm"] for one in own] == [Fraction("6.6") * MM, None]


def test_a_product_says_its_own_waste_before_the_limit():
    own = {"P": {"cartridge_ml": 300, "waste_pct": 25, "movement_pct": 50}}
    assert judge(products=own).computed["sealant"][0]["waste_pct"] == 25
    assert judge().computed["sealant"][0]["waste_pct"] == 10


def test_a_joint_without_a_product_is_asked_for_one():
    verdict = judge(joints=[joint(product=None)], movement=None)
    assert (verdict.result, verdict.missing) == ("not_enough_data", ({"what": "product", "place": "head", "side": ""},))


def test_a_joint_that_fails_is_a_fail_whatever_is_missing():
    assert judge(joints=[joint(product=None, width=3)], movement=None).result == "fail"


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"joints": [joint(), joint()]}, "listed_twice"),
        ({"joints": [joint(width=12, depth=13)]}, "deeper_than_wide"),
        ({"products": {"P": {"cartridge_ml": 300, "waste_pct": 51, "movement_pct": 50}}}, "more_than_half_wasted"),
        ({"members": [{"name": "return", "length": 200}]}, "one_anchor_only"),
        ({"stations": [{"at": 0, "packing": 51}]}, "very_thick"),
    ],
)
def test_what_is_improbable_is_kept_for_a_second_look(more, why):
    assert [look["why"] for look in judge(**more).second_look] == [why]


def test_the_same_joint_once_each_side_is_nothing_odd():
    assert judge(joints=[joint(side="inside"), joint(side="outside")]).second_look == ()


def test_the_wall_that_hides_the_panels_comes_with_its_caution():
    assert judge().caution == "nothing_longer_into_the_pocket_wall"
    assert judge(wall=None).caution is None


def test_a_long_fastener_may_stay_in_its_box_but_must_not_be_the_one_used():
    wall = UNIT["wall"]
    assert judge().result == "pass"
    failed = finding(judge(wall=wall | {"longest": 64}), "longest_fastener")
    assert (failed.within, failed.remedy.values) == (False, {"longest_mm": 48 * MM, "at_hand_mm": 32 * MM})


def test_nothing_may_be_driven_into_a_wall_that_the_clearance_takes_up():
    verdict = judge(wall={"board": 10, "stud": 20, "clearance": 31, "fasteners": [1]})
    assert (verdict.result, verdict.computed["wall"]["longest_allowed_mm"]) == ("fail", 0)


# ---- properties -----------------------------------------------------------------------------------------


@given(st.integers(1, 20_000), st.integers(1, 20_000))
def test_a_longer_member_never_takes_fewer_anchors(one, other):
    short, long = (judge(members=[{"name": "m", "length": size}]).computed["anchors"][0]["count"]
                   for size in sorted((one, other)))
    assert short <= long


@given(st.permutations(UNIT["joints"]))
def test_the_order_of_joints_changes_no_cartridge(joints):
    assert judge(joints=joints).computed["sealant"] == judge().computed["sealant"]


# ---- what cannot be -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"joints": [joint(length=-1)]}, "joints[0].length"),
        ({"joints": [joint(length="4,000")]}, "joints[0].length"),
        ({"joints": [joint(length=None)]}, "joints[0].length"),
        ({"joints": [joint(length=100_001)]}, "joints[0].length"),
        ({"joints": [joint(width=0)]}, "joints[0].width"),
        ({"joints": [joint(depth=None)]}, "joints[0].depth"),
        ({"joints": [joint(width=None)]}, "joints[0].width"),
        ({"joints": [joint(width=None, depth=None)]}, "joints[0].width"),
        ({"joints": [joint(width=301)]}, "joints[0].width"),
        ({"joints": [joint(rule="perhaps")]}, "joints[0].rule"),
        ({"joints": [joint(place="")]}, "joints[0].place"),
        ({"joints": [joint(place="x" * 61)]}, "joints[0].place"),
        ({"joints": [joint(side=5)]}, "joints[0].side"),
        ({"joints": [joint(product=["P"])]}, "joints[0].product"),
        ({"joints": "head"}, "joints"),
        ({"joints": [5]}, "joints[0]"),
        ({"joints": [joint()] * 501}, "joints"),
        ({"joints": [joint(width=None, depth=None, leg=6, movement={"length": 1})]}, "joints[0].movement"),
        ({"joints": [joint(movement={"length": 0})]}, "joints[0].movement.length"),
        ({"movement": {"expansion_per_c": 23, "expansion_per_f": 12}}, "movement.expansion_per_f"),
        ({"movement": {"expansion_per_c": -1}}, "movement.expansion_per_c"),
        ({"movement": {"range_c": "95 X"}}, "movement.range_c"),
        ({"movement": {"other_share": 2}}, "movement.other_share"),
        ({"products": {"P": {"cartridge_ml": "-10 ml"}}}, "products.P.cartridge_ml"),
        ({"products": {"P": {"cartridge_ml": "10 oz"}}}, "products.P.cartridge_ml"),
        ({"products": {"P": {"cartridge_ml": 20_001}}}, "products.P.cartridge_ml"),
        ({"products": {"P": {"movement_pct": 0}}}, "products.P.movement_pct"),
        ({"products": {"P": {"waste_pct": "ten"}}}, "products.P.waste_pct"),
        ({"products": {"": {}}}, "products"),
        ({"products": []}, "joints[0].product"),
        ({"members": [{"name": "m", "length": 0}]}, "members[0].length"),
        ({"members": [{"length": 10}]}, "members[0].name"),
        ({"members": [{"name": "m", "length": 10, "edge_least": -1}]}, "members[0].edge_least"),
        ({"members": [{"name": "m", "length": 10, "spacing_most": 0}]}, "members[0].spacing_most"),
        ({"members": [{"name": "m", "length": 90_000, "spacing_most": 50}] * 6}, "members"),
        ({"anchors": {"spacing_most": 49.9}}, "anchors.spacing_most"),
        ({"stations": [{"at": 0, "packing": -1}]}, "stations[0].packing"),
        ({"stations": [{"at": 0}]}, "stations[0].packing"),
        ({"stations": [{"at": 0, "packing": 1}, {"at": 0, "packing": 2}]}, "stations[1].at"),
        ({"shims": [0]}, "shims[0]"),
        ({"shims": [1, 1]}, "shims[1]"),
        ({"shims": [1.000001, 1]}, "shims"),
        ({"wall": {"board": 15.9}}, "wall.stud"),
        ({"wall": {"board": 15.9, "stud": 0}}, "wall.stud"),
        ({"wall": {"board": 15.9, "stud": 38.1, "fasteners": [0]}}, "wall.fasteners[0]"),
        ({"wall": {"board": -1, "stud": 38.1}}, "wall.board"),
        ({"unit": "cm"}, "unit"),
    ],
)
def test_what_cannot_be_is_refused_by_the_field_it_stands_in(more, field):
    with pytest.raises(BadInput) as refused:
        judge(**more)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("limits", "field"),
    [
        ({"anchor_spacing": Limit(0)}, "limits.anchor_spacing"),
        ({"joint_depth_least": Limit(14 * MM)}, "limits.joint_depth_least"),
    ],
)
def test_limits_that_cannot_be_are_refused_too(limits, field):
    with pytest.raises(BadInput) as refused:
        judge(limits=LIMITS | limits)
    assert refused.value.field == field


def every_place(value, path=()):
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from every_place(inner, (*path, key))


WRONG = [None, True, -1, 0, "", "nonsense", [], {}, [[]], {"a": None}, float("nan"), float("inf"), 10**400, "9" * 70,
         "🚪" * 300]


@pytest.mark.parametrize("path", [path for path in every_place(UNIT) if path], ids=str)
def test_whatever_stands_in_a_field_is_judged_or_refused_and_nothing_else(path):
    for wrong in WRONG:
        sent = unit()
        inner = sent
        for key in path[:-1]:
            inner = inner[key]
        inner[path[-1]] = wrong
        try:
            assert takeoff.judge(sent, LIMITS).as_dict()["result"] in RESULTS
        except BadInput as refused:
            assert refused.field and refused.right
