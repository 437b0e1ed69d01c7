"""What a scheduler is told of a day, on the calendar of the job."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.errors import Refusal
from jobs.models import Assignment, CrewMember, Equipment, Job, OfficeSettings, OutOfUse, StageChange, WorkStep
from jobs.services.objections import new_since, standing_now, stands_against
from jobs.services.planning import assign, change_assignment
from tests.factories import MM, act_for, give_work, make_crew, make_job, make_opening, make_user

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 3, 2)


@pytest.mark.parametrize(("crews", "company", "stands"), [
    ("US", "", True), ("", "US", True), ("", "", False), ("GB-ENG", "US", False)])
def test_the_companys_holidays_hold_where_the_crew_names_no_region(crews, company, stands):
    OfficeSettings.objects.create(pk=1, holiday_region=company)
    day = dt.date(2026, 7, 3)  # Independence Day, observed on the Friday
    crew = make_crew(make_user("lead"), holiday_region=crews)
    work = give_work(make_opening(), crew, start_day=day, end_day=day)
    assert ("holiday" in str(stands_against(work))) is stands


@pytest.mark.parametrize(("hours", "stands"), [(5, False), (7, True)])
def test_what_has_cured_by_midnight_at_the_job_has_cured_that_day(hours, stands):
    opening = make_opening(make_job(time_zone="America/Los_Angeles"))
    WorkStep.objects.filter(opening=opening, stage="opening verified").update(wait_after_minutes=hours * 60)
    evening = dt.datetime(2026, 3, 2, 18, tzinfo=ZoneInfo("America/Los_Angeles"))  # in UTC it is Tuesday already
    StageChange.objects.create(opening=opening, from_stage="to be measured", to_stage="opening verified",
                               advanced=True, by=make_user(), taken_at=evening)
    work = give_work(opening, make_crew(make_user("lead")), stage="frame set", start_day=MONDAY, end_day=MONDAY)
    assert ("before_earliest" in [found["code"] for found in stands_against(work)]) is stands


# ---- equipment -------------------------------------------------------------------------------------------


def lifter(**over) -> Equipment:
    """An invented beam lifter: 400 kg on its plate, of which its manual takes a quarter off over a slope."""
    values = {"kind": "beam lifter", "rated_grams": 400_000, "rating_includes": ["design factor"],
              "reductions": [{"why": "slope", "factor": 0.75, "source": "manual, page 4"}], "people_to_steer": 1}
    return Equipment.objects.create(name=f"Lifter {Equipment.objects.count() + 1}", **{**values, **over})


def work_for(grams: int | None = None, **over) -> Assignment:
    opening = make_opening()
    WorkStep.objects.filter(opening=opening).update(lifting_grams=grams, ready=True, hands=1)
    return give_work(opening, make_crew(make_user("lead")), start_day=MONDAY, end_day=MONDAY, **over)


def objections(assignment: Assignment, *equipment: Equipment) -> dict[str, dict]:
    return {found["code"]: found["values"] for found in stands_against(assignment, equipment)}


@pytest.mark.parametrize(("grams", "stands"), [(300_000, False), (300_001, True)])
def test_what_is_left_of_a_rating_must_take_the_heaviest_panel(grams, stands):
    found = objections(work_for(grams), lifter())
    assert ("lifting_short" in found) is stands


def test_of_a_vacuum_what_is_left_with_one_circuit_lost():
    reductions = [{"why": why, "factor": 1, "source": "manual, page 4"}
                  for why in ("surface", "temperature", "angle", "overhang", "pads", "elevation")]
    vacuum = lifter(kind="vacuum lifter", circuits=4, reductions=reductions)
    assert objections(work_for(300_001), vacuum)["lifting_short"]["left_grams"] == 300_000


def test_a_rating_that_may_already_include_its_factor_is_asked_about_and_not_counted():
    found = objections(work_for(100_000), lifter(rating_includes="unknown", reductions=[]))
    assert [lack["what"] for lack in found["equipment_unknown"]["missing"]] == ["rating_includes"]
    assert found["lifting_short"]["left_grams"] == 0


def test_hands_are_counted_with_those_that_steer():
    assert objections(work_for(), lifter(people_to_steer=2))["too_few_hands"]["needed"] == 2


def inked(gear: Equipment, knowing: bool = True, day: dt.date = MONDAY, **over) -> Assignment:
    step = work_for().work_step
    step.assignments.all().delete()
    return assign(act_for(), step.pk, crew_id=make_crew(make_user("lead")).pk, start_day=day, end_day=day,
                  firmness=over.pop("firmness", "inked"), equipment=[gear.pk], knowing=knowing)


def test_one_lifter_is_not_inked_twice_on_one_day_whatever_one_knows():
    gear = lifter()
    first = inked(gear)
    with pytest.raises(Refusal) as refused:
        inked(gear)
    assert refused.value.code == "booked-twice"
    assert refused.value.reasons[0]["values"] == {
        "equipment": gear.name, "opening": str(first.opening), "start_day": "2026-03-02", "end_day": "2026-03-02",
        "assignment": first.pk}
    assert inked(gear, day=MONDAY + dt.timedelta(days=1)).firmness == "inked"


def test_pencilled_it_may_be_and_says_so_and_cannot_be_inked_as_it_stands():
    gear = lifter()
    inked(gear)
    second = inked(gear, firmness="pencilled")
    assert "equipment_booked" in {found["code"] for found in second.against}
    with pytest.raises(Refusal, match="inked elsewhere"):
        change_assignment(act_for(), second.pk, {"firmness": "inked"}, version=second.version, knowing=True)
    second.refresh_from_db()
    assert (second.firmness, second.version) == ("pencilled", 1)
    other = lifter()
    changed = change_assignment(act_for(), second.pk, {"firmness": "inked", "equipment": [other.pk]},
                                version=second.version, knowing=True)
    assert [one.pk for one in changed.equipment.all()] == [other.pk]


def test_two_crews_in_one_opening_may_share_its_lifter():
    gear = lifter()
    first = inked(gear)
    assign(act_for(), first.work_step_id, crew_id=make_crew(make_user("lead")).pk, start_day=MONDAY, end_day=MONDAY,
           firmness="inked", equipment=[gear.pk], knowing=True)
    assert gear.assignments.count() == 2


# ---- seen again ------------------------------------------------------------------------------------------


def seen_again(assignment: Assignment) -> tuple[set[str], set[str]]:
    """What stands against it now, and what of that is new."""
    assignment.refresh_from_db()
    now = standing_now([assignment.pk], MONDAY)[assignment.pk]
    return {o["code"] for o in now}, {o["code"] for o in new_since(assignment.against, now)}


def given(grams: int = 300_000) -> tuple[Assignment, Equipment]:
    one, work = lifter(), work_for(grams)
    change_assignment(act_for("office"), work.pk, {"equipment": [one.pk]}, version=1)
    return work, one


@pytest.mark.parametrize(("changed", "code"), [
    (lambda work, one: WorkStep.objects.filter(pk=work.work_step_id).update(lifting_grams=300_001), "lifting_short"),
    (lambda work, one: Equipment.objects.filter(pk=one.pk).update(rated_grams=399_999), "lifting_short"),
    (lambda work, one: Equipment.objects.filter(pk=one.pk).update(inspected_until=MONDAY - dt.timedelta(days=1)),
     "inspection_over"),
    (lambda work, one: Equipment.objects.filter(pk=one.pk).update(people_to_steer=2), "too_few_hands"),
    (lambda work, one: CrewMember.objects.filter(crew=work.crew).delete(), "too_few_hands"),
    (lambda work, one: WorkStep.objects.filter(pk=work.work_step_id).update(
        ready=False, not_ready=[{"reason": "material-missing"}]), "not_ready"),
])
def test_what_changed_since_it_was_given_is_seen_again_and_told_as_new(changed, code):
    work, one = given()
    assert seen_again(work) == (set(), set())
    changed(work, one)
    assert seen_again(work) == ({code}, {code})
    Assignment.objects.get(pk=work.pk)
    change_assignment(act_for("office"), work.pk, {}, version=2)
    assert seen_again(work) == ({code}, set()), "once it is saved with it, it is known"


def test_the_same_lifter_given_to_a_third_crew_stands_against_all_three():
    work, one = given()
    more = [work_for(300_000) for _ in range(2)]
    for other in more:
        change_assignment(act_for("office"), other.pk, {"equipment": [one.pk]}, version=1)
    now = standing_now([work.pk, *(other.pk for other in more)], MONDAY)
    assert {pk: [o["code"] for o in found] for pk, found in now.items()} == {
        pk: ["equipment_booked"] * 2 for pk in now}
    assert len(now) == 3
    for other in (work, *more):
        other.refresh_from_db()
        assert now[other.pk] == stands_against(other, [one]), "of several at once the same as of each"


# ---- the way in ------------------------------------------------------------------------------------------


TO_BRING_IN = {"load": {"bare_thickness": "55 mm"}, "limits": {"lean_most": {"value": 0, "source": "invented"}},
               "panels": [{"panel": letter, "length": "1500 mm", "height": "2400 mm", "mass": "190"}
                          for letter in "AB"]}


def hall(width: int) -> list[dict]:
    return [{"name": "hall", "kind": "corridor", "sizes": {"width": width}}]


def cart(width: int | None = 600, **over) -> Equipment:
    return Equipment.objects.create(name=f"Cart {Equipment.objects.count() + 1}", kind="panel cart", carries_at=0,
                                    width_loaded=width and width * MM, own_grams=60_000, **over)


def hanging(way_in: list[dict], *gear: Equipment) -> Assignment:
    work = work_for()
    Job.objects.filter(pk=work.opening.job_id).update(way_in=way_in)
    WorkStep.objects.filter(pk=work.work_step_id).update(to_bring_in=TO_BRING_IN)
    work.equipment.set(gear)
    return Assignment.objects.select_related("work_step", "opening__job", "crew").get(pk=work.pk)


STOPS = [{"leg": "hall", "panels": ["A", "B"], "instead": "without_its_cart"}]


@pytest.mark.parametrize(("way_in", "width", "stands"), [
    (hall(600), 600, {}),
    (hall(599), 600, {"way_in_stops": STOPS}),
    (hall(600), None, {"way_in_unknown": [{"what": "thickness"}]}),
    ([], 600, {}),  # nobody entered it: it is said where the work is given, and stands against nothing
])
def test_a_cart_that_goes_along_must_get_past_every_leg_of_the_way_in(way_in, width, stands):
    work = hanging(way_in, cart(width))
    found = objections(work, *work.equipment.all())
    assert {code: values.get("stops", values.get("missing")) for code, values in found.items()} == stands


def test_it_is_inked_against_a_cart_that_stops_only_by_whoever_says_that_they_know():
    work = hanging(hall(599), wide := cart())
    with pytest.raises(Refusal) as refused:
        change_assignment(act_for("office"), work.pk, {"firmness": "inked"}, version=1)
    assert refused.value.code == "stands-against"
    assert refused.value.reasons == [{"code": "way_in_stops", "values": {"equipment": wide.name, "stops": STOPS}}]
    changed = change_assignment(act_for("office"), work.pk, {"firmness": "inked"}, version=1, knowing=True)
    assert (changed.firmness, [one["code"] for one in changed.against]) == ("inked", ["way_in_stops"])


@pytest.mark.parametrize(("changed", "code"), [
    (lambda work, one: Job.objects.filter(pk=work.opening.job_id).update(way_in=hall(599)), "way_in_stops"),
    (lambda work, one: Equipment.objects.filter(pk=one.pk).update(width_loaded=601 * MM), "way_in_stops"),
    (lambda work, one: Equipment.objects.filter(pk=one.pk).update(width_loaded=None), "way_in_unknown"),
    (lambda work, one: Equipment.objects.filter(pk=one.pk).update(width_loaded=54 * MM), "way_in_unknown"),
    (lambda work, one: WorkStep.objects.filter(pk=work.work_step_id).update(
        to_bring_in={**TO_BRING_IN, "panels": [{"panel": "A", "height": "2400 mm"}]}), "way_in_unknown"),
])
def test_a_leg_a_cart_or_a_panel_that_changed_since_is_seen_again_and_told_as_new(changed, code):
    work = hanging(hall(600), one := cart())
    change_assignment(act_for("office"), work.pk, {"firmness": "inked"}, version=1)
    assert seen_again(work) == (set(), set())
    changed(work, one)
    assert seen_again(work) == ({code}, {code})


def test_fewer_panels_that_stop_are_nothing_new_and_another_leg_is():
    work = hanging(hall(599), cart())
    change_assignment(act_for("office"), work.pk, {"firmness": "inked"}, version=1, knowing=True)
    only_b = {**TO_BRING_IN, "panels": TO_BRING_IN["panels"][1:]}
    WorkStep.objects.filter(pk=work.work_step_id).update(to_bring_in=only_b)
    assert seen_again(work) == ({"way_in_stops"}, set())
    gate = {"name": "gate", "kind": "corridor", "sizes": {"width": 500}}
    Job.objects.filter(pk=work.opening.job_id).update(way_in=[gate, *hall(599)])
    assert seen_again(work) == ({"way_in_stops"}, {"way_in_stops"})


def test_what_stops_a_panel_in_anybodys_hands_stands_against_it_before_a_cart_is_chosen():
    work = hanging(hall(54))
    assert objections(work, lifter())["way_in_stops"]["equipment"] == ""
    assert objections(hanging(hall(55)), lifter()) == {}


def test_it_takes_no_query_more_for_any_of_them(django_assert_num_queries):
    work = [hanging(hall(599), cart()) for _ in range(3)]
    with CaptureQueriesContext(connection) as one:
        standing_now([work[0].pk], MONDAY)
    with django_assert_num_queries(len(one)):
        assert all(found[0]["code"] == "way_in_stops" for found in standing_now(
            [one.pk for one in work], MONDAY).values())


def test_of_work_that_is_over_nothing_is_said():
    work, _one = given()
    assert standing_now([work.pk], MONDAY + dt.timedelta(days=1)) == {}


def test_equipment_that_is_out_of_use_stands_against_the_work_it_was_meant_for():
    gear, work = lifter(), work_for()
    out = OutOfUse.objects.create(equipment=gear, from_day=MONDAY, to_day=MONDAY, reason="yearly inspection")
    assert objections(work, gear)["equipment_off"] == {
        "equipment": gear.name, "from_day": "2026-03-02", "to_day": "2026-03-02"}
    out.delete()
    assert "equipment_off" not in objections(work, gear)
