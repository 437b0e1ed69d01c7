"""The ledger of earned minutes is level after every act, whoever plans otherwise afterwards; its sums agree."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from rest_framework.test import APIClient

from inspections.services import planned
from inspections.services.gates import step_back
from inspections.services.panels import handle_panel
from inspections.services.progress import ledgers, minutes
from inspections.services.work import report_hours
from jobs.errors import Invalid, Refusal, SomeoneWasFaster
from jobs.models import Assignment, EarnedMinutes, Opening, User, WorkStep
from jobs.stages import Stage
from tests.factories import give_work, make_crew, make_opening, make_user
from tests.site import Site
from units.models import Panel

pytestmark = pytest.mark.django_db

DAYS = [dt.date(2026, 1, 1) + dt.timedelta(days=n) for n in range(0, 366, 13)]


@pytest.fixture
def site() -> Site:
    return Site("AB")


def client(user: User) -> APIClient:
    asking = APIClient()
    asking.force_authenticate(user)
    return asking


def step_of(site: Site, stage: str) -> WorkStep:
    return WorkStep.objects.get(opening=site.opening, stage=stage)


def plan(site: Site, stage: str, minutes_planned: int) -> None:
    step = step_of(site, stage)
    planned.change(site.act(site.office), step, {"planned_minutes": minutes_planned}, version=step.version,
                   record="work-steps")


def earned(opening: Opening, stage: str) -> int:
    rows = EarnedMinutes.objects.filter(work_step__opening=opening, work_step__stage=stage)
    return sum(rows.values_list("minutes", flat=True))


def by_crew(site: Site, stage: str) -> dict[int, int]:
    found: dict[int, int] = {}
    for row in EarnedMinutes.objects.filter(work_step__opening=site.opening, work_step__stage=stage):
        found[row.crew_id] = found.get(row.crew_id, 0) + row.minutes
    return found


# ---- planned otherwise after it was earned -----------------------------------------------------------------


@pytest.mark.parametrize("minutes_planned", [0, 599, 601, 5000])
def test_minutes_planned_otherwise_are_earned_otherwise_in_the_same_act(site: Site, minutes_planned: int) -> None:
    site.bring_to(Stage.OPENING_VERIFIED)
    assert earned(site.opening, Stage.OPENING_VERIFIED) == 600
    plan(site, Stage.OPENING_VERIFIED, minutes_planned)
    plan(site, Stage.FRAME_SET, minutes_planned)
    assert earned(site.opening, Stage.OPENING_VERIFIED) == minutes_planned
    assert earned(site.opening, Stage.FRAME_SET) == 0


def test_they_go_to_the_crew_that_did_the_work_whoever_has_the_opening_now(site: Site) -> None:
    site.bring_to(Stage.OPENING_VERIFIED)
    give_work(site.opening, make_crew(), start_day=dt.date(2026, 3, 11))
    for minutes_planned in (700, 300, 900):
        plan(site, Stage.OPENING_VERIFIED, minutes_planned)
        assert by_crew(site, Stage.OPENING_VERIFIED) == {site.crew.pk: minutes_planned}


def test_what_was_planned_only_after_it_was_done_is_earned_by_who_did_it(site: Site) -> None:
    plan(site, Stage.OPENING_VERIFIED, 0)
    site.bring_to(Stage.OPENING_VERIFIED)
    give_work(site.opening, make_crew(), start_day=dt.date(2026, 3, 11))
    plan(site, Stage.OPENING_VERIFIED, 480)
    assert by_crew(site, Stage.OPENING_VERIFIED) == {site.crew.pk: 480}


def test_a_panel_that_turns_out_heavier_or_is_taken_off_the_list_earns_its_new_share(site: Site) -> None:
    site.bring_to(Stage.FRAME_SET)
    site.close_pocket()
    hung = site.panel("A")
    for what in ("receive", "hang"):
        handle_panel(site.act(), hung.pk, what)
    hung.refresh_from_db()
    other = site.panel("B")
    assert earned(site.opening, Stage.PANELS_HUNG) == round(600 * hung.grams / (hung.grams + other.grams))
    planned.change(site.act(site.office), hung, {"weighed_grams": other.grams * 2}, version=hung.version,
                   record="panels")
    assert earned(site.opening, Stage.PANELS_HUNG) == 400
    third = planned.make(site.act(site.office), Panel, {
        "unit": site.unit, "letter": "C", "position": "pocket", "track": 3, "hanging_order": 3,
        "computed_grams": other.grams}, record="panels")
    assert earned(site.opening, Stage.PANELS_HUNG) == 300
    planned.remove(site.act(site.office), third, version=third.version, record="panels")
    assert earned(site.opening, Stage.PANELS_HUNG) == 400


def test_a_work_step_moved_to_another_opening_is_earned_there_or_not_at_all(site: Site) -> None:
    site.bring_to(Stage.OPENING_VERIFIED)
    other = make_opening()
    WorkStep.objects.filter(opening=other, stage=Stage.OPENING_VERIFIED).delete()
    step = step_of(site, Stage.OPENING_VERIFIED)
    planned.change(site.act(site.office), step, {"opening": other}, version=step.version, record="work-steps")
    assert earned(site.opening, Stage.OPENING_VERIFIED) == earned(other, Stage.OPENING_VERIFIED) == 0


def test_a_work_step_that_minutes_were_earned_on_stays(site: Site) -> None:
    site.bring_to(Stage.OPENING_VERIFIED)
    act = site.act(site.office)
    with pytest.raises(Refusal, match="stays"):
        planned.remove(act, step_of(site, Stage.OPENING_VERIFIED), version=1, record="work-steps")
    planned.remove(act, step_of(site, Stage.SEALED), version=1, record="work-steps")
    assert earned(site.opening, Stage.OPENING_VERIFIED) == 600


def test_a_work_step_made_for_a_stage_that_is_reached_is_earned_at_once(site: Site) -> None:
    site.bring_to(Stage.OPENING_VERIFIED)
    WorkStep.objects.filter(opening=site.opening, stage=Stage.OPENING_VERIFIED).delete()
    planned.make(site.act(site.office), WorkStep, {"opening": site.opening, "stage": Stage.OPENING_VERIFIED.value,
                                                   "planned_minutes": 90}, record="work-steps")
    assert by_crew(site, Stage.OPENING_VERIFIED) == {site.crew.pk: 90}


def test_a_plan_that_lost_against_another_changes_nothing(site: Site) -> None:
    site.bring_to(Stage.OPENING_VERIFIED)
    step = step_of(site, Stage.OPENING_VERIFIED)
    with pytest.raises(SomeoneWasFaster):
        planned.change(site.act(site.office), step, {"planned_minutes": 1}, version=9, record="work-steps")
    assert earned(site.opening, Stage.OPENING_VERIFIED) == 600


def test_the_api_levels_the_ledger_when_a_step_or_a_panel_is_changed(site: Site) -> None:
    site.bring_to(Stage.OPENING_VERIFIED)
    step, office = step_of(site, Stage.OPENING_VERIFIED), client(site.office)
    said = office.patch(f"/api/v1/work-steps/{step.pk}/", {"planned_minutes": 480}, HTTP_IF_MATCH='"1"')
    assert (said.status_code, said.json()["planned_minutes"]) == (200, 480)
    assert earned(site.opening, Stage.OPENING_VERIFIED) == 480
    assert office.delete(f"/api/v1/work-steps/{step.pk}/", HTTP_IF_MATCH='"2"').status_code == 409
    lines = office.get("/api/v1/progress/minutes/?by=opening&day_from=2026-01-01&day_to=2026-12-31").json()["results"]
    assert [line["earned_minutes"] for line in lines] == [480]


# ---- taken off ---------------------------------------------------------------------------------------------


def test_a_panel_that_comes_out_is_taken_off_the_crew_that_hung_last(site: Site) -> None:
    site.bring_to(Stage.FRAME_SET)
    site.close_pocket()
    second = make_user("lead")
    crews = [make_crew(second), site.crew]  # made last, it hangs first
    give_work(site.opening, crews[0], start_day=dt.date(2026, 3, 1))
    for letter, person in (("A", site.lead), ("B", second)):
        for what in ("receive", "hang"):
            handle_panel(site.act(person), site.panel(letter).pk, what)
    before = by_crew(site, Stage.PANELS_HUNG)
    handle_panel(site.act(second), site.panel("B").pk, "take-out", reason="scratched")
    assert by_crew(site, Stage.PANELS_HUNG) == {site.crew.pk: before[site.crew.pk], crews[0].pk: 0}


# ---- sums --------------------------------------------------------------------------------------------------


def lived(site: Site) -> None:
    """Forward, back, forward again, planned otherwise in between, hours on several days, two crews."""
    site.bring_to(Stage.FRAME_SET)
    report_hours(site.act(), step_of(site, Stage.FRAME_SET).pk, day=dt.date(2026, 3, 8), minutes=125)
    plan(site, Stage.FRAME_SET, 777)
    site.now += dt.timedelta(days=9)
    step_back(site.act(), site.opening.pk, Stage.OPENING_VERIFIED, "the frame comes out")
    report_hours(site.act(), step_of(site, Stage.FRAME_SET).pk, day=dt.date(2026, 3, 16), minutes=61)
    plan(site, Stage.OPENING_VERIFIED, 333)
    for first, last, amount in ((2, 13, 601), (28, 62, 1001)):
        start = dt.date(2026, 2, 1)
        give_work(site.opening, make_crew(holiday_region="US"), planned_minutes=amount,
                  start_day=start + dt.timedelta(days=first), end_day=start + dt.timedelta(days=last))


def totals(**between: Any) -> set[tuple[int, int, int]]:
    rows, last = ledgers(**between), between.get("last", dt.date(2026, 12, 31))
    found = set()
    for by in ("crew", "opening", "job", "week"):
        sums = minutes(by, rows, last, first=between.get("first")).values()
        found.add((sum(s.earned for s in sums), sum(s.planned for s in sums), sum(s.used for s in sums)))
    return found


def test_sums_by_opening_job_crew_and_week_agree_to_the_minute(site: Site) -> None:
    lived(site)
    lived(Site("AB"))
    given = sum(Assignment.objects.values_list("planned_minutes", flat=True))
    assert totals() == {(2 * 333, given, 2 * 186)}


def test_sums_over_some_days_are_those_days_and_add_up_to_the_whole(site: Site) -> None:
    lived(site)
    [whole] = totals(first=DAYS[0], last=DAYS[-1])
    assert whole == next(iter(totals()))
    parts = []
    for first, beyond in zip(DAYS, [*DAYS[1:], DAYS[-1] + dt.timedelta(days=1)], strict=True):
        [part] = totals(first=first, last=beyond - dt.timedelta(days=1))
        parts.append(part)
    assert tuple(map(sum, zip(*parts, strict=True))) == whole


def test_no_week_is_told_that_was_not_asked_for(site: Site) -> None:
    lived(site)
    monday = dt.date(2026, 3, 9)
    rows = ledgers(first=monday, last=monday + dt.timedelta(days=6))
    assert set(minutes("week", rows, monday + dt.timedelta(days=6), first=monday)) == {monday}


def test_hours_are_reported_on_days_that_have_come_at_the_job() -> None:
    site = Site("AB")
    site.now = dt.datetime(2026, 3, 11, 6, 30, tzinfo=dt.UTC)  # half past eleven in the evening at the job
    step = step_of(site, Stage.FRAME_SET)
    with pytest.raises(Invalid) as refused:
        report_hours(site.act(), step.pk, day=dt.date(2026, 3, 11), minutes=60)
    assert list(refused.value.fields) == ["day"]
    assert report_hours(site.act(), step.pk, day=dt.date(2026, 3, 10), minutes=60).minutes == 60
