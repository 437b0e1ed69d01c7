"""A unit's panels are worked out of its door system, and kept with what they weigh and where they hang."""

import pytest

from inspections.services.inspecting import record_inspection
from inspections.services.laying_out import (
    explained,
    keep_and_lay_out,
    keep_as_tried,
    lay_out_panels,
    put_in,
    put_in_and_lay_out,
)
from inspections.services.panels import handle_panel
from jobs.calc.lengths import Length
from jobs.errors import Invalid, NotAllowed, Refusal, SomeoneWasFaster
from jobs.roles import Role
from tests.factories import MADE, MM, act_for, make_opening, make_system, make_unit, make_user
from units.models import DoorSystem, Unit


@pytest.fixture
def office(db):
    return act_for(make_user(Role.OFFICE))


@pytest.fixture
def unit(office):
    opening = make_opening(pocket_side="right")
    return make_unit(opening, panels="", system=make_system(**MADE), panel_count=3, frame_width=6000 * MM,
                     frame_height=3000 * MM)


def test_three_panels_fill_the_frame_less_what_its_members_take(office, unit):
    lay_out_panels(office, unit.pk, version=unit.version)
    panels = list(unit.panels.order_by("hanging_order"))
    assert [(p.letter, p.position, p.track, p.side) for p in panels] == [
        ("A", "lead", 1, "right"), ("B", "intermediate", 2, "right"), ("C", "pocket", 3, "right")]
    assert {int(p.width) for p in panels} == {2020 * MM}
    assert {int(p.height) for p in panels} == {(3000 - 70 - 30 - 10) * MM}


def test_each_panel_has_the_mass_its_parts_add_up_to(office, unit):
    """By hand: glass 1.94 x 2.81 m at 40 kg; two stiles of 2.89 m at 3 kg; two rails of 1.90 m at 4 kg; 3 kg."""
    lay_out_panels(office, unit.pk, version=unit.version)
    by_hand = 1.94 * 2.81 * 40 + 2 * 2.89 * 3 + 2 * 1.90 * 4 + 3
    assert unit.panels.first().computed_grams == pytest.approx(by_hand * 1000, abs=1)


def test_the_pocket_and_the_wall_it_needs_are_kept_with_it(office, unit):
    unit = lay_out_panels(office, unit.pk, version=unit.version)
    assert int(unit.pocket_depth_needed) == (2020 + 50 + 20 + 10) * MM
    assert int(unit.pocket_thickness_needed) == (3 * 65 + 30) * MM


def test_laid_out_again_the_panels_before_are_gone(office, unit):
    unit = lay_out_panels(office, unit.pk, version=unit.version)
    type(unit).objects.filter(pk=unit.pk).update(panel_count=4)
    lay_out_panels(office, unit.pk, version=unit.version)
    assert "".join(unit.panels.order_by("letter").values_list("letter", flat=True)) == "ABCD"


def test_what_cannot_be_built_is_refused_with_the_nearest_that_can(office, unit):
    type(unit).objects.filter(pk=unit.pk).update(panel_count=2)
    with pytest.raises(Refusal) as refused:
        lay_out_panels(office, unit.pk, version=unit.version)
    assert refused.value.code == "cannot-be-built"
    reason = next(r for r in refused.value.reasons if r["quantity"] == "panel_width_most")
    assert reason["source"] == "an invented system"
    assert reason["remedy"]["values"]["panels"] == 3
    assert not unit.panels.exists()


def test_a_pocket_that_was_measured_too_shallow_is_one_such(office, unit):
    record_inspection(office, unit.opening_id, "pocket", {"unit": "mm", "depth": [2200, 2090], "thickness": 300})
    with pytest.raises(Refusal) as refused:
        lay_out_panels(office, unit.pk, version=unit.version)
    assert [reason["quantity"] for reason in refused.value.reasons] == ["pocket_depth_spare"]


def test_a_panel_too_heavy_for_its_system_is_refused_with_the_width_that_would_do(office, unit):
    heaviest = {"weights": {"panel_mass_most": {"value": 200, "source": "an invented system"}}}
    DoorSystem.objects.update(limits={**MADE["limits"], **heaviest})
    with pytest.raises(Refusal) as refused:
        lay_out_panels(office, unit.pk, version=unit.version)
    assert refused.value.code == "cannot-be-built"
    assert {reason["quantity"] for reason in refused.value.reasons} == {"panel_mass"}
    assert refused.value.reasons[0]["remedy"]["code"] == "narrower_panels_or_lighter_glass"
    assert not unit.panels.exists()


def test_what_is_lacking_is_said_all_at_once(office, unit):
    DoorSystem.objects.update(interlock_lap=None, meeting_lap=None)
    with pytest.raises(Invalid) as refused:
        lay_out_panels(office, unit.pk, version=unit.version)
    assert refused.value.fields.keys() == {"interlock_lap", "meeting_lap"}


def test_a_glass_the_system_does_not_have_is_refused(office, unit):
    type(unit).objects.filter(pk=unit.pk).update(glass="10 and 10")
    with pytest.raises(Invalid) as refused:
        lay_out_panels(office, unit.pk, version=unit.version)
    assert "8 and 8" in refused.value.fields["glass"]


def test_once_a_panel_has_come_they_are_changed_one_by_one(office, unit):
    unit = lay_out_panels(office, unit.pk, version=unit.version)
    handle_panel(office, unit.panels.get(letter="B").pk, "receive")
    with pytest.raises(Refusal, match=r"come already \(B\)"):
        lay_out_panels(office, unit.pk, version=unit.version)


def test_of_two_at_once_the_second_is_told(office, unit):
    lay_out_panels(office, unit.pk, version=unit.version)
    with pytest.raises(SomeoneWasFaster):
        lay_out_panels(office, unit.pk, version=unit.version)
    assert unit.panels.count() == 3


