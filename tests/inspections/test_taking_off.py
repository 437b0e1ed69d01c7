"""A unit's take-off: off the drawing, of the opening as it was measured, and what changed between the two."""

import datetime as dt
from dataclasses import replace

import pytest

from inspections.services.inspecting import record_inspection
from inspections.services.taking_off import materials, taken_off
from inspections.services.work import note_event
from jobs.models import OfficeSettings
from jobs.roles import Role
from tests.factories import MADE, MM, act_for, make_job, make_opening, make_system, make_unit, make_user

# A frame of 6000 by 3000 in a rough opening of 6020 by 3020: 10 mm beside it, 20 mm over the head.
JOINTS = [
    {"place": "head", "side": "outside", "rule": "seal", "width": "gap", "depth": "10 mm", "product": "Bead"},
    {"place": "lock-jamb", "side": "outside", "rule": "seal", "width": "gap", "depth": "10 mm", "product": "Bead"},
    {"place": "sill", "side": "inside", "rule": "seal", "leg": "10 mm", "product": "Bead"},
    {"place": "sill", "side": "outside", "rule": "never-seal"},
]
SYSTEM = {**MADE, "joints": JOINTS,
          "products": [{"name": "Bead", "cartridge_ml": 300, "waste_pct": 0, "source": "an invented sheet"}],
          "fasteners": [{"member": "head", "spacing_most": "400 mm", "edge_least": "150 mm", "fastener": "screw"}]}


@pytest.fixture
def office(db):
    OfficeSettings.objects.create(pk=1, shims=["1 mm", "2 mm"])
    return act_for(make_user(Role.OFFICE))


def unit_in(opening, **over):
    return make_unit(opening, "", **{"system": make_system(**SYSTEM), "panel_count": 3, "frame_width": 6000 * MM,
                                     "frame_height": 3000 * MM, "sill_length": 8000 * MM, **over})


@pytest.fixture
def unit(office):
    return unit_in(make_opening(rough_width=6020 * MM, rough_height=3020 * MM, pocket_side="right"))


def floor_of(*heights):
    line = [{"at": 250 * n, "reading": height} for n, height in enumerate(heights)]
    return {"unit": "mm", "stations": line, "sill_from": 0, "sill_to": 250 * (len(heights) - 1)}


def test_off_the_drawing_the_joints_are_as_wide_as_the_gap_round_the_frame(unit):
    drawn = taken_off(unit).drawn
    widths = {joint.place: joint.section.width for joint in drawn.asked.joints if hasattr(joint.section, "width")}
    assert widths == {"head": 20 * MM, "lock-jamb": 10 * MM}
    assert taken_off(unit).measured is None


def test_a_joint_never_to_be_sealed_is_listed_and_takes_nothing(unit):
    never = [joint for joint in taken_off(unit).drawn.asked.joints if joint.rule == "never-seal"]
    assert [(joint.place, joint.side, joint.length) for joint in never] == [("sill", "outside", 8000 * MM)]


def test_cartridges_are_what_the_joints_hold(unit):
    """By hand, mL: head 8000 x 20 x 10, jamb 3000 x 10 x 10, sill 8000 x 10 x 10 / 2: 2300 in all, of 300: eight."""
    needed = materials([unit])[0].sealant[0]
    assert (needed.cartridges, needed.product) == (8, "Bead")


def test_anchors_are_the_door_systems_schedule(unit):
    """By hand: 8000 - 2 * 150 is 19.25 times 400: twenty spaces, twenty-one anchors."""
    assert materials([unit])[0].anchors == {"screw": 21}


def test_once_the_floor_is_read_packing_is_of_this_floor(office, unit):
    record_inspection(office, unit.opening_id, "floor-profile", floor_of(0, -1, -3, 0))
    both = taken_off(unit)
    assert [station.packing for station in both.measured.asked.stations] == [0, MM, 3 * MM, 0]
    assert materials([unit])[0].shims == {2 * MM: 1, MM: 2}


