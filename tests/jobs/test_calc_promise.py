"""Whether a promised day can still be kept: worked out by hand on a calendar."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.promise import GIVEN_AFTER, LATE, TOO_MUCH, Danger, Left, Working, danger, earliest_end

MONDAY = date(2026, 3, 9)
WEEK = Working()
MANY = st.lists(st.builds(Left, minutes=st.integers(0, 3000), hands=st.integers(0, 5),
                          cure_minutes=st.integers(0, 9000)), max_size=7)


def day(number: int) -> date:
    return date(2026, 3, number)


@pytest.mark.parametrize(("left", "ends"), [
    ([], 9),
    ([Left(480)], 9),  # one person, one day: today
    ([Left(481)], 10),
    ([Left(960, hands=2)], 9),  # two people, a day each
    ([Left(240), Left(240)], 9),  # two steps share a day
    ([Left(240), Left(300)], 10),
    ([Left(480 * 5)], 13),  # Friday
    ([Left(480 * 6)], 16),  # and on Monday
    ([Left(480, cure_minutes=1440), Left(60)], 10),  # it cures a day
    ([Left(480, cure_minutes=1441), Left(60)], 11),
    ([Left(480 * 5, cure_minutes=1440), Left(60)], 16),  # cures on Saturday, on Monday it goes on
    ([Left(480, not_before=day(12)), Left(480)], 13),
    ([Left(480, not_before=day(14))], 16),  # a Saturday
    ([Left(480, given_until=day(11)), Left(480)], 12),  # given to a crew: its days, not ours
    ([Left(480, given_until=day(14)), Left(480)], 16),  # a crew that works on Saturday
    ([Left(480, given_until=day(9), not_before=day(12))], 12),  # given for days before it can be done
    ([Left(480, hands=0)], 9),
])
def test_work_ends_on_the_day_it_does_on_a_calendar(left, ends):
    assert earliest_end(left, MONDAY, WEEK) == day(ends)


def test_a_holiday_is_not_worked():
    assert earliest_end([Left(960)], MONDAY, Working(off={day(10)})) == day(11)


def test_a_year_of_work_is_a_number_and_not_an_endless_sum():
    assert earliest_end([Left(10**9)] * 7, MONDAY, WEEK) > MONDAY + timedelta(days=1000)


@pytest.mark.parametrize(("promised", "left", "found"), [
    (day(9), [], None),
    (day(8), [], None),  # nothing left to do: kept, or not ours to say
    (day(8), [Left(60)], Danger(LATE, day(9))),
    (day(9), [Left(60)], None),
    (day(10), [Left(480, given_until=day(11))], Danger(GIVEN_AFTER, day(11))),
    (day(10), [Left(480 * 3)], Danger(TOO_MUCH, day(11))),
    (day(11), [Left(480 * 3)], None),
    (day(11), [Left(60, not_before=day(12))], Danger(TOO_MUCH, day(12))),
])
def test_a_promise_is_in_danger_for_one_reason(promised, left, found):
    assert danger(promised, left, MONDAY, WEEK) == found


@given(left=MANY, more=st.integers(1, 2000))
def test_more_work_never_ends_earlier(left, more):
    before = earliest_end(left, MONDAY, WEEK)
    assert earliest_end([*left, Left(more)], MONDAY, WEEK) >= before
    assert earliest_end([Left(more), *left], MONDAY, WEEK) >= before


@given(left=MANY)
def test_more_hands_never_end_later(left):
    more = [Left(one.minutes, one.hands + 1, one.cure_minutes) for one in left]
    assert earliest_end(more, MONDAY, WEEK) <= earliest_end(left, MONDAY, WEEK)
