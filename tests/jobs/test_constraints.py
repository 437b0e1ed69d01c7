"""What no row of jobs can be, whoever writes it."""

import datetime as dt

import pytest
from django.utils import timezone

from jobs.models import (
    AccessToken,
    CrewMember,
    Custody,
    DayOff,
    Delivery,
    Equipment,
    Event,
    FindingEntry,
    FindingSpelling,
    FindingWord,
    IdempotentAnswer,
    OfficeSettings,
    OutOfUse,
    StageChange,
    Visit,
    Wait,
)
from tests.constraints import Breaks, again, lengths_without_a_floor, names_of, negative, put, refuses
from tests.factories import NOW, give_work, make_crew, make_job, make_opening, make_user

pytestmark = [pytest.mark.django_db, pytest.mark.database]
A_DAY = dt.timedelta(days=1)


def a_member():
    return make_crew(make_user("lead")).members.get()


def a_day_off():
    return DayOff.objects.create(crew=make_crew(), from_day=NOW.date(), to_day=NOW.date())


def a_change():
    return StageChange.objects.create(opening=make_opening(), from_stage="to be measured", to_stage="opening verified",
                                      advanced=True, by=make_user(), taken_at=NOW)


def an_event():
    return Event.objects.create(opening=make_opening(), kind="re-pour", by=make_user(), taken_at=NOW)


def a_wait():
    return Wait.objects.create(opening=make_opening(), what_for="The floor", owed_by_kind="builder", by=make_user(),
                               taken_at=NOW)


def a_custody(**over):
    values = {"opening": make_opening(), "holder": "builder", "condition": "Swept.", "by": make_user(), "taken_at": NOW}
    return Custody.objects.create(**{**values, **over})


def an_assignment():
    return give_work(make_opening(), make_crew())


def a_visit():
    return Visit.objects.create(opening=make_opening(), crew=make_crew(), day=NOW.date())


def a_token():
    return AccessToken.objects.create(user=make_user(), expiry=dt.timedelta(days=1))[0]


def a_lifter():
    return Equipment.objects.create(name="Lifter 1", kind="vacuum lifter")


def out_of_use():
    return OutOfUse.objects.create(equipment=a_lifter(), from_day=NOW.date(), to_day=NOW.date())


def a_word():
    return FindingWord.objects.create(text="ansel")


def an_entry():
    return FindingEntry.objects.create(word=a_word(), opening=make_opening(), of="people")


def settings_row():
    return OfficeSettings.objects.get_or_create(pk=1)[0]


