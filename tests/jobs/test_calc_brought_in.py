"""What somebody who gives the work is told of a way in that was judged: which panels stop where, and of which nobody
can tell."""

import pytest

from jobs.calc import route
from jobs.calc.brought_in import BY_HAND, OnCart, Stop, along, on_cart, refused
from jobs.calc.verdict import BadInput, Limit

CART = {"thickness": 600, "cart_height": 200, "cart_mass": 60}
HALL = {"name": "hall", "kind": "corridor", "sizes": {"width": 800, "height": 2700}}
GATE = {"name": "gate", "kind": "corridor", "sizes": {"width": 550}}


def panel(letter, height=2400, **over):
    return {"panel": letter, "length": 1500, "height": height, "mass": 190, **over}


def told(*panels, legs=(HALL,), cart=CART, lean_most=None, bare=90):
    asked = {"unit": "mm", "legs": list(legs), "load": {"bare_thickness": bare, **cart}, "panels": list(panels)}
    return on_cart(route.judge(asked, {"lean_most": Limit(lean_most, "an invented maker"), "tight": Limit(None, "")}))


def test_panels_that_get_past_every_leg_get_through():
    assert told(panel("A"), panel("B")) == OnCart(through=("A", "B"))


def test_one_stops_at_the_first_leg_it_does_not_get_past_with_the_nearest_way_that_does():
    found = told(panel("A"), panel("B", height=2600, length=2000), lean_most=0, legs=(HALL, GATE), cart={
        **CART, "thickness": 540})
    assert found == OnCart(through=("A",), stops=(Stop("hall", ("B",), "turn_it"),))


def test_those_that_stop_at_the_same_leg_and_get_past_it_the_same_way_are_told_together():
    found = told(panel("A"), panel("B"), panel("C", height=2600), lean_most=0, legs=(HALL, GATE))
    assert found.stops == (Stop("gate", ("A", "B"), "without_its_cart"), Stop("hall", ("C",), "turn_it"))
    assert found.stops[0].as_dict() == {"leg": "gate", "panels": ["A", "B"], "instead": "without_its_cart"}


def test_of_those_in_doubt_what_is_lacking_is_told_once_for_all_and_nothing_of_the_others():
    found = told(panel("A"), panel("B", length=None), panel("C", length=None))
    assert found == OnCart(through=("A",), in_doubt=("B", "C"), missing=({"what": "length"},))
    found = told(panel("A"), panel("B"), cart={})
    assert (found.in_doubt, found.missing) == (("A", "B"), ({"what": "thickness"}, {"what": "cart_height"}))


def test_a_leg_that_was_not_read_and_a_lean_nobody_allows_are_lacking_too():
    found = told(panel("A"), legs=({"name": "gate", "kind": "corridor", "sizes": {}},))
    assert (found.in_doubt, found.missing) == (("A",), ({"what": "width", "leg": "gate"},))
    found = told(panel("A", height=2600), legs=({"name": "duct", "kind": "ceiling", "sizes": {"height": 2750}},))
    assert (found.in_doubt, found.missing) == (("A",), ({"what": "lean", "leg": "duct"},))


def test_a_panel_that_stops_is_not_in_doubt_whatever_is_lacking_of_another_leg():
    found = told(panel("A"), legs=({"name": "porch", "kind": "corridor", "sizes": {}}, GATE))
    assert found == OnCart(stops=(Stop("gate", ("A",), "without_its_cart"),))


def test_without_legs_nobody_can_tell():
    assert told(panel("A"), legs=()) == OnCart(in_doubt=("A",), missing=({"what": "legs"},))


def test_what_cannot_be_so_says_what_would_be_right():
    why = BadInput("load.bare_thickness", "700 mm", "no thicker bare than on its cart")
    with pytest.raises(BadInput):
        told(panel("A"), bare=700)
    assert refused(why, ["A"]) == OnCart(in_doubt=("A",), missing=(
        {"what": "bare_thickness", "right": "no thicker bare than on its cart"},))


def test_each_cart_that_goes_along_is_told_of_and_where_none_does_how_they_get_in_by_hand():
    low, bare = OnCart(through=("A",)), OnCart(stops=(Stop("hall", ("A",)),))
    assert along({"Low": low}, ["Lifter", "Low"]) == [("Low", low)]
    assert along({"Low": low}, ["Lifter"]) == []
    assert along({BY_HAND: bare}, ["Lifter"]) == [(BY_HAND, bare)]


def test_masses_are_judged_exactly():
    lift = {"name": "lift", "kind": "lift", "sizes": {"door_width": 900, "door_height": 2700, "width": 1700,
                                                      "depth": 1700, "height": 2700, "capacity": 250}}
    assert told(panel("A"), legs=(lift,)).through == ("A",)
    assert told(panel("A", mass="190.001"), legs=(lift,)).stops[0].leg == "lift"
