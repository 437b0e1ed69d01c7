"""An opening moves a stage only through its gate, computed from what was read."""

import datetime as dt

import pytest

from inspections.calc import gate as judging
from inspections.models import Acceptance, Check, Countersignature, HoldPoint, Inspection, Settlement
from inspections.services.closing import (
    accept_opening,
    close_punch_item,
    put_part_back,
    raise_punch_item,
    set_part_aside,
)
from inspections.services.gates import advance_opening, pass_over, release_hold_point, step_back
from inspections.services.inspecting import confirm, record_inspection
from inspections.services.joints import do_joint
from inspections.services.laying_out import measured_pocket
from inspections.services.looking import look_at, look_at_hold_point
from inspections.services.panels import handle_panel
from inspections.services.standing import countersign, settle
from inspections.services.waits import clear_wait, raise_wait
from inspections.services.work import note_event
from jobs.errors import AlreadyHasOther, GateSaysNo, Invalid, NotAllowed, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Change, EarnedMinutes, StageChange
from jobs.models.base import new_id
from jobs.stages import ORDER, Stage
from tests.factories import give_work, make_crew, make_user
from tests.site import Site, floor, frame, rough_opening, sealing, under_load

pytestmark = pytest.mark.django_db

INCH = 25_400_000
OV, FS, PH = Stage.OPENING_VERIFIED, Stage.FRAME_SET, Stage.PANELS_HUNG


@pytest.fixture
def site() -> Site:
    return Site()


def outcome(site: Site, code: str, to: str | None = None, place: str = ""):
    site.opening.refresh_from_db()
    gate = look_at(site.opening, site.now, to)
    return next(o for o in gate.outcomes if o.code == code and o.place == place)


# ---- asked beforehand -----------------------------------------------------------------------------------


@pytest.mark.parametrize("stage", ORDER[1:], ids=str)
def test_an_opening_reaches_every_stage_on_evidence_that_passes(stage):
    assert Site().bring_to(stage).opening.stage == stage


def test_a_gate_with_nothing_recorded_names_every_check_at_once(site):
    with pytest.raises(GateSaysNo) as said:
        site.advance()
    asked = set(Check.objects.filter(stage=OV, system=None).values_list("code", flat=True))
    assert {reason["code"] for reason in said.value.reasons} == asked
    assert {reason["result"] for reason in said.value.reasons} == {judging.MISSING}
    assert not StageChange.objects.exists()


def test_a_floor_out_by_a_thirty_second_says_where_and_by_how_much(site):
    site.evidence(OV, without=("floor-profile",))
    heights = [0] * 12 + [1] + [1] * 14
    given = floor(heights)
    given["stations"][12]["reading"] = "3/32"  # both lines are the same list
    site.read("floor-profile", given)
    found = outcome(site, "floor-rise")
    worst = found.findings[0]
    assert found.result == judging.FAILED
    assert worst["where"] == {"line": "outer", "from_mm": "3352.800000", "to_mm": "3657.600000"}
    assert (worst["value_mm"], worst["margin_mm"]) == ("2.381250", "-0.793750")  # 3/32 in, a thirty-second over


def test_of_two_pockets_each_is_measured():
    site = Site("ABCD", pocket_side="both")
    site.evidence(OV, without=("pocket",))
    site.read("pocket", {"depth": "65", "thickness": "8"}, place="left pocket")
    assert outcome(site, "pocket-size", place="left pocket").passes
    assert outcome(site, "pocket-size", place="right pocket").result == judging.MISSING
    site.read("pocket", {"depth": "60", "thickness": "8"}, place="right pocket")
    assert outcome(site, "pocket-size", place="right pocket").result == judging.FAILED
    site.read("pocket", {"depth": "64", "thickness": "8"}, place="right pocket")
    assert site.advance(OV.value).advanced
    assert measured_pocket(site.opening) == {"pocket_depth": 64 * INCH, "wall_clear": 8 * INCH}


def test_of_one_pocket_it_need_not_be_said_which(site):
    site.evidence(OV)
    assert outcome(site, "pocket-size").passes


def test_a_limit_nobody_has_set_does_not_pass_and_says_so(site):
    site.evidence(OV)
    Check.objects.filter(code="size", system__isnull=False).delete()
    assert outcome(site, "size").result == judging.UNSET
    with pytest.raises(GateSaysNo):
        site.advance()


def test_a_limit_set_since_counts_without_reading_again(site):
    site.evidence(OV)
    own = Check.objects.get(code="size", system__isnull=False)
    own.delete()
    Check.objects.create(code="size", job=site.opening.job, limits={
        "clearance_least": {"value": "1/2 in", "source": "the job"},
        "clearance_most": {"value": "1 1/2 in", "source": "the job"}})
    found = outcome(site, "size")
    assert found.passes
    assert {f["source"] for f in found.findings if f["quantity"] == "tightest_width"} == {"the job"}


def test_the_job_stands_over_the_door_system_and_the_system_over_what_is_shipped(site):
    site.evidence(OV)
    Check.objects.create(code="rack", system=site.unit.system, limits={"rack": {"value": "1/4 in", "source": "system"}})
    assert outcome(site, "rack").findings[0]["source"] == "system"
    Check.objects.create(code="rack", job=site.opening.job, limits={"rack": {"value": "1/32 in", "source": "job"}})
    assert outcome(site, "rack").findings[0]["source"] == "job"


