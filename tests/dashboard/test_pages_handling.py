"""How panels are lifted and brought in, on the page of their unit, with the caution that goes with it."""

import re

import pytest

from dashboard.phrases import LIFTING_CAUTION
from jobs.models import Equipment, Job
from jobs.stages import Stage
from tests.factories import MM, give_work, make_crew, make_opening, make_unit, make_user
from tests.visits import text
from units.models import Panel

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit():
    """181 and 182 kg, 1.5 m wide."""
    unit = make_unit(make_opening(), "AB")
    Panel.objects.update(width=1500 * MM, height=2600 * MM)
    return unit


def planned(unit, rated: int) -> None:
    lifter = Equipment.objects.create(name="Beam lifter", kind="beam lifter", rated_grams=rated, people_to_steer=1,
                                      rating_includes=["design factor"])
    cart = Equipment.objects.create(name="Cart", kind="panel cart", rated_grams=500_000, people_to_steer=1,
                                    rating_includes=["design factor"], carries_at=200 * MM, width_loaded=600 * MM)
    give_work(unit.opening, make_crew(make_user("lead")), Stage.PANELS_HUNG).equipment.set([lifter, cart])


def said(client, unit) -> str:
    client.force_login(make_user("office"))
    return " ".join(re.sub(r"<[^>]+>", " ", text(client.get(f"/openings/{unit.opening_id}/unit/"))).split())


def test_each_panel_says_whether_what_is_planned_lifts_it_and_whether_it_gets_in(client, unit):
    Job.objects.update(way_in=[{"name": "garden gate", "kind": "corridor", "sizes": {"width": 900}}])
    planned(unit, 181_500)
    page = said(client, unit)
    assert "As planned for hanging: Beam lifter; Cart; 1 person." in page
    assert "A 400 lb (181 kg) nothing known speaks against it gets through" in page
    assert "B 402 lb (182 kg) Beam lifter has too little left of its rating gets through" in page


def test_a_leg_it_does_not_pass_is_named_with_what_would_help(client, unit):
    Job.objects.update(way_in=[{"name": "<b>gate</b>", "kind": "corridor", "sizes": {"width": 500}}])
    planned(unit, 400_000)
    assert "does not get past: &lt;b&gt;gate&lt;/b&gt;; make the way larger" in said(client, unit)


def test_what_is_still_to_be_entered_is_said_in_words(client, unit):
    page = said(client, unit)
    assert "No equipment and no crew are planned for hanging yet." in page
    assert "still needed: who lifts it, and with what" in page
    assert "still needed: the way in of the job, leg by leg" in page


def test_what_keeps_the_rest_from_being_worked_out_is_said_with_what_would_be_right(client, unit):
    planned(unit, 400_000)
    Equipment.objects.filter(name="Cart").update(own_grams=15_000_000)
    page = said(client, unit)
    assert "Not worked out: what the cart weighs. At most 2000 kilograms" in page
    assert "A 400 lb (181 kg) nothing known speaks against it" in page


def test_the_caution_goes_with_it_and_a_unit_without_panels_has_nothing_to_lift(client, unit):
    assert str(LIFTING_CAUTION) in said(client, unit)
    assert "Lifted and brought in" not in said(client, make_unit(make_opening(), ""))
