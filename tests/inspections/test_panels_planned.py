"""Panels as the office lists them, beside what was done with them on site."""

import pytest

from inspections.services import planned
from inspections.services.gates import step_back
from inspections.services.panels import handle_panel
from jobs.errors import Invalid, Refusal
from jobs.stages import Stage
from tests.factories import make_opening, make_unit
from tests.site import Site
from units.models import Panel, Unit

pytestmark = pytest.mark.django_db


def listed(site: Site, letter: str, position: str, order: int) -> Panel:
    values = {"unit": site.unit, "letter": letter, "position": position, "track": 1, "hanging_order": order}
    return planned.make(site.act(site.office), Panel, values, record="panels")


def changed(site: Site, record: Unit | Panel, **values) -> None:
    record.refresh_from_db()
    planned.change(site.act(site.office), record, values, version=record.version, record="panels")


@pytest.fixture
def received() -> Site:
    site = Site("AB")
    handle_panel(site.act(), site.panel("A").pk, "receive")
    return site


def test_a_unit_whose_panels_were_handled_stays_in_its_opening(received):
    with pytest.raises(Refusal) as said:
        changed(received, received.unit, opening=make_opening())
    assert (said.value.code, list(said.value.fields)) == ("in-use", ["opening"])
    changed(received, received.unit, opening=received.opening, order_number="7")


@pytest.mark.parametrize("name", ["unit", "letter"])
def test_a_panel_that_was_handled_keeps_its_unit_and_its_letter(received, name):
    other = {"unit": make_unit(make_opening(), ""), "letter": "Z"}[name]
    with pytest.raises(Refusal):
        changed(received, received.panel("A"), **{name: other})
    changed(received, received.panel("B"), **{name: other})


@pytest.mark.parametrize(("ways", "count", "most"), [("one-way", None, 2), ("one-way", 4, 4), ("two-way", 4, 2)])
def test_a_track_there_is_not_is_told_with_those_there_are(ways, count, most):
    site = Site("AB")
    Unit.objects.filter(pk=site.unit.pk).update(ways=ways, panel_count=count)
    changed(site, site.panel("B"), track=most)
    with pytest.raises(Invalid) as said:
        changed(site, site.panel("B"), track=most + 1)
    assert said.value.fields == {"track": f"1 to {most}; 1 is the outermost"}


def test_panels_entered_by_hand_one_by_one_may_begin_with_the_innermost():
    site = Site("")
    values = {"unit": site.unit, "letter": "A", "position": "pocket", "track": 4, "hanging_order": 1}
    assert planned.make(site.act(site.office), Panel, values, record="panels").track == 4


def test_an_opening_with_its_panels_hung_gets_no_other_before_it_steps_back():
    site = Site("AB").bring_to(Stage.PANELS_HUNG)
    with pytest.raises(Refusal) as said:
        listed(site, "C", "pocket", 9)
    assert said.value.code == "panels-hung-already"
    assert site.unit.panels.count() == 2
    step_back(site.act(), site.opening.pk, Stage.FRAME_SET, "one more panel")
    listed(site, "C", "pocket", 9)


def test_a_panel_does_not_come_from_elsewhere_into_an_opening_with_its_panels_hung():
    site = Site("AB").bring_to(Stage.PANELS_HUNG)
    elsewhere = make_unit(make_opening(), "").panels.create(letter="Q", position="pocket", track=1, hanging_order=9)
    with pytest.raises(Refusal):
        changed(site, elsewhere, unit=site.unit)


@pytest.mark.parametrize(("position", "order"), [("lead", 9), ("pocket", 0), ("intermediate", 9)])
def test_the_lead_is_hung_first_and_the_pocket_panel_last(position, order):
    site = Site("ABC")
    with pytest.raises(Invalid) as said:
        listed(site, "X", position, order)
    assert "hanging_order" in said.value.fields
    assert site.unit.panels.count() == 3


def test_where_two_halves_meet_each_half_has_its_own_order():
    site = Site("ABC")
    Unit.objects.filter(pk=site.unit.pk).update(ways="two-way")
    site.unit.refresh_from_db()
    assert listed(site, "D", "lead", 9).pk