def test_a_check_the_job_does_not_ask_is_not_asked(site):
    Check.objects.create(code="benchmark", job=site.opening.job, asked=False)
    assert "benchmark" not in {o.code for o in look_at(site.opening, site.now).outcomes}


def test_the_verdict_kept_that_day_stays_as_it_was(site):
    site.evidence(OV)
    kept = Inspection.objects.get(kind="rough-opening")
    Check.objects.create(code="rack", job=site.opening.job, limits={"rack": {"value": "0 in", "source": "job"}})
    again = Inspection.objects.get(pk=kept.pk)
    assert again.verdict == kept.verdict
    assert again.limits["rack"]["source"] == "common practice, no published source"


def test_a_verdict_goes_stale_on_the_day_after_its_last(site):
    site.evidence(OV)
    taken = Inspection.objects.get(kind="floor-profile").taken_at
    site.now = taken + dt.timedelta(days=14)
    assert outcome(site, "floor-rise").passes
    site.now += dt.timedelta(seconds=1)
    stale = outcome(site, "floor-rise")
    assert (stale.result, stale.since) == (judging.STALE, taken + dt.timedelta(days=14))
    assert outcome(site, "rack").passes  # thirty days, not fourteen


@pytest.mark.parametrize("event", ["re-pour", "structure", "other-trades"])
def test_what_happens_in_the_opening_ends_what_had_a_freshness(site, event):
    site.evidence(OV)
    note_event(site.act(), site.opening.pk, event)
    ended = outcome(site, "floor-rise")
    assert (ended.result, ended.ended_by) == (judging.ENDED, event)
    assert outcome(site, "header-in").passes  # has no freshness
    site.evidence(OV)
    site.advance()
    assert site.opening.stage == OV


def test_a_check_that_wants_a_photo_waits_for_it(site):
    site.evidence(OV, without=("floor-sound",))
    site.confirm("floor-sound")
    assert outcome(site, "floor-sound").result == judging.NO_PHOTO
    site.photo("floor-sound")
    assert outcome(site, "floor-sound").passes


def test_an_old_photo_proves_nothing_about_a_floor_poured_since(site):
    site.confirm("floor-sound")
    site.photo("floor-sound")
    note_event(site.act(), site.opening.pk, "re-pour")
    site.confirm("floor-sound")
    assert outcome(site, "floor-sound").result == judging.NO_PHOTO
    site.photo("floor-sound")
    assert outcome(site, "floor-sound").passes


def test_a_photo_goes_stale_as_what_it_shows_does(site):
    site.confirm("floor-sound")
    site.photo("floor-sound")
    site.now += dt.timedelta(days=31)
    site.confirm("floor-sound")
    assert outcome(site, "floor-sound").result == judging.NO_PHOTO


def test_plumb_not_read_leaves_the_size_judged_and_asks_for_the_plumb(site):
    given = rough_opening()
    del given["plumb"]
    site.read("rough-opening", given)
    assert outcome(site, "size").passes
    assert outcome(site, "jamb-plumb").result == judging.NOT_ENOUGH


def test_a_sill_of_several_tracks_is_read_along_both_its_lines():
    site = Site("AB")
    given = floor()
    del given["inner"]
    site.read("floor-profile", given)
    found = outcome(site, "floor-rise")
    assert (found.result, found.missing[0]["what"]) == (judging.NOT_ENOUGH, "inner_line")


def test_a_frame_read_in_full_says_that_the_unit_lacks_how_far_its_rollers_stand_apart(site):
    site.bring_to(Stage.OPENING_VERIFIED)
    given = frame()
    del given["roller_spacing"]
    site.read("frame", given, occasion="frame-set")
    found = outcome(site, "roller-travel")
    assert (found.result, found.missing) == (judging.NOT_ENOUGH, ({"what": "roller_spacing"},))


def test_across_a_sill_of_one_track_there_is_nothing_to_judge():
    site = Site("A")
    given = floor()
    del given["inner"]
    site.read("floor-profile", given)
    assert outcome(site, "floor-across").passes


def test_six_tapes_that_do_not_agree_are_taped_again(site):
    site.read("rough-opening", rough_opening(diagonals={"rising": "264 7/16", "falling": "263"}))
    assert outcome(site, "size").result == judging.FAILED
    assert outcome(site, "jamb-twist").passes
    assert outcome(site, "jamb-plumb").passes


def test_a_later_reading_stands_over_an_earlier_one_and_both_stay(site):
    site.read("floor-profile", floor([0, 3] + [0] * 25))
    assert outcome(site, "floor-rise").result == judging.FAILED
    site.read("floor-profile", floor())
    assert outcome(site, "floor-rise").passes
    assert Inspection.objects.filter(kind="floor-profile").count() == 2


# ---- advancing -----------------------------------------------------------------------------------------


