"""A work step is ready until what was verified no longer counts, whether or not anybody touches the opening."""

from __future__ import annotations

import datetime as dt

import pytest

from inspections import tasks
from inspections.services import readiness
from inspections.services.progress import crew_progress
from jobs.acts import position
from jobs.models import Change, WorkStep
from jobs.services.planning import assign
from jobs.stages import Stage
from tests.site import Site

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def site() -> Site:
    return Site("AB").bring_to(Stage.OPENING_VERIFIED)


def step(site: Site) -> WorkStep:
    return WorkStep.objects.get(opening=site.opening, stage=Stage.FRAME_SET)


def test_a_step_stops_being_ready_when_its_verification_is_too_old(site):
    readiness.refresh_by_the_clock(site.now + 6 * DAY)
    assert step(site).ready
    assert readiness.refresh_by_the_clock(site.now + 8 * DAY) == 1
    assert not step(site).ready
    assert {reason["check"] for reason in step(site).not_ready} >= {"pocket-open"}  # counts for seven days


def test_it_is_said_where_work_is_given_and_where_progress_is_shown(site):
    site.now += 8 * DAY
    readiness.refresh_by_the_clock(site.now)
    given = assign(site.act(site.office), step(site).pk, crew_id=site.crew.pk, start_day=site.now.date(),
                   end_day=site.now.date())
    assert "not_ready" in [found["code"] for found in given.against]
    lines = [opening for crew in crew_progress(site.act(site.office), site.now.date()) for opening in crew["openings"]]
    assert [line["ready"] for line in lines] == [False]


def test_looked_at_again_it_says_nothing_new(site):
    readiness.refresh_by_the_clock(site.now + 8 * DAY)
    stands = position()
    assert Change.objects.get(position=stands).what == "readiness changed"
    assert readiness.refresh_by_the_clock(site.now + 8 * DAY) == 0
    assert position() == stands


def test_the_task_does_nothing_the_second_time(site, time_machine):
    time_machine.move_to(site.now + 8 * DAY, tick=False)
    assert [tasks.refresh_readiness(), tasks.refresh_readiness()] == [1, 0]


def test_read_again_it_is_ready_again(site):
    site.now += 8 * DAY
    readiness.refresh_by_the_clock(site.now)
    site.evidence(Stage.OPENING_VERIFIED)
    assert step(site).ready