def test_an_installer_may_not(unit):
    with pytest.raises(NotAllowed):
        lay_out_panels(act_for(make_user(Role.INSTALLER)), unit.pk, version=unit.version)


def test_a_panel_that_was_weighed_shows_both(office, unit):
    unit = lay_out_panels(office, unit.pk, version=unit.version)
    computed = unit.panels.get(letter="A").computed_grams
    unit.panels.filter(letter="A").update(weighed_grams=computed * 2)
    panel = explained(unit).weights.computed["panels"][0]
    assert (panel["computed_grams"], panel["weighed_kg"] * 1000) == (computed, computed * 2)


# ---- kept as it was tried --------------------------------------------------------------------------------


def keep(act, unit, wished, **over):
    opening = unit.opening
    return keep_and_lay_out(act, unit.pk, wished, **{"version": unit.version, "pocket_side": opening.pocket_side,
                                                     "opening_version": opening.version, **over})


def test_what_was_tried_is_kept_and_laid_out_in_one_act(office, unit):
    kept = keep(office, unit, {"panel_count": 4, "frame_width": 7000 * MM})
    assert (kept.panel_count, int(kept.frame_width)) == (4, 7000 * MM)
    assert kept.panels.count() == 4


def test_a_pocket_on_the_other_side_changes_the_opening_with_it(office, unit):
    keep(office, unit, {}, pocket_side="left")
    unit.opening.refresh_from_db()
    assert unit.opening.pocket_side == "left"
    assert {panel.side for panel in unit.panels.all()} == {"left"}


def test_tried_and_not_to_be_built_it_is_not_kept_either(office, unit):
    with pytest.raises(Refusal) as refused:
        keep(office, unit, {"panel_count": 2}, pocket_side="left")
    assert refused.value.code == "cannot-be-built"
    unit.refresh_from_db()
    unit.opening.refresh_from_db()
    assert (unit.panel_count, unit.opening.pocket_side, unit.panels.count()) == (3, "right", 0)


@pytest.mark.parametrize("stale", [{"version": 0}, {"opening_version": 0, "pocket_side": "left"}])
def test_who_tried_on_what_has_changed_since_is_told(office, unit, stale):
    with pytest.raises(SomeoneWasFaster):
        keep(office, unit, {"panel_count": 4}, **stale)
    assert not unit.panels.exists()


def test_nothing_tried_is_kept_once_a_panel_has_come(office, unit):
    unit = lay_out_panels(office, unit.pk, version=unit.version)
    handle_panel(office, unit.panels.get(letter="B").pk, "receive")
    with pytest.raises(Refusal, match=r"come already \(B\)"):
        keep(office, unit, {"panel_count": 4})
    unit.refresh_from_db()
    assert unit.panel_count == 3


def test_a_lead_keeps_no_trial(unit):
    with pytest.raises(NotAllowed):
        keep(act_for(make_user(Role.LEAD)), unit, {"panel_count": 4})


def test_once_a_panel_has_come_what_makes_panels_stays_and_the_rest_may_change(office, unit):
    unit = lay_out_panels(office, unit.pk, version=unit.version)
    handle_panel(office, unit.panels.get(letter="B").pk, "receive")
    kept = keep_as_tried(office, unit.pk, {"panel_count": 3, "order_number": "J-9"}, version=unit.version)
    assert kept.order_number == "J-9"
    for other, side in (({"panel_count": 4}, ""), ({}, "left")):
        with pytest.raises(Refusal, match=r"come already \(B\)"):
            keep_as_tried(office, unit.pk, other, version=kept.version, pocket_side=side,
                          opening_version=unit.opening.version)


def test_kept_as_it_is_the_panels_stay_as_they_are(office, unit):
    unit = lay_out_panels(office, unit.pk, version=unit.version)
    kept = keep_as_tried(office, unit.pk, {"panel_count": 4}, version=unit.version)
    assert (kept.panel_count, kept.panels.count()) == (4, 3)
    with pytest.raises(SomeoneWasFaster):
        keep_as_tried(office, unit.pk, {"panel_count": 4}, version=kept.version - 1)


# ---- put in ----------------------------------------------------------------------------------------------


WISHED = {"panel_count": 3, "frame_width": Length(6000 * MM), "frame_height": Length(3000 * MM)}


def test_a_unit_is_put_in_with_its_panels_and_the_pocket_moved_in_one_act(office):
    opening = make_opening(pocket_side="right")
    unit = put_in_and_lay_out(office, opening.pk, {**WISHED, "system": make_system(**MADE)}, pocket_side="left",
                              opening_version=opening.version)
    opening.refresh_from_db()
    assert (unit.opening, opening.pocket_side, set(unit.panels.values_list("side", flat=True))) == (
        opening, "left", {"left"})


def test_what_cannot_be_laid_out_is_not_put_in_either(office):
    opening = make_opening(pocket_side="right")
    with pytest.raises(Refusal, match="cannot be built"):
        put_in_and_lay_out(office, opening.pk, {**WISHED, "panel_count": 2, "system": make_system(**MADE)},
                           pocket_side="left", opening_version=opening.version)
    opening.refresh_from_db()
    assert (opening.pocket_side, Unit.objects.count()) == ("right", 0)


def test_an_opening_that_has_one_gets_no_second(office, unit):
    with pytest.raises(Invalid) as refused:
        put_in(office, unit.opening_id, {})
    assert f"has unit {unit.pk} already: change that" in refused.value.fields["opening"]


def test_only_the_office_puts_one_in(unit):
    with pytest.raises(NotAllowed):
        put_in(act_for(make_user(Role.LEAD)), make_opening().pk, {})
