"""What an opening still takes, which crews could take it, and giving it in one go."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from jobs.calc import plan
from jobs.errors import Invalid, NotAllowed, Refusal, SomeoneWasFaster
from jobs.models import Assignment, DayOff, Equipment, StageChange, Wait, WorkStep
from jobs.services.ahead import Ahead, equipment_twice
from jobs.services.giving import Lot, give, mark_of
from jobs.services.plans import next_visit, plan_for
from tests.factories import act_for, give_work, make_crew, make_job, make_opening, make_user

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 3, 2)


def day(n):
    return MONDAY + dt.timedelta(days=n)


def steps(opening, **over):
    WorkStep.objects.filter(opening=opening).update(**over)
    return list(opening.work_steps.order_by("pk"))


def stages(found):
    return [step.stage for step in found]


def moved_to(opening, stage, at=None):
    """As the gate would have left it: only its own service writes the stage of an opening that is kept."""
    opening.stage = stage
    StageChange.objects.create(opening=opening, from_stage="to be measured", to_stage=stage, advanced=True,
                               by=make_user(), taken_at=at or timezone.now())
    return opening


# ---- what is left --------------------------------------------------------------------------------------------------


def test_the_next_visit_goes_until_something_must_pass_and_measuring_is_one_of_its_own():
    opening = make_opening()
    left = steps(opening)
    left[4].wait_after_minutes = 1440
    assert stages(next_visit(left, ())) == ["opening verified"]
    assert stages(next_visit(left[1:], ())) == ["frame set", "panels hung", "adjusted", "sealed"]
    assert stages(next_visit(left[5:], ())) == ["punch list", "accepted"]
    assert stages(next_visit(left, {left[0].pk, left[1].pk, left[3].pk})) == ["panels hung"], "as far as nobody has it"
    assert next_visit(left, {step.pk for step in left}) == []


def test_what_is_done_is_not_left():
    opening = moved_to(make_opening(), "frame set")
    make_crew(make_user("lead"))
    assert stages(plan_for(opening, MONDAY).left)[0] == "panels hung"


# ---- not before ----------------------------------------------------------------------------------------------------


def why(found):
    return {(one.why, one.day) for one in found.not_before}


def first_days(found):
    return min(placing.first for placing in found.found)


def test_what_has_to_cure_holds_it_up():
    opening = make_opening()
    steps(opening)
    WorkStep.objects.filter(opening=opening, stage="sealed").update(wait_after_minutes=3 * 1440)
    make_crew(make_user("lead"))
    sealed = moved_to(opening, "sealed", dt.datetime(2026, 3, 3, 20, tzinfo=dt.UTC))
    found = plan_for(sealed, MONDAY)
    assert (why(found), first_days(found)) == ({("cured", day(4))}, day(4))


def test_what_is_expected_holds_it_up_until_it_is_to_come():
    opening = make_opening()
    make_crew(make_user("lead"))
    Wait.objects.create(opening=opening, what_for="the floor", owed_by_kind="builder", expected_day=day(7),
                        by=make_user(), taken_at=timezone.now())
    WorkStep.objects.filter(opening=opening, stage="opening verified").update(
        earliest_day=day(2),
        not_ready=[{"reason": "material-missing", "parts": ["Sill"], "expected_day": day(9).isoformat()}])
    found = plan_for(opening, MONDAY)
    assert why(found) == {("expected", day(7)), ("expected", day(9)), ("earliest", day(2))}
    assert first_days(found) == day(9)


def test_what_was_to_come_and_did_not_holds_up_no_day_that_is_past():
    opening = make_opening()
    make_crew(make_user("lead"))
    Wait.objects.create(opening=opening, what_for="the floor", owed_by_kind="builder", expected_day=day(-7),
                        by=make_user(), taken_at=timezone.now())
    assert first_days(plan_for(opening, MONDAY)) == MONDAY


def test_what_comes_before_it_and_is_given_has_to_be_over_and_to_have_cured():
    opening, crew = make_opening(), make_crew(make_user("lead"))
    WorkStep.objects.filter(opening=opening, stage="opening verified").update(wait_after_minutes=1440)
    give_work(opening, crew, start_day=day(0), end_day=day(1))
    found = plan_for(opening, MONDAY)
    assert stages(found.chosen)[0] == "frame set"
    assert (why(found), first_days(found)) == ({("curing", day(2))}, day(2))


def test_what_does_not_cure_has_only_to_be_over():
    opening, crew = make_opening(), make_crew(make_user("lead"))
    give_work(opening, crew, start_day=day(0), end_day=day(1))
    assert why(plan_for(opening, MONDAY)) == {("given_before", day(1))}


def asked(opening):
    with CaptureQueriesContext(connection) as seen:
        plan_for(opening, MONDAY)
    return len(seen)


# ---- who could take it ---------------------------------------------------------------------------------------------


def test_the_crews_own_days_and_work_are_read_and_only_those_that_go_out():
    opening = make_opening(make_job(promised_date=day(20)))
    busy, free, gone = (make_crew(make_user("lead"), make_user("installer")) for _ in range(3))
    type(gone).objects.filter(pk=gone.pk).update(active=False)
    give_work(make_opening(), busy, start_day=day(0), end_day=day(60), firmness="inked", planned_minutes=10**6)
    DayOff.objects.create(crew=free, from_day=day(0), to_day=day(6))
    found = plan_for(opening, MONDAY)
    assert {placing.crew.key for placing in found.found} == {busy.pk, free.pk}
    assert found.found[0].crew.key == free.pk
    assert first_days(found) == MONDAY
    assert min(placing.first for placing in found.found if placing.crew.key == free.pk) == day(7)
    assert plan.MEETS_INKED in {reason.code for placing in found.found if placing.crew.key == busy.pk
                                for reason in placing.reasons}


def test_what_is_said_against_it_is_what_stands_beside_it_once_it_is_given():
    opening, crew = make_opening(), make_crew(make_user("lead"))
    lifter = Equipment.objects.create(name="Lifter", kind="beam lifter", rated_grams=400_000, people_to_steer=2,
                                      rating_includes=["design factor"])
    WorkStep.objects.filter(opening=opening).update(ready=True, skills=["frame"], lifting_grams=100_000, hands=3)
    other = make_opening()
    give_work(other, make_crew(make_user("lead")), start_day=day(0), end_day=day(60)).equipment.add(lifter)
    give_work(other, crew, stage="frame set", start_day=day(0), end_day=day(60))
    best = plan_for(opening, MONDAY).found[0]
    made = give(act_for("office"), opening.pk, [Lot(one.piece.key, one.first, one.last, None, one.gear)
                                                for one in best.laid], crew_id=best.crew.key, stood="")
    said = {reason.code for reason in best.of(plan.AGAINST)}
    stands = {found["code"] for one in made for found in one.against}
    assert {"overlap" if code in (plan.PUSHES, plan.MEETS_INKED, plan.SHARES) else code for code in said} == stands
    assert stands == {"missing_skill", "too_few_hands", "overlap", "equipment_booked"}


def test_reading_the_plan_takes_as_many_queries_for_one_crew_as_for_many():
    opening = make_opening()

    def another_crew():
        crew = make_crew(make_user("lead"), make_user("installer"))
        work = give_work(make_opening(), crew, start_day=day(3), end_day=day(4))
        work.equipment.add(Equipment.objects.create(name=f"Cart {crew.pk}", kind="panel cart"))

    another_crew()
    few = asked(opening)
    for _ in range(4):
        another_crew()
    assert asked(opening) == few == 14


# ---- the weeks -----------------------------------------------------------------------------------------------------


def test_a_day_says_who_is_there_who_is_away_and_why_nobody_works():
    pat, kim = make_user("lead", name="Pat"), make_user("installer", name="Kim")
    crew = make_crew(pat, kim, holiday_region="US", minutes_a_day=450)
    DayOff.objects.create(user=kim, from_day=day(1), to_day=day(1))
    DayOff.objects.create(crew=crew, from_day=day(2), to_day=day(2))
    ahead = Ahead.of([crew], MONDAY, dt.date(2026, 7, 31))
    days = ahead.days(crew, MONDAY, day(6))
    assert [(one.there, one.away, one.closed, one.minutes) for one in days] == [
        (2, (), "", 900), (1, ("Kim",), "", 450), (2, (), "crew_off", 0), (2, (), "", 900), (2, (), "", 900),
        (2, (), "not_a_working_day", 0), (2, (), "not_a_working_day", 0)]
    fourth = dt.date(2026, 7, 3)  # Independence Day, observed on the Friday
    assert ahead.days(crew, fourth, fourth)[0].closed == "holiday"


def test_equipment_that_is_in_two_openings_on_one_day_is_found():
    lifter = Equipment.objects.create(name="Lifter", kind="beam lifter")
    opening = make_opening()
    places = ((opening, 0, 1), (opening, 0, 1), (make_opening(), 1, 2), (make_opening(), 3, 3))
    works = [give_work(where, make_crew(make_user("lead")), start_day=day(first), end_day=day(last))
             for where, first, last in places]
    for work in works:
        work.equipment.add(lifter)
    twice = equipment_twice(works)
    assert {pk: [other.pk for _, other in found] for pk, found in twice.items()} == {
        works[0].pk: [works[2].pk], works[1].pk: [works[2].pk], works[2].pk: [works[0].pk, works[1].pk]}


# ---- giving --------------------------------------------------------------------------------------------------------


@pytest.fixture
def ground():
    opening, crew = make_opening(), make_crew(make_user("lead"), make_user("installer"))
    WorkStep.objects.filter(opening=opening).update(ready=True)
    return opening, crew, [Lot(step.pk, day(n), day(n)) for n, step in enumerate(opening.work_steps.all()[1:3])]


def test_all_of_a_visit_is_given_together(ground):
    opening, crew, lots = ground
    made = give(act_for("office"), opening.pk, lots, crew_id=crew.pk, stood="")
    assert [(one.work_step.stage, one.start_day, one.planned_minutes, one.firmness) for one in made] == [
        ("frame set", day(0), 600, "pencilled"), ("panels hung", day(1), 600, "pencilled")]


def test_sent_twice_it_is_given_once(ground):
    opening, crew, lots = ground
    first = give(act_for("office"), opening.pk, lots, crew_id=crew.pk, stood="")
    again = give(act_for("office"), opening.pk, lots, crew_id=crew.pk, stood="")
    assert {one.pk for one in again} == {one.pk for one in first}
    assert Assignment.objects.count() == 2


def test_the_slower_of_two_is_told_and_gives_nothing(ground):
    opening, crew, lots = ground
    give(act_for("office"), opening.pk, lots[1:], crew_id=crew.pk, stood="")
    other = make_crew(make_user("lead"))
    with pytest.raises(SomeoneWasFaster):
        give(act_for("office"), opening.pk, lots, crew_id=other.pk, stood="")
    assert Assignment.objects.count() == 1
    stood = mark_of(Assignment.objects.all())
    assert len(give(act_for("office"), opening.pk, lots, crew_id=other.pk, stood=stood)) == 2, "knowing it, they may"


def test_what_was_changed_since_is_not_taken_for_the_same(ground):
    opening, crew, lots = ground
    made = give(act_for("office"), opening.pk, lots[:1], crew_id=crew.pk, stood="")
    stood = mark_of(made)
    Assignment.objects.filter(pk=made[0].pk).update(version=2)
    with pytest.raises(SomeoneWasFaster):
        give(act_for("office"), opening.pk, lots[:1], crew_id=crew.pk, stood=stood)


def test_inked_against_something_nothing_of_it_is_given_until_one_says_that_one_knows(ground):
    opening, crew, lots = ground
    WorkStep.objects.filter(pk=lots[1].work_step_id).update(hands=3)
    with pytest.raises(Refusal) as refused:
        give(act_for("office"), opening.pk, lots, crew_id=crew.pk, stood="", firmness="inked")
    assert (refused.value.code, Assignment.objects.count()) == ("stands-against", 0)
    assert len(give(act_for("office"), opening.pk, lots, crew_id=crew.pk, stood="", firmness="inked",
                    knowing=True)) == 2


def test_only_the_office_gives_and_only_steps_of_this_opening(ground):
    opening, crew, lots = ground
    with pytest.raises(NotAllowed):
        give(act_for("lead"), opening.pk, lots, crew_id=crew.pk, stood="")
    for wrong in ([], [Lot(make_opening().work_steps.first().pk, MONDAY, MONDAY)]):
        with pytest.raises(Invalid):
            give(act_for("office"), opening.pk, wrong, crew_id=crew.pk, stood="")
    assert Assignment.objects.count() == 0