def test_advancing_writes_one_change_with_all_it_stood_on(site):
    site.evidence(OV)
    change = site.advance()
    assert (change.from_stage, change.to_stage, change.advanced) == (Stage.TO_BE_MEASURED, OV, True)
    assert change.crew == site.crew
    rack = next(c for c in change.gate["checks"] if c["code"] == "rack")
    assert rack["findings"][0]["limit_mm"] == "3.175000"
    assert rack["evidence"]["record"] == "inspections"
    assert [c.what for c in Change.objects.filter(record="stage-changes")] == ["opening advanced"]


def test_a_step_is_the_crews_that_the_person_is_on_that_day(site):
    now_in = make_crew()
    site.crew.members.update(to_day=dt.date(2026, 2, 28))
    now_in.members.create(user=site.lead, from_day=dt.date(2026, 3, 1))
    give_work(site.opening, now_in)
    give_work(site.opening, site.crew, start_day=dt.date(2026, 5, 1), end_day=dt.date(2026, 5, 2))
    site.evidence(OV)
    assert site.advance().crew == now_in


def test_the_same_entry_again_is_the_same_change(site):
    site.evidence(OV)
    entry = new_id()
    first = site.advance(entry_id=entry)
    again = site.advance(entry_id=entry)
    assert first == again
    assert StageChange.objects.count() == 1
    assert site.opening.stage == OV


def test_the_same_entry_with_other_content_is_refused(site):
    site.evidence(OV)
    entry = new_id()
    site.advance(OV, entry_id=entry)
    with pytest.raises(AlreadyHasOther):
        site.advance(FS, entry_id=entry)


def test_a_stage_is_not_skipped(site):
    with pytest.raises(GateSaysNo) as said:
        site.advance(FS)
    assert said.value.reasons[0] == {"reason": "not-next", "stage": "to be measured", "next": "opening verified"}


def test_the_second_to_press_the_button_finds_it_done(site):
    site.evidence(OV)
    site.advance(OV)
    with pytest.raises(GateSaysNo) as said:
        site.advance(OV)
    assert said.value.reasons[0]["reason"] == "already-there"


def test_what_was_done_on_site_is_kept_and_not_advanced(site):
    change = site.advance(OV, done_on_site=True)
    assert change.advanced is False
    assert site.opening.stage == Stage.TO_BE_MEASURED
    assert {r["code"] for r in change.reasons} >= {"rack", "floor-rise"}


def test_settling_tries_the_gate_again(site):
    kept = site.advance(OV, done_on_site=True)
    with pytest.raises(GateSaysNo):
        settle(site.act(), how="advanced", note="they say it is right now", stage_change_id=kept.pk)
    assert not Settlement.objects.exists()
    site.evidence(OV)
    settle(site.act(), how="advanced", note="read since", stage_change_id=kept.pk)
    site.opening.refresh_from_db()
    assert site.opening.stage == OV


def test_settling_twice_is_once(site):
    kept = site.advance(OV, done_on_site=True)
    first = settle(site.act(site.office), how="mistaken", note="wrong opening", stage_change_id=kept.pk)
    assert settle(site.act(), how="stands", note="another", stage_change_id=kept.pk) == first


def test_customer_service_and_guests_do_not_advance(site):
    for role in ("customer-service", "guest"):
        with pytest.raises(NotAllowed):
            advance_opening(site.act(make_user(role)), site.opening.pk)


def test_another_crews_lead_does_not_even_see_it(site):
    with pytest.raises(NotThere):
        advance_opening(site.act(make_user("lead")), site.opening.pk)


# ---- waits ---------------------------------------------------------------------------------------------


def test_a_wait_blocks_and_says_who_owes_it(site):
    site.evidence(OV)
    wait = raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder",
                      expected_day=dt.date(2026, 3, 20))
    with pytest.raises(GateSaysNo) as said:
        site.advance()
    reason = said.value.reasons[0]
    assert (reason["reason"], reason["what_for"], reason["owed_by_kind"]) == ("waiting", "the floor", "builder")
    clear_wait(site.act(), wait.pk, how="ground on Friday", standby_minutes=90)
    assert site.advance().advanced


def test_a_wait_raised_from_a_failed_floor_brings_its_correction(site):
    failed = site.read("floor-profile", floor([0, 3] + [0] * 25))
    wait = raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder",
                      inspection_id=failed.pk)
    assert wait.because["findings"][0]["quantity"] == "worst_rise_in_a_foot"
    assert wait.because["correction"]["proven"] is True
    assert wait.owed_by == site.opening.job.builder


def test_a_wait_raised_from_readings_that_fail_is_owed_by_whoever_must_put_them_right(site):
    floor_out = site.read("floor-profile", floor([0, 3] + [0] * 25))
    assert raise_wait(site.act(), site.opening.pk, what_for="the floor", inspection_id=floor_out.pk).owed_by_kind == (
        "builder")
    gap = site.read("last-panel-gap", {"gap": "12"})
    assert raise_wait(site.act(), site.opening.pk, what_for="the gap", inspection_id=gap.pk).owed_by_kind == "office"
    with pytest.raises(Invalid):
        raise_wait(site.act(), site.opening.pk, what_for="something")


