"""Anchors along a member: by exact division, against putting them one by one."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from units.calc.anchors import Member, anchoring, by_fastener, count

INCH, MM = 25_400_000, 1_000_000


def inches(length, spacing=16, edge=6):
    return anchoring(Member("head", *(int(Fraction(x) * INCH) for x in (length, spacing, edge))))


@pytest.mark.parametrize(("length", "n", "spacing"), [(96, 7, Fraction(14)), (144, 10, Fraction(132, 9))])
def test_sixteen_inches_on_centre_and_six_from_the_ends(length, n, spacing):
    """Plain arithmetic; 16 in and 6 in are common practice, no source."""
    found = inches(length)
    assert (found.count, found.spacing) == (n, spacing * INCH)


def test_a_length_that_divides_evenly_does_not_gain_an_anchor():
    """96 - 12 is six times 14: seven. A nanometre more is eight."""
    assert inches(96, 14).count == 7
    assert count(96 * INCH + 1, 14 * INCH, 6 * INCH) == 8


@given(st.integers(1, 400), st.integers(50 * MM, 800 * MM), st.integers(0, 300 * MM))
def test_even_divisions_are_even_at_any_size(spaces, spacing, edge):
    """Where 0.1 + 0.2 style floats would gain one."""
    assert count(2 * edge + spaces * spacing, spacing, edge) == spaces + 1


def one_by_one(length, spacing, edge):
    """The fewest evenly spaced anchors, tried from two on."""
    n = 2
    while (length - 2 * edge) > spacing * (n - 1):
        n += 1
    return n


@given(st.integers(1, 20_000 * MM), st.integers(50 * MM, 1000 * MM), st.integers(0, 400 * MM))
def test_no_fewer_anchors_would_do(length, spacing, edge):
    found = anchoring(Member("head", length, spacing, edge))
    if length <= 2 * edge:
        assert found.at == (Fraction(length, 2),)
        return
    assert found.count == one_by_one(length, spacing, edge)
    gaps = {after - before for before, after in pairwise(found.at)}
    assert gaps == {found.spacing}
    assert found.spacing <= spacing
    assert found.at[0] == length - found.at[-1] == edge


@pytest.mark.parametrize("length", [1, 8, 12])
def test_a_member_no_longer_than_both_edges_takes_one_in_the_middle(length):
    found = inches(length)
    assert (found.count, found.spacing, found.edge) == (1, None, Fraction(length * INCH, 2))


def test_a_member_a_little_longer_than_both_edges_takes_two():
    assert anchoring(Member("head", 12 * INCH + 1, 16 * INCH, 6 * INCH)).at == (6 * INCH, 6 * INCH + 1)


def test_each_kind_of_fastener_is_counted_by_itself():
    made = [anchoring(Member("m", length * INCH, 16 * INCH, 6 * INCH, kind))
            for length, kind in ((96, "screw"), (96, "bolt"), (144, "screw"))]
    assert by_fastener(made) == {"screw": 17, "bolt": 7}
