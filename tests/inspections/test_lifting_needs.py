"""What the heaviest panel needs stands in the step in which panels are hung, whenever panels change."""

from __future__ import annotations

import pytest

from inspections.services import planned
from inspections.services.laying_out import lay_out_panels
from jobs.models import Change, Equipment, WorkStep
from jobs.roles import Role
from jobs.stages import Stage
from tests.factories import MADE, MM, act_for, make_opening, make_system, make_unit, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def office():
    return act_for(make_user(Role.OFFICE))


@pytest.fixture
def unit():
    return make_unit(make_opening(), "ABCD")  # 181 to 184 kg


def step(unit) -> WorkStep:
    return WorkStep.objects.get(opening=unit.opening, stage=Stage.PANELS_HUNG.value)


def weigh(office, unit, letter: str, grams: int) -> None:
    panel = unit.panels.get(letter=letter)
    planned.change(office, panel, {"weighed_grams": grams}, version=panel.version, record="panels")


def lifter(people: int, rated: int) -> Equipment:
    return Equipment.objects.create(
        name=f"Lifter for {people}", kind="beam lifter", rated_grams=rated, rating_includes=["design factor"],
        people_to_steer=people)


def test_a_panel_that_is_weighed_heavier_is_what_must_be_lifted(office, unit):
    weigh(office, unit, "B", 205_000)
    assert step(unit).lifting_grams == 205_000


def test_a_panel_weighed_lighter_than_computed_takes_nothing_off(office, unit):
    weigh(office, unit, "D", 150_000)
    assert step(unit).lifting_grams == 184_000


def test_panels_laid_out_bring_what_the_heaviest_weighs(office):
    unit = make_unit(make_opening(pocket_side="right"), "", system=make_system(**MADE), panel_count=3,
                     frame_width=6000 * MM, frame_height=3000 * MM)
    assert step(unit).lifting_grams is None
    lay_out_panels(office, unit.pk, version=unit.version)
    assert step(unit).lifting_grams == max(unit.panels.values_list("computed_grams", flat=True))


def test_a_panel_taken_off_the_list_is_lifted_no_more(office, unit):
    weigh(office, unit, "D", 300_000)
    panel = unit.panels.get(letter="D")
    planned.remove(office, panel, version=panel.version, record="panels")
    assert step(unit).lifting_grams == 183_000


def test_hands_are_those_that_steer_the_lifter_of_ours_that_takes_it(office, unit):
    lifter(3, 190_000), lifter(4, 400_000)
    weigh(office, unit, "A", 185_000)
    assert step(unit).hands == 3
    weigh(office, unit, "A", 191_000)
    assert step(unit).hands == 4


def test_more_hands_than_that_stay_as_the_office_planned_them(office, unit):
    lifter(2, 400_000)
    WorkStep.objects.update(hands=5)
    weigh(office, unit, "A", 185_000)
    assert step(unit).hands == 5


def test_a_step_the_office_changes_cannot_ask_for_less_than_its_panels_weigh(office, unit):
    hung = step(unit)
    planned.change(office, hung, {"lifting_grams": 1000}, version=hung.version, record="work-steps")
    assert step(unit).lifting_grams == 184_000


def test_what_the_office_wrote_stands_until_a_panel_has_a_mass(office):
    unit = make_unit(make_opening(), "AB")
    unit.panels.update(computed_grams=None)
    WorkStep.objects.update(lifting_grams=210_000)
    panel = unit.panels.get(letter="A")
    planned.change(office, panel, {"glass": "8 and 8"}, version=panel.version, record="panels")
    assert step(unit).lifting_grams == 210_000


def test_it_is_a_line_of_the_feed_once_and_none_where_nothing_changed(office, unit):
    weigh(office, unit, "A", 250_000)
    weigh(office, unit, "B", 240_000)
    line = Change.objects.get(what="lifting needs changed")
    assert (line.record, line.more["lifting_grams"]) == ("work-steps", 250_000)
