"""The longest fastener into the wall that hides the panels."""

from hypothesis import given
from hypothesis import strategies as st

from units.calc.fastener import Wall, longest_allowed

MM = 1_000_000
BOARD, STUD, CLEARANCE = 15_900_000, 38_100_000, 6 * MM
NM = st.integers(0, 100 * MM)


def test_board_and_flat_stud_less_six_is_48_millimetres():
    """15.9 + 38.1 - 6 = 48.0; plain arithmetic."""
    assert longest_allowed(BOARD, STUD, CLEARANCE) == 48 * MM


def test_one_exactly_that_long_may_be_used_and_a_nanometre_more_may_not():
    wall = Wall(BOARD, STUD, CLEARANCE, fasteners=(48 * MM, 48 * MM + 1, 32 * MM))
    assert wall.may_be_used == (48 * MM, 32 * MM)


def test_where_the_clearance_is_not_known_none_may_be_used():
    wall = Wall(BOARD, STUD, None, fasteners=(1,))
    assert (wall.longest_allowed, wall.may_be_used) == (None, ())


@given(NM, NM, NM, NM)
def test_a_fastener_that_may_be_used_leaves_the_clearance(board, stud, clearance, length):
    wall = Wall(board, stud, clearance, fasteners=(length,))
    if length and wall.may_be_used:
        assert board + stud - length >= clearance
    if board + stud - length >= clearance:
        assert wall.may_be_used