def test_for_readings_that_pass_nobody_owes_anything_until_a_limit_says_otherwise(site):
    passing = site.read("floor-profile", floor([0, 1] + [0] * 25))
    with pytest.raises(Invalid):
        raise_wait(site.act(), site.opening.pk, what_for="the floor", inspection_id=passing.pk)
    Check.objects.create(code="floor-rise", job=site.opening.job, limits={
        "rise_in_a_foot": {"value": "1/32 in", "source": "the job"}})
    wait = raise_wait(site.act(), site.opening.pk, what_for="the floor", inspection_id=passing.pk)
    assert {f["source"] for f in wait.because["findings"]} == {"the job"}, "one for each line"


def test_a_wait_cannot_be_passed_over(site):
    site.evidence(OV, without=("rack",))
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder")
    with pytest.raises(NotAllowed):
        pass_over(site.act(), site.opening.pk, "in a hurry")


# ---- passing over --------------------------------------------------------------------------------------


def spoil_plumb(site: Site) -> None:
    """All passes but the plumb of a jamb, which guards no class."""
    site.evidence(OV, without=("rough-opening",))
    lean = {"edge": "1/4", "face": "0", "over": "9' 1\""}
    site.read("rough-opening", rough_opening(plumb={"left": lean, "right": lean}))


def test_a_lead_passes_over_with_a_reason_and_the_office_owes_its_word(site):
    spoil_plumb(site)
    change = pass_over(site.act(), site.opening.pk, "the shims take it up")
    site.opening.refresh_from_db()
    assert site.opening.stage == OV
    assert (change.kind, change.reason) == ("pass-over", "the shims take it up")
    assert Countersignature.objects.get().state == "owed"


def test_the_office_passes_over_without_a_countersignature(site):
    spoil_plumb(site)
    pass_over(site.act(site.office), site.opening.pk, "agreed with the builder")
    assert not Countersignature.objects.exists()


def test_the_second_of_two_who_press_at_once_does_not_move_it_one_further(site):
    site.evidence(OV)
    site.evidence(FS)
    first = advance_opening(site.act(), site.opening.pk, seen_at=Stage.TO_BE_MEASURED)
    assert first.advanced
    with pytest.raises(GateSaysNo) as said:
        advance_opening(site.act(), site.opening.pk, seen_at=Stage.TO_BE_MEASURED)
    assert said.value.reasons[0]["reason"] == "already-there"
    with pytest.raises(NotAllowed):
        pass_over(site.act(), site.opening.pk, "twice", seen_at=Stage.TO_BE_MEASURED)
    site.opening.refresh_from_db()
    assert site.opening.stage == OV


def test_an_installer_passes_nothing_over(site):
    installer = make_user("installer")
    site.crew.members.create(user=installer, from_day=dt.date(2020, 1, 1))
    spoil_plumb(site)
    with pytest.raises(NotAllowed):
        pass_over(site.act(installer), site.opening.pk, "it will do")


def test_passing_over_needs_a_written_reason(site):
    spoil_plumb(site)
    with pytest.raises(Invalid):
        pass_over(site.act(), site.opening.pk, "   ")


def test_a_gate_that_passes_is_not_passed_over(site):
    site.evidence(OV)
    with pytest.raises(Refusal, match="nothing to pass over"):
        pass_over(site.act(), site.opening.pk, "why not")


@pytest.mark.parametrize(("code", "stage", "guards"), [
    ("floor-sound", OV, "water"), ("header-in", OV, "structure"), ("pocket-open", OV, "pocket"),
    ("lifting-fits", PH, "lifting"),
])
def test_a_guarded_check_is_passed_over_by_nobody(code, stage, guards):
    site = Site().bring_to(ORDER[ORDER.index(stage) - 1])
    if stage is PH:
        site.close_pocket()
    site.evidence(stage, without=(code,))
    assert outcome(site, code).guards == guards
    for person in (site.lead, site.office):
        with pytest.raises(NotAllowed):
            pass_over(site.act(person), site.opening.pk, "we have always done it so")
    site.opening.refresh_from_db()
    assert site.opening.stage != stage


def test_other_evidence_for_a_guarded_check_is_the_offices_to_give(site):
    site.evidence(OV, without=("header-in",))
    words = {"stands_at": "engineer's letter of 3 March"}
    with pytest.raises(NotAllowed):
        confirm(site.act(), site.opening.pk, "header-in", "other-evidence", **words)
    confirm(site.act(site.office), site.opening.pk, "header-in", "other-evidence", **words)
    assert site.advance().advanced


def test_whether_material_is_complete_is_the_offices_to_confirm(site):
    with pytest.raises(NotAllowed):
        confirm(site.act(), site.opening.pk, "material-complete", "yes")
    confirm(site.act(site.office), site.opening.pk, "material-complete", "yes")
    assert outcome(site, "material-complete").passes


def test_a_missing_panel_is_passed_over_by_nobody():
    site = Site().bring_to(FS)
    site.close_pocket()
    site.evidence(PH, without=("panels",))
    for letter in "ABCD":
        site.confirm("rolls-freely", place=letter)
    with pytest.raises(NotAllowed):
        pass_over(site.act(site.office), site.opening.pk, "it comes on Monday")


def test_a_countersignature_given_changes_nothing_else(site):
    spoil_plumb(site)
    pass_over(site.act(), site.opening.pk, "the shims take it up")
    owed = Countersignature.objects.get()
    given = countersign(site.act(site.office), owed.pk, give=True, version=owed.version)
    site.opening.refresh_from_db()
    assert (given.state, site.opening.stage) == ("given", OV)