BREAKS: Breaks = {
    "officesettings_one_row": lambda: again(settings_row(), pk=2),
    "officesettings_interval": lambda: put(settings_row(), reminder_interval_days=0),
    "jobs_crew.name": lambda: again(make_crew()),
    "jobs_equipment.name": lambda: again(a_lifter()),
    "equipment_circuits": lambda: put(a_lifter(), circuits=0),
    "equipment_people_to_steer": lambda: put(a_lifter(), people_to_steer=0),
    "equipment_part_left": lambda: put(a_lifter(), left_with_one_circuit_lost=1.01),
    "equipment_stop_wind": lambda: put(a_lifter(), stop_wind_m_per_s=-0.5),
    **negative("equipment", a_lifter, "carries_at", "width_loaded"),
    "jobs_job.number": lambda: again(make_job()),
    "jobs_user.username": lambda: again(make_user()),
    "jobs_accesstoken.public_id": lambda: again(a_token()),
    "member_ends_after": lambda: put(a_member(), to_day=dt.date(2019, 12, 31)),
    "member_once_a_day": lambda: again(a_member()),
    "dayoff_ends_after": lambda: put(a_day_off(), to_day=NOW.date() - A_DAY),
    "outofuse_ends_after": lambda: put(out_of_use(), to_day=NOW.date() - A_DAY),
    "dayoff_crew_or_person": lambda: put(a_day_off(), user=make_user()),
    "job_latitude": lambda: put(make_job(), latitude=90.001),
    "job_longitude": lambda: put(make_job(), longitude=-180.001),
    "job_contract": lambda: put(make_job(), contract_cents=-1),
    "opening_tag_unique_in_job": lambda: again(make_opening()),
    "opening_stage_exists": lambda: put(make_opening(), stage="nearly done"),
    **negative("opening", make_opening, "rough_width", "rough_height", "recess", "pocket_depth_needed",
               "pocket_thickness_needed", "deflection_allowed"),
    "change_from_exists": lambda: put(a_change(), from_stage="nearly done"),
    "change_to_exists": lambda: put(a_change(), to_stage=""),
    "change_has_its_reason": lambda: put(a_change(), kind="step-back"),
    "event_kind": lambda: put(an_event(), kind="rain"),
    "custody_holder_exists": lambda: put(a_custody(), holder="nobody"),
    "custody_says_its_condition": lambda: put(a_custody(), condition=""),
    "custody_crew_holds_it": lambda: put(a_custody(holder="crew", crew=make_crew()), holder="owner"),
    "jobs_findingword.text": lambda: again(a_word()),
    "spelling_once_a_word": lambda: again(FindingSpelling.objects.create(word=a_word(), key="anse", off=1)),
    "entry_once_an_opening": lambda: again(an_entry()),
    "entry_of_exists": lambda: put(an_entry(), of="money"),
    "idempotency_key_once": lambda: again(IdempotentAnswer.objects.create(user=make_user(), key="k", started_at=NOW)),
    "user_role_exists": lambda: put(make_user(), role="owner"),
    "accesstoken_role_exists": lambda: put(a_token(), role="owner"),
    "workstep_once_a_stage": lambda: again(make_opening().work_steps.first()),
    "workstep_stage_exists": lambda: put(make_opening().work_steps.first(), stage="to be measured"),
    "assignment_ends_after": lambda: put(an_assignment(), end_day=NOW.date() - A_DAY),
    "assignment_firmness": lambda: put(an_assignment(), firmness="chalked"),
    "assignment_told_by_somebody": lambda: put(an_assignment(), told_at=NOW),
    "visit_once_a_day": lambda: again(a_visit()),
    "wait_ends_after_its_start": lambda: put(a_wait(), cleared_at=NOW - A_DAY, cleared_by=make_user()),
    "wait_cleared_by_somebody": lambda: put(a_wait(), cleared_at=NOW + A_DAY),
    "delivery_received_by_somebody": lambda: put(Delivery.objects.create(job=make_job(), what="Sill"), received_at=NOW),
}


@pytest.mark.parametrize("name", BREAKS)
def test_the_database_refuses(name):
    refuses(name, BREAKS[name])


def test_every_rule_of_these_tables_is_broken_above():
    assert set(BREAKS) == names_of("jobs")


def test_no_length_of_an_opening_is_without_a_floor():
    assert lengths_without_a_floor("jobs") == set()


def test_the_edge_of_each_rule_is_allowed():
    put(make_opening(), rough_width=0, recess=None)
    put(a_wait(), cleared_at=NOW, cleared_by=make_user())
    put(an_assignment(), end_day=NOW.date())
    put(make_job(), latitude=-90, longitude=180, contract_cents=0)
    put(a_lifter(), circuits=1, people_to_steer=1, left_with_one_circuit_lost=1, stop_wind_m_per_s=0)
    one, other = make_opening(tag="A1"), make_opening(tag="A1")
    assert one.job_id != other.job_id, "the same tag in another job is another opening"


def test_a_record_with_work_on_it_cannot_be_pulled_away():
    opening = make_opening()
    crew = make_crew(make_user("lead"))
    give_work(opening, crew)
    for row in (opening.job, crew, CrewMember.objects.get().user):
        with pytest.raises(Exception, match="protected"):
            row.delete()
    assert timezone.is_aware(opening.stage_since)
