"""Shim packs: the fewest pieces, against trying every pack there is."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from units.calc.shims import Station, by_thickness, packs

MM, SIXTEENTH = 1_000_000, 1_587_500
INCHES = (SIXTEENTH, 2 * SIXTEENTH, 4 * SIXTEENTH)


def pack(height, thicknesses):
    return packs([Station(0, height)], thicknesses)[0]


def every_pack(height, thicknesses):
    """The greatest sum not above the height, and the fewest pieces that make it."""
    counts = product(*(range(int(height // thickness) + 1) for thickness in thicknesses))
    sums = ((sum(n * t for n, t in zip(pieces, thicknesses, strict=True)), sum(pieces)) for pieces in counts)
    return max(((total, -n) for total, n in sums if total <= height), default=(0, 0))


@given(st.integers(0, 30), st.lists(st.integers(1, 12), min_size=1, max_size=4, unique=True))
def test_no_other_pack_is_nearer_or_takes_fewer_pieces(height, thicknesses):
    found = pack(height * MM, [thickness * MM for thickness in thicknesses])
    total, fewest = every_pack(height, thicknesses)
    assert (found.station.packing - found.remainder, found.count) == (total * MM, -fewest)
    assert found.remainder == height * MM - sum(t * n for t, n in found.pieces.items()) >= 0


def test_the_thickest_first_is_not_always_the_fewest():
    """6 out of 4, 3 and 1: two threes, where 4 first takes three pieces."""
    assert pack(6 * MM, [4 * MM, 3 * MM, 1 * MM]).pieces == {3 * MM: 2}


def test_sixteenths_eighths_and_quarters_make_seven_sixteenths_in_three():
    assert pack(7 * SIXTEENTH, INCHES).pieces == {4 * SIXTEENTH: 1, 2 * SIXTEENTH: 1, SIXTEENTH: 1}


def test_what_no_sum_hits_is_left_to_the_bed():
    found = pack(7 * SIXTEENTH + 500_000, INCHES)
    assert (found.count, found.remainder) == (3, 500_000)


def test_a_packing_thinner_than_the_thinnest_takes_no_piece():
    found = pack(SIXTEENTH - 1, INCHES)
    assert (found.pieces, found.remainder) == ({}, SIXTEENTH - 1)


def test_a_packing_of_nothing_takes_nothing():
    assert (pack(0, INCHES).pieces, pack(0, INCHES).remainder) == ({}, 0)


def test_a_packing_off_a_level_sill_may_be_a_fraction_of_a_nanometre():
    found = pack(2 * SIXTEENTH + Fraction(1, 3), INCHES)
    assert (found.count, found.remainder) == (1, Fraction(1, 3))


def test_a_nanometre_short_of_a_sum_does_not_take_it():
    assert pack(4 * SIXTEENTH - 1, INCHES[1:]).pieces == {2 * SIXTEENTH: 1}


def test_inches_and_millimetres_are_packed_together():
    """25.4 = 7 x 3.175 + 3.175 exactly, and 12 + 12 + ... with millimetres leaves 0.4: the exact sum is taken."""
    assert pack(25_400_000, [3_175_000, 12 * MM, MM]).pieces == {3_175_000: 8}


def test_all_stations_are_counted_by_thickness():
    made = packs([Station(0, 3 * SIXTEENTH), Station(1, 5 * SIXTEENTH), Station(2, 0)], INCHES)
    assert by_thickness(made) == {4 * SIXTEENTH: 1, 2 * SIXTEENTH: 1, SIXTEENTH: 2}


@pytest.mark.parametrize("thicknesses", [(1, 3, 7, 9), (9, 7, 3, 1), (3, 9, 1, 7)])
def test_of_packs_with_as_few_pieces_the_one_with_the_thickest_is_made(thicknesses):
    """15 out of 1, 3, 7 and 9 takes three: 9 + 3 + 3 or 7 + 7 + 1, whatever order they are given in."""
    assert pack(15 * MM, [t * MM for t in thicknesses]).pieces == {9 * MM: 1, 3 * MM: 2}
