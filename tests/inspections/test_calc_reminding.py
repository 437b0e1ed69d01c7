"""When somebody may be told, and when they are told next. The calendars are computed here by hand."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calc.reminding import Due, Reader, Told, Week, next_for_office, next_for_owner, next_moment, start_of
from jobs.calc.against import Days
from jobs.calc.holidays import public_holidays

ANGELES, YORK, TOKYO = ZoneInfo("America/Los_Angeles"), ZoneInfo("America/New_York"), ZoneInfo("Asia/Tokyo")
READER = Reader(zone=YORK)
DAY = dt.date


def at(text: str, zone: ZoneInfo = YORK) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=zone).astimezone(dt.UTC)


@pytest.mark.parametrize(("asked", "told", "why"), [
    ("2026-03-10 06:59:59", "2026-03-10 07:00", "before seven it waits for seven"),
    ("2026-03-10 07:00", "2026-03-10 07:00", "seven sharp is day"),
    ("2026-03-10 12:34:56", "2026-03-10 12:34:56", "in the day at once"),
    ("2026-03-10 18:59:59", "2026-03-10 18:59:59", "a second before nineteen is day"),
    ("2026-03-10 19:00", "2026-03-11 07:00", "nineteen sharp is night"),
    ("2026-03-10 00:00", "2026-03-10 07:00", "after midnight the same morning"),
    ("2026-03-13 19:00", "2026-03-16 07:00", "Friday night waits for Monday"),
    ("2026-03-14 12:00", "2026-03-16 07:00", "Saturday noon waits for Monday"),
    ("2026-03-07 23:00", "2026-03-09 07:00", "the night the clocks go forward (8 March 2026, New York)"),
    ("2026-10-30 20:00", "2026-11-02 07:00", "the night the clocks go back (1 November 2026, New York)"),
])
def test_a_message_waits_for_the_reader_to_be_at_work(asked, told, why):
    assert next_moment(at(asked), READER) == at(told), why


def test_seven_is_seven_on_both_sides_of_a_change_of_clocks():
    works_sundays = Reader(zone=YORK, usual=Week("1111111"))
    assert next_moment(at("2026-03-07 20:00"), works_sundays) == dt.datetime(2026, 3, 8, 11, 0, tzinfo=dt.UTC)
    assert next_moment(at("2026-10-31 20:00"), works_sundays) == dt.datetime(2026, 11, 1, 12, 0, tzinfo=dt.UTC)


def test_the_clock_is_the_readers_own():
    noon_in_york = at("2026-03-10 12:00")
    assert next_moment(noon_in_york, Reader(zone=ANGELES)) == noon_in_york  # 9:00 there
    assert next_moment(noon_in_york, Reader(zone=TOKYO)) == at("2026-03-11 07:00", TOKYO)  # 1:00 there


def test_nobody_is_told_on_a_day_off():
    away = Reader(zone=YORK, away=(Days(DAY(2026, 3, 10), DAY(2026, 3, 12)),))
    assert next_moment(at("2026-03-10 09:00"), away) == at("2026-03-13 07:00")


def test_a_crew_that_is_off_is_not_told_and_the_week_is_the_crews():
    crew = Week("0111110", off=(Days(DAY(2026, 3, 10), DAY(2026, 3, 10)),))
    assert next_moment(at("2026-03-09 09:00"), Reader(zone=YORK, crews=(crew,))) == at("2026-03-11 07:00")
    assert next_moment(at("2026-03-14 09:00"), Reader(zone=YORK, crews=(crew,))) == at("2026-03-14 09:00")


def test_who_is_on_two_crews_works_when_either_does():
    both = Reader(zone=YORK, crews=(Week("1000000"), Week("0100000")))
    assert next_moment(at("2026-03-09 09:00"), both) == at("2026-03-09 09:00")
    assert next_moment(at("2026-03-10 09:00"), both) == at("2026-03-10 09:00")
    assert next_moment(at("2026-03-11 09:00"), both) == at("2026-03-16 07:00")


def test_a_crew_left_long_ago_says_nothing_about_today():
    left = Week("0000000", holds=Days(DAY(2020, 1, 1), DAY(2026, 3, 9)))
    assert next_moment(at("2026-03-09 09:00"), Reader(zone=YORK, crews=(left,))) == at("2026-03-10 07:00")


def test_a_public_holiday_and_the_day_it_is_observed_are_both_free():
    # 4 July 2026 is a Saturday, observed on Friday the 3rd: the day after 2 July is 6 July (5 U.S.C. 6103, value from
    # memory; the same computed with numpy's business days).
    us = Reader(zone=YORK, usual=Week(holidays=public_holidays("US")))
    works_saturdays = Reader(zone=YORK, usual=Week("1111110", holidays=public_holidays("US")))
    assert next_moment(at("2026-07-02 19:00"), us) == at("2026-07-06 07:00")
    assert next_moment(at("2026-07-02 19:00"), works_saturdays) == at("2026-07-06 07:00")


def test_2026_has_eleven_federal_holidays_and_250_working_days():
    # 261 weekdays less 11 federal holidays (5 U.S.C. 6103, value from memory)
    us = Reader(zone=YORK, usual=Week(holidays=public_holidays("US")))
    days = [DAY(2026, 1, 1) + dt.timedelta(days=n) for n in range(365)]
    assert sum(day.weekday() < 5 for day in days) == 261
    assert sum(us.works_on(day) for day in days) == 250


def test_a_part_of_a_country_has_holidays_of_its_own():
    assert DAY(2026, 4, 20) in public_holidays("US-MA")  # Patriots' Day, third Monday in April (value from memory)
    assert DAY(2026, 4, 20) not in public_holidays("US")
    assert DAY(2026, 4, 20) not in public_holidays("")


@pytest.mark.parametrize("region", ["XX", "US-ZZ", "nowhere"])
def test_a_region_nobody_knows_is_refused_by_name(region):
    with pytest.raises(ValueError, match=region):
        public_holidays(region)


def test_who_never_works_is_never_told():
    assert next_moment(at("2026-03-10 09:00"), Reader(zone=YORK, usual=Week("0000000"))) is None


@pytest.mark.parametrize(("zone", "day", "starts"), [
    ("America/New_York", DAY(2026, 3, 8), "2026-03-08T05:00+00:00"),
    ("America/Santiago", DAY(2026, 9, 6), "2026-09-06T04:00+00:00"),  # midnight is skipped: the day starts at 1:00
    ("America/Havana", DAY(2026, 11, 1), "2026-11-01T04:00+00:00"),  # midnight comes twice: the first counts
    ("Pacific/Kiritimati", DAY(2026, 3, 10), "2026-03-09T10:00+00:00"),
])
def test_a_day_starts_at_its_first_moment(zone, day, starts):
    assert start_of(day, ZoneInfo(zone)) == dt.datetime.fromisoformat(starts)
    assert start_of(day, ZoneInfo(zone)).astimezone(ZoneInfo(zone)).date() == day


@pytest.mark.parametrize(("day", "zone"), [(dt.date.min, "Asia/Tokyo"), (dt.date.max, "America/Los_Angeles")])
def test_the_first_and_the_last_day_of_all_start_somewhen_too(day, zone):
    assert start_of(day, ZoneInfo(zone)).date() == day


def owner(due: str, told: Told, now: str, reader: Reader = READER, zone: ZoneInfo = YORK, every: int = 3):
    return next_for_owner(Due(DAY.fromisoformat(due), zone), told, reader, at(now), interval_days=every)


def office(due: str, told: Told, now: str, of_owner: Told | None):
    return next_for_office(Due(DAY.fromisoformat(due), YORK), told, READER, at(now), owner=of_owner, interval_days=3)


def test_the_first_is_on_the_due_day_as_the_job_has_it():
    assert owner("2026-03-10", Told(), "2026-03-01 12:00") == at("2026-03-10 07:00")
    # Midnight at the job in Los Angeles is three in the morning in New York, and the other way round it is still the
    # evening before.
    assert owner("2026-03-10", Told(), "2026-03-01 12:00", zone=ANGELES) == at("2026-03-10 07:00")
    assert owner("2026-03-10", Told(), "2026-03-01 12:00", Reader(zone=ANGELES)) == at("2026-03-10 07:00", ANGELES)
    # In Tokyo it is the 10th from ten in the morning of the 9th in New York on.
    assert owner("2026-03-10", Told(), "2026-03-01 12:00", zone=TOKYO) == at("2026-03-09 11:00")


def test_what_is_due_for_long_is_told_now_and_not_in_the_past():
    assert owner("2026-01-05", Told(), "2026-03-10 12:00") == at("2026-03-10 12:00")
    assert owner("2026-01-05", Told(), "2026-03-10 22:00") == at("2026-03-11 07:00")


def test_the_next_comes_an_interval_after_the_last():
    assert owner("2026-03-09", Told(1, DAY(2026, 3, 9)), "2026-03-09 12:00") == at("2026-03-12 07:00")
    assert owner("2026-03-06", Told(1, DAY(2026, 3, 11)), "2026-03-11 12:00") == at("2026-03-16 07:00")  # a weekend
    assert owner("2026-03-09", Told(1, DAY(2026, 3, 9)), "2026-03-09 12:00", every=1) == at("2026-03-10 07:00")


def test_the_interval_is_counted_on_the_readers_calendar():
    assert owner("2026-03-02", Told(1, DAY(2026, 3, 9)), "2026-03-09 12:00", zone=TOKYO) == at("2026-03-12 07:00")


def test_after_two_the_owner_is_left_alone_and_the_office_is_told():
    assert owner("2026-03-02", Told(2, DAY(2026, 3, 5)), "2026-03-30 12:00") is None
    assert office("2026-03-02", Told(), "2026-03-05 12:00", Told(1, DAY(2026, 3, 2))) is None
    assert office("2026-03-02", Told(), "2026-03-05 12:00", Told(2, DAY(2026, 3, 6))) == at("2026-03-09 07:00")


def test_the_office_is_told_again_by_the_same_interval():
    two = Told(2, DAY(2026, 3, 6))
    assert office("2026-03-02", Told(1, DAY(2026, 3, 9)), "2026-03-09 12:00", two) == at("2026-03-12 07:00")
    assert office("2026-03-02", Told(5, DAY(2026, 3, 9)), "2026-03-09 12:00", two) == at("2026-03-12 07:00")


def test_where_the_owner_cannot_be_told_the_office_is_from_the_due_day_on():
    assert office("2026-03-10", Told(), "2026-03-01 12:00", None) == at("2026-03-10 07:00")
    assert office("2026-03-10", Told(1, DAY(2026, 3, 10)), "2026-03-10 12:00", None) == at("2026-03-13 07:00")


MOMENTS = st.datetimes(dt.datetime(2020, 1, 1), dt.datetime(2035, 1, 1), timezones=st.just(dt.UTC))
ZONES = st.sampled_from(["UTC", "America/Los_Angeles", "America/Santiago", "Asia/Kathmandu", "Australia/Lord_Howe",
                         "Africa/Cairo", "Pacific/Kiritimati", "Pacific/Pago_Pago"]).map(ZoneInfo)
WEEKS = st.text("01", min_size=7, max_size=7).filter(lambda week: "1" in week)


@given(MOMENTS, ZONES, WEEKS)
def test_whatever_the_clock_a_message_goes_out_by_day_on_a_day_that_is_worked_and_not_sooner(asked, zone, week):
    reader = Reader(zone=zone, usual=Week(week))
    moment = next_moment(asked, reader)
    local = moment.astimezone(zone)
    assert moment >= asked
    assert 7 <= local.hour < 19
    assert week[local.weekday()] == "1"
    assert next_moment(moment, reader) == moment


@given(MOMENTS, ZONES, WEEKS)
def test_no_working_hour_is_let_go_by(asked, zone, week):
    reader = Reader(zone=zone, usual=Week(week))
    moment = next_moment(asked, reader)
    quarter = dt.timedelta(minutes=15)
    between = (asked + quarter * n for n in range(min(int((moment - asked) / quarter), 800)))
    assert not any(7 <= t.astimezone(zone).hour < 19 and week[t.astimezone(zone).weekday()] == "1" for t in between)