def test_on_a_floor_that_was_poured_again_nothing_is_packed_by_the_old_one(office, unit):
    record_inspection(office, unit.opening_id, "floor-profile", floor_of(0, -1, -3, 0))
    note_event(office, unit.opening_id, "other-trades")
    assert taken_off(unit).measured is not None, "others in the opening leave the floor as it is"
    note_event(office, unit.opening_id, "re-pour")
    assert taken_off(unit).measured is None
    later = replace(office, now=office.now + dt.timedelta(hours=1))
    record_inspection(later, unit.opening_id, "floor-profile", floor_of(0, 0, -1, 0))
    assert [station.packing for station in taken_off(unit).measured.asked.stations] == [0, 0, MM, 0]


def test_once_the_opening_is_read_the_joints_are_of_this_opening_and_what_changed_is_said(office, unit):
    """16 mm wider at every tape: 18 mm beside the frame where the drawing says 10."""
    record_inspection(office, unit.opening_id, "rough-opening", {
        "unit": "mm", "widths": dict.fromkeys(("top", "middle", "bottom"), 6036),
        "heights": dict.fromkeys(("left", "middle", "right"), 3020)})
    both = taken_off(unit)
    jamb = next(joint for joint in both.measured.asked.joints if joint.place == "lock-jamb")
    assert jamb.section.width == 18 * MM
    assert [(line["what"], line["was"], line["now"]) for line in both.changed()] == [("cartridges", 8, 9)]


def test_a_joint_whose_section_nobody_knows_is_left_out_and_named(unit):
    unit.opening.rough_height = None
    assert taken_off(unit).drawn.left_out == ({"place": "head", "side": "outside"},)


def test_a_frame_larger_than_its_opening_leaves_no_gap_to_seal(unit):
    unit.opening.rough_width = 5990 * MM
    assert {"place": "lock-jamb", "side": "outside"} in taken_off(unit).drawn.left_out


def test_two_ways_there_are_two_interlocks_and_no_lock_jamb(office):
    joints = [{"place": place, "side": "outside", "rule": "seal", "leg": "10 mm", "product": "Bead"}
              for place in ("interlock", "lock-jamb")]
    unit = unit_in(make_opening(pocket_side="both"), ways="two-way", system=make_system(**{**SYSTEM, "joints": joints}))
    drawn = taken_off(unit).drawn
    assert [(joint.place, joint.length) for joint in drawn.asked.joints] == [("interlock", 6000 * MM)]
    assert drawn.left_out == (), "a lock jamb that it does not have lacks nothing"


def test_each_interlock_of_a_two_way_door_is_fixed_from_its_own_ends(office):
    """By hand: 3000 - 2 * 150 is 5.4 times 500: six spaces, seven anchors in each; end to end, thirteen in both."""
    schedule = [{"member": "interlock", "spacing_most": "500 mm", "edge_least": "150 mm", "fastener": "screw"}]
    unit = unit_in(make_opening(pocket_side="both"), ways="two-way", system=make_system(**{
        **SYSTEM, "fasteners": schedule}))
    anchored = taken_off(unit).drawn.verdict.computed["members"]
    assert [(one["member"], one["length_mm"], one["count"]) for one in anchored] == [
        ("interlock left", 3000 * MM, 7), ("interlock right", 3000 * MM, 7)]


def test_without_a_door_system_it_says_what_to_give_first(office):
    refused = taken_off(unit_in(make_opening(), system=None)).drawn.refused
    assert refused.field == "system"


def test_a_jobs_units_are_added_up_and_one_of_which_nothing_is_known_is_named(office):
    job = make_job()
    rough = {"rough_width": 6020 * MM, "rough_height": 3020 * MM, "pocket_side": "right"}
    two = [unit_in(make_opening(job, **rough)) for _ in range(2)]
    bare = unit_in(make_opening(job), system=None)
    needed, unknown = materials([*two, bare])
    assert needed.sealant[0].cartridges == 16
    assert needed.anchors == {"screw": 42}
    assert unknown == (bare,)


def test_a_jobs_material_takes_as_many_queries_for_ten_openings_as_for_twenty(office, django_assert_num_queries):
    job = make_job()
    units = [unit_in(make_opening(job, rough_width=6020 * MM, rough_height=3020 * MM)) for _ in range(20)]
    for unit in units:
        record_inspection(office, unit.opening_id, "floor-profile", floor_of(0, -1, -3, 0))
    for some in (units[:10], units):
        with django_assert_num_queries(2):
            materials(some)
