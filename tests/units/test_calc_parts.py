"""What a unit is made of, and how much of it is missing."""

import pytest

from jobs.calc.lengths import MM
from jobs.stages import ORDER, Stage
from units.calc.parts import (
    KINDS,
    Made,
    here_after,
    holds_up,
    listed,
    missing,
    most_said,
    short,
    splices,
    surplus,
)
from units.models import Part


def names(**known):
    return [(part.name, part.wanted) for part in listed(Made(**known))]


def test_a_one_way_door_has_a_lock_jamb_and_one_interlock():
    assert names(sill=9000 * MM, upright=2700 * MM, panels=("A", "B"), covered=True) == [
        ("Sill", 1), ("Head", 1), ("Lock jamb", 1), ("Pocket interlock", 1), ("Panel A", 1), ("Panel B", 1),
        ("Track cover", 2)]


def test_a_two_way_door_has_two_interlocks_and_no_lock_jamb():
    found = names(sill=9000 * MM, upright=2700 * MM, two_way=True, pockets=2, covered=True)
    assert ("Pocket interlock", 2) in found
    assert ("Track cover", 4) in found
    assert "Lock jamb" not in dict(found)


def test_a_long_sill_and_head_are_listed_piece_by_piece():
    found = listed(Made(sill=9000 * MM, longest=4000 * MM))
    assert [(part.name, part.length) for part in found] == [
        (f"{name}, piece {n}", 3000 * MM) for name in ("Sill", "Head") for n in (1, 2, 3)]


def test_sealant_is_listed_by_the_cartridge_and_none_where_none_is_taken():
    assert names(cartridges={"Joint sealant A": 11, "Bed sealant B": 0}) == [("Joint sealant A", 11)]


def test_of_what_is_not_known_nothing_is_listed():
    assert names() == []


def test_each_place_where_two_pieces_meet_is_a_splice():
    pieces = [("sill", 1), ("sill", 1), ("sill", 1), ("head", 2), ("cover", 4)]
    assert splices(pieces) == ("sill splice 1", "sill splice 2", "head splice 1")
    assert splices([("sill", 1), ("head", 1)]) == ()


@pytest.mark.parametrize(("wanted", "whole", "lacks"), [(4, 0, 4), (4, 3, 1), (4, 4, 0), (4, 6, 0)])
def test_missing_is_what_did_not_come_whole(wanted, whole, lacks):
    assert missing(wanted, whole) == lacks


@pytest.mark.parametrize(("state", "damaged", "lacks"), [
    ("expected", False, 1), ("received", False, 0), ("received", True, 1), ("hung", False, 0), ("hung", True, 1)])
def test_a_panel_is_missing_until_it_is_here_and_whole(state, damaged, lacks):
    assert missing(1, 0, state, damaged) == lacks


def test_nobody_calls_short_what_nobody_looked_for():
    assert short(4, 0, 0, looked_through=False) == 0
    assert short(4, 1, 1, looked_through=True) == 2
    assert short(4, 5, 0, looked_through=True) == 0


def test_a_cover_holds_up_the_last_work_and_a_sill_the_first():
    stopped = {kind: next(stage for stage in ORDER if holds_up(kind, stage)) for kind in KINDS}
    assert (stopped["sill"], stopped["panel"], stopped["cover"]) == (
        Stage.FRAME_SET, Stage.PANELS_HUNG, Stage.PUNCH_LIST)
    assert not any(holds_up(kind, Stage.OPENING_VERIFIED) for kind in KINDS), "measuring takes no material"


def test_the_kinds_that_are_kept_are_the_kinds_that_are_counted():
    assert {kind for kind, _ in Part.KINDS} == set(KINDS)


@pytest.mark.parametrize(("came", "here"), [
    ([], 0), ([(1, 0, 0)], 1), ([(0, 2, 0)], 0), ([(1, 1, 0), (1, 0, 0)], 2), ([(0, 0, 2), (2, 0, 0)], 2),
    ([(2, 0, 0), (0, 0, 1)], 1), ([(2, 0, 0), (0, 1, 0)], 1), ([(1, 0, 0), (0, 0, 1)], 1), ([(1, 0, 0), (0, 0, 2)], 0),
    ([(2, 0, 0), (0, 0, 9)], 0), ([(5, 0, 0), (0, 0, 1)], 4), ([(2, 0, 1)], 2)])
def test_of_two_wanted_so_many_are_here_after_all_that_was_said(came, here):
    assert here_after(2, came) == here


@pytest.mark.parametrize(("whole", "replaced", "more"), [(0, 0, 0), (1, 0, 0), (5, 0, 4), (2, 1, 0), (1, 1, 0)])
def test_what_came_whole_beyond_what_is_wanted_is_surplus(whole, replaced, more):
    assert surplus(1, whole, replaced) == more


def test_of_none_that_came_those_here_may_be_spoken_of():
    assert (most_said(1, 3, 0), most_said(1, 3, 2)) == (4, 1)
