"""Crew progress: every crew and how far each has got."""

import datetime as dt
import re
import xml.etree.ElementTree as ET

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from inspections.services.gates import pass_over
from inspections.services.panels import handle_panel
from inspections.services.waits import raise_wait
from inspections.services.work import note_event
from jobs.models import Assignment, Change, EarnedMinutes, OfficeSettings, WorkStep
from jobs.stages import Stage
from tests.factories import give_work, make_crew, make_job, make_opening, make_party, make_unit, make_user
from tests.visits import as_role, queries, site_today, text

pytestmark = pytest.mark.django_db
URL = "/"
DAY, TODAY = dt.timedelta(days=1), timezone.now().date()


def test_without_crews_it_says_that_there_are_none(client):
    client.force_login(make_user())
    assert "No crew yet" in text(client.get(URL))


def test_each_crew_shows_its_openings_as_far_as_they_are_built(client):
    site = site_today(Stage.FRAME_SET, tag="A2", location="dining")
    client.force_login(site.office)
    shown = text(client.get(URL))
    assert site.crew.name in shown
    assert f"{site.opening.job.number} · A2" in shown
    assert "Frame set; 0 of 2 panels hung; pocket left, open" in shown
    assert '<span class="label">Next:</span> Close the pocket, hang the panels' in shown


def test_the_next_panel_is_named_once_the_pocket_is_closed(client):
    site = site_today(Stage.FRAME_SET, panels="ABC")
    site.close_pocket()
    handle_panel(site.act(), site.panel("A").pk, "receive")
    handle_panel(site.act(), site.panel("A").pk, "hang")
    client.force_login(site.office)
    assert "Hang B, then C" in text(client.get(URL))


def test_a_gate_passed_over_stands_beside_its_stage_and_is_counted_by_crew(client):
    site = site_today(Stage.OPENING_VERIFIED)
    site.evidence(Stage.FRAME_SET, without=("set-aside-listed",))
    pass_over(site.act(), site.opening.pk, "the list is in the van")
    client.force_login(site.office)
    assert "Passed over: the list is in the van" in text(client.get(URL))
    assert "1 gate passed over" in text(client.get(URL))
    assert "Passed over: the list is in the van" in text(client.get(reverse("job", args=[site.opening.job.pk])))
    shown = client.get("/api/v1/progress/").json()["crews"][0]
    assert (shown["passed_over"], shown["openings"][0]["passed_over"]) == (1, "the list is in the van")
    listed = client.get("/api/v1/openings/").json()["results"][0]
    assert listed["passed_over"] == "the list is in the van"


def test_what_is_waited_for_says_who_owes_it_and_since_when(client):
    site = site_today()
    builder = make_party(name="Quoin and Daughters")
    type(site.opening.job).objects.filter(pk=site.opening.job_id).update(builder=builder)
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder", owed_by_id=builder.pk)
    client.force_login(site.office)
    assert "Quoin and Daughters owes: the floor, since" in text(client.get(URL))


def test_what_no_longer_counts_is_one_line_however_many_checks_it_is(client):
    site = site_today(Stage.OPENING_VERIFIED)
    note_event(site.act(), site.opening.pk, "re-pour")
    client.force_login(site.office)
    assert "Read again: Size and 12 more" in text(client.get(URL))


def test_a_guest_reads_no_party_by_name(client):
    site = site_today()
    builder = make_party(name="Quoin and Daughters")
    type(site.opening.job).objects.filter(pk=site.opening.job_id).update(builder=builder)
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder", owed_by_id=builder.pk)
    client.force_login(make_user("guest"))
    shown = text(client.get(URL))
    assert "The builder owes: the floor" in shown
    assert "Quoin" not in shown


def test_hours_stand_on_a_tape_and_in_words(client):
    site = site_today(Stage.OPENING_VERIFIED)
    client.force_login(site.office)
    assert "hours earned, " in text(client.get(URL))
    assert "<b>10</b> earned, " in text(client.get(URL))


def test_a_lead_sees_the_crews_they_are_on_and_no_other(client):
    site, other = site_today(), site_today()
    client.force_login(site.lead)
    shown = text(client.get(URL))
    assert site.crew.name in shown
    assert other.opening.job.number not in shown


def test_asked_again_while_nothing_has_happened_it_sends_nothing(client):
    site = site_today()
    client.force_login(site.office)
    mark = client.get(URL)["ETag"]
    assert client.get(URL, headers={"If-None-Match": mark}).status_code == 304
    site.read("last-panel-gap", {"gap": "18"})
    assert client.get(URL, headers={"If-None-Match": mark}).status_code == 200


def test_another_person_or_other_rights_never_get_the_unchanged_answer(client):
    site = site_today()
    client.force_login(site.office)
    mark = client.get(URL)["ETag"]
    client.force_login(site.lead)
    assert client.get(URL, headers={"If-None-Match": mark}).status_code == 200
    mark = client.get(URL)["ETag"]
    type(site.lead).objects.filter(pk=site.lead.pk).update(role="guest")
    assert client.get(URL, headers={"If-None-Match": mark}).status_code == 200


