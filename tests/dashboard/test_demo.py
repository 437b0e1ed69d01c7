"""The demo's story, made once: what happens in it, that it is the same every time, and that nobody in it is real."""

from __future__ import annotations

import datetime as dt
import re
import subprocess
import sys
from collections import Counter
from fractions import Fraction
from itertools import pairwise
from random import Random
from typing import Any

import pytest
from django.db import models, transaction
from django.db.models import F, Sum

from dashboard import starting
from dashboard.demo import readings
from dashboard.demo.diary import Calendar
from dashboard.demo.making import make_demo
from dashboard.supervisor import CannotStart
from inspections.calc.kinds import KINDS
from inspections.calc.needs import KINDS as KINDS_OF_NEED
from inspections.models import (
    Acceptance,
    Adjustment,
    Callback,
    Check,
    Countersignature,
    HoldPoint,
    Inspection,
    Joint,
    Photo,
    PunchItem,
    Reading,
    SetAsidePart,
    Settlement,
    WallAgreement,
)
from inspections.services.laying_out import explained
from inspections.services.looking import look_at, look_at_hold_point
from inspections.services.needing.all import what_needs_somebody
from inspections.services.photos import picture_file
from inspections.services.progress import ledgers, minutes
from inspections.services.taking_off import taken_off
from inspections.services.walls import marks_now
from jobs.acts import Act
from jobs.calc import reading
from jobs.calc.verdict import Limit
from jobs.models import (
    Assignment,
    Change,
    CrewMember,
    Custody,
    DayOff,
    Delivery,
    EarnedMinutes,
    Equipment,
    Event,
    Job,
    Opening,
    Party,
    StageChange,
    User,
    Wait,
    WorkStep,
)
from jobs.models.base import OfficeRecord
from jobs.roles import LABELS, Role
from jobs.stages import ORDER, Stage
from tests.demo_facts import digest
from tests.running import ROOT, environment
from units.models import DoorSystem, Panel, PanelChange, Part, Unit
from units.services.handling import Help, handling_of, heaviest_of

NOW = dt.datetime(2026, 3, 10, 17, 20, tzinfo=dt.UTC)  # a Tuesday morning where the work is
TODAY = dt.date(2026, 3, 10)

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def told(django_db_setup, django_db_blocker):
    """The sign-ins of a demo made once, which stays for the tests of this file and no longer."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield make_demo(NOW)
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def _story(told):
    """Every test of this file stands in the story; what it changes is taken back."""


def door(tag: str) -> Opening:
    return Opening.objects.get(tag=tag)


# --- the same every time --------------------------------------------------------------------------------------------

@pytest.mark.long
def test_one_seed_gives_one_story_whichever_process_tells_it():
    """Made again by another process, with other hashes of strings and another database."""
    made = subprocess.run([sys.executable, "-m", "tests.demo_facts", NOW.isoformat()], check=True, text=True, cwd=ROOT,
                          capture_output=True, env=environment("unused", 1, PYTHONHASHSEED="7"))
    assert made.stdout.split()[-1] == digest()


def test_another_seed_gives_other_readings():
    def read(seed: int) -> Any:
        return readings.floor(Random(seed), 312)
    assert read(1) == read(1)
    assert read(1) != read(2)


LIMITS_OF_PRACTICE = {"rack": "1/8 in", "out_of_plumb": "1/8 in", "twist": "1/8 in", "tape_deviation": "1/32 in",
                      "clearance_least": "1/2 in", "clearance_most": "1 1/4 in"}
FLOOR_OF_PRACTICE = {"rise_in_a_foot": "1/16 in", "total_range": "1/4 in", "cross_fall": "1/16 in", "wind": "1/16 in",
                     "window": "12 in", "widest_spacing": "12 in", "bed_least": "0 in", "bead": "1/2 in"}


@pytest.mark.parametrize("seed", range(60))
def test_an_ordinary_opening_passes_whatever_the_seed(seed):
    """Limits of common practice, no source."""
    def limits(of: dict[str, str], kind: str) -> Any:
        return reading.limits({name: {"value": value} for name, value in of.items()}, KINDS[kind].limits, {}, "mm")

    chance = Random(seed)
    width, height = Fraction(chance.randrange(144, 480)), Fraction(chance.randrange(90, 132))
    given = readings.rough_opening(chance, width + 1, height + 1)
    rough = {**given, "required": {"width": readings.inches(width), "height": readings.inches(height)}}
    assert KINDS["rough-opening"].judge(rough, limits(LIMITS_OF_PRACTICE, "rough-opening")).result == "pass"
    floor = readings.floor(chance, width + 60)
    assert KINDS["floor-profile"].judge({**floor, "tracks": 4}, limits(
        {**FLOOR_OF_PRACTICE}, "floor-profile") | {"squeeze_least": Limit(25)}).result == "pass"


def test_it_covers_eight_weeks_and_ends_before_now():
    first, last = Change.objects.aggregate(a=models.Min("at"), b=models.Max("at")).values()
    assert dt.timedelta(weeks=8) < NOW - first < dt.timedelta(weeks=11)
    assert NOW - dt.timedelta(days=3) < last < NOW


def test_the_feed_runs_forward_in_time():
    at = list(Change.objects.order_by("position").values_list("at", flat=True))
    # Visits of two crews overlap by hours; a day is never told before the day before it.
    assert all(late - early < dt.timedelta(hours=12) for late, early in pairwise(at))
    assert not Change.objects.filter(at__gt=NOW).exists()


def test_nothing_carries_the_real_clock():
    """The office's records are dated by the story, as those from site are."""
    shipped = Check.objects.filter(system=None, job=None)
    for model in OfficeRecord.__subclasses__():
        rows = model.objects.filter(created_at__gt=NOW)
        assert not (rows.exclude(pk__in=shipped) if model is Check else rows).exists(), model
    assert not Opening.objects.filter(stage_since__gt=NOW).exists()
    assert not Photo.objects.filter(server_time__gt=NOW).exists()