def test_a_countersignature_refused_puts_the_opening_back_even_after_the_next_stage(site):
    spoil_plumb(site)
    pass_over(site.act(), site.opening.pk, "the shims take it up")
    site.evidence(FS)
    site.advance(FS)
    owed = Countersignature.objects.get()
    refused = countersign(site.act(site.office), owed.pk, give=False, reason="the jamb has to come out",
                          version=owed.version)
    site.opening.refresh_from_db()
    assert site.opening.stage == Stage.TO_BE_MEASURED
    assert (refused.put_back.kind, refused.put_back.from_stage) == ("put-back", FS)
    assert "the jamb has to come out" in refused.put_back.reason


def test_a_countersignature_is_dealt_with_once(site):
    spoil_plumb(site)
    pass_over(site.act(), site.opening.pk, "the shims take it up")
    owed = Countersignature.objects.get()
    countersign(site.act(site.office), owed.pk, give=True, version=owed.version)
    with pytest.raises(SomeoneWasFaster):
        countersign(site.act(site.office), owed.pk, give=False, reason="no", version=owed.version)
    site.opening.refresh_from_db()
    assert site.opening.stage == OV


def test_a_lead_does_not_countersign_and_a_refusal_says_why(site):
    spoil_plumb(site)
    pass_over(site.act(), site.opening.pk, "the shims take it up")
    owed = Countersignature.objects.get()
    with pytest.raises(NotAllowed):
        countersign(site.act(), owed.pk, give=True, version=owed.version)
    with pytest.raises(Invalid):
        countersign(site.act(site.office), owed.pk, give=False, reason=" ", version=owed.version)


# ---- going back ----------------------------------------------------------------------------------------


def test_stepping_back_reopens_what_it_undoes_and_no_more():
    site = Site().bring_to(FS)
    step_back(site.act(), site.opening.pk, OV, "the sill has to come out")
    site.opening.refresh_from_db()
    assert site.opening.stage == OV
    reopened = outcome(site, "sill-level")
    assert (reopened.result, reopened.ended_by) == (judging.ENDED, "step-back")
    site.evidence(FS)
    assert site.advance().to_stage == FS


def test_stepping_back_before_the_frame_undoes_the_hold_point():
    site = Site().bring_to(FS)
    site.close_pocket()
    step_back(site.act(), site.opening.pk, OV, "the frame comes out")
    assert HoldPoint.objects.get().undone_at is not None
    site.opening.refresh_from_db()
    assert not look_at_hold_point(site.opening, site.now).passes


def test_a_joint_done_before_the_frame_came_out_is_done_again():
    site = Site().bring_to(FS)
    site.seal_all()
    step_back(site.act(), site.opening.pk, OV, "the frame comes out")
    site.evidence(FS)
    site.advance()
    site.close_pocket()
    site.evidence(PH)
    site.advance()
    site.evidence(Stage.ADJUSTED)
    site.advance()
    assert outcome(site, "joints-sealed", place="head outside").result == judging.ENDED


def test_stepping_back_needs_a_reason_and_a_stage_behind(site):
    with pytest.raises(Invalid):
        step_back(site.act(), site.opening.pk, Stage.TO_BE_MEASURED, "")
    with pytest.raises(Refusal, match="not a step back"):
        step_back(site.act(), site.opening.pk, Stage.SEALED, "because")


# ---- the pocket ----------------------------------------------------------------------------------------


def test_panels_hung_needs_the_hold_point_released():
    site = Site().bring_to(FS)
    site.evidence(PH)
    with pytest.raises(GateSaysNo) as said:
        site.advance()
    assert [r["reason"] for r in said.value.reasons] == ["hold-point"]


def test_the_pocket_stays_open_until_all_in_it_was_seen():
    site = Site().bring_to(FS)
    with pytest.raises(GateSaysNo) as said:
        release_hold_point(site.act(), site.opening.pk)
    assert {r["code"] for r in said.value.reasons} == {"pan-tested", "pocket-photo", "studs-clear", "longest-fastener"}


def test_a_maker_who_forbids_the_pan_test_says_so_somewhere():
    site = Site().bring_to(FS)
    with pytest.raises(Invalid):
        site.confirm("pan-tested", "maker-forbids")
    site.evidence(Check.HOLD_POINT, without=("pan-tested",))
    site.confirm("pan-tested", "maker-forbids", stands_at="installation manual, page 12")
    assert release_hold_point(site.act(), site.opening.pk).undone_at is None


def test_no_other_check_can_be_answered_with_the_makers_word(site):
    with pytest.raises(Invalid):
        site.confirm("header-in", "maker-forbids", stands_at="page 1")


def test_releasing_the_hold_point_twice_is_once():
    site = Site().bring_to(FS)
    site.close_pocket()
    again = release_hold_point(site.act(), site.opening.pk)
    assert HoldPoint.objects.get() == again


# ---- panels --------------------------------------------------------------------------------------------


