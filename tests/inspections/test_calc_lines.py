"""Range, least squares and minimum zone: three different numbers."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from inspections.calc import lines

# A national laboratory's test pad, E1155M spreadsheet of 2003-05-05, 300 mm stations: raw heights, printed q values.
PAD_0 = (
    "418.617 419.938 421.894 423.748 425.221 424.739 423.799 424.307 425.425 424.688 423.164 422.758 420.472 416.738"
)
PAD_0_Q = "0.635 -0.102 -0.381 -1.956 -0.457 1.448 0.610 -1.854 -0.787 1.118 -1.880 -1.448"
PAD_1 = (
    "418.592 421.081 422.072 421.513 420.040 421.132 420.675 421.640 421.894 421.538 421.183 421.894 419.684 "
    "420.040 417.982"
)
PAD_1_Q = "-1.499 -1.549 -0.914 2.565 -1.549 1.422 -0.711 -0.610 0.000 1.067 -2.921 2.565 -2.413"


def pad(text):
    return [(300_000_000 * i, round(Fraction(h) * 10**6)) for i, h in enumerate(text.split())]


def points_of(heights_and_steps):
    at, points = 0, []
    for step, height in heights_and_steps:
        at += step
        points.append((at, height))
    return points


POINTS = st.lists(
    st.tuples(st.integers(1, 2_000_000), st.integers(-50_000, 50_000)), min_size=3, max_size=25
).map(points_of)


def millimetres(nm):
    return round(float(nm) / 1e6, 6)


@pytest.mark.parametrize(
    ("line", "zone", "squares", "spread", "slope"),
    [
        # Computed with scipy (linprog and ConvexHull agree) and numpy.polyfit on the published heights.
        (PAD_0, 7.964308, 8.5226, 8.687, -0.1096),
        (PAD_1, 3.781286, 3.9098, 4.090, -0.1842),
    ],
)
def test_a_published_floor_line_has_the_three_numbers_that_other_tools_give_it(line, zone, squares, spread, slope):
    points = pad(line)
    assert millimetres(lines.minimum_zone(points)) == zone
    assert round(float(lines.least_squares_width(points)) / 1e6, 4) == squares
    assert millimetres(lines.total_range(points)) == spread
    assert round(float(lines.least_squares(points)[0]) * 1000, 4) == slope


@pytest.mark.parametrize(("line", "printed"), [(PAD_0, PAD_0_Q), (PAD_1, PAD_1_Q)])
def test_the_published_heights_were_copied_right_because_their_printed_curvatures_follow_from_them(line, printed):
    h = [height for _, height in pad(line)]
    q = [h[i + 1] - 2 * h[i] + h[i - 1] for i in range(1, len(h) - 1)]
    theirs = [round(Fraction(value) * 10**6) for value in printed.split()]
    assert all(abs(a - b) <= 1_001 for a, b in zip(q, theirs, strict=True))


def test_a_zigzag_of_one_has_a_minimum_zone_of_one():
    assert lines.minimum_zone([(0, 0), (1, 1), (2, 0), (3, 1)]) == 1


def test_height_between_two_readings_is_read_off_the_straight_line_and_stays_exact():
    assert lines.profile_at([(0, 0), (3, 1)], 1) == Fraction(1, 3)
    assert lines.profile_at([(0, 0), (3, 1), (5, 9)], 3) == 1
    assert lines.profile_at([(2, 7)], 2) == 7


@pytest.mark.parametrize("place", [-1, 4])
def test_nothing_is_extrapolated_beyond_the_readings(place):
    with pytest.raises(ValueError, match="outside"):
        lines.profile_at([(0, 0), (3, 1)], place)


def test_two_points_are_straight():
    assert lines.minimum_zone([(0, 5), (10, 9)]) == lines.least_squares_width([(0, 5), (10, 9)]) == 0


@given(POINTS)
def test_the_minimum_zone_is_what_a_linear_program_finds(points):
    x = np.array([p[0] for p in points], float) / 1e6
    h = np.array([p[1] for p in points], float)
    ones = np.ones_like(x)
    rows = np.vstack([np.column_stack([-x, -ones, 0 * ones]), np.column_stack([x, ones, -ones])])
    found = linprog([0, 0, 1], A_ub=rows, b_ub=np.concatenate([-h, h]), bounds=[(None, None)] * 3)
    assert float(lines.minimum_zone(points)) == pytest.approx(found.fun, abs=1e-3, rel=1e-6)


@given(POINTS)
def test_the_minimum_zone_is_the_tallest_chord_of_the_convex_hull(points):
    zone, spread = lines.minimum_zone(points), lines.total_range(points)
    assume(zone * 10_000 > spread)  # qhull finds no hull in a line of points
    scaled = np.array([(p[0] / points[-1][0], p[1] / max(spread, 1)) for p in points], float)
    hull = ConvexHull(scaled)
    a, b, c = hull.equations.T
    upper, lower = b > 1e-12, b < -1e-12
    chords = [
        np.min(-(a[upper] * x + c[upper]) / b[upper]) - np.max(-(a[lower] * x + c[lower]) / b[lower])
        for x in scaled[:, 0]
    ]
    assert float(zone / spread) == pytest.approx(max(chords), rel=1e-6, abs=1e-9)


@given(POINTS, st.integers(-9, 9), st.integers(-10**9, 10**9))
def test_tilting_and_raising_a_line_leaves_its_straightness_alone(points, tilt, raised):
    moved = [(x, h + tilt * x + raised) for x, h in points]
    assert lines.minimum_zone(moved) == lines.minimum_zone(points)
    assert lines.least_squares_width(moved) == lines.least_squares_width(points)


@given(POINTS)
def test_the_minimum_zone_is_never_more_than_the_other_two(points):
    zone = lines.minimum_zone(points)
    assert zone <= lines.least_squares_width(points)
    assert zone <= lines.total_range(points)