@pytest.mark.parametrize("hour", range(0, 24, 5))
@pytest.mark.parametrize("day", range(7))
def test_whenever_it_is_made_the_last_working_day_is_over(day, hour):
    now = dt.datetime(2026, 3, 8, hour, tzinfo=dt.UTC) + dt.timedelta(days=day)
    calendar = Calendar(now)
    assert calendar.at(-1, "16:30") < now
    days = [calendar.day(n) for n in range(-40, 20)]
    assert days == sorted(set(days))
    assert all(one.weekday() < 5 for one in days)


# --- the company ----------------------------------------------------------------------------------------------------

def test_one_account_for_each_role_is_told_with_a_password_that_opens_it(told):
    assert {s.role for s in told} == set(LABELS.values())
    for sign_in in told:
        person = User.objects.get(username=sign_in.login)
        assert LABELS[Role(person.role)] == sign_in.role
        assert person.check_password(sign_in.password)


def test_only_they_can_sign_in_and_no_password_is_in_the_code(told):
    able = {user.username for user in User.objects.all() if user.has_usable_password()}
    assert able == {s.login for s in told}
    assert len({s.password for s in told}) == len(Role)
    code = "".join(path.read_text() for path in (ROOT / "dashboard" / "demo").glob("*.py"))
    assert [s.password for s in told if s.password in code] == []


def test_three_crews_with_a_lead_and_installers_and_each_other_role():
    roles = Counter(User.objects.values_list("role", flat=True))
    assert roles == {"office": 1, "lead": 3, "installer": 9, "customer-service": 1, "guest": 1}
    assert Counter(CrewMember.objects.filter(leads=True).values_list("crew__name", flat=True)) == {
        "Alder": 1, "Birch": 1, "Cedar": 1}


def test_six_to_eight_jobs_with_fourteen_to_twenty_openings_and_lifting_equipment():
    assert 6 <= Job.objects.count() <= 8
    assert 14 <= Opening.objects.count() <= 20
    assert {"vacuum lifter", "panel cart"} == set(Equipment.objects.values_list("kind", flat=True))
    assert set(DoorSystem.objects.values_list("material", flat=True)) == {"aluminium", "wood-clad"}