def test_panels_are_hung_in_order_and_asked_beforehand_it_says_which_first():
    site = Site().bring_to(FS)
    for letter in "ABCD":
        handle_panel(site.act(), site.panel(letter).pk, "receive")
    with pytest.raises(GateSaysNo) as said:
        handle_panel(site.act(), site.panel("C").pk, "hang")
    assert said.value.reasons == [{"reason": "out-of-order", "letter": "C", "first": ["A", "B"]}]
    assert site.panel("C").state == "received"


def test_hung_in_the_wrong_order_all_the_same_is_kept_and_not_advanced():
    site = Site().bring_to(FS)
    handle_panel(site.act(), site.panel("C").pk, "receive")
    change = handle_panel(site.act(), site.panel("C").pk, "hang", done_on_site=True)
    assert change.advanced is False
    assert change.reasons[0]["reason"] == "out-of-order"
    assert site.panel("C").state == "received"


def test_what_was_hung_out_of_order_is_settled_once_it_hangs_and_is_adjusted():
    site = Site().bring_to(FS)
    handle_panel(site.act(), site.panel("B").pk, "receive")
    kept = handle_panel(site.act(), site.panel("B").pk, "hang", done_on_site=True)
    for letter, what in (("A", "receive"), ("A", "hang"), ("B", "hang"), ("B", "adjust")):
        handle_panel(site.act(), site.panel(letter).pk, what)
    assert settle(site.act(), how="advanced", note="A went in first", panel_change_id=kept.pk).how == "advanced"
    assert site.panel("B").state == "adjusted"


def test_a_head_with_nothing_left_above_the_panels_says_do_not_hang():
    site = Site().bring_to(FS)
    handle_panel(site.act(), site.panel("A").pk, "receive")
    site.read("frame", under_load(sag=24), occasion="under-load")
    with pytest.raises(GateSaysNo) as said:
        handle_panel(site.act(), site.panel("A").pk, "hang")
    assert said.value.reasons[0]["code"] == "head-under-load"


def test_a_panel_that_comes_out_takes_the_opening_back():
    site = Site().bring_to(Stage.ADJUSTED)
    handle_panel(site.act(), site.panel("B").pk, "take-out", reason="glass scratched")
    site.opening.refresh_from_db()
    assert site.opening.stage == FS
    assert site.panel("B").state == "received"
    with pytest.raises(GateSaysNo):
        site.advance()


def test_a_damaged_panel_holds_the_gate_until_it_is_replaced():
    site = Site().bring_to(FS)
    site.close_pocket()
    site.evidence(PH)
    handle_panel(site.act(), site.panel("D").pk, "damage", reason="corner broken")
    assert outcome(site, "panels-in-order").missing[0]["letter"] == "D"
    handle_panel(site.act(), site.panel("D").pk, "replace")
    assert (site.panel("D").damaged, site.panel("D").replaced) == (False, 1)


def test_a_panel_damaged_after_it_was_hung_holds_every_later_gate_and_nobody_passes_it_over():
    site = Site("AB").bring_to(Stage.ADJUSTED)
    handle_panel(site.act(), site.panel("A").pk, "damage", reason="corner cracked")
    site.evidence(Stage.SEALED)
    with pytest.raises(GateSaysNo) as said:
        site.advance()
    assert said.value.reasons == [{"reason": "panel-damaged", "letter": "A"}]
    with pytest.raises(NotAllowed):
        pass_over(site.act(site.office), site.opening.pk, "it is only the corner")


# ---- joints --------------------------------------------------------------------------------------------


def test_joints_are_asked_for_as_a_set_and_may_be_done_early():
    site = Site().bring_to(FS)
    site.seal_all()
    site.close_pocket()
    for stage in (PH, Stage.ADJUSTED):
        site.evidence(stage)
        site.advance()
    site.evidence(Stage.SEALED, without=("joints",))
    assert site.advance().to_stage == Stage.SEALED


def test_a_two_way_door_is_asked_to_seal_both_interlocks_and_no_lock_jamb():
    site = Site()

    def joints():
        site.opening = type(site.opening).objects.get(pk=site.opening.pk)
        return {o.place for o in look_at(site.opening, site.now, Stage.SEALED).outcomes if o.code == "joints-sealed"}

    one_way = joints()
    type(site.unit).objects.update(ways="two-way")
    assert one_way - joints() == {"lock-jamb outside", "interlock outside"}
    assert joints() - one_way == {"interlock-left outside", "interlock-right outside"}


def test_one_sealed_interlock_of_a_two_way_door_is_not_both():
    site = Site()
    type(site.unit).objects.update(ways="two-way")
    site.opening.refresh_from_db()
    site.bring_to(Stage.ADJUSTED)
    fit = site.read("sealing-conditions", sealing())
    do_joint(site.act(), site.opening.pk, place="interlock-left", side="outside", conditions_id=fit.pk)
    assert outcome(site, "joints-sealed", place="interlock-left outside").result == judging.PASSES
    assert outcome(site, "joints-sealed", place="interlock-right outside").result == judging.MISSING


