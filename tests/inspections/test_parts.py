"""Material is complete when every part came whole; what is lacking says what it stops. Splices are joints to seal."""

from __future__ import annotations

import datetime as dt

import pytest

from inspections.services.deliveries import change_delivery, plan_delivery, put_off, receive_delivery, stopped_by
from inspections.services.entries import take_in
from inspections.services.inspecting import record_inspection
from inspections.services.joints import do_joint
from inspections.services.looking import look_at
from inspections.services.panels import handle_panel
from inspections.services.parts import change_part, make_part, make_parts, note_part_came, remove_part
from jobs.errors import AlreadyHasOther, Invalid, NotAllowed, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Delivery, Opening, WorkStep
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.factories import MM, act_for, make_job, make_opening, make_unit, make_user
from tests.site import Site, sealing
from units.models import DoorSystem, Part, PartArrival, Unit

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 3, 20)


@pytest.fixture
def site() -> Site:
    return Site("AB")


def listed(site: Site, **system) -> Site:
    """Its parts listed, all of them on one delivery."""
    DoorSystem.objects.filter(pk=site.unit.system_id).update(**system)
    unit = Unit.objects.get(pk=site.unit.pk)
    make_parts(site.act(site.office), unit.pk, version=unit.version)
    site.delivery = Delivery.objects.create(job=site.opening.job, what="sill to covers", expected_day=DAY)
    site.unit.parts.update(delivery=site.delivery)
    return site


def all_came(site: Site, **but: int) -> None:
    for part in site.unit.parts.all():
        note_part_came(site.act(), part.pk, whole=but.get(part.kind, part.wanted) or 0,
                       short=part.wanted - but.get(part.kind, part.wanted))


def outcomes(site: Site, code: str, to: str):
    gate = look_at(Opening.objects.get(pk=site.opening.pk), site.now, to)
    return [o for o in gate.outcomes if o.code == code]


def material(site: Site):
    return outcomes(site, "material-complete", Stage.OPENING_VERIFIED)[0]


def reasons(site: Site, stage: str) -> list[dict]:
    step = WorkStep.objects.get(opening=site.opening, stage=stage)
    return [reason for reason in step.not_ready if reason["reason"] == "material-missing"]


# ---- listed ---------------------------------------------------------------------------------------------


def test_a_units_parts_follow_from_its_system_and_panels(site):
    listed(site, covers=30 * MM, longest_piece=3500 * MM)
    assert [(p.name, p.wanted) for p in site.unit.parts.all()] == [
        ("Sill, piece 1", 1), ("Sill, piece 2", 1), ("Head, piece 1", 1), ("Head, piece 2", 1), ("Lock jamb", 1),
        ("Pocket interlock", 1), ("Panel A", 1), ("Panel B", 1), ("Track cover", 2)]
    assert sum(p.length for p in site.unit.parts.filter(kind="sill")) == 240 * 25_400_000


def test_sealant_comes_off_the_take_off(site):
    joints = [{"place": "head", "side": "outside", "rule": "seal", "width": "10 mm", "depth": "10 mm",
               "product": "Joint sealant A"}]
    products = [{"name": "Joint sealant A", "cartridge_ml": 300, "waste_pct": 0, "source": "an invented sheet"}]
    listed(site, joints=joints, products=products)
    # By hand: 6096 mm x 10 mm x 10 mm = 609.6 mL, three cartridges of 300 mL.
    assert site.unit.parts.get(kind="cartridge").wanted == 3


def test_listed_again_what_came_and_what_was_added_by_hand_stays(site):
    listed(site)
    sill = site.unit.parts.get(kind="sill")
    note_part_came(site.act(), sill.pk, whole=1)
    make_part(site.act(site.office), {"unit": site.unit, "kind": "other", "name": "Head block"})
    Unit.objects.filter(pk=site.unit.pk).update(frame_width=5000 * MM)
    make_parts(site.act(site.office), site.unit.pk, version=Unit.objects.get(pk=site.unit.pk).version)
    again = Part.objects.get(pk=sill.pk)
    assert (int(again.length), again.whole, again.delivery) == (5000 * MM, 1, site.delivery)
    assert site.unit.parts.filter(name="Head block", by_hand=True).exists()


