"""Materials: several units added up for a job, and what changed since."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.exact import every_limit
from jobs.calc.verdict import Limit
from units.calc import takeoff
from units.calc.materials import add_up, changes, take_off
from units.calc.takeoff_sent import read_asked

INCH, MM = 25_400_000, 1_000_000
LIMITS = every_limit(takeoff.LIMITS, {"waste": Limit(10), "anchor_spacing": Limit(16 * INCH),
                                      "anchor_edge": Limit(6 * INCH)})
UNIT = {
    "joints": [{"place": "head", "length": 4000, "width": 12, "depth": 6, "product": "P"},
               {"place": "sill", "side": "inside", "length": 4000, "leg": 10, "product": "P"}],
    "products": {"P": {"cartridge_ml": 300}},
    "members": [{"name": "head", "length": 4000}],
    "anchors": {"fastener": "screw"},
    "stations": [{"at": 0, "packing": "3/16"}, {"at": 300, "packing": "1/4"}],
    "shims": ["1/16", "1/8"],
}


def joint(**more):
    return UNIT["joints"][0] | more


def made(**more):
    return take_off(read_asked(UNIT | more, LIMITS))


def test_an_opened_cartridge_is_not_counted_on_at_the_next_opening():
    """Head 288 and sill 200 mL: 536.8 with waste is two of 300 for each of three units, 6; in one go 1610.4 takes 6."""
    added = add_up([made(), made(), made()]).sealant[0]
    assert (added.cartridges, added.in_one_go, added.volume) == (6, 6, 3 * 488)
    ten = add_up([made()] * 10).sealant[0]
    assert (ten.cartridges, ten.in_one_go) == (20, 18)


def test_anchors_and_shims_of_several_units_are_added_up():
    other = made(members=[{"name": "head", "length": "96 in", "fastener": "bolt"}])
    added = add_up([made(), other])
    assert added.anchors == {"screw": 11, "bolt": 7}
    assert added.shims == {2 * 1_587_500: 6, 1_587_500: 2}


def test_one_unit_added_up_is_that_unit():
    one, added = takeoff.judge(UNIT, LIMITS).computed, add_up([made()]).as_computed()
    assert (added["anchors"], added["shims"]) == (one["anchors"], one["shims"])
    assert added["sealant"][0]["cartridges"] == one["sealant"][0]["cartridges"] == 2


def test_no_units_take_nothing():
    assert add_up([]).as_computed() == {"sealant": [], "anchors": [], "shims": [], "short": ()}


def test_two_sizes_of_cartridge_are_two_lines_and_what_is_not_known_is_none():
    sizes = [made(products={"P": {"cartridge_ml": ml, "movement_pct": 50}}) for ml in (300, 600, None)]
    added = add_up(sizes).sealant
    assert [(one.cartridge, one.cartridges) for one in added] == [(300, 2), (600, 1), (None, None)]


@pytest.mark.parametrize("more", [
    {"joints": [joint(product=None)]}, {"products": {"P": {}}}, {"shims": []},
])
def test_a_unit_that_leaves_something_out_of_the_sums_is_pointed_at(more):
    assert add_up([made(), made(**more), made()]).short == (1,)


def test_a_member_without_its_spacing_leaves_its_anchors_out_and_says_so():
    unset = take_off(read_asked(UNIT, every_limit(takeoff.LIMITS, {"waste": Limit(10)})))
    added = add_up([made(), unset])
    assert (added.anchors, added.short) == ({"screw": 11}, (1,))


def test_a_wall_without_its_clearance_leaves_nothing_out_of_the_sums():
    assert add_up([made(wall={"board": 15.9, "stud": 38.1})]).short == ()


@given(st.lists(st.tuples(st.integers(1, 9000), st.integers(6, 20)), min_size=1, max_size=5))
def test_a_job_takes_no_fewer_cartridges_than_its_volume_and_no_more_than_one_opened_at_each_unit(sizes):
    units = [made(joints=[joint(length=length, width=width)]) for length, width in sizes]
    added = add_up(units).sealant[0]
    assert added.in_one_go <= added.cartridges < added.in_one_go + len(units)
    assert added.volume == sum(Fraction(length * width * 6, 1000) for length, width in sizes)


# ---- what changed ---------------------------------------------------------------------------------------


def test_a_floor_read_since_changes_the_shims_and_nothing_else():
    read = made(stations=[{"at": 0, "packing": "1/8"}, {"at": 300, "packing": "1/4"}])
    assert changes(add_up([made()]), add_up([read])) == (
        {"what": "shims", "thickness_mm": 1_587_500, "was": 1, "now": 0},)


def test_a_wider_opening_changes_cartridges_and_anchors():
    wider = made(joints=[joint(length=8000), UNIT["joints"][1]], members=[{"name": "head", "length": 5000}])
    found = changes(add_up([made()]), add_up([wider]))
    assert found == (
        {"what": "cartridges", "product": "P", "cartridge_ml": "300.000", "was": 2, "now": 3},
        {"what": "anchors", "fastener": "screw", "was": 11, "now": 13})


def test_what_was_not_there_was_nought_and_what_is_not_known_is_none():
    unknown = made(products={"P": {}}, members=[], stations=[])
    assert changes(add_up([]), add_up([unknown])) == (
        {"what": "cartridges", "product": "P", "cartridge_ml": None, "was": 0, "now": None},)


def test_nothing_changed_is_nothing_to_show():
    assert changes(add_up([made()]), add_up([made()])) == ()
