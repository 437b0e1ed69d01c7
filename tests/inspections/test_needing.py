"""What needs somebody: each kind, found where it stands open, by those who can deal with it, and no longer."""

import datetime as dt
from collections import Counter

import pytest
from django.utils import timezone

from inspections.models import Callback, Check, Confirmation, CorrectionReport, ReturnTrip
from inspections.services.builders_link import make_link
from inspections.services.closing import accept_opening, put_part_back, raise_punch_item, set_part_aside
from inspections.services.gates import pass_over
from inspections.services.inspecting import confirm
from inspections.services.needing.all import what_needs_somebody
from inspections.services.needing.rows import Wanted
from inspections.services.parts import note_part_came
from inspections.services.standing import countersign, settle
from inspections.services.waits import clear_wait, raise_wait
from inspections.services.work import note_event
from jobs.acts import Act
from jobs.errors import NotAllowed
from jobs.models import Assignment, DayOff, Delivery, Job, OfficeSettings, Opening, StageChange, Visit, WorkStep
from jobs.stages import Stage
from tests.factories import give_work, make_crew, make_job, make_opening, make_user
from tests.site import floor
from tests.visits import as_role, site_today
from units.models import Part

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
TODAY = timezone.now().date()
BAD = floor([0, 0, 0, 8, 0] + [0] * 22)


def found(person, **wanted):
    return what_needs_somebody(Act.of(person, timezone.now()), Wanted(**wanted)).rows


def kinds(person, **wanted):
    return [row.kind for row in found(person, **wanted)]


def one(person, kind):
    (row,) = found(person, kind=kind)
    return row


@pytest.fixture
def site():
    """At a job in UTC, its crew is given to it next week: nothing needs anybody."""
    site = site_today()
    Job.objects.update(time_zone="UTC")
    Assignment.objects.update(start_day=TODAY + 7 * DAY, end_day=TODAY + 8 * DAY, firmness="inked")
    WorkStep.objects.update(hands=1)
    return site


def quiet(site):
    Assignment.objects.update(against=[{"code": "day_off", "values": {}}])
    return [row for row in found(site.office) if row.kind != "unfit"]


def test_where_all_is_given_and_nothing_is_late_nothing_needs_anybody(site):
    assert quiet(site) == []


# ---- checks that fail ------------------------------------------------------------------------------------


def test_a_failed_check_stands_until_it_is_read_again(site):
    site.read("floor-profile", BAD)
    row = one(site.office, "failed")
    assert (row.opening, row.count) == (site.opening, 3)
    assert row.values["outcome"]["code"] == "floor-bed", "what guards something leads"
    assert row.values["owed_by_kind"] == "builder" and not row.asked
    site.read("floor-profile", floor())
    assert found(site.office, kind="failed") == []


def test_the_latest_counts_that_says_something_about_the_check(site):
    site.read("floor-profile", BAD)
    site.read("floor-profile", {**floor(), "inner": []})
    assert [r.values["outcome"]["code"] for r in found(site.office, kind="failed")] == []


def test_what_ended_the_reading_takes_it_off_and_so_does_the_office_with_other_evidence(site):
    site.read("pocket", {"depth": "20", "thickness": "8"})
    row = one(site.office, "failed")
    assert (row.guards, row.count) == ("pocket", 1)
    confirm(site.act(site.office), site.opening.pk, row.values["outcome"]["code"], "other-evidence",
            stands_at="the framer's photos")
    assert found(site.office, kind="failed") == []
    site.read("floor-profile", BAD)
    note_event(site.act(), site.opening.pk, "re-pour")
    assert found(site.office, kind="failed") == []


def test_somebody_who_looked_and_saw_that_it_was_not_so_counts_too(site):
    site.confirm("header-in", "no")
    row = one(site.office, "failed")
    assert (row.guards, row.values["owed_by_kind"]) == ("structure", "builder")
    site.confirm("header-in")
    assert found(site.office, kind="failed") == []


def test_asked_of_the_builder_it_is_in_hand_until_the_day_he_said(site):
    bad = site.read("floor-profile", BAD)
    wait = raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder",
                      inspection_id=bad.pk, expected_day=TODAY + 2 * DAY)
    row = one(site.office, "failed")
    assert (row.asked, row.level) == (True, 7)
    type(wait).objects.update(expected_day=TODAY - DAY)
    assert {r.kind: int(r.level) for r in found(site.office) if r.kind != "unfit"} == {"failed": 2, "wait": 4}


def test_a_check_of_a_stage_that_is_reached_needs_nobody():
    site = site_today(Stage.FRAME_SET)
    site.read("rough-opening", {"widths": {"top": "10 ft"}})
    site.confirm("header-in", "no")
    assert found(site.office, kind="failed") == []


