"""What a scheduler is told of a day, on the calendar of the job."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from jobs.models import OfficeSettings, StageChange, WorkStep
from jobs.services.planning import stands_against
from tests.factories import give_work, make_crew, make_job, make_opening, make_user

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
