"""Which objections to given work somebody still has to look at."""

from datetime import date, timedelta

import pytest

from jobs.calc.fitting import is_new, standing, undecided

TODAY = date(2026, 3, 10)
HANDS = {"code": "too_few_hands", "values": {"needed": 3, "there": 2}}
TURN, WAITING = {"reason": "earlier-stage", "stage": "frame set"}, {"reason": "waiting", "what_for": "the floor"}


def unready(*reasons):
    return {"code": "not_ready", "values": {"reasons": list(reasons)}}


def looked_at(now, given=(), start=7, inked=True):
    return undecided(now, given, start_day=TODAY + timedelta(days=start), today=TODAY, inked=inked)


def test_what_was_known_when_it_was_inked_was_decided_and_what_came_since_was_not():
    assert looked_at([HANDS], [HANDS]) == []
    assert looked_at([HANDS]) == [HANDS]


@pytest.mark.parametrize(("start", "found"), [(3, [HANDS]), (0, [HANDS]), (-2, [HANDS]), (4, [])])
def test_pencilled_work_about_to_begin_is_to_be_decided_whatever_was_known(start, found):
    assert looked_at([HANDS], [HANDS], start, inked=False) == found


def test_that_its_turn_has_not_come_stands_against_nothing_planned_for_later():
    assert looked_at([unready(TURN)]) == []
    assert looked_at([unready(TURN)], start=0) == [unready(TURN)]
    assert looked_at([unready(TURN, WAITING)]) == [unready(WAITING)]


def test_less_unready_than_it_was_is_not_newly_so():
    assert not is_new(unready(WAITING), [unready(TURN, WAITING)])
    assert is_new(unready(WAITING), [unready(TURN)])


def test_what_stands_against_it_today_was_perhaps_known():
    assert standing([HANDS, unready(TURN)], start_day=TODAY + timedelta(days=1), today=TODAY) == [HANDS]