def test_each_door_system_says_all_its_maker_would_and_on_which_page():
    alike = {"id", "version", "created_at", "code", "name", "edition", "material", "sources", "withdrawn_on",
             "pan_test_allowed", "finishing_steps", "limits"}
    for system in DoorSystem.objects.all():
        told = {field.name for field in DoorSystem._meta.concrete_fields} - alike
        assert {name for name in told if getattr(system, name) in (None, [])} == set()
        assert told == set(system.sources)
        assert all("invented" in source and re.search(r"page \d+$", source) for source in system.sources.values())
        assert len(system.glasses) == 2
        assert all(product["cartridge_ml"] and product["movement_pct"] for product in system.products)
        assert all(limit["source"] for limits in system.limits.values() for limit in limits.values())
    first, second = DoorSystem.objects.all()
    assert not set(first.finishing_steps) & set(second.finishing_steps)


def test_each_units_panels_are_those_its_system_makes_and_nothing_of_it_fails():
    for unit in Unit.objects.select_related("system", "opening__job"):
        found = explained(unit)
        made = {one["panel"]: (one["width_mm"], one["height_mm"]) for one in found.panels.computed["panels"]}
        assert {panel.letter: (panel.width, panel.height) for panel in unit.panels.all()} == made, unit
        assert (found.panels.result == "fail", found.weights.result) == (False, "pass"), unit
        assert taken_off(unit).counts.verdict.result == "pass", unit


def test_what_hangs_panels_has_enough_left_for_the_heaviest_and_is_not_booked_twice():
    hanging = Assignment.objects.filter(work_step__stage=Stage.PANELS_HUNG).prefetch_related("equipment")
    assert {code for work in hanging for code in [one["code"] for one in work.against]} & {
        "lifting_short", "cart_short", "equipment_unknown", "equipment_booked", "too_few_hands"} == set()
    assert all(work.work_step.lifting_grams == heaviest_of(work.opening.unit.panels.all()) for work in hanging)


def test_the_way_in_is_clear_but_for_the_loft_whose_tall_panels_do_not_fit_its_lift():
    gear = list(Equipment.objects.filter(name__in=("Vacuum lifter, big", "Panel cart 1")))
    stopped = {}
    for unit in Unit.objects.select_related("system", "opening__job"):
        way = handling_of(unit, Help(gear, 3)).route
        stops = {panel["stops_at"] for panel in way.computed["panels"]}
        stopped |= {unit.opening.tag: stops} if stops != {None} else {}
    assert stopped == {"E1": {"goods lift"}, "E2": {"goods lift"}}


def test_nobody_in_it_can_be_rung_up_or_written_to():
    phones = [*User.objects.values_list("phone", flat=True), *Party.objects.values_list("phone", flat=True)]
    assert all(re.fullmatch(r"555-01\d\d", phone) for phone in phones)
    assert len(set(phones)) == len(phones)
    mail = [*User.objects.values_list("email", flat=True), *Party.objects.values_list("email", flat=True)]
    assert all(address.endswith(".example") for address in mail)


def test_no_number_and_no_address_is_hidden_in_any_text():
    texts = [str(value) for model in (Job, Party, PunchItem, Wait, Callback, Adjustment, DoorSystem)
             for row in model.objects.values() for value in row.values() if isinstance(value, (str, dict, list))]
    whole = "\n".join(texts)
    assert re.findall(r"\b\d{3}[-. ]\d{3,4}[-. ]\d{4}\b", whole) == []
    assert [m for m in re.findall(r"[\w.]+@([\w.]+)", whole) if not m.endswith(".example")] == []
    assert re.findall(r"https?://\S+", whole) == []


# --- every stage ----------------------------------------------------------------------------------------------------

def test_every_stage_is_occupied():
    there = Counter(Opening.objects.values_list("stage", flat=True))
    assert set(there) == {stage.value for stage in ORDER}


def test_each_opening_got_there_by_changes_that_advanced():
    """A stage is where the last change that moved it left it."""
    for opening in Opening.objects.all():
        moved = list(opening.stage_changes.filter(advanced=True).order_by("taken_at", "server_time", "id"))
        assert opening.stage == (moved[-1].to_stage if moved else Stage.TO_BE_MEASURED)
        assert all(before.to_stage == after.from_stage for before, after in pairwise(moved))


