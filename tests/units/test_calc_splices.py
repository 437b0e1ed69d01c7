"""A sill longer than a piece comes in pieces: they fill its length, and none is a stub."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.lengths import MM
from units.calc.splices import pieces, places

LENGTHS = st.integers(1, 20_000 * MM)
LONGEST = st.integers(500 * MM, 8_000 * MM)


@pytest.mark.parametrize(("length", "longest", "cut"), [
    (6000, 6000, [6000]), (6001, 6000, [3001, 3000]), (9000, 6000, [4500, 4500]), (10_000, 4000, [3334, 3334, 3332]),
    (12_192, 6096, [6096, 6096]), (500, None, [500])])
def test_it_comes_in_as_few_pieces_as_can_be_alike_to_the_millimetre(length, longest, cut):
    found = pieces(length * MM, None if longest is None else longest * MM)
    assert [piece // MM for piece in found] == cut
    assert sum(found) == length * MM


@given(LENGTHS, LONGEST)
def test_the_pieces_are_the_length_and_none_is_longer_than_a_piece_can_be(length, longest):
    found = pieces(length, longest)
    assert sum(found) == length
    assert max(found) <= longest
    assert min(found) > 0
    assert (len(found) - 1) * longest < length, "one piece fewer would not do"


@given(LENGTHS, LONGEST)
def test_none_is_a_stub(length, longest):
    found = pieces(length, longest)
    assert max(found) - min(found) <= len(found) * MM


@given(LENGTHS, LONGEST, st.integers(1, 1000 * MM))
def test_a_longer_sill_never_has_fewer_pieces(length, longest, more):
    assert len(pieces(length + more, longest)) >= len(pieces(length, longest))


def test_a_splice_lies_between_two_pieces():
    assert places("sill", 3) == ("sill splice 1", "sill splice 2")
    assert places("sill", 1) == ()
