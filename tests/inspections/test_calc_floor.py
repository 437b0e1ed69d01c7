"""The floor under a sill: judged over its whole profile, exactly, whatever lies between the stations."""

import math
import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calc import floor, lines, profile
from jobs.calc.lengths import INCH as IN
from jobs.calc.verdict import FAIL, NOT_ENOUGH_READINGS, PASS, BadInput
from tests.floors import FOOT, limits, mm, sent
from tests.verdicts import limits_of, vectors

VECTORS = vectors("floor-profile")


def finding(verdict, quantity):
    return next(f for f in verdict.findings if f.quantity == quantity)


def findings_of(verdict):
    return [(f.quantity, f.value, f.within, f.where) for f in verdict.findings]


# ---- vectors ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("vector", VECTORS, ids=lambda v: v["name"])
def test_every_vector_is_answered_as_it_says(vector):
    def judged():
        return floor.judge(vector["given"], limits_of(vector, floor.LIMITS)).as_dict()

    if "error" in vector:
        with pytest.raises(BadInput) as refused:
            judged()
        assert refused.value.field == vector["error"]["field"]
    else:
        assert judged() == vector["expect"]


def test_the_vectors_hold_floors_that_a_simpler_reading_would_pass_or_fail_wrongly():
    assert len(VECTORS) >= 25
    assert {v["expect"]["result"] for v in VECTORS if "expect" in v} == {
        "pass", "fail", "not_enough_readings", "no_limit_set",
    }


# ---- what is kept ----------------------------------------------------------------------------------------