def test_at_the_hold_point_it_counts_until_the_pocket_is_closed():
    site = site_today(Stage.FRAME_SET)
    site.confirm("studs-clear", "no")
    assert one(site.office, "failed").values["at_pocket"]
    site.confirm("studs-clear")
    site.close_pocket()
    Confirmation.objects.filter(check_code="studs-clear").update(answer="no")
    assert found(site.office, kind="failed") == []


def test_the_same_as_the_openings_own_gate_says(site):
    """A limit set since counts here as it does there."""
    site.read("floor-profile", BAD)
    Check.objects.create(code="floor-rise", job=site.opening.job, limits={
        "rise_in_a_foot": {"value": "2 in", "source": "agreed"}})
    assert "floor-rise" not in str([r.values for r in found(site.office, kind="failed")])


# ---- owed and late ---------------------------------------------------------------------------------------


def test_a_wait_past_its_day_or_a_week_old_with_none(site):
    late = raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder",
                      expected_day=TODAY - 3 * DAY)
    raise_wait(site.act(), site.opening.pk, what_for="power", owed_by_kind="builder", expected_day=TODAY)
    row = one(site.office, "wait")
    assert (row.since, row.days, row.count) == (TODAY - 3 * DAY, 3, 1)
    undated = raise_wait(site.act(), site.opening.pk, what_for="a key", owed_by_kind="owner")
    type(undated).objects.filter(pk=undated.pk).update(taken_at=timezone.now() - 9 * DAY)
    row = one(site.office, "wait")
    assert (row.count, row.days, [o["what"] for o in row.values["others"]]) == (2, 9, ["the floor"])
    clear_wait(site.act(), late.pk, how="done")
    assert one(site.office, "wait").count == 1


def test_what_was_recorded_and_not_advanced_until_it_is_settled(site):
    change = site.advance(done_on_site=True)
    row = one(site.office, "kept")
    assert (row.values["of"], row.values["stage"], row.level) == ("stage", "opening verified", 2)
    settle(site.act(site.office), how="mistaken", note="the next opening was meant", stage_change_id=change.pk)
    assert "kept" not in kinds(site.office)


def test_a_countersignature_until_it_is_given():
    site = site_today(Stage.OPENING_VERIFIED)
    site.evidence(Stage.FRAME_SET, without=("set-aside-listed",))
    pass_over(site.act(), site.opening.pk, "the list is in the van")
    owed = StageChange.objects.get(kind="pass-over").countersignature
    assert one(site.office, "countersignature").key == str(owed.pk)
    countersign(site.act(site.office), owed.pk, give=True, version=owed.version)
    assert "countersignature" not in kinds(site.office)


def test_punch_items_from_the_day_after_they_were_due(site):
    for ago in (0, 1, 4):
        raise_punch_item(site.act(), site.opening.pk, what=f"due {ago}", owner_id=site.lead.pk,
                         due_day=TODAY - ago * DAY)
    row = one(site.office, "item")
    assert (row.days, row.count, row.values["what"]) == (4, 2, "due 4")


def test_parts_set_aside_once_the_work_they_were_off_for_is_over():
    site = site_today(Stage.SEALED)
    part = set_part_aside(site.act(), site.opening.pk, what="Track cover")
    assert "aside" not in kinds(site.office)
    site.now = timezone.now()  # five hours ago it may have been the day before
    site.evidence(Stage.PUNCH_LIST)
    site.advance()
    assert "aside" not in kinds(site.office), "not on the day itself"
    Opening.objects.update(stage_since=timezone.now() - 3 * DAY)
    type(part).objects.update(taken_at=timezone.now() - 9 * DAY)
    assert one(site.office, "aside").days in (2, 3)
    put_part_back(site.act(), part.pk)
    assert "aside" not in kinds(site.office)


def test_a_callback_until_somebody_is_booked_to_go():
    site = site_today(Stage.ACCEPTED)
    call = Callback.objects.create(number="C-1", opening=site.opening, called_at=timezone.now(), taken_by=site.office,
                                   severity="cannot-be-secured", symptom="it does not lock")
    assert one(site.office, "callback").level == 1
    trip = ReturnTrip.objects.create(callback=call, day=TODAY + DAY)
    assert "callback" in kinds(site.office), "a day without a crew brings nobody"
    ReturnTrip.objects.filter(pk=trip.pk).update(crew=site.crew)
    assert "callback" not in kinds(site.office)
    type(trip).objects.update(day=TODAY - 2 * DAY)  # gone by at the job too
    Callback.objects.update(severity="looks")
    assert one(site.office, "callback").level == 4