def test_sums_by_crew_opening_job_and_week_agree_to_the_minute():
    sums = {}
    for by in ("crew", "opening", "job", "week"):
        rows = minutes(by, ledgers(), TODAY).values()
        sums[by] = tuple(sum(getattr(row, name) for row in rows) for name in ("earned", "planned", "used"))
    assert len(set(sums.values())) == 1
    assert min(sums["crew"]) > 0
    assert sums["crew"][0] == EarnedMinutes.objects.aggregate(all=Sum("minutes"))["all"]


# --- the mess of real life ------------------------------------------------------------------------------------------

def test_a_floor_failed_twice_and_the_builder_owes_it_with_a_plan():
    floors = Inspection.objects.filter(opening=door("E1"), kind="floor-profile").order_by("taken_at")
    assert [f.result for f in floors] == ["fail", "fail"]
    assert Event.objects.filter(opening=door("E1"), kind="re-pour").count() == 1
    first, second = Wait.objects.filter(opening=door("E1")).order_by("taken_at")
    assert (first.cleared_at is None, second.cleared_at is None) == (False, True)
    for wait, floor in zip((first, second), floors, strict=True):
        assert wait.because["inspection"] == str(floor.pk)
        assert wait.because["correction"]["proven"] is True
        assert wait.owed_by.name == "Mossback & Daughters"


def test_a_panel_came_broken_and_was_replaced():
    panel = Panel.objects.get(replaced__gt=0)
    acts = [change.act for change in PanelChange.objects.filter(panel=panel).order_by("taken_at")]
    assert acts[:4] == ["receive", "damage", "replace", "hang"]
    assert not panel.damaged


def test_somebody_was_off_sick_and_the_work_was_moved():
    sick = DayOff.objects.get(reason="sick")
    moved, = [c for c in Change.objects.filter(what="assignment changed") if "start_day" in c.more["fields"]]
    assert moved.at.date() == sick.from_day
    work = Assignment.objects.get(pk=moved.record_id)
    assert work.firmness == "inked"
    assert work.told_at >= moved.at


def test_a_wait_cost_three_days_and_standby():
    wait = Wait.objects.get(opening=door("D2"))
    assert (wait.cleared_at.date() - wait.taken_at.date()).days >= 3
    assert wait.standby_minutes == 1440


def test_gates_passed_over_are_owed_given_and_refused():
    states = {c.change.opening.tag: c.state for c in Countersignature.objects.all()}
    assert states == {"F2": "owed", "D3": "given", "B3": "refused"}
    assert all(c.change.reason for c in Countersignature.objects.all())
    refused = Countersignature.objects.get(state="refused")
    assert (refused.put_back.kind, door("B3").stage) == ("put-back", Stage.ACCEPTED)


def test_an_entry_recorded_and_not_advanced_waits_to_be_settled_and_can_be():
    kept = StageChange.objects.get(advanced=False)
    assert [r["reason"] for r in kept.reasons] == ["waiting"]
    assert kept.device_time < kept.server_time
    frame = Inspection.objects.get(opening=kept.opening, kind="frame")
    assert kept.opening.waits.get().taken_at < frame.taken_at < kept.taken_at < frame.server_time
    assert not hasattr(kept, "settlement")
    assert look_at(kept.opening, NOW, kept.to_stage).passes


def test_a_panel_hung_out_of_order_was_kept_and_settled():
    settled = Settlement.objects.get()
    assert settled.panel_change.reasons[0]["reason"] == "out-of-order"
    assert settled.how == "put-right"


def test_punch_items_are_open_overdue_and_closed():
    items = PunchItem.objects
    assert items.filter(closed_at=None, due_day__lt=TODAY).count() >= 2
    assert items.filter(closed_at=None, due_day__gte=TODAY).count() >= 2
    assert items.exclude(closed_at=None).count() >= 1


def test_one_was_accepted_subject_to_one_item():
    subject = [a for a in Acceptance.objects.all() if a.subject_to.exists()]
    assert [(a.opening.tag, a.subject_to.count()) for a in subject] == [("A2", 1)]
    assert subject[0].subject_to.get().closed_at is None


def test_hold_points_are_released_and_one_is_still_open():
    framed = Opening.objects.filter(stage=Stage.FRAME_SET)
    released = set(HoldPoint.objects.filter(undone_at=None).values_list("opening__tag", flat=True))
    assert {o.tag: o.tag in released for o in framed} == {"C2": False, "D1": True}
    assert look_at_hold_point(Opening.objects.get(tag="C2"), NOW).passes, "it waits for somebody to release it"


