"""What reports are made of: known histories come out as known numbers; hours agree with the ledgers to the minute."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.models import PunchItem
from inspections.services.progress import crew_progress
from inspections.services.reporting import hours, openings_over_time, punch_items, scope_of, waits
from jobs.calc.days import worked
from jobs.calc.over_time import WEEK, periods
from jobs.calc.progress import Assigned, day_by_day
from jobs.calc.waited import days_of
from jobs.models import Assignment, EarnedMinutes, Opening, StageChange, TimeReport, Wait
from jobs.stages import NUMBER, ORDER, Stage
from tests.factories import act_for, give_work, make_crew, make_job, make_opening, make_party, make_user

pytestmark = [pytest.mark.django_db, pytest.mark.database]  # days, periods and sums are the database's own

MONDAY = dt.date(2026, 3, 2)
PACIFIC = ZoneInfo("America/Los_Angeles")
THREE_WEEKS = periods(MONDAY, MONDAY + dt.timedelta(days=20), WEEK)


def day(number: int) -> dt.date:
    return MONDAY + dt.timedelta(days=number)


def noon(number: int) -> dt.datetime:
    return dt.datetime.combine(day(number), dt.time(12), dt.UTC)


def act(role: str = "office", number: int = 20) -> Any:
    return act_for(role, noon(number))


def stood(*moves: tuple[int, Stage], entered: int = -30, advanced: bool = True, **opening: Any) -> Opening:
    """An opening that reached these stages on these days."""
    made = make_opening(created_at=noon(entered), **opening)
    at = Stage.TO_BE_MEASURED
    for number, stage in moves:
        kind = "advance" if NUMBER[stage] > NUMBER[at] else "step-back"
        StageChange.objects.create(
            opening=made, from_stage=at.value, to_stage=stage.value, advanced=advanced, by=make_user(), kind=kind,
            reason="" if kind == "advance" else "poured again", taken_at=noon(number), server_time=noon(number))
        at = stage if advanced else at
    Opening.objects.filter(pk=made.pk).update(stage=at.value)
    return made


def by_stage(**asked: Any) -> list[dict[str, int]]:
    found = openings_over_time(scope_of(act(), **asked), THREE_WEEKS, dt.UTC)
    return [{stage.value: count for stage, count in one.items() if count} for one in found]


# ---- openings by stage -----------------------------------------------------------------------------------


def test_a_known_history_gives_the_known_counts_at_the_end_of_each_week() -> None:
    stood((1, Stage.OPENING_VERIFIED), (9, Stage.FRAME_SET), (15, Stage.OPENING_VERIFIED))
    stood((-5, Stage.OPENING_VERIFIED), (8, Stage.FRAME_SET))
    stood(entered=10)
    stood((30, Stage.OPENING_VERIFIED))  # later than what is asked for
    assert by_stage() == [
        {"to be measured": 1, "opening verified": 2}, {"to be measured": 2, "frame set": 2},
        {"to be measured": 2, "opening verified": 1, "frame set": 1}]


def test_what_was_recorded_and_not_advanced_moves_nothing() -> None:
    stood((1, Stage.OPENING_VERIFIED), advanced=False)
    assert by_stage() == [{"to be measured": 1}] * 3


def test_an_opening_that_moved_before_it_was_entered_was_there_when_it_moved() -> None:
    stood((8, Stage.OPENING_VERIFIED), entered=16)
    assert by_stage() == [{}, {"opening verified": 1}, {"opening verified": 1}]


def test_a_day_ends_at_midnight_of_who_asks() -> None:
    made = stood((7, Stage.OPENING_VERIFIED))
    StageChange.objects.update(server_time=dt.datetime(2026, 3, 9, 5, tzinfo=dt.UTC))  # Sunday evening by the ocean
    assert by_stage()[0] == {"to be measured": 1}
    first = openings_over_time(scope_of(act()), THREE_WEEKS, PACIFIC)[0]
    assert first[Stage.OPENING_VERIFIED] == 1 and made.pk


def test_it_is_asked_of_a_job_and_of_a_crew_and_a_lead_sees_their_own() -> None:
    mine, _other = stood((1, Stage.OPENING_VERIFIED), job=make_job(title="Larch Point")), stood()
    lead = make_user("lead")
    crew = make_crew(lead)
    give_work(mine, crew)
    only = [{"opening verified": 1}] * 3
    assert by_stage(job="larch") == by_stage(crew=crew.pk) == only
    own = openings_over_time(scope_of(act(lead)), THREE_WEEKS, dt.UTC)
    assert [sum(one.values()) for one in own] == [1, 1, 1]


# ---- hours -----------------------------------------------------------------------------------------------

WAYS = [("crew",), ("job",), ("week",), ("crew", "week"), ("job", "week"), ("crew", "job", "week")]
minutes_of_a_day = st.tuples(st.integers(0, 2), st.integers(0, 2), st.integers(-10, 30), st.integers(-900, 900))
given_work = st.tuples(st.integers(0, 2), st.integers(0, 2), st.integers(-20, 25), st.integers(0, 16),
                       st.integers(0, 2000))


@settings(max_examples=12)
@given(earned=st.lists(minutes_of_a_day, max_size=8), used=st.lists(minutes_of_a_day, max_size=8),
       planned=st.lists(given_work, max_size=6), first=st.integers(-9, 9), length=st.integers(0, 25))
def test_hours_agree_to_the_minute_however_they_are_told(earned, used, planned, first, length) -> None:
    for model in (EarnedMinutes, TimeReport, Assignment):
        model.objects.all().delete()
    openings, crews, user = [make_opening() for _ in range(3)], [make_crew() for _ in range(3)], make_user()
    steps = [opening.work_steps.first() for opening in openings]
    for opening, crew, number, amount in earned:
        EarnedMinutes.objects.create(work_step=steps[opening], crew=crews[crew], day=day(number), minutes=amount)
    for opening, crew, number, amount in used:
        TimeReport.objects.create(work_step=steps[opening], crew=crews[crew], day=day(number), minutes=abs(amount),
                                  by=user, taken_at=noon(number))
    for opening, crew, number, longer, amount in planned:
        give_work(openings[opening], crews[crew], planned_minutes=amount, start_day=day(number),
                  end_day=day(number + longer))
    asked = (day(first), day(first + length))
    scope = scope_of(act())
    told = {by: hours(scope, by, *asked) for by in WAYS}
    between = [row for row in earned if first <= row[2] <= first + length]
    whole = (sum(row[3] for row in between),
             sum(abs(row[3]) for row in used if first <= row[2] <= first + length))
    for by, found in told.items():
        assert (sum(s.earned for s in found.values()), sum(s.used for s in found.values())) == whole, by
    spread = [row for _opening, _crew, start, longer, amount in planned for row in day_by_day(
        Assigned(amount, worked(day(start), day(start + longer), "1111100")))]
    assert {sum(s.planned for s in found.values()) for found in told.values()} == {
        sum(row.minutes for row in spread if asked[0] <= row.day <= asked[1])}
    for crew in crews:  # a crew's weeks are the crew
        weeks = [s.as_dict() for key, s in told["crew", "week"].items() if key[0] == crew.pk]
        mine = told[("crew",)].get((crew.pk,))
        for name, minutes in ({} if mine is None else mine.as_dict()).items():
            assert minutes == sum(week[name] for week in weeks)


def test_this_weeks_hours_are_those_of_crew_progress() -> None:
    opening, crew = make_opening(), make_crew()
    give_work(opening, crew, planned_minutes=1001, start_day=day(-2), end_day=day(9))
    step = opening.work_steps.first()
    for number, minutes in ((-1, 50), (0, 61), (2, -7)):
        EarnedMinutes.objects.create(work_step=step, crew=crew, day=day(number), minutes=minutes)
        TimeReport.objects.create(work_step=step, crew=crew, day=day(number), minutes=abs(minutes), by=make_user(),
                                  taken_at=noon(number))
    asking = act(number=3)
    [line] = crew_progress(asking, day(3))
    assert hours(scope_of(asking), ("crew",), day(0), day(3))[crew.pk,].as_dict() == line["week"]
    assert line["week"]["earned_minutes"] == 54


def test_a_lead_sees_the_hours_of_their_own_crews_and_no_others_on_the_same_opening() -> None:
    lead = make_user("lead")
    opening, own, other = make_opening(), make_crew(lead), make_crew()
    for crew in (own, other):
        give_work(opening, crew, start_day=day(0), end_day=day(1))
        EarnedMinutes.objects.create(work_step=opening.work_steps.first(), crew=crew, day=day(0), minutes=60)
    for asked in ({}, {"crew": own.pk}):
        assert set(hours(scope_of(act(lead), **asked), ("crew",), day(0), day(6))) == {(own.pk,)}
    assert hours(scope_of(act(lead), crew=other.pk), ("crew",), day(0), day(6)) == {}


# ---- waits -----------------------------------------------------------------------------------------------


def a_wait(raised: dt.datetime, cleared: dt.datetime | None = None, **more: Any) -> Wait:
    user = make_user()
    return Wait.objects.create(opening=make_opening(), what_for="the floor", owed_by_kind="builder", by=user,
                               taken_at=raised, cleared_at=cleared, cleared_by=None if cleared is None else user,
                               **more)


def test_waits_are_told_with_who_owes_them_on_the_clock_of_the_job() -> None:
    late = dt.datetime(2026, 3, 3, 5, tzinfo=dt.UTC)  # Monday evening at the job
    a_wait(late, late + dt.timedelta(days=3), owed_by=make_party(name="Quoin and Daughters"), standby_minutes=480)
    a_wait(noon(-40), noon(-30))
    [line] = waits(scope_of(act()), day(0), day(6))
    assert (line.owed_by_kind, line.owed_by, line.waited.raised, line.waited.standby_minutes) == (
        "builder", "Quoin and Daughters", day(0), 480)
    assert days_of(line.waited, day(0), day(6)) == 3


def test_a_lead_is_told_the_waits_of_their_own_openings() -> None:
    lead = make_user("lead")
    mine = a_wait(noon(0))
    give_work(mine.opening, make_crew(lead))
    a_wait(noon(0))
    assert [line.opening for line in waits(scope_of(act(lead)), day(0), day(6))] == [mine.opening_id]


# ---- punch items -----------------------------------------------------------------------------------------


def an_item(opening: Opening, number: int, cause: str, raised: int, closed: int | None = None) -> None:
    user = make_user()
    PunchItem.objects.create(
        opening=opening, number=number, what="Scratch", cause=cause, owner=user, due_day=day(raised + 3), by=user,
        taken_at=noon(raised), closed_at=None if closed is None else noon(closed),
        closed_by=None if closed is None else user)


def counted(by: str, **asked: Any) -> set[tuple[Any, ...]]:
    found = punch_items(scope_of(act(), **asked), by, THREE_WEEKS, dt.UTC, day(20))
    return {(one.key, one.cause, one.raised, one.still_open, one.overdue) for one in found}


def test_punch_items_are_counted_by_cause_and_by_whose_work_it_was_then() -> None:
    opening, first, second = make_opening(), make_crew(), make_crew()
    give_work(opening, first, start_day=day(0), end_day=day(1))
    give_work(opening, second, start_day=day(8), end_day=day(9))
    an_item(opening, 1, "ours", 2, closed=5)
    an_item(opening, 2, "ours", 3)
    an_item(opening, 3, "maker", 9)
    an_item(opening, 4, "", 19)
    an_item(opening, 5, "ours", -2)  # before what is asked for
    assert counted("crew") == {(first.pk, "ours", 2, 1, 1), (second.pk, "maker", 1, 1, 1), (second.pk, "", 1, 1, 0)}
    assert counted("job") == {(opening.job_id, "ours", 2, 1, 1), (opening.job_id, "maker", 1, 1, 1),
                              (opening.job_id, "", 1, 1, 0)}
    assert counted("period") == {(0, "ours", 2, 1, 1), (1, "maker", 1, 1, 1), (2, "", 1, 1, 0)}
    assert counted("crew", crew=first.pk) == {(first.pk, "ours", 2, 1, 1)}


def test_every_stage_of_an_opening_has_its_column() -> None:
    assert set(openings_over_time(scope_of(act()), THREE_WEEKS, dt.UTC)[0]) == set(ORDER)