def test_a_joint_done_just_under_three_degrees_over_the_dew_point_does_not_count():
    """20 °C, 60 %: dew point 12.00 °C (published table: 12.0); 14.9 is 2.9 over."""
    site = Site().bring_to(Stage.ADJUSTED)
    cold = site.read("sealing-conditions", sealing(14.9))
    do_joint(site.act(), site.opening.pk, place="head", side="outside", conditions_id=cold.pk)
    found = outcome(site, "joints-sealed", place="head outside")
    assert found.result == judging.FAILED
    assert next(f for f in found.findings if f["quantity"] == "dew_margin")["margin_c"] == "-0.10"


@pytest.mark.parametrize(("place", "side"), [("sill", "outside"), ("Sill", " Outside ")])
def test_a_sealed_joint_that_must_never_be_sealed_fails_the_gate(place, side):
    site = Site().bring_to(Stage.ADJUSTED)
    site.evidence(Stage.SEALED)
    fit = site.read("sealing-conditions", sealing())
    do_joint(site.act(), site.opening.pk, place=place, side=side, rule="seal", conditions_id=fit.pk)
    assert outcome(site, "joints-sealed", place="sill outside").result == judging.FAILED
    do_joint(site.act(), site.opening.pk, place="sill", side="outside", rule="never-seal", note="cut open again")
    assert outcome(site, "joints-sealed", place="sill outside").passes


def test_the_air_of_another_day_says_nothing_about_a_joint():
    site = Site().bring_to(Stage.ADJUSTED)
    fit = site.read("sealing-conditions", sealing())
    Inspection.objects.filter(pk=fit.pk).update(taken_at=fit.taken_at - dt.timedelta(days=1))
    do_joint(site.act(), site.opening.pk, place="head", side="outside", conditions_id=fit.pk)
    found = outcome(site, "joints-sealed", place="head outside")
    assert (found.result, found.missing) == (judging.NOT_ENOUGH, ({"what": "sealing_conditions"},))


def test_a_joint_without_its_conditions_asks_for_them():
    site = Site().bring_to(Stage.ADJUSTED)
    do_joint(site.act(), site.opening.pk, place="head", side="outside")
    assert outcome(site, "joints-sealed", place="head outside").result == judging.NOT_ENOUGH


def test_where_the_air_of_a_joint_can_no_longer_be_had_the_office_records_other_evidence():
    site = Site().bring_to(Stage.ADJUSTED)
    do_joint(site.act(), site.opening.pk, place="head", side="outside")
    confirm(site.act(site.office), site.opening.pk, "joints-sealed", "other-evidence", place="head outside",
            stands_at="the weather station's log")
    assert outcome(site, "joints-sealed", place="head outside").passes
    assert outcome(site, "joints-sealed", place="sill inside").result == judging.MISSING
    do_joint(site.act(), site.opening.pk, place="head", side="outside")  # done anew: so is what it stands on
    assert outcome(site, "joints-sealed", place="head outside").result == judging.NOT_ENOUGH


def test_no_evidence_stands_for_a_sealed_joint_that_must_never_be_sealed():
    site = Site().bring_to(Stage.ADJUSTED)
    do_joint(site.act(), site.opening.pk, place="sill", side="outside", rule="seal")
    confirm(site.act(site.office), site.opening.pk, "joints-sealed", "other-evidence", stands_at="it drains all right")
    assert outcome(site, "joints-sealed", place="sill outside").result == judging.FAILED


@pytest.mark.parametrize("code", ["panels-in-order", "punch-items-closed", "set-aside-back", "acceptance"])
def test_what_the_record_itself_answers_is_not_confirmed(site, code):
    with pytest.raises(Invalid, match="answered by the record"):
        confirm(site.act(site.office), site.opening.pk, code, "other-evidence", stands_at="we saw it")


# ---- closing -------------------------------------------------------------------------------------------


def test_parts_in_the_van_hold_acceptance_until_they_are_back():
    site = Site().bring_to(Stage.PUNCH_LIST)
    part = set_part_aside(site.act(), site.opening.pk, what="track cover")
    with pytest.raises(GateSaysNo) as said:
        accept_opening(site.act(), site.opening.pk, accepted_by="The owner", how="signed")
    assert said.value.reasons[0]["missing"] == [{"what": "set_aside_part", "part": "track cover"}]
    put_part_back(site.act(), part.pk)
    assert accept_opening(site.act(), site.opening.pk, accepted_by="The owner", how="signed").advanced


def test_accepted_subject_to_an_item_leaves_the_item_open_and_starts_the_warranty():
    site = Site().bring_to(Stage.PUNCH_LIST)
    item = raise_punch_item(site.act(), site.opening.pk, what="scratch", owner_id=site.lead.pk,
                            due_day=dt.date(2026, 4, 1))
    with pytest.raises(GateSaysNo):
        accept_opening(site.act(), site.opening.pk, accepted_by="The owner", how="signed")
    accept_opening(site.act(), site.opening.pk, accepted_by="The owner", how="signed", subject_to=[item.pk])
    site.opening.refresh_from_db()
    item.refresh_from_db()
    acceptance = Acceptance.objects.get()
    assert (site.opening.stage, item.closed_at) == (Stage.ACCEPTED, None)
    assert list(acceptance.subject_to.all()) == [item]
    assert acceptance.warranty_from == dt.date(2026, 3, 10)
    close_punch_item(site.act(), item.pk, how="polished")