def test_readings_are_kept_as_they_were_read_off_the_rod():
    payload = {
        "read_as": "down_from_level",
        "benchmark_reading": "40",
        "stations": [{"at": "0", "reading": "48"}, {"at": "12", "reading": "48 1/16"}],
        "inner": [{"at": "6", "reading": "-1/8"}],
    }
    assert [(r.quantity, r.value, r.at, r.unit) for r in floor.readings(payload)] == [
        ("outer", 48 * IN, 0, "mm"),
        ("outer", 48 * IN + IN // 16, FOOT, "mm"),
        ("inner", -IN // 8, 6 * IN, "mm"),
        ("benchmark", 40 * IN, None, "mm"),
    ]


def test_a_published_floor_line_is_judged_by_its_range_and_not_by_a_fitted_line():
    # A national laboratory's test pad, E1155M spreadsheet of 2003-05-05, line 1, 300 mm stations.
    heights = [418592, 421081, 422072, 421513, 420040, 421132, 420675, 421640, 421894, 421538, 421183, 421894, 419684,
               420040, 417982]
    verdict = floor.judge(sent([(300_000_000 * i, 1000 * h) for i, h in enumerate(heights)]), limits())
    assert finding(verdict, "total_range").value == 4_090_000  # published alongside: range 4.090 mm
    assert verdict.result == FAIL
    # 2.489 mm from the first station to the second, and on towards the third for the 4.8 mm a foot has over 300 mm.
    assert finding(verdict, "worst_rise_in_a_foot").value == 2_489_000 + 991_000 * Fraction(48, 3000)


def test_an_eighth_in_ten_feet_is_one_in_960():
    # 1/8 in in 10 ft = 1:960 = 0.0597 degrees; a millimetre in a metre is 0.012 in in a foot (computed)
    verdict = floor.judge(sent([(0, 0), (5 * FOOT, IN // 16), (10 * FOOT, IN // 8)]), limits())
    slope = verdict.computed["slope_mm_per_m"] / 1000
    assert slope == Fraction(1, 960)
    assert round(math.degrees(math.atan(slope)), 4) == 0.0597
    assert slope * 1000 * Fraction("0.012") == Fraction(1, 8) / 10


# ---- properties ------------------------------------------------------------------------------------------


@st.composite
def line(draw, most=14):
    at, points = draw(st.integers(-(10**9), 10**9)), []
    for _ in range(draw(st.integers(3, most))):
        points.append((at, draw(st.integers(-3_000_000, 3_000_000))))
        at += draw(st.integers(1, 400_000_000))
    return points


@st.composite
def floors(draw):
    """Two lines over the same sill, stations apart, and a sill that may end in mid-span."""
    outer = draw(line())
    start, end = outer[0][0], outer[-1][0]
    places = draw(st.sets(st.integers(start, end), min_size=1, max_size=10)) | {start, end}
    inner = [(x, draw(st.integers(-3_000_000, 3_000_000))) for x in sorted(places)]
    sill = sorted(draw(st.tuples(st.integers(start, end), st.integers(start, end))))
    ends = {"sill_from": mm(sill[0]), "sill_to": mm(sill[1])} if sill[0] < sill[1] and draw(st.booleans()) else {}
    return outer, inner, ends


def worst_by_sliding(points, window):
    """Another way: highest less lowest inside a window that starts, or ends, at each station in turn."""
    first, last = points[0][0], points[-1][0]
    starts = {x for x, _ in points} | {x - window for x, _ in points}
    worst = 0
    for start in starts:
        a, b = max(start, first), min(start + window, last)
        if a <= b:
            inside = [h for x, h in points if a <= x <= b] + [lines.profile_at(points, x) for x in (a, b)]
            worst = max(worst, max(inside) - min(inside))
    return worst


@given(line(), st.integers(1, 2 * FOOT))
def test_the_worst_rise_is_that_of_a_window_slid_along_the_profile(points, window):
    found = floor.judge(sent(points), limits(window=window)).findings[0]
    assert found.value == worst_by_sliding(points, window)
    a, b = (lines.profile_at(points, found.where[end]) for end in ("from_mm", "to_mm"))
    assert abs(a - b) == found.value
    assert found.where["to_mm"] - found.where["from_mm"] <= window


@given(floors(), st.integers(0, 2**32))
def test_no_pair_of_places_sampled_along_the_profile_exceeds_the_worst_rise_found(laid, seed):
    outer, inner, ends = laid
    verdict = floor.judge(sent(outer, inner, **ends), limits())
    start, end = (int(ends[k].scaleb(6)) if ends else outer[i][0] for k, i in (("sill_from", 0), ("sill_to", -1)))
    dice = random.Random(seed)
    worst = {f.where["line"]: f.value for f in verdict.findings if f.quantity == "worst_rise_in_a_foot"}
    for _ in range(60):
        a = dice.randint(start, end)
        b = dice.randint(a, min(a + FOOT, end))
        for name, points in (("outer", outer), ("inner", inner)):
            assert abs(lines.profile_at(points, a) - lines.profile_at(points, b)) <= worst[name]
        fall = lines.profile_at(inner, a) - lines.profile_at(outer, a)
        assert abs(fall) <= finding(verdict, "cross_fall").value
        assert abs(fall - lines.profile_at(inner, b) + lines.profile_at(outer, b)) <= finding(verdict, "wind").value


@given(floors(), st.integers(-(10**10), 10**10))
def test_raising_everything_by_a_constant_changes_no_verdict(laid, raised):
    outer, inner, ends = laid
    lifted = [[(x, h + raised) for x, h in points] for points in (outer, inner)]
    before, after = (floor.judge(sent(*both, **ends), limits()) for both in ((outer, inner), lifted))
    assert before.result == after.result
    assert findings_of(before) == findings_of(after)
    assert before.computed["bed"]["packing"] == after.computed["bed"]["packing"]


@given(floors())
def test_reading_down_from_a_level_says_the_same_as_reading_up_from_a_datum(laid):
    outer, inner, ends = laid
    turned = [[(x, -h) for x, h in points] for points in (outer, inner)]
    up, down = floor.judge(sent(outer, inner, **ends), limits()), sent(*turned, **ends, read_as="down_from_level")
    assert floor.judge(down, limits()) == up


@given(floors(), st.integers(-(10**9), 10**9))
def test_a_benchmark_moves_the_heights_and_nothing_else(laid, benchmark):
    outer, inner, ends = laid
    plain, marked = (
        floor.judge(sent(outer, inner, **ends, **more), limits()) for more in ({}, {"benchmark_reading": mm(benchmark)})
    )
    assert findings_of(plain) == findings_of(marked)
    level = plain.computed["bed"]["sill_underside_mm"]
    assert marked.computed["bed"]["sill_underside_mm"] == level - benchmark


@given(floors())
def test_walking_the_sill_from_the_other_end_finds_the_same(laid):
    outer, inner, ends = laid
    there = floor.judge(sent(outer, inner, **ends), limits())
    back = {"sill_from": -ends["sill_to"], "sill_to": -ends["sill_from"]} if ends else {}
    mirrored = [[(-x, h) for x, h in reversed(points)] for points in (outer, inner)]
    again = floor.judge(sent(*mirrored, **back), limits())
    assert [(f.quantity, f.value) for f in there.findings] == [(f.quantity, f.value) for f in again.findings]
    assert there.computed["slope_mm_per_m"] == -again.computed["slope_mm_per_m"]


@given(line(), st.integers(-(10**8), 10**8), st.integers(0, 20_000_000))
def test_a_level_floor_needs_no_packing_beyond_the_bed(points, height, bed):
    verdict = floor.judge(sent([(x, height) for x, _ in points]), limits(bed_least=bed))
    assert {p["packing_mm"] for p in verdict.computed["bed"]["packing"]} == {bed}


@given(floors())
def test_the_packing_under_every_station_brings_the_sill_to_one_level(laid):
    outer, inner, _ = laid
    bed = floor.judge(sent(outer, inner), limits(bed_least=1_000_000)).computed["bed"]
    heights = dict([(("outer", x), h) for x, h in outer] + [(("inner", x), h) for x, h in inner])
    tops = {heights[p["line"], p["at_mm"]] + p["packing_mm"] for p in bed["packing"]}
    assert tops == {bed["sill_underside_mm"]}
    assert min(p["packing_mm"] for p in bed["packing"]) == 1_000_000


@given(floors())
def test_the_greatest_bed_still_presses_the_bead_and_a_nanometre_more_does_not(laid):
    outer, inner, _ = laid
    greatest = floor.judge(sent(outer, inner), limits()).computed["bed"]["bed_greatest_mm"]
    for bed, pressed in ((greatest, True), (greatest + 1, False)):
        if bed >= 0:
            verdict = floor.judge(sent(outer, inner), limits(bed_least=bed))
            assert finding(verdict, "squeeze").within is pressed


@given(line())
def test_once_every_place_named_as_missing_is_read_nothing_is_missing(points):
    start, end = points[0][0] - 500_000_000, points[-1][0] + 70_000_000
    payload = sent(points, sill_from=mm(start), sill_to=mm(end))
    verdict = floor.judge(payload, limits())
    assert verdict.missing
    places = {x for m in verdict.missing for x in (m["at_mm"] if isinstance(m["at_mm"], list) else [m["at_mm"]])}
    read = dict.fromkeys(places, 0) | dict(points)
    again = floor.judge(sent(sorted(read.items()), sill_from=mm(start), sill_to=mm(end)), limits())
    assert again.missing == ()


# ---- what is refused, what is flagged --------------------------------------------------------------------


def test_too_many_stations_are_refused_rather_than_chewed_on():
    with pytest.raises(BadInput) as refused:
        floor.judge(sent([(x, 0) for x in range(501)]), limits())
    assert refused.value.field == "stations"


def test_a_spacing_too_close_to_walk_does_not_name_a_billion_places():
    verdict = floor.judge(sent([(0, 0), (FOOT, 0), (2 * FOOT, 0)]), limits(widest_spacing=1))
    assert [len(m["at_mm"]) for m in verdict.missing] == [499, 499]


@pytest.mark.parametrize("tracks", [0, 1.5, "many", True])
def test_the_number_of_tracks_is_a_whole_number(tracks):
    with pytest.raises(BadInput) as refused:
        floor.judge(sent([(0, 0)], tracks=tracks), limits())
    assert refused.value.field == "tracks"


@pytest.mark.parametrize("tracks", [2, 13, 300])
def test_however_many_tracks_there_are_the_inner_line_is_asked_for_and_nothing_is_refused(tracks):
    verdict = floor.judge(sent([(0, 0), (FOOT, 0), (2 * FOOT, 0)], tracks=tracks), limits())
    assert [lacking["what"] for lacking in verdict.missing] == ["inner_line"]


def test_a_sill_of_one_track_says_that_nothing_is_judged_across():
    verdict = floor.judge(sent([(0, 0), (FOOT, 0), (2 * FOOT, 0)]), limits())
    assert verdict.result == PASS
    assert verdict.computed["does_not_apply"] == ["cross_fall", "wind"]


def test_a_spike_is_kept_and_judged_and_looked_at_again():
    verdict = floor.judge(sent([(0, 0), (FOOT, -2 * IN), (2 * FOOT, IN)]), limits())
    assert verdict.second_look == (
        {"what": "stands_out_from_its_neighbours", "line": "outer", "at_mm": FOOT, "by_mm": 2 * IN},
    )
    assert verdict.result == FAIL


def test_a_step_in_the_floor_is_no_slip():
    verdict = floor.judge(sent([(0, 0), (FOOT, 2 * IN), (2 * FOOT, 2 * IN - 1)]), limits())
    assert verdict.second_look == ()


def test_a_sill_that_starts_beyond_the_last_station_asks_for_readings():
    verdict = floor.judge(sent([(0, 0), (FOOT, 0), (2 * FOOT, 0)], sill_from=mm(3 * FOOT)), limits())
    assert verdict.result == NOT_ENOUGH_READINGS
    assert verdict.missing[0] == {"what": "sill_end", "line": "outer", "at_mm": 3 * FOOT}
    assert verdict.missing[-1] == {"what": "three_stations", "line": "outer", "have": 0, "at_mm": []}


def test_a_limit_that_came_as_a_decimal_is_the_decimal_that_was_written():
    # 1 - 4.2 / 6 is 30 %: a binary 30.1 lies a little above 30.1 and would refuse a squeeze of exactly that.
    points = [(0, 0), (FOOT, 0), (2 * FOOT, -699_000)]
    verdict = floor.judge(sent(points), limits(bead=1_000_000, squeeze_least=30.1, bed_least=0))
    assert finding(verdict, "squeeze").within is True
    assert finding(verdict, "squeeze").value == Fraction(301, 10)


def test_lines_that_share_no_place_are_not_judged_across():
    outer = [(0, 0), (FOOT // 2, 0), (FOOT, 0)]
    inner = [(2 * FOOT, 0), (2 * FOOT + FOOT // 2, 0), (3 * FOOT, 0)]
    verdict = floor.judge(sent(outer, inner), limits())
    assert verdict.result == NOT_ENOUGH_READINGS
    assert {f.quantity for f in verdict.findings} == {"worst_rise_in_a_foot", "total_range", "squeeze"}


def test_one_station_on_the_sill_is_no_rise():
    seen = profile.within_sill({"outer": [(0, 7)]}, 0, 0)
    assert profile.worst_rise(seen.lines[0], FOOT).by == 0
