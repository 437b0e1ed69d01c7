"""Handling a unit's panels: what the equipment has left, who steers it, the way in, the wind; with what is planned."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from jobs.models import Equipment, Job
from jobs.stages import Stage
from tests.factories import MADE, MM, NOW, give_work, make_crew, make_opening, make_system, make_unit, make_user
from units.calc.lifting import CAUTION
from units.models import Panel, Unit
from units.services.handling import Help, fewest_to_steer, handling_of, help_planned

pytestmark = pytest.mark.django_db
ASKED = ("surface", "temperature", "overhang", "pads", "elevation")


def lifter(name: str = "Lifter 1", rated: int = 400_000, **over: Any) -> Equipment:
    values = {"kind": "vacuum lifter", "rated_grams": rated, "rating_includes": ["design factor", "angle"],
              "rating_source": "an invented plate", "circuits": 2, "people_to_steer": 2, "stop_wind_m_per_s": 9,
              "reductions": [{"why": why, "factor": 1, "source": "manual, page 12"} for why in ASKED]}
    return Equipment.objects.create(name=name, **{**values, **over})


def cart(**over: Any) -> Equipment:
    values = {"name": "Cart 1", "kind": "panel cart", "rated_grams": 500_000, "rating_includes": ["design factor"],
              "people_to_steer": 2, "own_grams": 80_000, "carries_at": 200 * MM, "width_loaded": 600 * MM}
    return Equipment.objects.create(**{**values, **over})


@pytest.fixture
def unit() -> Unit:
    """Three panels of 2.0 by 2.6 m: 181, 182, 183 kg."""
    unit = make_unit(make_opening(), "ABC", system=make_system(**MADE))
    Panel.objects.update(width=2000 * MM, height=2600 * MM)
    return unit


def lifted(handling: Any) -> dict[str, str]:
    return {letter: verdict.result for letter, verdict in handling.lifting.items()}


def quantities(verdict: Any) -> dict[str, bool]:
    return {finding.quantity: finding.within for finding in verdict.findings}


def test_each_panel_is_judged_with_one_circuit_lost(unit):
    """400 kg leaves 200 with one of two circuits lost: enough for 183. At 365 kg it is 182.5: enough for B alone."""
    assert lifted(handling_of(unit, Help([lifter()], 3))) == dict.fromkeys("ABC", "pass")
    assert lifted(handling_of(unit, Help([lifter("Lifter 2", 365_000)], 3))) == {"A": "pass", "B": "pass", "C": "fail"}


def test_the_heaviest_is_named_and_what_nobody_weighed_is_named_too(unit):
    Panel.objects.filter(letter="A").update(computed_grams=None)
    handling = handling_of(unit, Help([lifter()], 3))
    assert (handling.heaviest, handling.heaviest_grams, handling.unweighed) == ("C", 183_000, ("A",))
    assert set(handling.lifting) == {"B", "C"}


def test_of_computed_and_weighed_the_heavier_is_lifted(unit):
    Panel.objects.filter(letter="B").update(weighed_grams=150_000)
    assert handling_of(unit, Help()).heaviest_grams == 183_000
    Panel.objects.filter(letter="B").update(weighed_grams=240_000)
    assert handling_of(unit, Help()).heaviest == "B"


def test_a_rating_nobody_has_asked_about_is_not_enough_to_lift_by(unit):
    verdict = handling_of(unit, Help([lifter(rating_includes="unknown", reductions=[])], 3)).lifting["A"]
    assert verdict.result == "not_enough_data"
    assert verdict.missing[0]["what"] == "rating_includes"


def test_two_cannot_steer_what_takes_three(unit):
    verdict = handling_of(unit, Help([lifter(people_to_steer=3)], 2)).lifting["A"]
    assert quantities(verdict)["hands_to_steer"] is False


@pytest.mark.parametrize(("wind", "within"), [(9, True), (9.1, False)])
def test_the_wind_at_which_its_maker_stops_it_stops_it(unit, wind, within):
    verdict = handling_of(unit, Help([lifter()], 3, wind)).lifting["A"]
    assert quantities(verdict)["wind_speed"] is within
    assert verdict.missing == (), "the force of the wind is worked out as well"


def test_each_panel_goes_the_way_in_leg_by_leg_on_its_cart(unit):
    """Straight through a door 700 mm wide; the cart of 600 mm and 2.0 m of panel do not turn between 900 mm walls:
    past 900 and 900 with 600 mm of thickness goes 2 * 900 * sqrt(2) - 2 * 600 = 1345.6 mm."""
    Job.objects.update(way_in=[{"name": "gate", "kind": "corridor", "sizes": {"width": 700}},
                               {"name": "hall", "kind": "corner", "sizes": {"in_width": 900, "out_width": "900 mm"}}])
    way = handling_of(Unit.objects.get(), Help([lifter(), cart()], 3)).route
    assert way.result == "fail"
    assert [(panel["panel"], panel["stops_at"]) for panel in way.computed["panels"]] == [
        ("A", "hall"), ("B", "hall"), ("C", "hall")]
    stuck = next(finding for finding in way.findings if finding.within is False)
    assert int(stuck.limit) // 1000 == 1345584


def test_without_a_way_in_or_a_cart_it_says_what_to_enter(unit):
    way = handling_of(unit, Help([lifter()], 3)).route
    assert way.result == "not_enough_data"
    assert {lack["what"] for lack in way.missing} == {"legs", "thickness", "cart_height"}


def test_a_unit_without_panels_has_nothing_to_bring_in():
    handling = handling_of(make_unit(make_opening(), ""), Help([lifter()], 3))
    assert (handling.route, dict(handling.lifting), handling.heaviest) == (None, {}, None)


def test_the_caution_is_there_whatever_is_answered(unit):
    for handling in (handling_of(unit, Help()), handling_of(make_unit(make_opening(), ""), Help())):
        assert handling.as_dict()["caution"] == CAUTION
        assert all(verdict["caution"] == CAUTION for verdict in handling.as_dict()["lifting"])


def test_with_what_the_next_work_is_given(unit):
    crew = make_crew(make_user("lead"), make_user("installer"))
    old = give_work(unit.opening, make_crew(), Stage.PANELS_HUNG, start_day=NOW.date() - dt.timedelta(days=9),
                    end_day=NOW.date() - dt.timedelta(days=8))
    old.equipment.add(cart())
    assert [one.name for one in help_planned(unit, NOW.date()).equipment] == ["Cart 1"]
    give_work(unit.opening, crew, Stage.PANELS_HUNG).equipment.add(lifter())
    planned = help_planned(unit, NOW.date())
    assert ([one.name for one in planned.equipment], planned.hands) == (["Lifter 1"], 2)


def test_nothing_planned_is_nothing_at_hand(unit):
    assert help_planned(unit, NOW.date()) == Help()


def test_the_fewest_hands_are_those_of_a_lifter_that_takes_it():
    """400 kg leaves 200 with a circuit lost, 700 leaves 350."""
    gear = [lifter(people_to_steer=2), lifter("Lifter 2", 700_000, people_to_steer=3), cart(people_to_steer=1)]
    assert [fewest_to_steer(grams, gear) for grams in (200_000, 200_001, 350_001)] == [2, 3, None]


def test_a_cart_that_cannot_be_takes_nothing_from_how_panels_are_lifted(unit):
    handling = handling_of(unit, Help([lifter(), cart(own_grams=15_000_000)], 3))
    assert lifted(handling) == dict.fromkeys("ABC", "pass")
    assert handling.route is None
    assert handling.refused.field.endswith("cart_mass")
    assert "at most 2000" in handling.refused.right
