import calendar
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc import days
from jobs.calc.progress import (
    Assigned,
    Minutes,
    Standing,
    day_by_day,
    hours,
    minutes_to_post,
    planned_to_date,
    share_of_hanging,
    should_be_earned,
    sums,
)
from jobs.calc.verdict import BadInput
from jobs.stages import ORDER, WORKED, Stage

MONDAY = date(2026, 3, 2)
FRIDAY = date(2026, 3, 6)

grams = st.integers(1, 400_000)
some_days = st.dates(date(2025, 12, 20), date(2026, 3, 10))


# ---- earning ---------------------------------------------------------------------------------------------


def test_a_heavier_panel_earns_more_of_the_hanging():
    # 200 of 800 kg in 960 minutes is 240, by hand
    assert share_of_hanging(960, [200_000], [200_000, 300_000, 300_000]) == 240


def test_all_panels_hung_earn_all_of_it():
    assert share_of_hanging(959, [191_000, 191_000, 180_500], [180_500, 191_000, 191_000]) == 959


def test_panels_count_alike_while_a_mass_is_lacking():
    assert share_of_hanging(900, [None], [None, 190_000, 190_000]) == 300
    assert share_of_hanging(900, [190_000, 0], [0, 190_000, 190_000]) == 600


def test_no_panels_earn_nothing():
    assert share_of_hanging(900, [], []) == 0
    assert share_of_hanging(900, [], [190_000]) == 0


def test_more_panels_hung_than_there_are_is_refused():
    with pytest.raises(ValueError, match="more hangs"):
        share_of_hanging(900, [190_000, 190_000], [190_000])