def test_a_door_is_partly_hung_with_joints_done_early():
    assert Counter(Panel.objects.filter(unit__opening=door("D1")).values_list("state", flat=True)) == {
        "hung": 2, "received": 1, "expected": 2}
    assert Joint.objects.filter(opening=door("D1"), place="head").count() == 2
    assert door("D1").stage == Stage.FRAME_SET


def test_of_one_unit_all_parts_came_of_one_a_panel_is_out_and_of_one_a_cover_came_bent():
    came = Part.objects.exclude(delivery__received_at=None)
    assert set(came.lacking().values_list("unit__opening__tag", "name")) == {("C2", "Panel C"), ("F2", "Track cover")}
    assert set(Part.objects.filter(delivery__received_at=None).values_list("unit__opening__tag", flat=True)) == {"F3"}
    assert Part.objects.filter(unit__opening__tag="D2", looked_through=True).exists()
    held = WorkStep.objects.get(opening__tag="C2", stage=Stage.PANELS_HUNG)
    assert [r["parts"] for r in held.not_ready if r["reason"] == "material-missing"] == [["Panel C"]]


def test_openings_came_from_the_builder_to_the_crew_one_went_back_and_one_on_to_its_owner():
    held = Custody.objects.values_list("opening__tag", "holder").order_by("taken_at")
    by_tag = {tag: [holder for one, holder in held if one == tag] for tag, _holder in held}
    assert by_tag == {"B3": ["builder", "crew", "owner"], "F2": ["builder", "crew", "builder", "crew"],
                      "C2": ["builder", "crew"], "D2": ["builder", "crew"]}


def test_walls_were_countersigned_by_the_builders_side_on_figures_that_still_stand():
    seen = {wall.opening.tag: wall for wall in WallAgreement.objects.select_related("opening")}
    assert {tag: wall.trade for tag, wall in seen.items()} == {
        "B3": "the builder", "F1": "drywall", "F2": "the builder"}
    now = marks_now(wall.opening_id for wall in seen.values())
    assert all(wall.figures_sha256 == now[wall.opening_id] for wall in seen.values())


def test_parts_are_away_where_the_work_is_not_done():
    away = set(SetAsidePart.objects.filter(back_at=None).values_list("opening__stage", flat=True))
    assert away
    assert away & {"punch list", "accepted"} == set()


def test_a_step_back_took_earned_minutes_off_and_they_were_earned_again():
    assert StageChange.objects.get(kind="step-back").opening.tag == "A3"
    assert EarnedMinutes.objects.filter(work_step__opening=door("A3"), minutes__lt=0).exists()


def test_one_callback_was_the_sealed_weep_one_was_not_our_work_two_are_open_and_somebody_goes_for_the_worse():
    calls = {c.severity: c for c in Callback.objects.all()}
    assert "weep" in calls["water"].finding.lower()
    assert (calls["water"].whose, calls["drags"].whose) == ("ours", "builder")
    assert [c.severity for c in calls.values() if c.closed_at is None] == ["cannot-be-secured", "looks"]
    assert {s: c.return_trips.count() for s, c in calls.items()} == {
        "water": 1, "drags": 1, "cannot-be-secured": 1, "looks": 0}
    weep = Adjustment.objects.get(callback=calls["water"])
    assert weep.before["drain_seconds"] > weep.after["drain_seconds"]


def test_adjustments_say_how_it_was_before_and_after():
    rollers = Adjustment.objects.filter(what="rollers")
    assert rollers.count() >= 5
    for one in rollers:
        taper = [abs(g["top"] - g["bottom"]) for g in (one.before["gaps"], one.after["gaps"])]
        assert taper[0] > taper[1]
        assert one.turns


def test_work_is_pencilled_inked_and_told_ahead():
    ahead = Assignment.objects.filter(start_day__gt=TODAY)
    assert set(ahead.values_list("firmness", flat=True)) == {"pencilled", "inked"}
    assert ahead.filter(told_at=None).exists()
    assert ahead.exclude(told_at=None).exists()