def test_what_came_does_not_vanish_from_the_list(site):
    listed(site)
    note_part_came(site.act(), site.unit.parts.get(kind="sill").pk, whole=1)
    DoorSystem.objects.filter(pk=site.unit.system_id).update(longest_piece=3500 * MM)
    with pytest.raises(Refusal, match=r"came already \(Sill\)"):
        make_parts(site.act(site.office), site.unit.pk, version=Unit.objects.get(pk=site.unit.pk).version)


def test_of_two_who_list_at_once_the_second_is_told(site):
    with pytest.raises(SomeoneWasFaster):
        make_parts(site.act(site.office), site.unit.pk, version=9)
    assert not site.unit.parts.exists()


def test_a_unit_of_which_nothing_is_known_has_no_list():
    unit = make_unit(make_opening(), "", frame_width=None, frame_height=None)
    with pytest.raises(Invalid) as refused:
        make_parts(act_for("office"), unit.pk, version=1)
    assert "frame_width" in refused.value.fields


def test_listing_and_adding_parts_is_the_offices(site):
    with pytest.raises(NotAllowed):
        make_parts(site.act(), site.unit.pk, version=1)
    with pytest.raises(NotAllowed):
        make_part(site.act(), {"unit": site.unit, "kind": "other", "name": "Head block"})
    part = make_part(site.act(site.office), {"unit": site.unit, "kind": "other", "name": "Head block"})
    with pytest.raises(NotAllowed):
        change_part(site.act(), part, {"wanted": 2}, version=1)
    with pytest.raises(NotAllowed):
        remove_part(site.act(), part, version=1)


def test_a_part_comes_with_a_delivery_of_its_own_job(site):
    elsewhere = Delivery.objects.create(job=make_job(), what="sill")
    with pytest.raises(Invalid) as refused:
        make_part(site.act(site.office), {"unit": site.unit, "kind": "sill", "name": "Sill", "delivery": elsewhere})
    assert "delivery" in refused.value.fields


def test_the_same_part_is_listed_once(site):
    listed(site)
    with pytest.raises(Invalid) as refused:
        make_part(site.act(site.office), {"unit": site.unit, "kind": "sill", "name": "Sill"})
    assert "name" in refused.value.fields


def test_a_part_of_which_something_came_is_not_taken_off_the_list(site):
    listed(site)
    sill = site.unit.parts.get(kind="sill")
    note_part_came(site.act(), sill.pk, whole=1)
    with pytest.raises(Refusal):
        remove_part(site.act(site.office), sill, version=Part.objects.get(pk=sill.pk).version)


# ---- material complete ----------------------------------------------------------------------------------


def test_a_unit_without_parts_is_confirmed_by_the_office_as_before(site):
    assert material(site).result == "missing"
    site.confirm("material-complete")
    assert material(site).passes


def test_with_parts_the_gate_says_what_is_missing_how_many_and_when_it_is_expected(site):
    listed(site, covers=30 * MM)
    assert {m["name"]: m["count"] for m in material(site).missing} == {
        "Sill": 1, "Head": 1, "Lock jamb": 1, "Pocket interlock": 1, "Panel A": 1, "Panel B": 1, "Track cover": 2}
    assert {(m["delivery"], m["expected_day"]) for m in material(site).missing} == {
        (site.delivery.pk, "2026-03-20")}


def test_a_word_of_the_office_counts_for_nothing_once_parts_are_listed(site):
    site.confirm("material-complete")
    listed(site)
    assert not material(site).passes, "what was confirmed before is counted now"
    with pytest.raises(Invalid, match="counted from the unit's parts"):
        site.confirm("material-complete")


def test_material_is_complete_when_every_part_came_whole(site):
    listed(site, covers=30 * MM)
    all_came(site, cover=1)
    assert [(m["name"], m["count"]) for m in material(site).missing] == [("Track cover", 1)]
    note_part_came(site.act(), site.unit.parts.get(kind="cover").pk, whole=1)
    assert material(site).passes


def test_what_came_damaged_is_still_missing_until_it_comes_whole(site):
    listed(site)
    all_came(site, sill=0)
    sill = site.unit.parts.get(kind="sill")
    note_part_came(site.act(), sill.pk, damaged=1, note="bent")
    assert [(m["name"], m["count"], m["damaged"]) for m in material(site).missing] == [("Sill", 1, 1)]
    note_part_came(site.act(), sill.pk, whole=1)
    assert material(site).passes


