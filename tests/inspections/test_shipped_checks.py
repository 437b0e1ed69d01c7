"""The shipped checks are data: what they name must exist in the code that judges."""

import json
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.test.utils import CaptureQueriesContext

from inspections.calc.gate import GUARDED
from inspections.calc.kinds import KINDS
from inspections.models import Check
from inspections.services.checks import SHIPPED, read_limits, ship_checks
from jobs.calc.verdict import COMMON_PRACTICE
from jobs.stages import WORKED
from tests.factories import make_job

ROWS = json.loads(SHIPPED.read_text())
JUDGED_FROM_READINGS = [row for row in ROWS if row["judged_by"] in KINDS]


def test_every_stage_and_the_hold_point_ask_something():
    assert {row["stage"] for row in ROWS} == {stage.value for stage in WORKED} | {Check.HOLD_POINT}


@pytest.mark.parametrize("row", JUDGED_FROM_READINGS, ids=lambda row: row["code"])
def test_every_limit_is_one_its_calculation_knows_and_can_read(row):
    assert set(row["limits"]) <= set(KINDS[row["judged_by"]].limits)
    limits = read_limits(row["judged_by"], row["limits"])
    assert all(limits[name].source for name in row["limits"])


def test_every_guarded_class_is_used_and_no_other():
    assert {row["guards"] for row in ROWS} - {""} == set(GUARDED)


def test_the_trades_own_numbers_are_as_shipped():
    """Common practice, no source: 1/16 in in any foot, 1/4 in in total, 1/2 in bead, 18 in for the last panel."""
    found = {name: limit for row in ROWS for name, limit in row["limits"].items()}
    wanted = {"rise_in_a_foot": "1/16 in", "total_range": "1/4 in", "bead": "1/2 in", "preset": "3/8 in"}
    assert {name: found[name]["value"] for name in wanted} == wanted
    assert {found[name]["source"] for name in wanted} == {COMMON_PRACTICE}


def test_what_no_number_fits_is_left_unset():
    unset = {name for row in ROWS for name, limit in row["limits"].items() if limit["value"] is None}
    assert {"clearance_least", "clearance_most", "roller_travel", "force_to_start", "gap_least"} <= unset


def test_shipping_again_adds_nothing_and_keeps_what_the_office_changed(db):
    Check.objects.filter(code="rack").update(limits={"rack": {"value": "1/4 in", "source": "the office"}})
    assert ship_checks() == 0
    assert Check.objects.get(code="rack").limits["rack"]["value"] == "1/4 in"
    assert Check.objects.count() == len(ROWS)


def test_a_column_that_came_later_does_not_stop_an_earlier_migration(db):
    """The table as it was then has no such column: the row goes in without it."""
    before = MigrationExecutor(connection).loader.project_state(("inspections", "0001_records")).apps
    then = before.get_model("inspections", "Check")
    then._meta.get_fields()
    then._meta.local_fields.remove(then._meta.get_field("photo"))
    then._meta._expire_cache()
    Check.objects.filter(code="rack").delete()
    with CaptureQueriesContext(connection) as ran:
        assert ship_checks(then) == 1
    assert not any('"photo"' in query["sql"] for query in ran if query["sql"].startswith("INSERT"))


def test_a_database_from_before_two_pockets_asks_of_each_what_a_new_one_asks(db):
    """Only what was shipped: where a job asks otherwise, that stays."""
    migration = import_module("inspections.migrations.0008_each_pocket")
    job = make_job()
    Check.objects.create(code="longest-fastener", job=job, limits={}, places=[])
    Check.objects.filter(code__in=migration.AT_EACH_POCKET, job=None).update(places=[])
    migration.ask_at_each(apps, None)
    asked = dict(Check.objects.filter(job=None).values_list("code", "places"))
    assert asked == {row["code"]: row["places"] for row in ROWS}
    assert Check.objects.get(job=job).places == []