def test_deliveries_came_are_due_and_one_is_late():
    assert Delivery.objects.exclude(received_at=None).count() > 10
    assert Delivery.objects.filter(received_at=None, expected_day__gte=TODAY).exists()
    assert [d.what for d in Delivery.objects.filter(received_at=None, expected_day__lt=TODAY)] == [
        "Panels D, E of D1"]


def test_somebody_is_needed_for_something_of_nearly_every_kind():
    act = Act.of(User.objects.get(username="ottilie"), NOW)
    kinds = {row.kind: int(row.level) for row in what_needs_somebody(act).rows}
    assert set(KINDS_OF_NEED) - set(kinds) <= {"aside", "callback"}, "those who clear up after themselves"
    assert {kinds["delivery"], kinds["promise"], kinds["wait"], kinds["failed"]} == {1, 3, 4, 7}


def test_what_was_verified_counts_in_one_opening_and_no_longer_in_another():
    steps = {s.opening.tag: s for s in WorkStep.objects.filter(stage=Stage.FRAME_SET, opening__tag__in=["E2", "E3"])}
    assert steps["E2"].ready
    assert {r["reason"] for r in steps["E3"].not_ready} == {"no-longer-counts"}


def test_hours_differ_from_what_was_planned_by_an_ordinary_amount():
    done = WorkStep.objects.filter(opening__stage=Stage.ACCEPTED).exclude(stage=Stage.ACCEPTED).annotate(
        used=Sum("time_reports__minutes")).filter(planned_minutes__gt=0)
    shares = [step.used / step.planned_minutes for step in done]
    assert all(0.6 < share < 1.8 for share in shares)
    assert len(set(shares)) > 10


def test_photos_are_there_and_can_be_opened():
    photos = list(Photo.objects.all())
    assert len(photos) > 40
    assert all(picture_file(photo).read_bytes()[:2] == b"\xff\xd8" for photo in photos)


def test_readings_are_those_of_real_tapes():
    """Not one value repeated: sixteenths and half millimetres that vary."""
    floors = Inspection.objects.filter(kind="floor-profile", result="pass")
    assert floors.count() >= 12
    assert len({str(f.given["stations"]) for f in floors}) == floors.count()
    assert Reading.objects.exclude(length=F("at")).values("length").distinct().count() > 60


# --- made once ------------------------------------------------------------------------------------------------------

def test_a_second_start_finds_it_made_and_leaves_it(told, settings, tmp_path, monkeypatch):
    settings.DATA = tmp_path
    monkeypatch.setattr(starting, "make_demo", lambda now, seed: told)
    monkeypatch.setattr(User.objects, "exists", lambda: False)
    first = starting.demo_sign_ins(1)
    monkeypatch.undo()
    settings.DATA = tmp_path
    monkeypatch.setattr(starting, "make_demo", lambda now, seed: pytest.fail("made twice"))
    assert starting.demo_sign_ins(1) == first == told
    assert (tmp_path / "demo.json").stat().st_mode & 0o777 == 0o600


def test_it_is_not_made_among_records_of_others(settings, tmp_path):
    settings.DATA = tmp_path
    with pytest.raises(CannotStart, match="real records"):
        starting.demo_sign_ins(1)


def test_cut_off_before_it_was_there_for_good_it_is_made_again(told, settings, tmp_path, monkeypatch):
    """Sign-ins of a demo that never came to be are not shown."""
    settings.DATA = tmp_path
    (tmp_path / "demo.json").write_text('[{"role": "Office", "login": "gone", "password": "gone"}]')
    monkeypatch.setattr(starting, "make_demo", lambda now, seed: told)
    monkeypatch.setattr(User.objects, "exists", lambda: False)
    assert starting.demo_sign_ins(1) == told
    assert "gone" not in (tmp_path / "demo.json").read_text()


def test_one_opening_waits_for_somebody_to_choose_its_door():
    assert list(Opening.objects.filter(unit=None).values_list("tag", flat=True)) == ["G2"]


def test_three_panels_of_the_long_door_were_weighed_and_the_heavier_counts():
    weighed = Panel.objects.filter(unit__opening__tag="B1").exclude(weighed_grams=None)
    assert {p.letter: p.weighed_grams > p.computed_grams for p in weighed} == {"A": True, "B": True, "C": False}