def test_more_that_is_wanted_is_missing_again(site):
    listed(site)
    all_came(site)
    jamb = site.unit.parts.get(kind="lock-jamb")
    change_part(site.act(site.office), jamb, {"wanted": 2}, version=jamb.version)
    assert [m["count"] for m in material(site).missing] == [1]


def test_a_panel_and_its_part_are_one_thing(site):
    listed(site)
    a, b = site.unit.parts.filter(kind="panel")
    note_part_came(site.act(), a.pk, whole=1)
    note_part_came(site.act(), b.pk, damaged=1, note="a corner is off")
    assert (site.panel("A").state, site.panel("A").damaged) == ("received", False)
    assert (site.panel("B").state, site.panel("B").damaged) == ("received", True)
    note_part_came(site.act(), b.pk, whole=1)
    assert (site.panel("B").damaged, site.panel("B").replaced) == (False, 1)


def test_a_panel_received_by_itself_is_no_missing_part(site):
    listed(site)
    handle_panel(site.act(), site.panel("A").pk, "receive")
    assert "Panel A" not in {m["name"] for m in material(site).missing}
    assert not Part.objects.lacking().filter(name="Panel A").exists()


def test_the_rows_that_lack_something_are_those_that_say_so(site):
    listed(site, covers=30 * MM)
    all_came(site, cover=1, sill=0)
    handle_panel(site.act(), site.panel("B").pk, "damage", reason="it fell")
    assert set(Part.objects.lacking()) == {part for part in Part.objects.all() if part.missing}


# ---- what came ------------------------------------------------------------------------------------------


def test_a_delivery_is_received_part_by_part(site):
    listed(site, covers=30 * MM)
    cover, sill = site.unit.parts.get(kind="cover"), site.unit.parts.get(kind="sill")
    receive_delivery(site.act(), site.delivery.pk, condition="one cover short", version=1, parts=[
        {"part_id": sill.pk, "whole": 1}, {"part_id": cover.pk, "whole": 1, "short": 1}])
    site.delivery.refresh_from_db()
    assert (site.delivery.condition, site.delivery.received_by) == ("one cover short", site.lead)
    assert [(a.part, a.whole, a.short) for a in PartArrival.objects.all()] == [(sill, 1, 0), (cover, 1, 1)]
    assert set(Part.objects.came_short()) == {cover}


def test_what_was_in_the_crate_may_be_said_the_next_day(site):
    listed(site)
    delivery = receive_delivery(site.act(), site.delivery.pk, version=1)
    first = delivery.received_at
    later = receive_delivery(site.act(), site.delivery.pk, version=delivery.version, parts=[
        {"part_id": site.unit.parts.get(kind="sill").pk, "whole": 1}])
    assert later.received_at == first
    assert site.unit.parts.get(kind="sill").whole == 1


def test_half_of_what_came_is_not_stored(site):
    listed(site)
    sill = site.unit.parts.get(kind="sill")
    with pytest.raises(NotThere):
        receive_delivery(site.act(), site.delivery.pk, version=1, parts=[
            {"part_id": sill.pk, "whole": 1}, {"part_id": 10**9, "whole": 1}])
    assert not PartArrival.objects.exists()
    assert Delivery.objects.get(pk=site.delivery.pk).received_at is None


def test_a_part_that_came_says_that_its_delivery_is_here(site):
    listed(site)
    note_part_came(site.act(), site.unit.parts.get(kind="sill").pk, short=1)
    assert Delivery.objects.get(pk=site.delivery.pk).received_at is None
    note_part_came(site.act(), site.unit.parts.get(kind="head").pk, whole=1)
    assert Delivery.objects.get(pk=site.delivery.pk).received_by == site.lead


def test_said_twice_it_came_once(site):
    listed(site)
    sill, entry = site.unit.parts.get(kind="sill"), new_id()
    for _ in range(2):
        note_part_came(site.act(), sill.pk, whole=1, entry_id=entry)
    assert site.unit.parts.get(kind="sill").whole == 1
    with pytest.raises(AlreadyHasOther):
        note_part_came(site.act(), sill.pk, damaged=1, entry_id=entry)


@pytest.mark.parametrize("counts", [{}, {"whole": -1}, {"whole": 10**9}])
def test_a_count_that_cannot_be_is_refused(site, counts):
    listed(site)
    with pytest.raises(Invalid):
        note_part_came(site.act(), site.unit.parts.get(kind="sill").pk, **counts)


