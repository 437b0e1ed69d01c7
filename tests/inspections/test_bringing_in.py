"""Which panels are still to be brought in stands in the step in which they are hung, whenever panels change."""

from __future__ import annotations

from importlib import import_module

import pytest
from django.apps import apps

from inspections.services import planned
from inspections.services.laying_out import lay_out_panels
from inspections.services.panels import handle_panel
from inspections.services.weighing import weigh_panels
from jobs.models import Job, WorkStep
from jobs.roles import Role
from jobs.services.way_in import on_carts
from jobs.stages import Stage
from tests.factories import MADE, MM, act_for, make_opening, make_system, make_unit, make_user
from tests.site import Site
from units.models import Panel, Unit
from units.services.bringing_in import write_for
from units.services.handling import loads_of
from units.services.systems import change_system

pytestmark = pytest.mark.django_db
HALL = [{"name": "hall", "kind": "corridor", "sizes": {"width": 800}}]


@pytest.fixture
def office():
    return act_for(make_user(Role.OFFICE))


@pytest.fixture
def unit():
    return make_unit(make_opening(), "AB", system=make_system(panel_thickness=55 * MM))


def step(unit) -> WorkStep:
    return WorkStep.objects.get(opening=unit.opening, stage=Stage.PANELS_HUNG.value)


def letters(unit) -> str:
    return "".join(one["panel"] for one in step(unit).to_bring_in.get("panels", ()))


def weigh(office, unit, letter: str, grams: int) -> None:
    panel = unit.panels.get(letter=letter)
    weigh_panels(office, unit.pk, {panel.pk: grams}, versions={panel.pk: panel.version})


def test_panels_laid_out_stand_there_with_their_sizes_and_masses_as_their_way_in_is_asked(office):
    unit = make_unit(make_opening(pocket_side="right"), "", system=make_system(**MADE), panel_count=3,
                     frame_width=6000 * MM, frame_height=3000 * MM)
    assert step(unit).to_bring_in == {}
    lay_out_panels(office, unit.pk, version=unit.version)
    found = step(unit).to_bring_in
    assert found == loads_of(unit.panels.all(), unit.system)
    assert (found["load"], found["panels"][0]["length"]) == ({"bare_thickness": "55.000000 mm"}, "2020.000000 mm")


def test_one_that_is_weighed_heavier_or_taken_off_the_list_or_entered_is_so_there(office, unit):
    weigh(office, unit, "B", 205_000)
    assert [one["mass"] for one in step(unit).to_bring_in["panels"]] == ["181.000", "205.000"]
    panel = unit.panels.get(letter="B")
    planned.remove(office, panel, version=panel.version, record="panels")
    assert letters(unit) == "A"
    planned.make(office, Panel, {"unit": unit, "letter": "C", "position": "pocket", "track": 2, "hanging_order": 2},
                 record="panels")
    assert letters(unit) == "AC"


def test_a_panel_that_hangs_is_in_and_one_that_came_out_is_not(office):
    site = Site("AB")
    site.bring_to(Stage.FRAME_SET)
    site.close_pocket()
    handle_panel(site.act(), site.panel("A").pk, "receive")
    assert letters(site.unit) == "AB"
    handle_panel(site.act(), site.panel("A").pk, "hang")
    assert letters(site.unit) == "B"
    handle_panel(site.act(), site.panel("A").pk, "take-out", reason="scratched")
    assert letters(site.unit) == "AB"


def test_with_the_unit_it_goes_and_with_the_unit_it_moves(office, unit):
    weigh(office, unit, "A", 190_000)
    other, here = make_opening(unit.opening.job), unit.opening
    unit.refresh_from_db()
    planned.change(office, unit, {"opening": other}, version=unit.version, record="units")
    assert letters(Unit.objects.get(pk=unit.pk)) == "AB"
    assert WorkStep.objects.get(opening=here, stage="panels hung").to_bring_in == {}


def test_another_door_system_brings_its_panels_thickness_and_the_lean_it_allows(office, unit):
    lean = {"value": 12, "source": "an invented maker"}
    other = make_system(panel_thickness=60 * MM, limits={"route": {"lean_most": lean}})
    planned.change(office, unit, {"system": other}, version=unit.version, record="units")
    assert step(unit).to_bring_in["load"] == {"bare_thickness": "60.000000 mm"}
    assert step(unit).to_bring_in["limits"]["lean_most"] == lean


def test_how_thick_its_panels_are_may_be_entered_after_they_were_laid_out(office, django_assert_num_queries):
    thin = make_system()
    units = [make_unit(make_opening(), "AB", system=thin) for _ in range(3)]
    write_for([unit.opening_id for unit in units])
    hung = make_unit(make_opening(), "AB", system=thin)
    hung.panels.update(state="hung")
    change_system(office, thin, {"panel_thickness": 55 * MM}, version=1)
    for unit in units:
        assert step(unit).to_bring_in["load"] == {"bare_thickness": "55.000000 mm"}
    assert step(hung).to_bring_in == {}
    with django_assert_num_queries(3):
        write_for([unit.opening_id for unit in units])


def test_a_step_the_office_removed_and_entered_again_knows_its_panels(office, unit):
    hung = step(unit)
    planned.remove(office, hung, version=hung.version, record="work-steps")
    planned.make(office, WorkStep, {"opening": unit.opening, "stage": "panels hung", "planned_minutes": 60},
                 record="work-steps")
    assert letters(unit) == "AB"


def test_units_that_were_there_before_it_was_written_down_have_it_from_the_start(unit):
    hung = make_unit(make_opening(), "AB")
    hung.panels.filter(letter="A").update(state="adjusted")
    done = make_unit(make_opening(), "AB")
    done.panels.update(state="hung")
    import_module("units.migrations.0002_to_bring_in").write_what_is_to_be_brought_in(apps, None)
    assert [letters(one) for one in (unit, hung, done)] == ["AB", "B", ""]
    written = step(unit).to_bring_in
    write_for([unit.opening_id])
    assert step(unit).to_bring_in == written, "as an act writes it"


def test_what_is_written_is_what_the_unit_itself_is_judged_by(unit):
    unit.panels.update(width=1500 * MM, height=2400 * MM)
    write_for([unit.opening_id])
    Job.objects.update(way_in=HALL)
    found = on_carts(step(unit), Job.objects.get(), [])
    assert found[""].through == ("A", "B")
