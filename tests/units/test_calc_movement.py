"""Joint width for movement, against the course it is taken from."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from units.calc.movement import Moving, capability_needed, growth, width_needed

INCH, MM = 25_400_000, 1_000_000
BRICK = Fraction("3.6e-6") * 9 / 5  # 3.6 millionths per degree F, Cornell's page
SHARE = Fraction("0.0002")


def cornell(feet, fahrenheit, other, tolerance):
    return Moving(BRICK, feet * 12 * INCH, Fraction(fahrenheit) * 5 / 9, int(Fraction(tolerance) * INCH),
                  int(Fraction(other) * INCH), SHARE)


@pytest.mark.parametrize(
    ("year", "capability", "moving", "inches"),
    [
        (2002, 50, cornell(20, 95, "1/8", "1/8"), "0.63516"),
        (2004, 50, cornell(12, 90, "1/8", "3/16"), "0.588412"),
        (2001, 25, cornell(25, 100, 0, "1/8"), "0.797"),
    ],
)
def test_the_widths_of_the_course_come_out_to_the_last_digit(year, capability, moving, inches):
    """Cornell, ARCH 262, assignments of that year: inputs published, answers by hand from the formula."""
    assert width_needed(moving, Fraction(capability)) == Fraction(inches) * INCH


@pytest.mark.parametrize(("what", "millionths", "grows"), [("aluminium", 23, 6.9), ("glass", 9, 2.7)])
def test_six_metres_over_fifty_degrees(what, millionths, grows):
    """23 for aluminium and 9 for float glass are values from memory (Eurocode 9, EN 572-1)."""
    assert float(growth(Fraction(millionths, 10**6), 6000 * MM, Fraction(50))) / MM == pytest.approx(grows)


@given(st.integers(1, 40), st.integers(1, 60_000), st.integers(1, 80), st.integers(0, 10), st.integers(0, 10),
       st.integers(5, 100))
def test_a_joint_exactly_that_wide_needs_exactly_that_capability(millionths, length, kelvin, other, tolerance, pct):
    """The formula turned round: what moves is that share of what the tolerance leaves."""
    moving = Moving(Fraction(millionths, 10**6), length * MM, Fraction(kelvin), tolerance * MM, other * MM)
    width = width_needed(moving, Fraction(pct))
    assert (width - moving.tolerance) * pct / 100 == moving.amount
    assert capability_needed(moving, width) == pct


@given(st.integers(1, 60_000), st.integers(1, 60_000), st.integers(1, 99))
def test_a_longer_part_or_a_stiffer_sealant_never_needs_a_narrower_joint(one, other, pct):
    short, long = (Moving(BRICK, length * MM, Fraction(50), MM, MM, SHARE) for length in sorted((one, other)))
    assert width_needed(short, Fraction(pct)) <= width_needed(long, Fraction(pct))
    assert width_needed(long, Fraction(pct + 1)) < width_needed(long, Fraction(pct))


def test_no_sealant_is_enough_where_the_tolerance_takes_up_the_joint():
    assert capability_needed(Moving(BRICK, 4000 * MM, Fraction(50), 6 * MM), 6 * MM) is None


def test_what_is_lacking_is_named():
    assert Moving(length=1, tolerance=0).lacking == ("expansion", "range")