@given(st.integers(0, 10_000), st.lists(grams, min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_shares_posted_panel_by_panel_add_up_whatever_the_order(planned, masses, random):
    order = random.sample(masses, len(masses))
    posted = []
    for hung in range(1, len(order) + 1):
        posted.append(minutes_to_post(sum(posted), share_of_hanging(planned, order[:hung], masses)))
    assert sum(posted) == planned
    assert all(minutes >= 0 for minutes in posted)
    for mass, minutes in zip(order, posted, strict=True):
        assert abs(minutes - Fraction(planned * mass, sum(masses))) <= 1


@given(st.integers(0, 10_000), st.lists(grams, min_size=1, max_size=8), st.data())
def test_a_panel_taken_down_takes_its_minutes_off_again(planned, masses, data):
    hung = data.draw(st.integers(1, len(masses)))
    with_it, without = share_of_hanging(planned, masses[:hung], masses), share_of_hanging(planned, masses[: hung - 1],
                                                                                         masses)
    assert minutes_to_post(without, with_it) + minutes_to_post(with_it, without) == 0


@pytest.mark.parametrize("step", WORKED)
def test_a_step_is_earned_when_its_stage_is_reached_and_not_before(step):
    at = ORDER.index(step)
    assert should_be_earned(step, 480, ORDER[at - 1]) == 0
    assert {should_be_earned(step, 480, stage) for stage in ORDER[at:]} == {480}


def test_hanging_is_earned_in_part_before_its_stage_is_reached():
    assert should_be_earned(Stage.PANELS_HUNG, 600, Stage.FRAME_SET, [100], [100, 100, 100]) == 200


def test_only_hanging_is_earned_in_part():
    assert should_be_earned(Stage.ADJUSTED, 600, Stage.FRAME_SET, [100], [100, 100, 100]) == 0


def test_nothing_to_post_is_zero():
    assert minutes_to_post(480, 480) == 0


def test_stepping_back_is_posted_in_the_week_it_happens():
    earned = Minutes(480, MONDAY, crew="North", opening="A1")
    undone = Minutes(minutes_to_post(480, 0), MONDAY + timedelta(days=7), crew="North", opening="A1")
    assert sums([earned, undone], "week") == {MONDAY: 480, MONDAY + timedelta(days=7): -480}
    assert sums([earned, undone], "opening") == {"A1": 0}


# ---- planned ---------------------------------------------------------------------------------------------


def test_minutes_are_spread_over_the_days_worked():
    rows = day_by_day(Assigned(100, days.worked(MONDAY, FRIDAY, "1010100"), crew="North"))
    assert [(row.day.day, row.minutes, row.crew) for row in rows] == [(2, 33, "North"), (4, 34, "North"),
                                                                      (6, 33, "North")]


@pytest.mark.parametrize(("today", "planned"), [(date(2026, 3, 1), 0), (MONDAY, 480), (date(2026, 3, 3), 960),
                                                (FRIDAY, 2400), (date(2026, 3, 7), 2400)])
def test_planned_to_date_counts_today(today, planned):
    week = Assigned(2400, days.worked(MONDAY, FRIDAY + timedelta(days=2), "1111100"))
    assert planned_to_date([week], today) == planned
    assert planned_to_date([week, week], today) == 2 * planned


@given(st.integers(0, 100_000), st.sets(some_days, min_size=1, max_size=60), some_days)
def test_planned_days_add_up_and_differ_by_a_minute_at_most(minutes, chosen, today):
    rows = day_by_day(Assigned(minutes, tuple(chosen)))
    assert sum(row.minutes for row in rows) == minutes
    assert max(row.minutes for row in rows) - min(row.minutes for row in rows) <= 1
    assert planned_to_date([Assigned(minutes, tuple(chosen))], today) == sum(r.minutes for r in rows if r.day <= today)


def test_an_assignment_without_days_plans_nothing():
    assert planned_to_date([Assigned(480, ())], FRIDAY) == 0


# ---- sums ------------------------------------------------------------------------------------------------

ledger = st.lists(st.builds(Minutes, st.integers(-5000, 5000), some_days, st.sampled_from(["North", "South", None]),
                            st.sampled_from(["A1", "A2", "B1"]), st.sampled_from(["J1", "J2"])), max_size=40)


@given(ledger)
def test_sums_by_opening_job_crew_and_week_agree_to_the_minute(rows):
    assert {sum(sums(rows, by).values()) for by in ("opening", "job", "crew", "week", "day")} == {
        sum(row.minutes for row in rows)}


def test_a_sunday_belongs_to_the_week_before_and_a_new_year_to_its_monday():
    assert Minutes(1, date(2026, 3, 8)).week == MONDAY
    assert Minutes(1, date(2026, 1, 1)).week == date(2025, 12, 29)


@pytest.mark.parametrize(("minutes", "text"), [(0, "0 h"), (45, "45 min"), (60, "1 h"), (750, "12 h 30 min"),
                                               (-30, "-30 min"), (-90, "-1 h 30 min"), (6001, "100 h 1 min")])
def test_hours_are_printed_to_the_minute(minutes, text):
    assert hours(minutes) == text


# ---- where it stands -------------------------------------------------------------------------------------


def test_a_published_example_of_earned_value():
    # The fence of "PMP Exam Prep" p. 210 (read in a copy): PV 3000, EV 2500, AC 2800, BAC 4000.
    # Printed: CV -300, SV -500, CPI .893, SPI .833, EAC 4479, ETC 1679, VAC -479, its EAC from the rounded CPI.
    fence = Standing(sold=4000, planned=3000, earned=2500, used=2800)
    assert (fence.under_use, fence.ahead) == (-300, -500)
    assert (round(fence.cpi, 3), round(fence.spi, 3)) == (Fraction("0.893"), Fraction("0.833"))
    assert (fence.at_completion, fence.to_go, fence.left_over) == (4480, 1680, -480)
    assert int(fence.sold / round(fence.cpi, 3)) == 4479


def test_a_second_published_question():
    # An exam bank's question, BAC 5,000,000, EV 1,500,000, AC 1,800,000; the answer is our own arithmetic
    bank = Standing(sold=5_000_000, planned=0, earned=1_500_000, used=1_800_000)
    assert bank.cpi == Fraction(5, 6)
    assert bank.at_completion == 6_000_000


@pytest.mark.parametrize(("standing", "lacking"), [
    (Standing(100, 50, 50, 0), {"cpi", "at_completion", "to_go", "left_over"}),  # nothing reported yet
    (Standing(100, 50, 0, 50), {"at_completion", "to_go", "left_over"}),  # nothing earned yet
    (Standing(100, 0, 50, 50), {"spi"}),  # nothing planned yet
    (Standing(0, 0, 0, 0), {"cpi", "spi", "at_completion", "to_go", "left_over", "done"}),
])
def test_an_index_with_nothing_under_it_is_none(standing, lacking):
    names = ("cpi", "spi", "at_completion", "to_go", "left_over", "done", "under_use", "ahead")
    assert {name for name in names if getattr(standing, name) is None} == lacking


# ---- days ------------------------------------------------------------------------------------------------


@given(some_days)
def test_a_week_starts_on_the_monday_that_the_calendar_says(day):
    weeks = calendar.Calendar(calendar.MONDAY).monthdatescalendar(day.year, day.month)
    assert days.monday_of(day) == next(week[0] for week in weeks if day in week)


def test_days_off_and_unworked_weekdays_are_left_out():
    assert days.worked(MONDAY, MONDAY + timedelta(days=7), "1111100", off={FRIDAY}) == (
        *(MONDAY + timedelta(days=n) for n in range(4)), MONDAY + timedelta(days=7))


def test_where_no_day_is_worked_somebody_meant_to_all_the_same():
    saturday = date(2026, 3, 7)
    assert days.worked(saturday, saturday, "1111100") == (saturday,)


@pytest.mark.parametrize(("first", "last"), [(FRIDAY, MONDAY), (MONDAY, date(2126, 3, 2))])
def test_days_that_end_before_they_start_or_a_century_later_are_refused(first, last):
    with pytest.raises(BadInput) as refused:
        days.span(first, last)
    assert refused.value.field == "end_day"
