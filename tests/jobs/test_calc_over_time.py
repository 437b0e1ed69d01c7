"""Openings by stage at the ends of days and weeks, from what stands now and what moved since."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.over_time import DAY, WEEK, Moved, Period, periods, standing
from jobs.calc.verdict import BadInput
from jobs.stages import ORDER, Stage

MONDAY = dt.date(2026, 3, 2)


def day(number):
    return MONDAY + dt.timedelta(days=number)


def test_weeks_go_from_monday_to_sunday_and_are_cut_where_the_report_begins_and_ends():
    assert periods(day(2), day(15), WEEK) == (
        Period(day(2), day(6)), Period(day(7), day(13)), Period(day(14), day(15)))


def test_days_are_single_days():
    assert periods(day(0), day(2), DAY) == tuple(Period(day(n), day(n)) for n in range(3))


def test_more_periods_than_can_be_drawn_are_refused_and_an_end_before_its_start():
    assert len(periods(day(0), day(7 * 106 - 1), WEEK)) == 106
    with pytest.raises(BadInput):
        periods(day(0), day(7 * 106), WEEK)
    with pytest.raises(BadInput):
        periods(day(1), day(0), DAY)


def test_a_known_history_gives_the_known_counts():
    """Three openings. One is verified on the second day and set on the fourth, one goes back again, one comes late."""
    measured, verified, frame = Stage.TO_BE_MEASURED, Stage.OPENING_VERIFIED, Stage.FRAME_SET
    moves = [Moved(1, measured, verified, 2), Moved(3, verified, frame, 1), Moved(4, verified, measured, 1)]
    shown = standing({measured: 2, frame: 1}, moves, entered=[2, 0, 1, 0, 0], count=4)
    assert [(s[measured], s[verified], s[frame]) for s in shown] == [(2, 0, 0), (0, 2, 0), (1, 2, 0), (1, 1, 1)]


def test_without_periods_there_is_nothing():
    assert standing({Stage.ACCEPTED: 3}, [], entered=[0], count=0) == ()


@given(st.lists(st.tuples(st.integers(0, 5), st.lists(st.tuples(st.integers(0, 5), st.integers(0, 7)), max_size=6)),
                max_size=12))
def test_it_is_what_counting_each_opening_by_itself_gives(openings):
    """Each opening enters in a period and then stands at one stage after another, forward and back."""
    count, ends, moves, entered, now = 5, [dict.fromkeys(ORDER, 0) for _ in range(5)], [], [0] * 6, {}
    for enters, steps in openings:
        entered[enters] += 1
        at, then = ORDER[0], {enters: ORDER[0]}
        for period, number in sorted((max(p, enters), n) for p, n in steps):
            if ORDER[number] is not at:
                moves.append(Moved(period, at, ORDER[number], 1))
                at = ORDER[number]
            then[period] = at
        now[at] = now.get(at, 0) + 1
        for period in range(enters, count):
            ends[period][then[max(p for p in then if p <= period)]] += 1
    assert standing(now, moves, entered, count) == tuple(ends)
