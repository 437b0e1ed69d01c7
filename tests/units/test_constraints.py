"""What no unit and no panel can be, whoever writes it."""

import pytest

from tests.constraints import Breaks, again, lengths_without_a_floor, names_of, negative, put, refuses
from tests.factories import NOW, make_opening, make_system, make_user
from tests.factories import make_unit as unit_in
from units.models import PanelChange, Part, PartArrival
from units.models.systems import SIZES

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def make_unit():
    return unit_in(make_opening())


def make_panel():
    return make_unit().panels.first()


def a_change(act: str, reason: str):
    return PanelChange.objects.create(panel=make_panel(), act=act, from_state="hung", to_state="received",
                                      advanced=True, reason=reason, by=make_user(), taken_at=NOW)


def make_part(**over):
    return Part.objects.create(**{"unit": make_unit(), "kind": "sill", "name": "Sill", **over})


def part_of_a_panel():
    panel = make_panel()
    return make_part(unit=panel.unit, kind="panel", name="Panel A", panel=panel)


def an_arrival():
    return PartArrival.objects.create(part=make_part(), whole=1, by=make_user(), taken_at=NOW)


def _second_in_order():
    first, second = make_unit().panels.all()[:2]
    return put(second, hanging_order=first.hanging_order)


def _same_letter():
    first, second = make_unit().panels.all()[:2]
    return put(second, letter=first.letter)


BREAKS: Breaks = {
    "units_unit.opening_id": lambda: again(make_unit()),
    "system_edition_once": lambda: again(make_system()),
    **negative("system", make_system, "thread_pitch", "roller_from_edge", "head_clearance", "head_clearance_least",
               *SIZES),
    "system_lean_in_angle": lambda: put(make_system(), lean_in_angle=90),
    "system_roller_travel": lambda: put(make_system(), roller_lowest=2, roller_highest=1),
    **negative("unit", make_unit, "frame_width", "frame_height", "sill_length", "pocket_depth_needed",
               "pocket_thickness_needed", "roller_spacing"),
    "panel_letter_unique_in_unit": _same_letter,
    "panel_order_unique_in_unit": _second_in_order,
    "panel_state_exists": lambda: put(make_panel(), state="leaning"),
    "panel_track_from_one": lambda: put(make_panel(), track=0),
    **negative("panel", make_panel, "width", "height"),
    "part_once_in_unit": lambda: again(make_part()),
    "part_kind_exists": lambda: put(make_part(), kind="hinge"),
    "part_wanted_from_one": lambda: put(make_part(), wanted=0),
    "part_panel_by_itself": lambda: put(part_of_a_panel(), wanted=2),
    "part_came_is_looked_through": lambda: put(make_part(), broken=1),
    "units_part.panel_id": lambda: again(part_of_a_panel(), name="Panel A once more"),
    **negative("part", make_part, "length"),
    "partarrival_says_something": lambda: put(an_arrival(), whole=0),
    "panelchange_has_its_reason": lambda: put(a_change("damage", "A corner"), reason=""),
}


@pytest.mark.parametrize("name", BREAKS)
def test_the_database_refuses(name):
    refuses(name, BREAKS[name])


def test_every_rule_of_these_tables_is_broken_above():
    assert set(BREAKS) == names_of("units")


def test_only_offsets_may_be_below_nothing():
    # From stile bottom to sill top: a roller drawn in stands above the bottom of its stile. A panel may run up into
    # the head, a gap be left where two meet in the middle, a lead be narrower than the others.
    offsets = {"roller_preset", "roller_lowest", "roller_highest", "height_deduction", "middle_lap", "lead_wider_by"}
    assert lengths_without_a_floor("units") == {f"DoorSystem.{name}" for name in offsets}
    put(make_system(), roller_lowest=-3_175_000, roller_highest=-3_175_000, roller_preset=-1)


def test_units_of_two_openings_have_a_sill_each():
    assert [make_part().name for _ in range(2)] == ["Sill", "Sill"]


def test_a_part_of_a_panel_is_a_panel():
    refuses("part_panel_by_itself", lambda: put(part_of_a_panel(), kind="other"))


def test_the_same_letter_in_another_unit_is_another_panel():
    assert [make_unit().panels.get(letter="A").letter for _ in range(2)] == ["A", "A"]