def test_the_unchanged_answer_costs_few_queries(client, django_assert_max_num_queries):
    site = site_today()
    type(site.office).objects.filter(pk=site.office.pk).update(time_zone="America/Denver")
    client.force_login(site.office)
    mark = client.get(URL)["ETag"]
    with django_assert_max_num_queries(3):  # the session, the person, where the feed stands
        client.get(URL, headers={"If-None-Match": mark})


def test_one_who_has_set_no_clock_sees_the_week_of_the_companys(client):
    """Monday 03:00 in UTC is still Sunday of the week before in Honolulu."""
    office = make_user()
    OfficeSettings.objects.update_or_create(pk=1, defaults={"time_zone": "Pacific/Honolulu"})
    client.force_login(office)
    with time_machine.travel(dt.datetime(2026, 3, 9, 3, tzinfo=dt.UTC), tick=False):
        assert "Sun 8 Mar" in client.get(URL).content.decode()
    type(office).objects.filter(pk=office.pk).update(time_zone="Europe/Madrid")
    with time_machine.travel(dt.datetime(2026, 3, 9, 3, tzinfo=dt.UTC), tick=False):
        assert "Mon 9 Mar" in client.get(URL).content.decode()


def crews(count):
    for _ in range(count):
        lead = make_user("lead")
        crew = make_crew(lead)
        for m in range(2):
            opening = make_opening(make_job(), tag=f"A{m}")
            make_unit(opening, "AB")
            give_work(opening, crew, start_day=timezone.now().date(), end_day=timezone.now().date())
    return lead


def test_it_takes_as_many_queries_for_ten_crews_as_for_twenty(client):
    OfficeSettings.objects.create(pk=1, company="Marrow Bay Sliding Walls")
    client.force_login(make_user())
    crews(10)
    ten = queries(client, URL)
    crews(10)
    assert queries(client, URL) == ten == 38


def test_what_stands_against_work_given_is_said_as_it_is_today_and_what_is_new(client):
    site = site_today(tag="A2")
    give_work(site.opening, site.crew, "frame set", start_day=TODAY + 4 * DAY, end_day=TODAY + 5 * DAY,
              against=[{"code": "too_few_hands", "values": {}}])
    WorkStep.objects.update(hands=3, ready=True, not_ready=[])
    client.force_login(site.office)
    shown = text(client.get(URL))
    assert "Opening verified, " in shown and "Frame set, " in shown
    assert shown.count("3 are needed, 1 are there.") == 2
    assert "New since it was given." in shown
    WorkStep.objects.update(hands=1)
    Change.objects.create(position=10**9, at=timezone.now(), what="hands changed", record="work-steps")
    assert "are needed" not in text(client.get(URL))


def test_work_that_is_done_already_has_nothing_against_it(client):
    site = site_today(Stage.OPENING_VERIFIED)
    WorkStep.objects.update(hands=9)
    client.force_login(site.office)
    assert "are needed" not in text(client.get(URL))


def test_the_eight_weeks_before_stand_beside_each_other_drawn_and_in_numbers(client):
    site = site_today()
    step = site.opening.work_steps.first()
    monday = TODAY - TODAY.weekday() * DAY
    for ago, minutes in ((7, 90), (14, 120), (56, 60), (63, 6000), (0, 600)):
        EarnedMinutes.objects.create(work_step=step, crew=site.crew, day=monday - ago * DAY, minutes=minutes)
    Assignment.objects.update(start_day=monday - 3 * DAY, end_day=monday + 3 * DAY, planned_minutes=500)
    client.force_login(site.office)
    shown = text(client.get(URL))
    # 90 + 120 + 60; of the five worked days one lies in the week before
    assert "In the eight weeks before: 4.5 hours earned, 1.7 planned, 0 used" in shown
    drawn = ET.fromstring(re.search(r'<svg class="tape weeks".*?</svg>', shown)[0])
    assert len(drawn.findall("rect[@class='rule']")) == 8
    assert [rect.get("height") for rect in drawn.findall("rect[@class='earned']")] == ["25.0", "50.0", "37.5"]


@pytest.mark.parametrize("role", ["office", "lead", "installer", "customer-service", "guest"])
def test_everybody_may_look_at_it(client, role):
    site = site_today()
    client.force_login(as_role(site, role))
    assert client.get(URL).status_code == 200


def test_what_cannot_be_read_in_numbers_is_not_shown_as_nought(client):
    opening = make_opening(rough_width=None, rough_height=None)
    give_work(opening, make_crew(make_user("lead")))
    client.force_login(make_user())
    assert client.get(reverse("crew-progress")).status_code == 200


def test_today_is_the_readers_own(client):
    client.force_login(make_user(time_zone="Pacific/Kiritimati"))
    there = timezone.now().astimezone(dt.timezone(dt.timedelta(hours=14)))
    assert f"{there:%a} {there.day} {there:%b}" in text(client.get(URL))
