"""What waits cost: days, standby, and whose they were."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.waited import Cost, Waited, costs, days_of, standby_of

MONDAY = dt.date(2026, 3, 2)


def day(number):
    return MONDAY + dt.timedelta(days=number)


@pytest.mark.parametrize(("raised", "cleared", "days"), [
    (0, 3, 3), (0, 0, 0), (0, 1, 1),
    (0, None, 14),  # still open on the last day
    (-5, 3, 3), (-5, -1, 0), (-5, 0, 0), (10, 40, 4), (13, None, 1), (14, None, 0)])
def test_days_are_those_it_was_waited_among_the_days_asked_for(raised, cleared, days):
    wait = Waited(day(raised), None if cleared is None else day(cleared))
    assert days_of(wait, day(0), day(13)) == days


def test_standby_is_of_the_day_the_wait_was_cleared():
    wait = Waited(day(-3), day(2), 240)
    assert [standby_of(wait, day(n), day(n + 1)) for n in (-2, 0, 2, 4)] == [0, 0, 240, 0]
    assert standby_of(Waited(day(0), None, 240), day(0), day(9)) == 0


def test_a_known_history_gives_the_known_costs():
    waits = [("builder", Waited(day(0), day(4), 960)), ("builder", Waited(day(2), None)),
             ("supplier", Waited(day(-9), day(1), 30)), ("owner", Waited(day(-9), day(-1), 99))]
    assert costs(waits, day(0), day(6)) == {
        "builder": Cost(2, 1, 4 + 5, 5, 960), "supplier": Cost(1, 0, 1, 1, 30)}


def a_wait(raised, long, standby):
    return Waited(day(raised), None if long is None else day(raised + long), standby)


waits = st.builds(a_wait, st.integers(-60, 60), st.none() | st.integers(0, 50), st.integers(0, 999))


@given(st.lists(waits, max_size=20), st.lists(st.integers(-40, 40), min_size=2, max_size=5, unique=True).map(sorted))
def test_days_and_standby_of_a_quarter_are_those_of_its_months(found, cuts):
    """Of any days cut into stretches, however they are cut."""
    def total(first, last):
        cost = costs(((None, wait) for wait in found), day(first), day(last)).get(None, Cost())
        return cost.days, cost.standby_minutes
    parts = [total(first, beyond - 1) for first, beyond in zip(cuts, cuts[1:], strict=False)]
    assert tuple(map(sum, zip(*parts, strict=True))) == total(cuts[0], cuts[-1] - 1)
