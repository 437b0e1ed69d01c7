"""What the job sets of a check stands over what the door system says, and that over what is shipped."""

import json

import pytest

from inspections.calc import gate as judging
from inspections.calc.gate import Outcome
from inspections.models import Check
from inspections.services.checks import SHIPPED, change_check, make_check
from inspections.services.looking import look_at
from jobs.errors import Invalid
from jobs.stages import Stage
from tests.factories import act_for
from tests.site import FOOT, Site, frame

pytestmark = pytest.mark.django_db

OV, FS = Stage.OPENING_VERIFIED, Stage.FRAME_SET
JOB = "agreed for this job"


def set_by_job(site: Site, code: str, **values) -> None:
    Check.objects.create(code=code, job=site.opening.job, **values)


def outcomes(site: Site, code: str) -> list[Outcome]:
    site.opening.refresh_from_db()
    return [o for o in look_at(site.opening, site.now).outcomes if o.code == code]


def test_a_limit_the_job_sets_stands_over_the_one_the_systems_own_data_give():
    site = Site().bring_to(OV)
    site.evidence(FS)
    assert outcomes(site, "roller-travel")[0].findings[0]["source"] == str(site.unit.system)
    set_by_job(site, "roller-travel", limits={"roller_travel": {"value": "3 mm", "source": JOB}})
    found = outcomes(site, "roller-travel")[0].findings[0]
    assert (found["limit_mm"], found["source"]) == ("3.000000", JOB)


def test_joints_the_job_names_stand_over_those_of_the_system():
    site = Site().bring_to(Stage.ADJUSTED)
    site.unit.system.joints = [{"place": "head", "side": "outside", "rule": "seal"}]
    site.unit.system.save()
    assert [o.place for o in outcomes(site, "joints-sealed")] == ["head outside"]
    set_by_job(site, "joints-sealed", limits={"dew_margin": {"value": 4, "source": JOB}})
    assert [o.place for o in outcomes(site, "joints-sealed")] == ["head outside"]
    Check.objects.filter(job=site.opening.job).update(places=["seal:sill:inside", "seal:head:inside"])
    assert [o.place for o in outcomes(site, "joints-sealed")] == ["sill inside", "head inside"]


@pytest.mark.parametrize(("code", "occasion"), [("sill-level", "frame-set"), ("sill-level-again", "adjusted")])
def test_readings_are_judged_by_the_limits_of_their_own_occasion_when_they_come(code, occasion):
    site = Site().bring_to(OV)
    wide = {"value": "1/2 in", "source": JOB}
    set_by_job(site, code, limits={"sill_level": wide, "sill_rise_in_a_foot": wide})
    sloped = [{"at": n * FOOT, "reading": 0.2 * n} for n in range(27)]  # 5.2 mm over its length
    kept = site.read("frame", frame(sill={"stations": sloped, "inner": sloped}), occasion=occasion)
    assert kept.limits["sill_level"]["source"] == JOB
    assert all(f["within"] for f in kept.verdict["findings"] if f["quantity"] == "sill_level")


def test_a_check_of_the_jobs_own_needs_no_more_than_its_stage():
    site = Site()
    set_by_job(site, "dust-sheets", stage=OV)
    found = outcomes(site, "dust-sheets")[0]
    assert (found.title, found.result) == ("dust-sheets", judging.MISSING)
    site.confirm("dust-sheets")
    assert outcomes(site, "dust-sheets")[0].passes


# ---- what the office types ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("code", "values", "field"), [
    ("rack", {"limits": {"rack": {"value": "a sixteenth or so", "source": JOB}}}, "limits.rack"),
    ("rack", {"limits": {"wrack": {"value": "1/8 in", "source": JOB}}}, "limits.wrack"),
    ("rack", {"limits": {"rack": {"value": "1/8 in"}}}, "limits.rack"),
    ("rack", {"limits": {"rack": "1/8 in"}}, "limits.rack"),
    ("force", {"limits": {"force_to_start": {"value": "strong", "source": JOB}}}, "limits.force_to_start"),
    ("header-in", {"limits": {"rack": {"value": "1/8 in", "source": JOB}}}, "limits.rack"),
    ("joints-sealed", {"places": ["head outside"]}, "places"),
    ("dust-sheets", {"title": "Dust sheets out"}, "stage"),
])
def test_what_no_gate_can_judge_is_said_to_whoever_types_it(code, values, field):
    site = Site()
    act = site.act(site.office)
    with pytest.raises(Invalid) as said:
        make_check(act, {"code": code, "job": site.opening.job, **values})
    assert field in said.value.fields
    assert not Check.objects.filter(job=site.opening.job).exists()
    look_at(site.opening, site.now)


def test_a_limit_is_changed_like_it_is_made():
    site = Site()
    rack = Check.objects.get(code="rack", job=None, system=None)
    with pytest.raises(Invalid):
        change_check(site.act(site.office), rack, {"limits": {"rack": {"value": "x", "source": JOB}}}, version=1)
    change_check(site.act(site.office), rack, {"limits": {"rack": {"value": "1/4 in", "source": JOB}}}, version=1)
    site.evidence(OV)
    assert outcomes(site, "rack")[0].findings[0]["limit_mm"] == "6.350000"


def test_the_job_may_build_on_a_check_only_its_door_system_has():
    site = Site()
    act = site.act(site.office)
    make_check(act, {"code": "sling-tags", "system": site.unit.system, "stage": OV, "judged_by": "confirmed"})
    make_check(act, {"code": "sling-tags", "job": site.opening.job, "asked": False})
    assert outcomes(site, "sling-tags") == []


@pytest.mark.parametrize("row", json.loads(SHIPPED.read_text()), ids=lambda row: row["code"])
def test_what_is_shipped_could_be_typed_as_it_is(row):
    Check.objects.filter(code=row["code"]).delete()
    assert make_check(act_for("office"), {**row, "asked": True}).pk
