"""Force: friction and slope from both ways, the system's limits, and what is worth a second look."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calc import force
from jobs.calc.verdict import BadInput, Limit
from tests.quantities import UNITS

LIMITS = {"force_to_start": Limit(90), "force_to_keep_moving": Limit(60), "more_than_as_left": Limit(25),
          "more_than_neighbours": Limit(25)}


def panel(letter="A", mass=200, opening=(70, 50), closing=(60, 40), **more):
    ways = {"opening": opening, "closing": closing}
    both = {name: dict(zip(("start", "keep_moving"), read, strict=True)) for name, read in ways.items()}
    return {"panel": letter, "mass": mass, **both, **more}


def judge(*panels, limits=LIMITS, **more):
    return force.judge({"panels": list(panels), **more}, limits)


@given(friction=st.floats(0.001, 0.2), slope=st.floats(-0.01, 0.01), mass=st.floats(20, 400))
def test_friction_and_slope_come_back_from_the_forces_they_make(friction, slope, mass):
    """Ordinary statics the other way round: up the slope both work against the push, down it the slope helps."""
    opening, closing = mass * 9.80665 * (friction + slope), mass * 9.80665 * (friction - slope)
    assert float(force.friction(Fraction(opening), Fraction(closing), Fraction(mass))) == pytest.approx(friction)
    assert float(force.slope(Fraction(opening), Fraction(closing), Fraction(mass))) == pytest.approx(slope, abs=1e-12)


@given(opening=st.integers(0, 300), closing=st.integers(0, 300), mass=st.integers(20, 400))
def test_they_solve_the_same_two_equations_that_numpy_solves(opening, closing, mass):
    weight = mass * 9.80665
    friction, slope = np.linalg.solve([[weight, weight], [weight, -weight]], [opening, closing])
    assert float(force.friction(Fraction(opening), Fraction(closing), Fraction(mass))) == pytest.approx(friction)
    assert float(force.slope(Fraction(opening), Fraction(closing), Fraction(mass))) == pytest.approx(slope, abs=1e-12)


@pytest.mark.parametrize("pounds", ["1", "20", "7.5"])
def test_pounds_of_force_are_those_of_pint(pounds):
    body = force.read_bodies({"panels": [panel(opening=(f"{pounds} lbf", "1 lbf"))]})[0]
    newtons = UNITS.Quantity(float(pounds), "force_pound").to("newton").magnitude
    assert float(body.forces["opening", "start"]) == pytest.approx(newtons, rel=1e-12)


def test_pounds_of_mass_are_those_of_pint():
    body = force.read_bodies({"panels": [panel(mass="420 lb")]})[0]
    assert float(body.mass) == pytest.approx(UNITS.Quantity(420, "pound").to("kilogram").magnitude, rel=1e-12)


def test_every_panel_and_the_train_is_judged_each_way_starting_and_moving():
    verdict = judge(panel("A"), panel("B"), train=panel())
    judged = {(f.quantity, f.where.get("panel", "train"), f.where["way"]) for f in verdict.findings}
    assert len(verdict.findings) == len(judged) == 2 * 3 * 2
    assert verdict.result == "pass"


def test_a_limit_nobody_set_leaves_the_forces_recorded_and_unjudged():
    verdict = judge(panel(), limits={})
    assert verdict.result == "no_limit_set"
    assert {f.within for f in verdict.findings} == {None}
    assert len(force.readings({"panels": [panel()]})) == 4


def test_without_its_mass_a_panel_is_judged_but_has_no_coefficient():
    verdict = judge(panel(mass=None))
    assert verdict.result == "pass"
    assert "friction" not in verdict.computed["panels"][0]
    assert verdict.computed["panels"][0]["friction_n"] == 45


def test_a_track_that_rises_towards_opening_says_by_how_much():
    seen = judge(panel(opening=(70, 55), closing=(60, 35))).computed["panels"][0]
    assert seen["uphill"] == "opening"
    assert float(seen["slope_mm_per_m"]) == pytest.approx(20 / (2 * 200 * 9.80665) * 1000)


def test_as_much_to_start_as_to_keep_moving_is_nothing_odd():
    assert judge(panel(opening=(50, 50), closing=(40, 40))).second_look == ()


def test_a_level_track_is_level():
    assert judge(panel(opening=(70, 50), closing=(70, 50))).computed["panels"][0]["uphill"] == "level"


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"opening": (70, 80), "closing": (60, 20)}, "level_the_track"),
        ({"opening": (70, 80), "closing": (70, 80)}, "free_the_rollers"),
        ({"opening": (200, 50)}, "free_what_holds_it_at_rest"),
    ],
)
def test_too_much_force_says_where_to_look_first(more, code):
    failed = next(f for f in judge(panel(**more)).findings if f.within is False)
    assert failed.remedy.code == code


def test_the_downhill_way_is_not_sent_to_level_the_track():
    failed = [f for f in judge(panel(opening=(70, 200), closing=(60, 61))).findings if f.within is False]
    assert [(f.where["way"], f.remedy.code) for f in failed] == [
        ("opening", "level_the_track"), ("closing", "free_the_rollers")]


def test_against_the_same_door_as_it_was_left():
    then = {"opening": {"start": 70, "keep_moving": 39.9}}
    verdict = judge(panel(as_left=then))
    assert [look["why"] for look in verdict.second_look] == ["more_than_as_left"]
    assert verdict.computed["panels"][0]["than_as_left"][1]["more_n"] == Fraction("10.1")


def test_only_the_panel_that_drags_is_named_not_the_neighbours_that_run_well():
    looks = judge(panel("A"), panel("B", opening=(90, 60), closing=(90, 60)), panel("C"), train=panel()).second_look
    assert [(look["panel"], look["why"]) for look in looks] == [("B", "more_than_neighbours")]


def test_a_comparison_nobody_set_a_limit_for_is_shown_and_not_flagged():
    verdict = judge(panel(as_left={"opening": {"start": 1}}), limits={})
    assert verdict.second_look == ()
    assert verdict.computed["panels"][0]["than_as_left"][0]["more_pct"] == 6900


@pytest.mark.parametrize("sent", ["20 stone", "-5", "5,5", "", True, float("nan"), [], 5001, 10**400, "9" * 5000])
def test_a_force_nobody_could_have_read_is_refused_by_its_name(sent):
    with pytest.raises(BadInput) as refused:
        judge(panel(opening=(sent, 50)))
    assert refused.value.field == "panels[0].opening.start"