def test_acceptance_is_recorded_not_just_advanced():
    site = Site().bring_to(Stage.PUNCH_LIST)
    with pytest.raises(GateSaysNo) as said:
        site.advance(Stage.ACCEPTED)
    assert said.value.reasons[0]["code"] == "acceptance"
    with pytest.raises(NotAllowed):
        pass_over(site.act(site.office), site.opening.pk, "they moved in")


def test_an_installer_does_not_accept():
    site = Site().bring_to(Stage.PUNCH_LIST)
    installer = make_user("installer")
    site.crew.members.create(user=installer, from_day=dt.date(2020, 1, 1))
    with pytest.raises(NotAllowed):
        accept_opening(site.act(installer), site.opening.pk, accepted_by="The owner", how="signed")


def test_without_an_acceptance_nothing_is_accepted_whatever_the_checks_ask():
    site = Site().bring_to(Stage.PUNCH_LIST)
    Check.objects.create(code="acceptance", job=site.opening.job, asked=False)
    with pytest.raises(GateSaysNo) as said:
        site.advance()
    assert [r["code"] for r in said.value.reasons] == ["acceptance"]
    assert accept_opening(site.act(), site.opening.pk, accepted_by="The owner", how="signed").advanced


def test_an_installer_who_names_no_stage_does_not_accept_either():
    site = Site().bring_to(Stage.PUNCH_LIST)
    installer = make_user("installer")
    site.crew.members.create(user=installer, from_day=dt.date(2020, 1, 1))
    with pytest.raises(NotAllowed, match="may not accept"):
        advance_opening(site.act(installer), site.opening.pk)
    site.bring_to(Stage.ACCEPTED)
    with pytest.raises(GateSaysNo) as said:
        advance_opening(site.act(installer), site.opening.pk)
    assert said.value.reasons == [{"reason": "already-there", "stage": "accepted"}]


def test_who_accepted_on_site_is_kept_while_the_gate_says_no_and_counts_once_it_does_not():
    site = Site().bring_to(Stage.PUNCH_LIST)
    items = [raise_punch_item(site.act(), site.opening.pk, what=what, owner_id=site.lead.pk,
                              due_day=dt.date(2026, 4, 1)) for what in ("scratch", "dent")]
    part = set_part_aside(site.act(), site.opening.pk, what="track cover")
    kept = accept_opening(site.act(), site.opening.pk, accepted_by="R. Quillon", how="signed",
                          subject_to=[item.pk for item in items], done_on_site=True)
    assert (kept.advanced, kept.acceptance.accepted_by) == (False, "R. Quillon")
    assert site.opening.stage == Stage.PUNCH_LIST
    put_part_back(site.act(), part.pk)
    close_punch_item(site.act(), items[0].pk, how="polished")
    settle(site.act(site.office), how="advanced", note="the cover is back", stage_change_id=kept.pk)
    site.opening.refresh_from_db()
    counts = Acceptance.objects.get(change__advanced=True)
    assert (site.opening.stage, counts.accepted_by, list(counts.subject_to.all())) == (
        Stage.ACCEPTED, "R. Quillon", [items[1]])


# ---- clocks --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("off", [dt.timedelta(days=365), dt.timedelta(days=-365), dt.timedelta(minutes=7)])
def test_a_telephone_with_a_wrong_clock_is_taken_at_the_servers_time_and_marked(site, off):
    act = site.act(device_time=site.now + off)
    made = record_inspection(act, site.opening.pk, "floor-profile", floor())
    assert made.taken_at == act.now
    assert made.device_time == act.device_time
    assert made.clock_doubtful


def test_a_reading_sent_hours_later_counts_from_when_it_was_taken(site):
    then = site.now - dt.timedelta(hours=9)
    act = site.act(device_time=then)
    made = record_inspection(act, site.opening.pk, "floor-profile", floor())
    assert (made.taken_at, made.clock_doubtful) == (then, False)


# ---- the ledger ----------------------------------------------------------------------------------------


def earned(site: Site) -> int:
    return sum(EarnedMinutes.objects.filter(work_step__opening=site.opening).values_list("minutes", flat=True))


def test_planned_minutes_are_earned_when_the_stage_is_reached_and_taken_off_by_stepping_back(site):
    site.bring_to(FS)
    assert earned(site) == 1200
    step_back(site.act(), site.opening.pk, OV, "out again")
    assert earned(site) == 600


def test_hanging_is_earned_panel_by_panel_by_mass(site):
    site.bring_to(FS)
    handle_panel(site.act(), site.panel("A").pk, "receive")
    handle_panel(site.act(), site.panel("A").pk, "hang")
    masses = [p.grams for p in site.panels]
    assert earned(site) - 1200 == round(600 * masses[0] / sum(masses))


def test_two_ways_a_reveal_is_asked_at_both_interlocks_and_at_no_lock_jamb():
    site = Site()

    def reveals():
        site.opening = type(site.opening).objects.get(pk=site.opening.pk)
        outcomes = look_at(site.opening, site.now, Stage.ADJUSTED).outcomes
        return {o.place for o in outcomes if o.code.startswith("reveal")}

    assert reveals() == {"lock-jamb", "interlock"}
    type(site.unit).objects.update(ways="two-way")
    assert reveals() == {"interlock-left", "interlock-right"}