def test_more_than_is_lacking_is_refused_until_somebody_says_that_it_is_so(site):
    listed(site)
    sill = site.unit.parts.get(kind="sill")
    with pytest.raises(Invalid) as refused:
        note_part_came(site.act(), sill.pk, whole=5)
    assert (refused.value.code, refused.value.fields) == (
        "more-than-lacks", {"whole": "at most 1, or say that more came"})
    note_part_came(site.act(), sill.pk, whole=5, more_came=True)
    assert (site.unit.parts.get(kind="sill").missing, site.unit.parts.get(kind="sill").surplus) == (0, 4)


@pytest.mark.parametrize("counts", [{"short": 2}, {"damaged": 2}, {"whole": 1, "damaged": 1}, {"whole": 1, "short": 1}])
def test_no_more_can_be_short_or_damaged_than_are_lacking(site, counts):
    listed(site)
    with pytest.raises(Invalid):
        note_part_came(site.act(), site.unit.parts.get(kind="sill").pk, **counts)


def test_what_a_telephone_took_down_at_the_truck_is_kept_as_it_was(site):
    listed(site)
    sill = site.unit.parts.get(kind="sill")
    entry = {"id": str(new_id()), "entry": "part-came", "unit_part": sill.pk, "data": {"whole": 5}}
    assert take_in(site.act(), [entry])[0]["result"] == "stored"
    assert site.unit.parts.get(kind="sill").surplus == 4


def test_a_new_panel_for_a_broken_one_is_no_surplus(site):
    listed(site)
    part = site.unit.parts.get(name="Panel B")
    note_part_came(site.act(), part.pk, whole=1)
    handle_panel(site.act(), site.panel("B").pk, "damage", reason="a corner is off")
    note_part_came(site.act(), part.pk, whole=1)
    assert Part.objects.get(pk=part.pk).surplus == 0


def test_what_is_found_damaged_after_it_was_counted_whole_is_lacking_again(site):
    listed(site, covers=30 * MM)
    all_came(site)
    assert material(site).passes
    note_part_came(site.act(), site.unit.parts.get(kind="cover").pk, damaged=1, note="bent under the band")
    assert [(m["name"], m["count"]) for m in material(site).missing] == [("Track cover", 1)]
    note_part_came(site.act(), site.unit.parts.get(kind="cover").pk, whole=1)
    assert material(site).passes


def test_of_a_delivery_sent_twice_nothing_is_counted_twice(site):
    listed(site)
    sill = site.unit.parts.get(kind="sill")
    came = [{"part_id": sill.pk, "whole": 1, "entry_id": new_id()}]
    for _ in range(2):
        receive_delivery(site.act(), site.delivery.pk, version=1, parts=came)
    assert site.unit.parts.get(kind="sill").whole == 1
    with pytest.raises(AlreadyHasOther):
        receive_delivery(site.act(), site.delivery.pk, version=1, parts=[*came, {
            "part_id": site.unit.parts.get(kind="head").pk, "whole": 1, "entry_id": new_id()}])


def test_another_word_about_a_delivery_that_somebody_else_received_is_for_who_has_read_it(site):
    listed(site)
    receive_delivery(site.act(), site.delivery.pk, condition="dry", version=1)
    receive_delivery(site.act(), site.delivery.pk, condition="dry", version=1)
    with pytest.raises(SomeoneWasFaster):
        receive_delivery(site.act(site.office), site.delivery.pk, condition="wet", version=1)
    assert Delivery.objects.get(pk=site.delivery.pk).condition == "dry"


def test_a_new_day_is_said_once_and_not_of_what_came(site):
    listed(site)
    for _ in range(2):
        put_off(site.act(site.office), site.delivery.pk, DAY + dt.timedelta(days=7), version=1)
    assert Delivery.objects.get(pk=site.delivery.pk).version == 2
    receive_delivery(site.act(), site.delivery.pk)
    with pytest.raises(Refusal, match="came already"):
        put_off(site.act(site.office), site.delivery.pk, DAY + dt.timedelta(days=9), version=3)


def test_a_delivery_planned_with_parts_of_another_job_is_not_planned_at_all(site):
    listed(site)
    other = make_unit(make_opening(make_job()), "")
    strange = Part.objects.create(unit=other, kind="sill", name="Sill")
    with pytest.raises(Invalid):
        plan_delivery(site.act(site.office), site.delivery, {"what": "other"}, on=[strange.pk], version=1)
    assert Delivery.objects.get(pk=site.delivery.pk).what == "sill to covers"


