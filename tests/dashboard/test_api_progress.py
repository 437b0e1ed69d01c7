"""Minutes and crews' progress as they are asked for over HTTP."""

from __future__ import annotations

import datetime as dt

import pytest
from rest_framework.test import APIClient

from inspections.services.work import report_hours
from jobs.models import OfficeSettings
from tests.dashboard.world import World
from tests.site import Site

pytestmark = pytest.mark.django_db


def test_minutes_are_asked_of_a_job_an_opening_or_a_crew():
    world = World()
    office = world.client("office")

    def keys(query: str) -> list[str]:
        return [line["key"] for line in office.get(f"/api/v1/progress/minutes/?{query}").json()["results"]]

    openings = sorted(str(world.id(whose, "openings")) for whose in ("own", "other"))
    assert keys("by=opening") == openings
    for name in ("opening", "job", "crew"):
        found = keys(f"by=opening&{name}={world.id('own', {'crew': 'crews', 'job': 'jobs'}.get(name, 'openings'))}")
        assert found == [str(world.id("own", "openings"))], name
    assert keys("by=opening&job=0") == keys("by=opening&crew=999999999") == []


@pytest.mark.parametrize(("address", "named"), [
    ("?crew=1", "crew"), ("minutes/?week=12", "week"), ("minutes/?by=month", "by"), ("minutes/?job=one", "job"),
    ("minutes/?job=99999999999999999999", "job"), ("minutes/?day_from=20260310", "day_from"),
    ("minutes/?day_from=2026-03-10&day_to=2026-03-09", "day_to"),
    ("minutes/?day_from=2026-03-10&day_to=2028-03-09", "day_to"),
])
def test_what_progress_cannot_be_asked_is_refused_and_not_left_out(address: str, named: str):
    said = World().client("office").get(f"/api/v1/progress/{address}")
    assert (said.status_code, list(said.json()["fields"])) == (400, [named])


@pytest.mark.parametrize(("own", "day"), [("UTC", "2026-03-08"), ("America/New_York", "2026-03-09")])
def test_a_week_ends_on_the_readers_own_sunday(own: str, day: str, time_machine):
    """Half past nine on a Sunday evening in Los Angeles: half past midnight in New York, Monday in UTC."""
    world = World()
    OfficeSettings.objects.create(pk=1, time_zone="America/Los_Angeles")
    office = world.people["office"]
    office.time_zone = own
    office.save()
    time_machine.move_to(dt.datetime(2026, 3, 9, 4, 30, tzinfo=dt.UTC), tick=False)
    shown = world.client("office").get("/api/v1/progress/").json()
    monday = "2026-03-09" if day == "2026-03-09" else "2026-03-02"
    assert (shown["day"], {crew["week_from"] for crew in shown["crews"]}) == (day, {monday})
    summed = world.client("office").get("/api/v1/progress/minutes/").json()
    assert (summed["day_from"], summed["day_to"]) == (monday, day)


def test_minutes_of_no_crew_have_no_key():
    site = Site("AB")
    site.opening.assignments.all().delete()
    report_hours(site.act(site.office), site.opening.work_steps.first().pk, day=site.now.date(), minutes=90)
    client = APIClient()
    client.force_authenticate(site.office)
    day = site.now.date()
    lines = client.get(f"/api/v1/progress/minutes/?day_from={day}&day_to={day}").json()["results"]
    assert [(line["key"], line["used_minutes"]) for line in lines] == [(None, 90)]