def test_a_trip_of_today_is_to_come_until_the_day_is_over_at_the_job():
    site = site_today(Stage.ACCEPTED)
    Job.objects.update(time_zone="Etc/GMT+11")
    call = Callback.objects.create(number="C-1", opening=site.opening, called_at=timezone.now(), taken_by=site.office,
                                   severity="cannot-be-secured", symptom="it does not lock")
    ReturnTrip.objects.create(callback=call, day=TODAY, crew=site.crew)

    def nobody_goes(hour):
        now = dt.datetime.combine(TODAY + DAY, dt.time(hour), dt.UTC)
        return any(row.kind == "callback" for row in what_needs_somebody(Act.of(site.office, now)).rows)
    assert [nobody_goes(10), nobody_goes(12)] == [False, True]


def test_a_report_that_it_is_put_right_until_somebody_took_note(site):
    link = make_link(site.act(), site.opening.pk)
    CorrectionReport.objects.create(link=link, note="ground", at=timezone.now())
    assert one(site.lead, "corrected").values["what"] == "ground"
    CorrectionReport.objects.update(seen_at=timezone.now(), seen_by=site.lead)
    assert "corrected" not in kinds(site.lead)


def test_a_delivery_past_its_day_once_however_many_openings_it_is_for(site):
    crate = Delivery.objects.create(job=site.opening.job, what="Panels", expected_day=TODAY - 2 * DAY)
    crate.openings.set([site.opening, make_opening(site.opening.job)])
    assert (one(site.office, "delivery").days, one(site.office, "delivery").count) == (2, 1)
    Delivery.objects.update(received_at=timezone.now(), received_by=site.office)
    assert "delivery" not in kinds(site.office)


def test_parts_that_came_short_until_a_delivery_brings_them(site):
    crate = Delivery.objects.create(job=site.opening.job, what="Sill", received_at=timezone.now(),
                                    received_by=site.office, expected_day=TODAY - DAY)
    sill, head = (Part.objects.create(unit=site.unit, kind=kind, name=kind, delivery=crate)
                  for kind in ("sill", "head"))
    for part in (sill, head):
        note_part_came(site.act(), part.pk, short=1)
    row = one(site.office, "short")
    assert (row.count, row.values["what"], row.level) == (2, "sill", 6)
    again = Delivery.objects.create(job=site.opening.job, what="Sill, again", expected_day=TODAY + 3 * DAY)
    Part.objects.filter(pk=head.pk).update(delivery=again)
    assert one(site.office, "short").count == 1
    note_part_came(site.act(), sill.pk, whole=1)
    assert "short" not in kinds(site.office)


# ---- work ------------------------------------------------------------------------------------------------


def test_work_that_no_longer_fits_with_what_nobody_decided_on(site):
    give = Assignment.objects.get()
    give.start_day = give.end_day = monday = TODAY + (14 - TODAY.weekday()) * DAY
    give.save()
    assert kinds(site.office, kind="unfit") in ([], ["unfit"])  # a public holiday is nobody's
    WorkStep.objects.update(ready=True, not_ready=[])
    assert kinds(site.office, kind="unfit") == []
    DayOff.objects.create(user=site.lead, from_day=monday, to_day=monday)
    row = one(site.office, "unfit")
    assert ([o["code"] for o in row.values["objections"]], row.level) == (["too_few_hands"], 5)
    Assignment.objects.update(against=row.values["objections"])
    assert kinds(site.office, kind="unfit") == [], "inked, knowing"
    called = make_opening(site.opening.job, stage=Stage.ACCEPTED.value)
    visit = Visit.objects.create(crew=give.crew, opening=called, day=monday)
    assert [o["values"]["opening"] for o in one(site.office, "unfit").values["objections"]] == [str(called)]
    Visit.objects.filter(pk=visit.pk).update(opening=site.opening)
    assert kinds(site.office, kind="unfit") == [], "they are there anyway"
    Assignment.objects.update(start_day=TODAY, end_day=TODAY, against=[])
    DayOff.objects.update(from_day=TODAY, to_day=TODAY)
    assert one(site.office, "unfit").level == 1


def test_work_that_is_ready_and_given_to_nobody():
    site = site_today(Stage.OPENING_VERIFIED)
    Assignment.objects.update(start_day=TODAY - 3 * DAY, end_day=TODAY - DAY)
    row = one(site.office, "unassigned")
    assert (row.values["stage"], row.values["had_it"]) == ("frame set", "")
    given = give_work(site.opening, site.crew, "frame set", start_day=TODAY - 9 * DAY, end_day=TODAY - 2 * DAY)
    assert one(site.office, "unassigned").values["had_it"] == site.crew.name
    given.end_day = TODAY
    given.save()
    assert "unassigned" not in kinds(site.office)


