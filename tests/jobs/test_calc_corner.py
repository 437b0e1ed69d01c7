"""Shapes on the way in, each against a search over positions and angles that knows nothing of the formula."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.calc import corner
from jobs.calc.corner import MM, UM

WIDTHS = st.integers(700, 3000).map(lambda mm: mm * MM)


# ---- a search over positions and angles -----------------------------------------------------------------


def into_the_wall(starts, ends, a, b):
    """How deep a side of the load lies in the wall beyond the inner corner, x > a and y > b; none: nought or less.

    Along a side the lesser of x - a and y - b is greatest at one of its ends or where the two are equal."""
    (x0, y0), (x1, y1) = starts, ends
    turn = (x1 - x0) - (y1 - y0)
    at = np.clip(np.divide((y0 - b) - (x0 - a), turn, out=np.zeros_like(turn), where=np.abs(turn) > 1e-9), 0, 1)
    depths = [np.minimum(x0 + t * (x1 - x0) - a, y0 + t * (y1 - y0) - b) for t in (0, 1, at)]
    return np.maximum.reduce(depths)


def turns_by_search(length, thickness, a, b, angles, away):
    """At every angle of the turn there is a place, off the outer walls by some of `away`, where it lies in no wall."""
    s, c = np.sin(angles)[:, None, None], np.cos(angles)[:, None, None]
    along, across = (length * c, -length * s), (thickness * s, thickness * c)
    x0, y0 = 0 * s + away[None, :, None], length * s + away[None, None, :]  # the least x and y are off by `away`
    p = [(x0, y0), (x0 + along[0], y0 + along[1])]
    p += [(x + across[0], y + across[1]) for x, y in reversed(p)]
    p = [tuple(np.broadcast_arrays(x, y)) for x, y in p]
    worst = np.maximum.reduce([into_the_wall(p[n], p[(n + 1) % 4], a, b) for n in range(4)])
    return bool((worst.min(axis=(1, 2)) <= 1e-6).all())


def longest_by_search(a, b, thickness, step=0.2):
    angles = np.radians(np.arange(step, 90, step))
    away = np.array([0, 1, 3, 10, 30, 100, 300, 1000], dtype=float)
    low, high = 0.0, 4.0 * (a + b)
    while high - low > 0.05:
        middle = (low + high) / 2
        low, high = (middle, high) if turns_by_search(middle, thickness, a, b, angles, away) else (low, middle)
    return low


@pytest.mark.parametrize(
    ("a", "b", "thickness"),
    [(1200, 1200, 600), (1200, 1200, 120), (900, 1500, 600), (1500, 900, 450), (1000, 3000, 700), (1000, 1000, 950),
     (900, 1400, 900), (2440, 1067, 610)],
)
def test_no_place_and_no_angle_lets_a_longer_load_round_the_corner(a, b, thickness):
    found = longest_by_search(a, b, thickness)
    assert corner.longest_round(a * MM, b * MM, thickness * MM) / MM == pytest.approx(found, abs=0.5)


@settings(max_examples=8)
@given(a=st.integers(800, 2500), b=st.integers(800, 2500), part=st.integers(1, 100))
def test_nor_in_any_other_two_corridors(a, b, part):
    thickness = min(a, b) * part // 100
    found = longest_by_search(a, b, thickness, step=0.5)
    assert corner.longest_round(a * MM, b * MM, thickness * MM) / MM == pytest.approx(found, abs=2)


def test_a_corner_of_1_2_by_1_2_m_takes_2_194_m_on_a_cart_0_6_m_wide():
    """Worked beside the formula; two corridors alike have the closed form 2 (sqrt(2) a - T): 2194.113 mm."""
    assert corner.longest_round(1200 * MM, 1200 * MM, 600 * MM) == 2_194_113_000


@given(a=WIDTHS, part=st.integers(0, 100))
def test_two_corridors_alike_have_a_closed_form(a, part):
    thickness = a * part // 100
    assert corner.longest_round(a, a, thickness) == pytest.approx(2 * (math.sqrt(2) * a - thickness), abs=UM)


@given(a=WIDTHS, b=WIDTHS)
def test_a_ladder_of_no_thickness_is_the_one_of_the_textbooks(a, b):
    """(a^(2/3) + b^(2/3))^(3/2): ordinary calculus."""
    assert corner.longest_round(a, b, 0) == pytest.approx((a ** (2 / 3) + b ** (2 / 3)) ** 1.5, abs=2 * UM)


@given(a=WIDTHS, b=WIDTHS, thickness=st.integers(1, 700).map(lambda mm: mm * MM))
def test_a_wider_corridor_or_a_thinner_load_never_turns_less(a, b, thickness):
    longest = corner.longest_round(a, b, thickness)
    assert longest == corner.longest_round(b, a, thickness)
    assert longest <= corner.longest_round(a + 50 * MM, b, thickness)
    assert longest <= corner.longest_round(a, b, thickness - MM)


def test_a_load_thicker_than_either_corridor_gets_into_none():
    assert corner.longest_round(900 * MM, 1200 * MM, 900 * MM + 1) is None
    assert corner.longest_past(900 * MM, 1200 * MM, 900 * MM + 1) is None
    assert not corner.gets_past(2000 * MM, 901 * MM, 900 * MM, 5000 * MM)


def test_what_does_not_turn_may_pass_sideways_when_it_fits_across_both():
    a, b = 1000 * MM, 2000 * MM
    assert corner.longest_round(a, b, a) < 1990 * MM
    assert corner.sideways(2000 * MM, 1000 * MM, a, b)
    assert corner.sideways(2000 * MM, 1000 * MM, b, a)
    assert not corner.sideways(2000 * MM + 1, 1000 * MM, a, b)
    assert not corner.sideways(2000 * MM, 1000 * MM + 1, a, b)
    assert corner.gets_past(2000 * MM, 1000 * MM, a, b)


@given(a=WIDTHS, b=WIDTHS, length=st.integers(1500, 6000), thickness=st.integers(50, 700))
def test_the_width_it_asks_for_would_do_and_a_micrometre_less_would_not(a, b, length, thickness):
    length, thickness = length * MM, thickness * MM
    needed = corner.width_needed(length, thickness, b)
    assert corner.gets_past(length, thickness, needed, b)
    assert not corner.gets_past(length, thickness, needed - UM, b)
    both = corner.both_widths_needed(length, thickness)
    assert corner.gets_past(length, thickness, both, both)
    assert not corner.gets_past(length, thickness, both - UM, both - UM)
    assert corner.gets_past(length, thickness, a, b) is (a >= needed)


def test_no_width_of_one_corridor_helps_where_the_other_is_too_narrow_for_it():
    assert corner.width_needed(3000 * MM, 900 * MM, 800 * MM) is None


# ---- leaning --------------------------------------------------------------------------------------------


@given(height=st.integers(2000, 3600), thickness=st.integers(50, 800), room=st.integers(900, 3700))
def test_it_leans_no_further_than_it_must(height, thickness, room):
    """Against every thousandth of a degree in turn."""
    degrees = np.arange(0, 90.0005, 0.001)
    tall = height * np.cos(np.radians(degrees)) + thickness * np.sin(np.radians(degrees))
    first = degrees[np.argmax(tall <= room)]
    lean = corner.least_lean(height * MM, thickness * MM, room * MM)
    assert float(lean) == pytest.approx(first, abs=0.00101)
    assert corner.leaned(height * MM, thickness * MM, lean)[0] <= room * MM


@given(height=st.integers(2000, 3600), room=st.integers(900, 3600), off=st.integers(0, 999))
def test_leaned_as_printed_it_gets_under_to_the_nanometre(height, room, off):
    """The degrees are rounded to the thousandth, and never to one that is too few."""
    lean = corner.least_lean(height * MM, 100 * MM, room * MM + off)
    assert corner.leaned(height * MM, 100 * MM, lean)[0] <= room * MM + off
    assert (lean * 1000).denominator == 1


def test_upright_needs_no_lean_and_lower_than_flat_there_is_none():
    assert corner.least_lean(2400 * MM, 100 * MM, 2400 * MM) == 0
    assert corner.least_lean(2400 * MM, 100 * MM, 100 * MM) == 90
    assert corner.least_lean(2400 * MM, 100 * MM, 100 * MM - 1) is None


def test_leaned_it_is_wider_as_drawn_in_a_3_4_5_triangle():
    """sin p = 0.6: 3000 by 100 leaned so is 3000 * 0.8 + 100 * 0.6 tall and 3000 * 0.6 + 100 * 0.8 wide."""
    lean = Fraction(math.degrees(math.asin(0.6)))
    assert corner.leaned(3000 * MM, 100 * MM, lean) == (2460 * MM, 1880 * MM)
    assert corner.leaned(3000 * MM, 100 * MM, corner.FLAT) == (100 * MM, 3000 * MM)


# ---- a cage ---------------------------------------------------------------------------------------------


@given(a=st.integers(800, 3000), b=st.integers(800, 3000), part=st.integers(1, 100))
def test_in_a_cage_no_angle_lets_a_longer_load_stand(a, b, part):
    thickness = min(a, b) * part / 100
    angles = np.radians(np.arange(0.002, 90, 0.002))
    s, c = np.sin(angles), np.cos(angles)
    slanted = np.minimum((a - thickness * s) / c, (b - thickness * c) / s).max()
    found = max(a, b, slanted)
    assert corner.longest_inside(a * MM, b * MM, round(thickness * MM)) / MM == pytest.approx(found, abs=0.2)


def test_a_stick_stands_along_the_diagonal_and_a_load_thicker_than_the_cage_nowhere():
    assert corner.longest_inside(1100 * MM, 2100 * MM, 0) == pytest.approx(math.hypot(1100, 2100) * MM, abs=UM)
    assert corner.longest_inside(1100 * MM, 2100 * MM, 1100 * MM) == 2100 * MM
    assert corner.longest_inside(1100 * MM, 2100 * MM, 1100 * MM + 1) is None
