"""The set frame: sill and head, members, rollers, and the head watched as its load comes on."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from inspections.calc import frame, head, members
from jobs.calc.lengths import INCH, to_mm
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import BadInput, Limit
from tests.verdicts import limits_of, unlike, vectors

VECTORS = vectors("frame")
JUDGED = [v for v in VECTORS if "expect" in v]
REFUSED = [v for v in VECTORS if "error" in v]
MM = 1_000_000

LIMITS = {name: Limit(INCH // 8) for name in frame.LIMITS} | {
    "sill_rise_in_a_foot": Limit(INCH // 16),
    "window": Limit(12 * INCH),
    "widest_spacing": Limit(None),
    "sill_across": Limit(INCH // 32),
    "roller_travel": Limit(10 * MM),
    "roller_spacing": Limit(1910 * MM),
    "left_above_panels": Limit(0),
}


def text(nm):
    return f"{to_mm(nm)} mm"


def stations(points):
    return [{"at": text(at), "reading": text(h)} for at, h in points]


def by_quantity(verdict):
    return {finding.quantity: finding for finding in verdict.findings}


@pytest.mark.parametrize("vector", JUDGED, ids=[v["name"] for v in JUDGED])
def test_it_judges_a_frame(vector):
    verdict = frame.judge(vector["given"], limits_of(vector, frame.LIMITS)).as_dict()
    assert unlike(vector["expect"], verdict) == []


@pytest.mark.parametrize("vector", REFUSED, ids=[v["name"] for v in REFUSED])
def test_it_names_the_field_of_what_cannot_be(vector):
    with pytest.raises(BadInput) as refused:
        frame.judge(vector["given"], limits_of(vector, frame.LIMITS))
    assert refused.value.field == vector["error"]["field"]


def test_readings_are_kept_as_they_were_read_even_off_a_rod():
    payload = {
        "unit": "mm", "read_as": "down_from_level", "sill": [{"at": 0, "reading": 100}], "end_gaps": {"right": 9},
        "members": {"interlock": {"face": -2, "height": 3000}},
        "watch": {"readings": [{"when": "frame_set", "gaps": [{"at": 5, "reading": 3000}]}]},
    }
    assert frame.readings(payload) == (
        ReadingValue("sill_outer", 100 * MM, 0),
        ReadingValue("end_gaps_right", 9 * MM),
        ReadingValue("interlock_face", -2 * MM, 3000 * MM),
        ReadingValue("head_less_sill_frame_set", 3000 * MM, 5 * MM),
    )


# ---- checked against something outside ---------------------------------------------------------------------


def test_a_limit_is_held_against_the_number_it_names():
    # A line of 0 1 0 1 on a slope: its range is not its minimum zone (hand case: minimum zone 1)
    points = [(i * MM, 3000 * MM + (i % 2) * MM + i * MM) for i in range(4)]
    verdict = frame.judge({"head": stations(points), "parts": ["head"]}, LIMITS)
    found = by_quantity(verdict)
    assert (found["head_level"].value, found["head_level"].where["measure"]) == (4 * MM, "range")
    assert (found["head_flat"].value, found["head_flat"].where["measure"]) == (MM, "minimum_zone")
    shown = verdict.computed["head"]["outer"]
    assert shown["least_squares_mm"] not in (shown["range_mm"], shown["minimum_zone_mm"])


LINE = st.lists(st.tuples(st.integers(1, 900), st.integers(-4000, 4000)), min_size=3, max_size=12).map(
    lambda steps: [(sum(s for s, _ in steps[: i + 1]) * MM, h * 1000) for i, (_, h) in enumerate(steps)]
)


@given(LINE)
def test_the_head_is_as_flat_as_a_linear_program_says(points):
    # minimise t with -t/2 <= h - a x - b <= t/2, by scipy's HiGHS
    found = by_quantity(frame.judge({"head": stations(points), "parts": ["head"]}, LIMITS))["head_flat"]
    x = np.array([at / points[-1][0] for at, _ in points])
    h = np.array([h / MM for _, h in points])
    one = np.ones_like(x)
    rows = np.vstack([np.column_stack([-x, -one, -one / 2]), np.column_stack([x, one, -one / 2])])
    best = linprog([0, 0, 1], A_ub=rows, b_ub=np.concatenate([-h, h]), bounds=[(None, None)] * 2 + [(0, None)])
    assert float(found.value) / MM == pytest.approx(best.fun, abs=1e-5)


def test_the_rollers_turn_a_panel_by_what_its_jamb_leans():
    # worked example: 1/8 in over 10 ft with rollers 1910 mm apart takes 1.99 mm; scipy's rotation turns the panel back
    jamb = members.Member(height=120 * INCH, edge=INCH // 8)
    use = members.roller_use({"lock_jamb": jamb}, (), 1910 * MM)["lock_jamb"]
    assert round(float(use) / MM, 2) == 1.99
    turned = Rotation.from_euler("z", -math.asin(float(use) / (1910 * MM))).apply([0, 120 * INCH, 0])
    assert turned[0] == pytest.approx(INCH / 8, abs=1)


def test_a_head_of_forty_feet_at_span_over_720_may_come_down_by_16_9_millimetres():
    # worked example of the calculation
    watch = head.read({"readings": [], "deflection_allowed": {"span": "40'", "divided_by": 720}}, "in")
    assert round(float(watch.deflection_allowed) / MM, 1) == 16.9


@pytest.mark.parametrize(("each", "deviation"), [
    # propagation: two gaps sqrt(2), one gap and two heights sqrt(3), four heights 2 of one reading's
    ((1, 1), 1_414_000), ((1, 2), 1_732_000), ((2, 2), 2_000_000),
])
def test_a_drop_deviates_by_the_readings_it_is_made_of(each, deviation):
    visits = tuple(head.Visit("frame_set", ((0, 0),), n) for n in each)
    assert head.Watch(visits, reading_deviation=MM).drop_deviation == deviation


# ---- properties --------------------------------------------------------------------------------------------


def whole(points, hung, jambs=((1, 1), (-1, 2))):
    names = ("lock_jamb", "interlock")
    plumb = {n: {"edge": e, "face": f, "bow": 0, "height": 3000} for n, (e, f) in zip(names, jambs, strict=True)}
    return {"unit": "mm", "sill": {"stations": stations(points), "inner": stations(points)}, "head": stations(hung),
            "members": plumb, "end_gaps": {"left": 3, "right": 4}, "head_over_sill": {"left": 1, "right": 0}}


@given(LINE, LINE, st.integers(-(10**9), 10**9), st.integers(-(10**9), 10**9))
def test_raising_everything_on_a_line_by_a_constant_changes_no_finding(points, hung, up, higher):
    raised = frame.judge(whole([(x, h + up) for x, h in points], [(x, h + higher) for x, h in hung]), LIMITS)
    as_read = frame.judge(whole(points, hung), LIMITS)
    assert raised.result == as_read.result
    assert raised.findings == as_read.findings


@given(LINE, st.integers(-3, 3))
def test_tilting_a_head_leaves_it_as_flat_as_it_was(points, slope):
    tilted = [(x, h + slope * (x // 1000)) for x, h in points]
    flat, still = (by_quantity(frame.judge({"head": stations(p), "parts": ["head"]}, LIMITS)) for p in (points, tilted))
    assert flat["head_flat"].value == still["head_flat"].value
    assert still["head_flat"].value <= still["head_level"].value


@given(LINE, LINE)
def test_a_frame_read_from_the_other_end_is_judged_alike(points, hung):
    far = max(points[-1][0], hung[-1][0])
    turned = [[(far - x, h) for x, h in reversed(line)] for line in (points, hung)]
    one, other = (by_quantity(frame.judge(whole(*lines), LIMITS)) for lines in ((points, hung), turned))
    for quantity in ("sill_level", "sill_rise_in_a_foot", "sill_across", "head_level", "head_flat", "head_parallel"):
        assert (quantity in one) == (quantity in other)
        if quantity in one:
            assert one[quantity].value == other[quantity].value


@given(LINE, st.lists(st.integers(2000_000, 2010_000), min_size=12, max_size=12))
def test_gaps_tell_the_same_of_parallel_as_the_heights_of_both(points, gaps):
    taped = [(x, gap * 1000) for (x, _), gap in zip(points, gaps, strict=False)]
    hung = [(x, h + gap) for (x, h), (_, gap) in zip(points, taped, strict=True)]
    sill = {"sill": stations(points), "parts": ["head"]}
    by_gap, by_height = (by_quantity(frame.judge(sill | more, LIMITS)) for more in (
        {"gaps": stations(taped)}, {"head": stations(hung)}))
    for quantity in ("head_parallel", "head_level", "head_flat"):
        assert by_gap[quantity].value == by_height[quantity].value


@given(LINE, LINE)
def test_nothing_is_compared_outside_the_readings(points, hung):
    assume(points[-1][0] >= hung[0][0] and hung[-1][0] >= points[0][0])
    found = by_quantity(frame.judge({"sill": stations(points), "head": stations(hung), "parts": ["head"]}, LIMITS))
    start, end = max(points[0][0], hung[0][0]), min(points[-1][0], hung[-1][0])
    where = found["head_parallel"].where
    assert start <= where["least_at_mm"] <= end
    assert start <= where["most_at_mm"] <= end


offsets = st.integers(-8, 8)


@given(offsets, offsets, offsets, offsets)
def test_mirrored_members_ask_the_same_of_the_rollers(edge, face, other_edge, other_face):
    level = [(0, 0), (MM, 0), (2 * MM, 0)]
    one = frame.judge(whole(level, level, ((edge, face), (other_edge, other_face))), LIMITS)
    other = frame.judge(whole(level, level, ((-edge, face), (-other_edge, other_face))), LIMITS)
    for quantity in ("roller_use", "members_apart", "member_plumb_lock_jamb"):
        assert by_quantity(one)[quantity].value == by_quantity(other)[quantity].value


@given(offsets, offsets)
def test_members_are_apart_by_at_most_what_both_lean(edge, other):
    apart = members.apart({"lock_jamb": members.Member(3000, edge=edge), "interlock": members.Member(3000, edge=other)})
    assert apart == {"edge": edge - other}


@given(st.lists(st.integers(-9_000_000, 9_000_000), min_size=1, max_size=8), st.integers(0, 30), st.integers(0, 10))
def test_what_is_left_falls_by_the_worst_drop_and_nothing_else(drops, clearance, planned):
    before = [(i * MM, 3 * 10**9) for i in range(len(drops))]
    after = [(at, h - drop) for (at, h), drop in zip(before, drops, strict=True)]
    days = (("frame_set", before), ("callback", after))
    watch = {"readings": [{"when": when, "gaps": stations(gaps)} for when, gaps in days],
             "panel_clearance": clearance, "planned_raise": planned, "deflection_allowed": 2, "reading_deviation": 1}
    verdict = frame.judge({"unit": "mm", "parts": ["watch"], "watch": watch}, LIMITS)
    left = by_quantity(verdict)["left_above_panels"]
    assert left.value == (clearance - planned - 2) * MM - max(drops)
    assert verdict.result == ("pass" if left.value >= 0 else "fail")
    assert verdict.caution == "structure_is_referred"


# ---- what an inspection asks for, and what it does not -------------------------------------------------------


def test_only_the_sill_again_asks_for_nothing_else():
    level = stations([(0, 0), (MM, 0), (2 * MM, 0)])
    verdict = frame.judge({"parts": ["sill"], "sill": {"stations": level, "inner": level}}, LIMITS)
    assert (verdict.result, verdict.missing) == ("pass", ())
    assert [f.quantity for f in verdict.findings] == ["sill_level", "sill_rise_in_a_foot", "sill_across"]


def test_what_was_read_is_judged_though_it_was_not_asked_for():
    verdict = frame.judge({"unit": "mm", "parts": [], "end_gaps": {"left": 20, "right": 10}}, LIMITS)
    assert [(f.quantity, f.within) for f in verdict.findings] == [("end_gaps", False)]


def test_a_part_that_fails_is_a_fail_whatever_is_missing():
    verdict = frame.judge({"unit": "mm", "end_gaps": {"left": 20, "right": 10}}, LIMITS)
    assert verdict.result == "fail"
    assert {"what": "head", "line": "outer"} in verdict.missing


def test_less_than_nothing_above_the_panels_fails_even_where_nobody_set_a_limit():
    gaps = (("frame_set", 3000), ("weight_on", 2990))
    days = [{"when": when, "gaps": stations([(0, gap * MM)])} for when, gap in gaps]
    design = {"panel_clearance": 9, "planned_raise": 0, "deflection_allowed": 0, "reading_deviation": 1}
    verdict = frame.judge({"unit": "mm", "parts": ["watch"], "watch": {"readings": days, **design}}, {})
    assert verdict.result == "fail"
    assert verdict.findings[0].remedy.code == "do_not_hang"


def test_an_empty_line_is_a_line_not_read():
    verdict = frame.judge({"sill": [], "head": [], "gaps": [], "parts": ["sill", "head"]}, LIMITS)
    assert verdict.result == "not_enough_readings"
    assert verdict.findings == ()


def test_a_sill_where_no_station_lies_is_refused():
    with pytest.raises(BadInput) as refused:
        frame.judge({"unit": "mm", "sill_from": 900, "sill": [{"at": 0, "reading": 0}]}, LIMITS)
    assert refused.value.field == "sill_from"


def test_a_station_an_inch_off_its_neighbours_is_kept_and_looked_at_again():
    spike = stations([(0, 0), (MM, 2 * INCH), (2 * MM, 0)])
    verdict = frame.judge({"parts": ["sill"], "tracks": 1, "sill": spike}, LIMITS)
    assert verdict.result == "fail"
    assert [look["what"] for look in verdict.second_look] == ["stands_out_from_its_neighbours"]


def test_the_readings_own_deviation_stands_over_the_one_that_is_set():
    day = [{"when": when, "gaps": [{"at": 0, "reading": 3000}]} for when in ("frame_set", "weight_on")]
    limits = LIMITS | {"reading_deviation": Limit(MM)}
    shown = [frame.judge({"unit": "mm", "watch": {"readings": day, **own}}, limits).computed["watch"]
             for own in ({}, {"reading_deviation": 2})]
    assert [watch["drop_deviation_mm"] for watch in shown] == [1_414_000, 2_828_000]


def test_travel_is_compared_before_it_is_rounded():
    use = members.roller_use({"lock_jamb": members.Member(3, edge=1)}, (), 10)
    finding = members.roller_finding(use, 10, False, Limit(3))
    assert finding.value == Fraction(10, 3)
    assert finding.within is False
    assert finding.as_dict()["value_mm"] == "0.000004"