def test_what_moves_from_one_delivery_to_another_is_said_where_it_is_waited_for(site):
    listed(site)
    made = plan_delivery(site.act(site.office), None, {
        "job": site.opening.job, "what": "the rest", "expected_day": DAY + dt.timedelta(days=5)},
        on=[site.unit.parts.get(kind="sill").pk])
    assert {(reason["delivery"], reason["expected_day"]) for reason in reasons(site, Stage.FRAME_SET)} == {
        (site.delivery.pk, "2026-03-20"), (made.pk, "2026-03-25")}


def test_another_crew_does_not_say_what_came_here(site):
    listed(site)
    with pytest.raises(NotThere):
        note_part_came(act_for(make_user("installer")), site.unit.parts.get(kind="sill").pk, whole=1)


# ---- what is stopped ------------------------------------------------------------------------------------


def test_a_step_is_not_ready_for_what_it_cannot_be_done_without(site):
    site.bring_to(Stage.OPENING_VERIFIED)
    listed(site, covers=30 * MM)
    all_came(site, cover=0, panel=0)
    assert not reasons(site, Stage.FRAME_SET), "neither panel nor cover goes into a frame"
    assert WorkStep.objects.get(opening=site.opening, stage=Stage.FRAME_SET).ready
    assert reasons(site, Stage.PANELS_HUNG) == [{
        "reason": "material-missing", "delivery": site.delivery.pk, "parts": ["Panel A", "Panel B"],
        "expected_day": "2026-03-20"}]
    assert "Track cover" in reasons(site, Stage.PUNCH_LIST)[0]["parts"]
    assert not reasons(site, Stage.OPENING_VERIFIED), "what is done is held up by nothing"


def test_a_delivery_says_what_it_stops(site):
    listed(site)
    all_came(site, sill=0)
    stopped = stopped_by([site.delivery.pk], Opening.objects.all())[site.delivery.pk]
    assert [(row["opening"], row["parts"][0]["name"], row["work_steps"][0]["stage"]) for row in stopped] == [
        (site.opening.pk, "Sill", "frame set")]
    note_part_came(site.act(), site.unit.parts.get(kind="sill").pk, whole=1)
    assert stopped_by([site.delivery.pk], Opening.objects.all()) == {}


def test_a_delivery_that_slips_is_said_where_it_is_waited_for(site):
    listed(site)
    change_delivery(site.act(site.office), site.delivery, {"expected_day": dt.date(2026, 4, 1)}, version=1)
    assert {reason["expected_day"] for reason in reasons(site, Stage.FRAME_SET)} == {"2026-04-01"}


def test_a_delivery_that_brings_parts_stays_with_its_job(site):
    listed(site)
    with pytest.raises(Invalid) as refused:
        change_delivery(site.act(site.office), site.delivery, {"job": make_job()}, version=1)
    assert "job" in refused.value.fields


# ---- splices --------------------------------------------------------------------------------------------


def test_each_splice_is_asked_for_as_a_joint_beside_the_holes(site):
    listed(site, longest_piece=3500 * MM)
    asked = outcomes(site, "splices-sealed", Stage.FRAME_SET)
    assert [(o.place, o.result, o.guards) for o in asked] == [
        ("", "missing", "water"), ("sill splice 1", "missing", "water"), ("head splice 1", "missing", "water")]


def test_a_splice_sealed_in_fit_conditions_passes_and_a_word_does_not(site):
    listed(site, longest_piece=3500 * MM)
    site.confirm("splices-sealed")
    fit = record_inspection(site.act(), site.opening.pk, "sealing-conditions", sealing())
    do_joint(site.act(), site.opening.pk, place="sill splice 1", conditions_id=fit.pk)
    do_joint(site.act(), site.opening.pk, place="head splice 1")
    assert {o.place: o.passes for o in outcomes(site, "splices-sealed", Stage.FRAME_SET)} == {
        "": True, "sill splice 1": True, "head splice 1": False}


def test_a_sill_of_one_piece_is_confirmed_as_before(site):
    listed(site)
    site.confirm("splices-sealed")
    assert [o.passes for o in outcomes(site, "splices-sealed", Stage.FRAME_SET)] == [True]
