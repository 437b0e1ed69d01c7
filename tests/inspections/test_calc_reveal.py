"""The reveal and the rollers that even it."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog, minimize
from scipy.spatial.transform import Rotation

from inspections.calc import reveal, rollers
from inspections.calc.rollers import Gap, Hanging, Roller
from jobs.calc.verdict import BadInput, Limit

MM = 1_000_000
SIXTEENTH = 1_587_500
LIMITS = {"taper": Limit(SIXTEENTH), "gap_least": Limit(0), "gap_most": Limit(50 * MM), "bow": Limit(50 * MM)}
AMPLE = {"now": 10, "preset": 9.525, "lowest": 0, "highest": 20}
STIFF = {"now": 10, "preset": 9.525, "lowest": 9.5, "highest": 10.5}


def payload(top, bottom, *, middle=None, near=AMPLE, far=AMPLE, **more):
    middle = (top + bottom) / 2 if middle is None else middle
    return {
        "unit": "mm", "gaps": {"top": top, "middle": middle, "bottom": bottom},
        "heights": {"top": 2750, "middle": 1400, "bottom": 50}, "roller_spacing": 1260, "from_edge": 100,
        "thread_pitch": 1.25, "rollers": {"near": near, "far": far}, "lock_height": 1000, "head_clearance": 20,
        "head_clearance_least": 3, **more,
    }


def judge(*args, **more):
    return reveal.judge(payload(*args, **more), LIMITS)


def finding(verdict, quantity):
    return next(f for f in verdict.findings if f.quantity == quantity)


# ---- d = S c / H -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("taper", "lift"),
    # Computed with scipy's Rotation, panel geometry: rollers 1260 mm apart, edge of 2700 mm.
    [(3, "1.400"), (6, "2.800"), (10, "4.667")],
)
def test_the_lift_that_closes_a_taper_is_spacing_times_taper_over_height(taper, lift):
    closes = -rollers.lift_to_close(1260 * MM, taper * MM, 2700 * MM)
    assert closes == Fraction(1260 * taper * MM, 2700)
    assert f"{float(closes) / MM:.3f}" == lift


def test_reading_the_taper_along_the_panel_instead_of_level_makes_no_difference_that_counts():
    """Computed: 7e-6 mm at 6 mm over 2700."""
    along = 1260 * math.sin(math.atan(6 / 2700))
    assert abs(along + float(rollers.lift_to_close(1260, 6, 2700))) == pytest.approx(7e-6, abs=5e-7)


def test_a_roller_raised_by_2_8_mm_turns_the_panel_as_scipy_turns_it():
    """Computed: Rotation moves (1260, 0) to (1259.9969, 2.8000)."""
    hung = hanging(spread=0)
    at = (Fraction(hung.near.now) + 2_800_000, Fraction(hung.far.now))
    spun = Rotation.from_euler("z", math.asin(2.8 / 1260)).apply([1260, 0, 0])
    assert (round(spun[0], 4), round(spun[1], 4)) == (1259.9969, 2.8)
    assert rollers.drawn_together(hung, at) / MM == pytest.approx((1260 - spun[0]) * 1360 / 1260, abs=0.001)


def hanging(*, spread=0, spacing=1260 * MM, from_edge=100 * MM, pitch=1_250_000, travel=(0, 20 * MM), preset=None,
            head=None, least=0):
    near, far = 10 * MM + spread, 10 * MM
    presets = preset or (9_525_000, 9_525_000)
    return Hanging(spacing, from_edge, pitch, Roller(near, presets[0], *travel), Roller(far, presets[1], *travel),
                   head_clearance=head, head_least=least)


HEIGHTS = {"top": 2750 * MM, "middle": 1400 * MM, "bottom": 50 * MM}


def gaps(top, bottom):
    return {"top": Gap(top, HEIGHTS["top"]), "bottom": Gap(bottom, HEIGHTS["bottom"])}


@given(lift=st.integers(-8_000_000, 8_000_000), height=st.integers(-100, 3500))
def test_gaps_after_a_turn_are_those_of_a_body_that_scipy_turns_about_the_far_roller(lift, height):
    hung = hanging()
    read = {"top": Gap(40 * MM, height * MM), "bottom": Gap(40 * MM, (height - 10) * MM)}
    after = rollers.gaps_after(read, hung, (Fraction(hung.near.now + lift), Fraction(hung.far.now)))
    # Seen from outside with the jamb on the left: raising the near, left roller turns the panel clockwise.
    turn = Rotation.from_euler("z", -math.asin(lift / MM / 1260))
    for place, gap in read.items():
        spot = np.array([-1360.0, gap.height / MM, 0])
        assert after[place] / MM == pytest.approx(40 + (turn.apply(spot) - spot)[0], abs=0.001)


def test_raising_the_near_roller_tips_the_top_away_from_the_jamb():
    after = rollers.gaps_after(gaps(10 * MM, 10 * MM), hanging(), (Fraction(11 * MM), Fraction(10 * MM)))
    assert after["top"] - 10 * MM > after["bottom"] - 10 * MM > 0


# ---- the best setting ------------------------------------------------------------------------------------


READINGS = {
    "spread": st.integers(-3_000_000, 3_000_000),
    "top": st.integers(0, 25_000_000),
    "bottom": st.integers(0, 25_000_000),
    "travel": st.tuples(st.integers(0, 10_000_000), st.integers(10_000_000, 20_000_000)),
    "preset": st.tuples(st.integers(0, 20_000_000), st.integers(0, 20_000_000)),
    "head": st.one_of(st.none(), st.integers(0, 12_000_000)),
}


def rows_of(limits):
    left = [[float(b.near), float(b.far)] for b in limits]
    return np.array(left), np.array([float(b.most) / MM for b in limits])


@settings(max_examples=60, deadline=None)
@given(**READINGS)
def test_the_setting_before_rounding_is_the_one_that_scipy_finds(spread, top, bottom, travel, preset, head):
    hung = hanging(spread=spread, travel=travel, preset=preset, head=head, least=3 * MM)
    limits = rollers.bounds(hung)
    wanted = hung.spread + rollers.lift_to_close(hung.spacing, top - bottom, HEIGHTS["top"] - HEIGHTS["bottom"])
    found = rollers.nearest_to_presets(hung, wanted, limits)
    left, most = rows_of(limits)
    reach = [linprog([sign, -sign], A_ub=left, b_ub=most, bounds=(None, None)) for sign in (1, -1)]
    assert (found is None) == (reach[0].status == 2)
    if found is None:
        return
    aim = min(max(float(wanted) / MM, reach[0].fun), -reach[1].fun)
    assert float(found[0] - found[1]) / MM == pytest.approx(aim, abs=1e-6)
    want = np.array(preset) / MM
    best = minimize(lambda x: ((x - want) ** 2).sum(), np.array([float(x) / MM for x in found]) + 0.1, method="SLSQP",
                    constraints=[{"type": "eq", "fun": lambda x: x[0] - x[1] - aim},
                                 {"type": "ineq", "fun": lambda x: most - left @ x}], options={"ftol": 1e-12})
    ours = sum((float(x) / MM - w) ** 2 for x, w in zip(found, want, strict=True))
    assert all(limit.holds(*found) for limit in limits)
    if best.success:
        assert ours <= best.fun + 1e-4


@settings(max_examples=150, deadline=None)
@given(**READINGS)
def test_a_reachable_taper_closed_and_judged_again_is_within(spread, top, bottom, travel, preset, head):
    hung = hanging(spread=spread, travel=travel, preset=preset, head=head, least=3 * MM)
    edge = reveal.Edge({**gaps(top, bottom), "middle": Gap((top + bottom) // 2, HEIGHTS["middle"])}, hung)
    computed = reveal.judge_edge(edge, LIMITS).computed
    assume(computed["unreachable"] is None)
    assume(not computed["setting"]["meets_jamb"])
    after = computed["setting"]["gaps_after"]
    closed = {place: f"{after[f'{place}_mm'] / MM:.6f} mm" for place in HEIGHTS}
    again = reveal.judge({"gaps": closed, "heights": {p: f"{h // MM} mm" for p, h in HEIGHTS.items()}}, LIMITS)
    assert finding(again, "taper").within


@settings(max_examples=150, deadline=None)
@given(**READINGS)
def test_no_setting_leaves_the_travel_or_what_the_head_must_keep(spread, top, bottom, travel, preset, head):
    hung = hanging(spread=spread, travel=travel, preset=preset, head=head, least=3 * MM)
    found = rollers.setting(gaps(top, bottom), hung, SIXTEENTH)
    assume(found is not None)
    at = rollers.turned(hung, found.eighths)
    assert all(travel[0] <= to <= travel[1] for to in at)
    if head is not None:
        grows = rollers.lean(hung, at) * hung.from_edge
        rises = (at[0] - hung.near.now + grows, at[1] - hung.far.now - grows)
        assert head - max(rises) >= 3 * MM


def moves_in_travel(roller, travel, eighth):
    first, last = -((roller.now - travel[0]) // eighth), (travel[1] - roller.now) // eighth
    return np.arange(first, last + 1, dtype=np.int64) * eighth


@settings(max_examples=60, deadline=None)
@given(**READINGS)
def test_what_any_eighths_can_reach_is_reached(spread, top, bottom, travel, preset, head):
    """Every pair of eighths within both travels is tried, in whole numbers: both upper corners, then what is left."""
    hung = hanging(spread=spread, travel=travel, preset=preset, head=head, least=3 * MM)
    eighth, height = hung.pitch // 8, HEIGHTS["top"] - HEIGHTS["bottom"]
    near, far = np.meshgrid(*(moves_in_travel(r, travel, eighth) for r in (hung.near, hung.far)), indexing="ij")
    tilt, room = near - far, 10**9 if head is None else head - 3 * MM
    corners = np.maximum(near * hung.spacing + tilt * hung.from_edge, far * hung.spacing - tilt * hung.from_edge)
    left = np.abs((top - bottom) * hung.spacing + tilt * height)[corners <= room * hung.spacing]
    found = rollers.setting(gaps(top, bottom), hung, SIXTEENTH)
    assert (found is None) == (left.size == 0)
    if left.size and left.min() <= (SIXTEENTH - 2) * hung.spacing:  # two gaps, each rounded to the nanometre
        assert abs(found.taper) <= SIXTEENTH


def test_of_eighths_that_close_alike_those_nearer_the_presets_are_taken():
    """A travel of whole eighths but for a hair: the nearest lie outside, and a taper left is the same all along."""
    hung = Hanging(1260 * MM, 100 * MM, 8 * MM, Roller(0, 9 * MM, 0, 9 * MM), Roller(0, 9 * MM, 0, 8_600_000))
    found = rollers.setting(gaps(5 * MM, 5 * MM), hung, SIXTEENTH)
    assert found.eighths == (8, 8)


def test_the_head_stops_the_corner_that_the_near_roller_lifts():
    """0.75 mm are left: near + 1.4 * 100 / 1260 is all of it, and the far one is 1.4 mm under the near."""
    at_preset = {**AMPLE, "preset": 10}
    setting = judge(6, 9, near=at_preset, far=at_preset, head_clearance=3.75).computed["setting"]
    tilt = Fraction(1_400_000)
    near = 750_000 - tilt * 100 / 1260
    assert [move["unrounded_mm"] for move in setting["rollers"]] == [near, near - tilt]


# ---- what is said about it -------------------------------------------------------------------------------


def test_an_even_gap_that_is_too_narrow_is_not_a_roller_matter():
    verdict = reveal.judge(payload(3, 3), {**LIMITS, "gap_least": Limit(4 * MM)})
    assert finding(verdict, "gap_least").remedy.code == "too_narrow_not_a_roller_matter"
    assert finding(verdict, "taper").within


def test_rollers_do_not_touch_a_bow():
    verdict = reveal.judge(payload(9, 6, middle=12), LIMITS)
    shift = verdict.computed["setting"]["gaps_after"]
    along = Fraction(1400 - 50, 2750 - 50)
    chord = shift["bottom_mm"] + (shift["top_mm"] - shift["bottom_mm"]) * along
    assert abs(shift["middle_mm"] - chord - verdict.computed["bow_mm"]) <= 2


@pytest.mark.parametrize(("middle", "cause"), [(15, "jamb_bowed_away_from_panel"), (1, "jamb_bowed_towards_panel")])
def test_a_bow_says_which_way_and_what_usually_causes_it(middle, cause):
    verdict = reveal.judge(payload(8, 8, middle=middle), {**LIMITS, "bow": Limit(3_175_000)})
    assert cause in finding(verdict, "bow").remedy.values["usual"]


def test_what_the_rollers_cannot_reach_says_what_is_left_and_what_to_read():
    left = judge(16, 6, near=STIFF, far=STIFF).computed["unreachable"]
    # At best 1.0 mm of the 4.667 needed; in eighths of 1.25 mm: three each way, 0.9375.
    assert left["left_mm"] == pytest.approx((10 - 2700 * 0.9375 / 1260) * MM, abs=2)
    assert [one["read"] for one in left["usual"]] == ["jamb_plumb", "panel_diagonals", "sill_level"]
    assert left["usual"][2]["by_mm"] == Fraction(left["left_mm"] * 1260, 2700)


def test_a_taper_that_is_wide_at_the_bottom_is_as_far_out_of_reach_as_one_at_the_top():
    verdict = judge(6, 16, near=STIFF, far=STIFF)
    assert finding(verdict, "taper").remedy.code == "rollers_cannot_close"
    left = verdict.computed["unreachable"]
    assert left["left_mm"] == pytest.approx(-(10 - 2700 * 0.9375 / 1260) * MM, abs=2)
    assert left["usual"][0]["by_mm"] == -left["left_mm"]


def test_with_no_limit_set_only_travel_and_head_make_a_taper_unreachable():
    limits = {name: limit for name, limit in LIMITS.items() if name != "taper"}
    assert reveal.judge(payload(9, 6), limits).computed["unreachable"] is None
    assert reveal.judge(payload(16, 6, near=STIFF, far=STIFF), limits).computed["unreachable"] is not None
    at_its_end = {**AMPLE, "lowest": 10}  # the far one does all of it
    assert reveal.judge(payload(9, 6, near=at_its_end), limits).computed["unreachable"] is None


def test_a_panel_that_already_leans_is_said_to_lean_by_what_is_turned_and_no_more():
    """Near 10, far 12, so 2 mm in 1260 before anything is turned."""
    setting = judge(9, 6, far={**AMPLE, "now": 12}).computed["setting"]
    spread = float(setting["rollers"][0]["to_mm"] - setting["rollers"][1]["to_mm"]) / MM
    turned = math.degrees(math.asin(spread / 1260)) - math.degrees(math.asin(-2 / 1260))
    assert setting["taper_after_mm"] / MM == pytest.approx(3 + 2700 * (spread + 2) / 1260, abs=1e-5)
    assert float(setting["lean_change_deg"]) == pytest.approx(turned, abs=0.001)


def test_a_screw_is_read_from_any_mark_also_below_it_and_may_have_no_travel():
    below = {"now": -10, "preset": -10, "lowest": -12, "highest": -8}
    fixed = {"now": 10, "preset": 10, "lowest": 10, "highest": 10}
    assert judge(9, 6, near=below, far=below).computed["setting"]["taper_after_mm"] < SIXTEENTH
    assert [m["way"] for m in judge(9, 6, near=fixed).computed["setting"]["rollers"]] == ["leave", "up"]


def test_a_taper_that_only_the_eighths_of_a_coarse_thread_leave_blames_the_thread():
    left = judge(9.6, 8, thread_pitch=25).computed["unreachable"]
    assert left is None or left["stopped_by"] == ("thread_pitch",)
    assert judge(9.6, 8, thread_pitch=100).computed["unreachable"]["stopped_by"] == ("thread_pitch",)


def test_a_head_with_nothing_left_stops_every_setting_that_raises_a_corner():
    found = judge(12, 6, head_clearance=3).computed["setting"]
    assert found["head_clearance_after_mm"] >= 3 * MM
    assert all(move["way"] != "up" for move in found["rollers"])


def test_a_panel_already_too_near_the_head_with_screws_at_their_lowest_has_no_setting():
    verdict = judge(12, 6, head_clearance=2, near={**AMPLE, "lowest": 10}, far={**AMPLE, "lowest": 10})
    assert verdict.computed["setting"] is None
    assert finding(verdict, "taper").remedy.code == "rollers_cannot_close"
    assert verdict.computed["unreachable"]["left_mm"] == 6 * MM


def test_the_lock_moves_with_the_edge():
    after = judge(12, 6).computed["setting"]
    at_1000 = Fraction(1000, 1260) * (after["rollers"][0]["move_mm"] - after["rollers"][1]["move_mm"])
    assert after["lock_shift"]["away_mm"] == pytest.approx(float(at_1000), abs=10_000)
    assert after["lock_shift"]["up_mm"] == after["edge_rise_mm"] < after["rollers"][0]["move_mm"]


def test_without_a_head_clearance_a_setting_is_given_with_a_caution():
    verdict = judge(12, 6, head_clearance=None)
    assert verdict.caution == "head_clearance_not_read"
    assert verdict.computed["setting"]["head_clearance_after_mm"] is None


def test_a_roller_read_outside_its_travel_is_kept_and_looked_at_again():
    looks = judge(6, 6, near={**AMPLE, "now": 21}).second_look
    assert [(one["what"], one["where"]) for one in looks] == [("roller_now", "near")]


@pytest.mark.parametrize(("eighths", "text"), [(0, "0"), (3, "3/8"), (-4, "1/2"), (8, "1"), (-11, "1 3/8")])
def test_turns_read_as_a_person_says_them(eighths, text):
    assert reveal.turns_text(eighths) == text


def test_the_readings_are_kept_with_their_heights():
    kept = reveal.readings(payload(9, 6))
    assert ("head_clearance", 20 * MM) in [(one.quantity, one.value) for one in kept]
    assert ("gap_top", 9 * MM, 2750 * MM) in [(one.quantity, one.value, one.at) for one in kept]
    assert ("roller_near", 10 * MM) in [(one.quantity, one.value) for one in kept]


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"heights": {"top": 2750, "middle": 2750, "bottom": 50}}, "heights.middle"),
        ({"heights": {"top": 2750, "middle": 1400}}, "heights.bottom"),
        ({"roller_spacing": 20}, "roller_spacing"),
        ({"gaps": {"top": 5, "left": 5}}, "gaps.left"),
        ({"rollers": {"front": AMPLE}}, "rollers.front"),
        ({"rollers": {"near": {**AMPLE, "turns": 3}, "far": AMPLE}}, "rollers.near.turns"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(more, field):
    with pytest.raises(BadInput) as refused:
        reveal.judge({**payload(9, 6), **more}, LIMITS)
    assert refused.value.field == field


def test_a_gap_too_narrow_at_one_end_that_closing_the_taper_does_not_widen_enough_is_no_roller_matter():
    """Closed, the gap is some 5.9 mm all the way: enough for 5 mm, not for 7."""
    for least, code in ((5, "close_the_taper_first"), (7, "too_narrow_not_a_roller_matter")):
        verdict = reveal.judge(payload(0, 6), {**LIMITS, "gap_least": Limit(least * MM)})
        assert finding(verdict, "gap_least").remedy.code == code


def test_a_gap_that_a_bow_keeps_too_narrow_somewhere_is_no_roller_matter_though_the_rest_would_open():
    """Closed, the ends are some 5.9 mm; the middle bows in by 1 mm more."""
    verdict = reveal.judge(payload(0, 6, middle=2), {**LIMITS, "gap_least": Limit(5_500_000)})
    assert finding(verdict, "gap_least").remedy.code == "too_narrow_not_a_roller_matter"


def test_a_taper_on_its_limit_is_even_so_a_narrow_gap_is_not_put_down_to_it():
    verdict = reveal.judge(payload(3 + 1.5875, 3), {**LIMITS, "gap_least": Limit(3_500_000)})
    assert finding(verdict, "taper").within
    assert finding(verdict, "gap_least").remedy.code == "too_narrow_not_a_roller_matter"