def test_what_was_done_on_site_and_not_advanced_is_settled_and_not_given_once_more():
    site = site_today(Stage.OPENING_VERIFIED)
    site.advance(done_on_site=True)
    assert kinds(site.office, kind="unassigned") == []


@pytest.mark.parametrize(("promised", "why"), [(-1, "late"), (8, "given-after"), (0, "too-much"), (300, None)])
def test_a_promised_day_in_danger_is_one_row_a_job(site, promised, why):
    make_opening(site.opening.job)
    Assignment.objects.update(start_day=TODAY, end_day=TODAY + (9 if why == "given-after" else 0) * DAY)
    Job.objects.update(promised_date=TODAY + promised * DAY)
    OfficeSettings.objects.create(pk=1, working_days="1111111")
    found_now = found(site.office, kind="promise")
    assert [row.values["why"] for row in found_now] == ([why] if why else [])
    assert [row.count for row in found_now] == ([] if why is None else [1] if why == "given-after" else [2])


# ---- whose, which, and how many --------------------------------------------------------------------------


@pytest.fixture
def everything(site):
    """Of most kinds one, at an opening of the crew; the lead's item and the installer's."""
    site.installer = as_role(site, "installer")
    site.read("floor-profile", BAD)
    raise_wait(site.act(), site.opening.pk, what_for="power", owed_by_kind="builder", expected_day=TODAY - DAY)
    for person in (site.lead, site.installer):
        raise_punch_item(site.act(), site.opening.pk, what=f"of {person.role}", owner_id=person.pk,
                         due_day=TODAY - DAY)
    site.advance(done_on_site=True)
    Job.objects.update(promised_date=TODAY - DAY)
    return site


def test_each_sees_what_they_can_deal_with(everything):
    site = everything
    assert Counter(kinds(site.office)) - Counter({"unfit": 1}) == Counter(
        ["failed", "wait", "kept", "promise", "item"])
    assert Counter(kinds(site.lead)) == Counter(["failed", "wait", "kept", "item"])
    assert Counter(kinds(site.installer)) == Counter(["failed", "item"])
    assert [one(site.installer, "item").values["what"], one(site.lead, "item").count] == ["of installer", 2]
    assert kinds(make_user("lead")) == [], "another crew's"
    assert kinds(make_user("customer-service")) == []
    Opening.objects.update(called_back=True)
    assert kinds(make_user("customer-service")) == ["item"]
    with pytest.raises(NotAllowed):
        found(make_user("guest"))


def test_it_is_asked_for_by_kind_by_job_and_by_crew(everything):
    site, other = everything, make_crew(make_user("lead"))
    number = site.opening.job.number
    assert kinds(site.office, kind="wait") == ["wait"]
    assert kinds(site.office, kind="wait", job=number[2:]) == ["wait"] == kinds(site.office, kind="wait",
                                                                                crew=site.crew.pk)
    assert kinds(site.office, job="no such") == [] == kinds(site.office, crew=other.pk)


def test_the_worst_comes_first(everything):
    levels = [int(row.level) for row in found(everything.office)]
    assert levels == sorted(levels) and len(set(levels)) > 2


def many(count):
    """So many openings with something of nearly every kind."""
    for _ in range(count):
        lead = make_user("lead")
        crew, opening = make_crew(lead), make_opening(make_job(time_zone="UTC", promised_date=TODAY - DAY))
        give_work(opening, crew, start_day=TODAY, end_day=TODAY)
        WorkStep.objects.filter(opening=opening, stage="opening verified").update(hands=5)
        act = Act.of(lead, timezone.now())
        raise_wait(act, opening.pk, what_for="power", owed_by_kind="builder", expected_day=TODAY - DAY)
        raise_punch_item(act, opening.pk, what="x", owner_id=lead.pk, due_day=TODAY - DAY)
        confirm(act, opening.pk, "header-in", "no")
        Delivery.objects.create(job=opening.job, what="Sill", expected_day=TODAY - DAY).openings.add(opening)
        idle = make_opening(opening.job)
        WorkStep.objects.filter(opening=idle, stage="opening verified").update(ready=True)


def test_it_takes_as_many_queries_for_ten_openings_as_for_three(django_assert_num_queries):
    office = make_user()
    many(3)
    with django_assert_num_queries(46):
        few = kinds(office)
    many(7)
    with django_assert_num_queries(46):
        assert len(kinds(office)) > 3 * len(few)
    assert {"failed", "wait", "item", "unfit", "unassigned", "promise", "delivery"} <= set(few)


def test_accepted_with_all_done_nothing_needs_anybody():
    site = site_today(Stage.PUNCH_LIST)
    accept_opening(site.act(), site.opening.pk, accepted_by="The owner", how="signed")
    assert found(site.office) == []
