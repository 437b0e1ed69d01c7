"""What needs somebody, worst first: the rule, case by case."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calc.needs import KINDS, Level, Standing, level, order, wait_is_due

ANY = st.builds(Standing, kind=st.sampled_from(KINDS), days=st.integers(-30, 400),
                crew_in=st.none() | st.integers(0, 20), guards=st.sampled_from(["", "water"]), asked=st.booleans(),
                promised=st.none() | st.dates(), name=st.sampled_from(["J-1 · A", "J-2 · B"]))


@pytest.mark.parametrize(("one", "found"), [
    (Standing("unfit", 0, crew_in=0), Level.STANDING),
    (Standing("unfit", -1, crew_in=1), Level.STANDING),
    (Standing("unfit", -2, crew_in=2), Level.WILL_NOT_FIT),
    (Standing("failed", 0, crew_in=1), Level.STANDING),
    (Standing("failed", 0, crew_in=1, asked=True), Level.STANDING),  # asked of the builder; the crew comes all the same
    (Standing("failed", 0, crew_in=2, guards="water"), Level.OVER_A_GATE),
    (Standing("failed", 0, guards="water", asked=True), Level.IN_HAND),
    (Standing("failed", 0), Level.STILL),
    (Standing("wait", 4, crew_in=0), Level.STANDING),
    (Standing("wait", 4), Level.LATE),
    (Standing("delivery", 4, crew_in=1), Level.STANDING),
    (Standing("delivery", 4), Level.LATE),
    (Standing("short", 4, crew_in=0), Level.STANDING),
    (Standing("short", 4), Level.STILL),
    (Standing("kept", 0, crew_in=0), Level.OVER_A_GATE),
    (Standing("countersignature", 0), Level.OVER_A_GATE),
    (Standing("promise", -3), Level.PROMISED),
    (Standing("item", 2, crew_in=0), Level.LATE),
    (Standing("aside", 2), Level.LATE),
    (Standing("callback", 0, urgent=True), Level.STANDING),
    (Standing("callback", 0), Level.LATE),
    (Standing("unassigned", 9), Level.STILL),
    (Standing("corrected", 1), Level.STILL),
])
def test_each_has_its_level(one, found):
    assert level(one) is found


def in_order(*rows):
    return sorted(rows, key=order) == list(rows)


def test_a_crew_before_a_closed_door_comes_before_what_has_been_late_for_a_month():
    assert in_order(Standing("unfit", 0, crew_in=0), Standing("kept", 1), Standing("promise", 10),
                    Standing("wait", 30), Standing("unfit", -4, crew_in=4), Standing("unassigned", 90),
                    Standing("failed", 3, asked=True))


def test_within_a_level_the_longest_comes_first_then_the_soonest_promised_then_the_name():
    soon, later = date(2026, 3, 1), date(2026, 4, 1)
    assert in_order(Standing("wait", 9), Standing("item", 3, promised=soon), Standing("wait", 3, promised=later),
                    Standing("wait", 3, name="J-1"), Standing("wait", 3, name="J-2"))


def test_of_what_will_not_fit_the_soonest_comes_first():
    assert in_order(Standing("unfit", -2, crew_in=2), Standing("unfit", -9, crew_in=9))


@given(one=ANY)
def test_a_crew_that_comes_sooner_never_puts_it_further_down(one):
    assert order(Standing(one.kind, one.days, 0, one.guards, one.asked, False, one.promised, one.name)) <= order(one)


@given(rows=st.lists(ANY, max_size=12))
def test_the_order_is_the_same_however_they_are_found(rows):
    assert [order(r) for r in sorted(rows, key=order)] == sorted(order(r) for r in reversed(rows))


@pytest.mark.parametrize(("expected", "since", "due"), [
    (date(2026, 3, 9), date(2026, 3, 1), True), (date(2026, 3, 10), date(2026, 3, 1), False),
    (None, date(2026, 3, 2), True), (None, date(2026, 3, 3), False)])
def test_a_wait_is_due_after_its_day_or_after_a_week_with_none(expected, since, due):
    assert wait_is_due(expected, since, date(2026, 3, 10)) is due
