"""The rough opening: size, six tapes against each other, rack, plumb, twist."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares
from scipy.stats import norm

from inspections.calc import opening, quadrilateral
from inspections.calc.quadrilateral import SIX
from jobs.calc.lengths import to_mm
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import BadInput, Limit
from tests.verdicts import limits_of, unlike, vectors

VECTORS = vectors("rough-opening")
JUDGED = [v for v in VECTORS if "expect" in v]
REFUSED = [v for v in VECTORS if "error" in v]
MM = 1_000_000
EIGHTH = 3_175_000

LIMITS = {
    "clearance_least": Limit(12_700_000),
    "clearance_most": Limit(25_400_000),
    "rack": Limit(EIGHTH),
    "out_of_plumb": Limit(EIGHTH),
    "twist": Limit(EIGHTH),
    "tape_deviation": Limit(MM),
    "tape_deviation_per_m": Limit(0),
}


def six(*lengths):
    """In the order bottom, right, top, left, rising, falling; millimetres."""
    return {name: round(Fraction(str(mm)) * MM) for name, mm in zip(SIX, lengths, strict=True)}


def taped(lengths, **more):
    """A payload of six lengths (nm), whole nanometres as text."""
    text = {name: f"{to_mm(nm)} mm" for name, nm in lengths.items()}
    return {
        "unit": "mm",
        "widths": {"top": text["top"], "bottom": text["bottom"]},
        "heights": {"left": text["left"], "right": text["right"]},
        "diagonals": {"rising": text["rising"], "falling": text["falling"]},
        **more,
    }


def figure(bottom, lean_left, lean_right, left_height, right_height):
    """Six true lengths (nm) of an opening whose sill is level, from where its top corners stand (mm)."""
    a, b = (0.0, 0.0), (bottom, 0.0)
    c, d = (bottom + lean_right, right_height), (lean_left, left_height)
    pairs = {"bottom": (a, b), "right": (b, c), "top": (d, c), "left": (a, d), "rising": (a, c), "falling": (d, b)}
    return {name: round(math.dist(*pairs[name]) * MM) for name in SIX}


@pytest.mark.parametrize("vector", JUDGED, ids=[v["name"] for v in JUDGED])
def test_it_judges_an_opening(vector):
    verdict = opening.judge(vector["given"], limits_of(vector, opening.LIMITS)).as_dict()
    assert unlike(vector["expect"], verdict) == []


@pytest.mark.parametrize("vector", REFUSED, ids=[v["name"] for v in REFUSED])
def test_it_names_the_field_of_what_cannot_be(vector):
    with pytest.raises(BadInput) as refused:
        opening.judge(vector["given"], limits_of(vector, opening.LIMITS))
    assert refused.value.field == vector["error"]["field"]


def test_readings_are_kept_under_their_place_and_plumb_with_the_height_it_was_read_over():
    plumb = {"left": {"edge": "-1/16", "over": "6'"}}
    payload = {"widths": {"top": "12'"}, "diagonals": {"falling": "15'"}, "plumb": plumb}
    assert opening.readings(payload) == (
        ReadingValue("width_top", 3_657_600_000),
        ReadingValue("diagonal_falling", 4_572_000_000),
        ReadingValue("plumb_left_edge", -1_587_500, at=1_828_800_000),
    )


# ---- checked against something outside ---------------------------------------------------------------------


def cayley_menger(lengths):
    """288 times the squared volume of the four corners, exactly; 0 where they lie in one plane."""
    squared = {name: Fraction(nm) ** 2 for name, nm in lengths.items()}
    pairs = {(0, 1): "bottom", (1, 2): "right", (2, 3): "top", (0, 3): "left", (0, 2): "rising", (1, 3): "falling"}
    rows = [[0, 1, 1, 1, 1]] + [
        [1] + [0 if i == j else squared[pairs[min(i, j), max(i, j)]] for j in range(4)] for i in range(4)
    ]
    return determinant(rows)


def determinant(rows):
    if len(rows) == 1:
        return rows[0][0]
    minors = ([row[:k] + row[k + 1 :] for row in rows[1:]] for k in range(len(rows)))
    return sum((-1) ** k * rows[0][k] * determinant(minor) for k, minor in enumerate(minors) if rows[0][k])


def test_the_determinant_itself_has_its_published_value():
    # A regular tetrahedron of edge 1: Cayley-Menger 4 (m equidistant points give +-m, published rule)
    assert cayley_menger(dict.fromkeys(SIX, 1)) == 4


@pytest.mark.parametrize(("lengths", "falling"), [
    (six(4, 3, 4, 3, 5, 5), "5.000000"),  # 3-4-5, plain geometry
    (six(5, 5, 5, 5, 6, 8), "8.000000"),  # rhombus of two 5-5-6 triangles, which are two 5-5-8 triangles
    (six(4003, 2500, 4000, 2502, 4719, 4718), "4718.584000"),  # the calculation's worked example
    (six(4000, 2500, 4000, 2500, 4716.990566, 4716.990566), "4716.991000"),  # 4000 x 2500, computed with numpy
])
def test_the_implied_diagonal_has_its_known_value(lengths, falling):
    assert f"{quadrilateral.implied_falling(lengths) / MM:.6f}" == falling


@pytest.mark.parametrize("lengths", [
    six(4003, 2500, 4000, 2502, 4719, 4700),
    six(3999, 2503, 4004, 2490, 4720, 4700),
    six(12190, 3050, 12195, 3046, 12570, 12000),
])
def test_the_implied_diagonal_lies_where_the_cayley_menger_determinant_changes_sign(lengths):
    implied = quadrilateral.implied_falling(lengths)
    below, above = (cayley_menger({**lengths, "falling": implied + by}) for by in (-1000, 1000))
    assert below > 0 > above


def test_a_diagonal_on_half_a_micrometre_is_rounded_up_whatever_the_last_figure_of_a_root():
    # 15, 8 and 17 make a right angle; 51 1/2 in by 96 9/16 in has a diagonal of exactly 2779.7125 mm.
    sixteenths = {"bottom": 15, "right": 8, "top": 15, "left": 8, "rising": 17, "falling": 17}
    taped_nm = {name: 103 * 1_587_500 * parts for name, parts in sixteenths.items()}
    assert to_mm(taped_nm["falling"]) == "2779.712500"
    assert to_mm(quadrilateral.implied_falling(taped_nm)) == "2779.713000"


def test_rack_is_the_published_six_millimetres():
    # 4000 x 2500 racked 6 mm at the head: diagonals 4722.0796 and 4711.9036 (computed)
    slid = quadrilateral.rack(4000 * MM, 4000 * MM, 4_722_079_600, 4_711_903_600)
    assert round(float(slid) / MM, 3) == 6.000


def test_an_eighth_between_the_diagonals_of_a_long_opening_is_little_rack():
    # worked example of the calculation: 40 x 10 ft, 1.6 mm
    width, middle = 12192 * MM, round(math.hypot(12192, 3048) * MM)
    slid = quadrilateral.rack(width, width, middle + EIGHTH // 2, middle - EIGHTH // 2)
    assert round(float(slid) / MM, 1) == 1.6


def test_the_corner_of_the_counter_example_is_not_square_though_its_diagonals_are_equal():
    # base 4000, top 3980, height 2500: both diagonals 4708.5136, corner 89.7708 degrees (computed)
    lengths = figure(4000, 10, -10, 2500, 2500)
    assert round(lengths["rising"] / MM, 4) == round(lengths["falling"] / MM, 4) == 4708.5136
    angles = quadrilateral.corner_angles(quadrilateral.adjusted(lengths, dict.fromkeys(SIX, MM)))
    assert (angles["bottom_left"], angles["top_left"]) == (89.771, 90.229)
    seen = opening.judge(taped(lengths), LIMITS)
    assert [s["what"] for s in seen.second_look if "square" in s["what"]] == ["equal_diagonals_but_not_square"]


def test_racked_by_six_millimetres_the_corner_is_out_by_its_published_angle():
    # 0.13751 degrees (computed)
    lengths = figure(4000, 6, 6, 2500, 2500)
    angles = quadrilateral.corner_angles(quadrilateral.adjusted(lengths, dict.fromkeys(SIX, MM)))
    assert angles["bottom_left"] == round(90 - 0.13751, 3)


def test_the_number_of_deviations_is_the_normal_quantile_of_one_in_a_thousand():
    # 3.2905 by scipy; 3.29 is Baarda's usual value (value from memory)
    assert float(opening.TOO_MANY_DEVIATIONS) == pytest.approx(norm.ppf(1 - 0.001 / 2), abs=0.001)


def test_redundancy_is_shared_as_published():
    # 4000 x 2500: sides 0.1798 and 0.0702, diagonals 0.25, sum 1 (computed two ways)
    lengths, ones = six(4000, 2500, 4000, 2500, 4716.990566, 4716.990566), dict.fromkeys(SIX, MM)
    off = {**lengths, "falling": lengths["falling"] + 4 * MM}
    residuals = {n: float(quadrilateral.adjusted(off, ones)[n] - off[n]) / (4 * MM) for n in SIX}
    shares = {n: abs(r) / 0.25 for n, r in residuals.items()}  # v = -slope * m / 4, and r = slope^2 / 4
    r = {n: s * s / 4 for n, s in shares.items()}
    assert [round(r[n], 3) for n in ("bottom", "right", "falling")] == [0.180, 0.070, 0.250]
    assert sum(r.values()) == pytest.approx(1, abs=0.001)


def test_six_lengths_cannot_tell_which_of_them_is_wrong():
    # 10 mm in a 2500 side, tapes of 1 mm: |w| = |v| / sigma_v is the same for all six, and none is beyond 3.29.
    # Closed form with r = (side / 2D)^2 = 0.0702: 10 mm x sqrt(0.0702) = 2.65; the root of a half misclosure.
    lengths, ones = six(4000, 2500, 4000, 2500, 4716.990566, 4716.990566), dict.fromkeys(SIX, MM)
    for wrong in ("left", "right"):
        read = {**lengths, wrong: lengths[wrong] + 10 * MM}
        found = quadrilateral.adjusted(read, ones)
        r = {n: (lengths[n] / MM / 2 / 4716.990566) ** 2 for n in SIX} | dict.fromkeys(("rising", "falling"), 0.25)
        w = [abs(float(found[n] - read[n])) / MM / math.sqrt(r[n]) for n in SIX]
        assert w == pytest.approx([10 * math.sqrt(r["right"])] * 6, abs=0.01)
        assert max(w) < float(opening.TOO_MANY_DEVIATIONS)


def test_how_large_a_blunder_must_be_to_be_seen_is_as_published():
    # computed: 3.2905 + 0.8416 = 4.1321 for one in a thousand and power 80 %, its square 17.075 (Baarda 1968, values
    # from memory); a 2500 side of 4000 x 2500 by tapes of 1 mm then takes 15.6 mm, a diagonal 8.3 mm
    seen = norm.ppf(1 - 0.001 / 2) + norm.ppf(0.8)
    assert (round(seen, 4), round(seen**2, 3)) == (4.1321, 17.075)
    lengths = six(4000, 2500, 4000, 2500, 4716.990566, 4716.990566)
    for which, blunder in (("right", 15.6), ("rising", 8.3)):
        off = {**lengths, which: lengths[which] + round(blunder * MM)}
        misclosure = abs(off["falling"] - quadrilateral.implied_falling(off))
        assert misclosure / quadrilateral.misclosure_deviation(lengths, dict.fromkeys(SIX, MM)) == pytest.approx(
            seen, abs=0.03)


DEVIATIONS = st.integers(200_000, 4_000_000)
OFFSETS = st.integers(-6_000_000, 6_000_000)


@given(
    st.tuples(st.integers(1500, 12000), st.integers(1800, 3600), st.integers(-20, 20), st.integers(-20, 20)),
    st.lists(OFFSETS, min_size=6, max_size=6),
    st.lists(DEVIATIONS, min_size=6, max_size=6),
)
def test_the_adjusted_figure_is_the_one_scipy_finds_from_coordinates(shape, errors, deviations):
    width, height, left, right = shape
    true = figure(width, left, right, height, height)
    lengths = {name: true[name] + e for name, e in zip(SIX, errors, strict=True)}
    each = dict(zip(SIX, deviations, strict=True))

    def distances(at):
        a, b, c, d = np.zeros(2), np.array([at[0], 0]), at[1:3], at[3:5]
        pairs = ((a, b), (b, c), (d, c), (a, d), (a, c), (d, b))
        return np.array([np.linalg.norm(one - other) for one, other in pairs])

    weights = np.array([each[n] / MM for n in SIX])
    found = least_squares(lambda at: (distances(at) - [lengths[n] / MM for n in SIX]) / weights,
                          [width, width + right, height, left, height], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    adjusted = quadrilateral.adjusted(lengths, each)
    np.testing.assert_allclose([float(adjusted[n]) / MM for n in SIX], distances(found.x), atol=2e-3)


# ---- properties --------------------------------------------------------------------------------------------


@given(st.integers(500, 15000), st.integers(500, 4000), st.integers(1, 5000))
def test_on_a_rectangle_equal_tapes_make_a_misclosure_deviate_exactly_twice_one_tape(width, height, tape_um):
    lengths = figure(width, 0, 0, height, height)
    assert quadrilateral.misclosure_deviation(lengths, dict.fromkeys(SIX, tape_um * 1000)) == 2 * tape_um * 1000


@given(st.integers(1500, 12000), st.integers(1800, 3600), st.integers(-40, 40), st.integers(-40, 40))
def test_rack_is_how_far_the_head_slid_whatever_the_keystone(width, height, left, right):
    lengths = figure(width, left, right, height, height)
    slid = quadrilateral.rack(*(lengths[n] for n in ("bottom", "top", "rising", "falling")))
    assert float(slid) / MM == pytest.approx((left + right) / 2, abs=1e-3)


@given(st.integers(1500, 12000), st.integers(1800, 3600), st.integers(-9, 9), st.integers(-9, 9), st.integers(0, 5))
def test_true_lengths_close_and_show_where_the_top_corners_stand(width, height, left, right, higher):
    lengths = figure(width, left, right, height, height + higher)
    assert abs(quadrilateral.implied_falling(lengths) - lengths["falling"]) <= 2000
    best = quadrilateral.adjusted(lengths, dict.fromkeys(SIX, MM))
    leans = quadrilateral.top_corners_lean(best)
    assert (leans["left"] / MM, leans["right"] / MM) == pytest.approx((left, right), abs=0.002)


sizes = st.integers(1_000_000_000, 9_000_000_000)
leans = st.integers(-12_000_000, 12_000_000)


@given(st.lists(leans, min_size=4, max_size=4), leans, leans, st.integers(2000, 3000))
def test_a_mirrored_opening_mirrors_its_rack(plumb, left, right, height):
    lengths = figure(4000, left / MM, right / MM, height, height)
    mirrored = {**lengths, "rising": lengths["falling"], "falling": lengths["rising"],
                "left": lengths["right"], "right": lengths["left"]}

    def jambs(le, lf, re, rf):
        return {"plumb": {"over": height, "left": {"edge": f"{le / MM:.6f}", "face": f"{lf / MM:.6f}"},
                          "right": {"edge": f"{re / MM:.6f}", "face": f"{rf / MM:.6f}"}}}

    le, lf, re, rf = plumb
    seen = opening.judge(taped(lengths, **jambs(le, lf, re, rf)), LIMITS)
    other = opening.judge(taped(mirrored, **jambs(-re, rf, -le, lf)), LIMITS)
    for name in ("rack_mm", "rack_by_plumb_mm", "twist_mm"):
        assert seen.computed[name] == -other.computed[name]
    within = {f.quantity: f.within for f in seen.findings}
    swapped = {f.quantity: f.within for f in other.findings}
    assert within["rack"] == swapped["rack"]
    assert within["jamb_plumb_left"] == swapped["jamb_plumb_right"]


@given(st.lists(sizes, min_size=6, max_size=6), st.booleans())
def test_whatever_six_lengths_come_in_a_verdict_comes_out(lengths, known):
    verdict = opening.judge(taped(dict(zip(SIX, lengths, strict=True))), LIMITS if known else {})
    assert verdict.as_dict()["result"] in ("tape_again", "not_enough_readings", "fail")


@given(st.integers(-30, 30).filter(lambda mm: abs(mm) > 8), st.sampled_from(("rising", "falling")))
def test_a_diagonal_misread_by_more_than_chance_asks_for_all_six_and_names_none(by, which):
    # equal tapes of 1 mm: beyond 3.29 x 2 mm
    lengths = figure(4000, 0, 0, 3000, 3000)
    verdict = opening.judge(taped({**lengths, which: lengths[which] + by * MM}), LIMITS)
    assert verdict.result == "tape_again"
    assert verdict.missing[0] == {"what": "all_six_tapes_again", "which": list(SIX)}
    assert not {f.quantity for f in verdict.findings} & {"rack", "tightest_width", "loosest_width"}


def test_a_blunder_in_a_side_smaller_than_the_detectable_one_goes_unseen():
    # minimal detectable blunder of that side 15.6 mm, of a diagonal 8.3 mm (computed): 10 mm lies between
    lengths = six(4000, 2500, 4000, 2500, 4716.990566, 4716.990566)
    in_side = opening.judge(taped({**lengths, "right": lengths["right"] + 10 * MM}), LIMITS)
    in_diagonal = opening.judge(taped({**lengths, "rising": lengths["rising"] + 10 * MM}), LIMITS)
    assert (in_side.result, in_diagonal.result) == ("not_enough_readings", "tape_again")


@pytest.mark.parametrize(("narrower", "flagged"), [(4, False), (5, True)])
def test_a_head_narrower_than_its_sill_by_more_than_two_tapes_can_err_is_not_square(narrower, flagged):
    # tapes of 1 mm: 3.29 x sqrt(2) = 4.65 mm
    verdict = opening.judge(taped(figure(4000, narrower / 2, -narrower / 2, 2500, 2500)), LIMITS)
    assert ("equal_diagonals_but_not_square" in [look["what"] for look in verdict.second_look]) is flagged


@pytest.mark.parametrize(("left", "right"), [(4, 0), (0, 4), (2, -2), (-2, 2)])
def test_a_twist_is_too_much_whichever_jamb_leans_out(left, right):
    plumb = {"over": 2500, "left": {"face": left}, "right": {"face": right}}
    verdict = opening.judge({"unit": "mm", "plumb": plumb}, LIMITS)
    twisted = next(f for f in verdict.findings if f.quantity == "twist")
    assert (twisted.value, twisted.within) == (4 * MM, False)


@pytest.mark.parametrize("widths", [(3000, 3200, 3400), (3400, 3200, 3000), (3000, 3400, 3200)])
def test_of_three_widths_that_all_differ_none_is_singled_out(widths):
    taken = dict(zip(("top", "middle", "bottom"), widths, strict=True))
    looks = opening.judge({"unit": "mm", "widths": taken}, LIMITS).second_look
    assert "unlike_the_others" not in [look["what"] for look in looks]


@pytest.mark.parametrize("slid", [-4, 4])
def test_an_opening_that_is_racked_is_not_told_besides_that_its_diagonals_are_equal(slid):
    verdict = opening.judge(taped(figure(4000, slid + 5, slid - 5, 2500, 2500)), LIMITS)
    assert verdict.result == "fail"
    assert "equal_diagonals_but_not_square" not in [look["what"] for look in verdict.second_look]


def test_a_tapes_own_deviation_without_a_share_of_the_length_has_none():
    lengths = figure(4000, 0, 0, 3000, 3000)
    payload = taped(lengths, tape_deviation={"a": 2})
    verdict = opening.judge(payload, {**LIMITS, "tape_deviation_per_m": Limit(0.1)})
    assert verdict.computed["misclosure_deviation_mm"] == 4 * MM


def test_what_plumb_says_stands_though_the_tapes_contradict_each_other():
    plumb = {"over": 3000, "left": {"edge": 5, "face": 0}, "right": {"edge": 5, "face": 0}}
    verdict = opening.judge(taped(six(4000, 3000, 4000, 3000, 5000, 5030), plumb=plumb), LIMITS)
    assert verdict.result == "tape_again"
    assert [(f.quantity, f.within) for f in verdict.findings if f.quantity.startswith(("rack", "jamb"))] == [
        ("rack", False), ("jamb_plumb_left", False), ("jamb_plumb_right", False),
    ]


def test_the_corner_that_leans_most_is_the_first_to_move_and_back_towards_plumb():
    verdict = opening.judge(taped(figure(4000, 2, -7, 2500, 2500)), LIMITS)
    first = verdict.as_dict()["computed"]["moves"][0]
    assert (first["corner"], first["towards"]) == ("top_right", "right")
    assert float(first["by_mm"]) == pytest.approx(7, abs=0.001)
