"""A unit is put into an opening on a page: what is offered, what follows while it is typed, what is refused and why."""

import datetime as dt
import re

import pytest

from dashboard.views import units
from inspections.services.laying_out import put_in
from jobs.models import Opening
from tests.factories import MADE, MM, NOW, give_work, make_crew, make_opening, make_system, make_unit, make_user
from tests.visits import queries, text
from units.models import DoorSystem, Unit

pytestmark = pytest.mark.django_db
TYPED = {"width": "6000", "height": "3000", "panels": "3", "way": "right", "glass": "8 and 8"}


@pytest.fixture
def office(client):
    person = make_user("office", units="mm")
    client.force_login(person)
    return person


@pytest.fixture
def opening():
    return make_opening(pocket_side="right", tag="A2")


@pytest.fixture
def system():
    return make_system(code="harbour", name="Harbour", edition="2", **MADE)


def url(opening):
    return f"/openings/{opening.pk}/unit/new/"


def said(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", text(answer)).split())


def put(client, opening, made, /, **typed):
    return client.post(url(opening), {"opening_version": opening.version, **TYPED, **of(made), **typed})


def of(made):
    return {"system": str(made.pk)}


# ---- offered ---------------------------------------------------------------------------------------------


def test_only_editions_that_are_made_today_are_offered(client, office, opening, system):
    make_system(code="harbour", name="Harbour", edition="1", withdrawn_on=dt.date(2020, 1, 1))
    make_system(code="harbour", name="Harbour", edition="3", withdrawn_on=dt.date(2999, 1, 1))
    offered = re.findall(r"<option[^>]*>(Harbour[^<]*)", text(client.get(url(opening))))
    assert offered == ["Harbour, edition 3", "Harbour, edition 2"]


def test_the_glass_of_the_system_that_is_chosen_is_offered(client, office, opening, system):
    page = text(client.get(url(opening), {"system": system.pk}))
    assert "8 and 8, the only one" in page
    assert "8 and 8" not in text(client.get(url(opening)))


@pytest.mark.parametrize(("side", "chosen"), [("left", "left"), ("right", "right"), ("both", "two-way"), ("none", "")])
def test_it_opens_into_the_pockets_that_the_opening_has(client, office, system, side, chosen):
    page = text(client.get(url(make_opening(pocket_side=side))))
    select = re.search(r'<select id="f-way".*?</select>', page, re.DOTALL)[0]
    assert re.search(r'value="([^"]*)" selected', select)[1] == chosen


def test_what_follows_is_shown_while_nothing_is_kept(client, office, opening, system):
    page = said(client.get(url(opening), {"system": system.pk, **TYPED}))
    assert "What follows; nothing of it is kept yet: nothing speaks against it" in page
    assert "C pocket 3 2020.0 mm 2890.0 mm 3 right 8 and 8" in page
    assert not Unit.objects.exists()


def test_a_script_gets_only_what_follows_with_the_glass_of_the_system(client, office, opening, system):
    html = text(client.get(url(opening), {"system": system.pk, "width": "wide"}, headers={"HX-Request": "true"}))
    assert html.startswith('<section id="follows"')
    assert re.search(r'<select id="f-glass" hx-swap-oob="innerHTML">.*8 and 8', html, re.DOTALL)
    assert 'id="f-width-error" hx-swap-oob="true">' in html


def test_nothing_is_kept_by_asking_what_follows_without_a_script(client, office, opening, system):
    answer = put(client, opening, system, see="1")
    assert (answer.status_code, Unit.objects.count()) == (200, 0)
    assert "C pocket 3 2020.0 mm" in said(answer)


# ---- put in ----------------------------------------------------------------------------------------------


def test_the_office_puts_a_unit_in_and_its_panels_are_laid_out(client, office, opening, system):
    answer = put(client, opening, system, order_number="J-7", sill_length="8100", roller_spacing="1820", way="left")
    assert (answer.status_code, answer["Location"]) == (302, f"/openings/{opening.pk}/unit/")
    unit = Unit.objects.get()
    assert (unit.system, unit.order_number, unit.panel_count, unit.ways, unit.glass) == (
        system, "J-7", 3, "one-way", "8 and 8")
    assert [int(nm) // MM for nm in (unit.frame_width, unit.frame_height, unit.sill_length, unit.roller_spacing)] == [
        6000, 3000, 8100, 1820]
    assert (unit.panels.count(), int(unit.pocket_depth_needed)) == (3, 2100 * MM)
    assert Opening.objects.get().pocket_side == "left"
    assert "Kept; 3 panels are laid out." in text(client.get(answer["Location"]))


def test_it_is_put_in_without_panels_while_something_is_still_lacking(client, office, opening, system):
    assert put(client, opening, system, panels="", keep="1", pocket_depth_needed="2000").status_code == 302
    unit = Unit.objects.get()
    assert (unit.panel_count, int(unit.pocket_depth_needed), unit.panels.count()) == (None, 2000 * MM, 0)
    assert "Kept; no panels are laid out yet." in text(client.get(f"/openings/{opening.pk}/unit/"))


def test_sent_twice_it_is_one_unit(client, office, opening, system):
    first, second = put(client, opening, system), put(client, opening, system)
    assert (first.status_code, second.status_code, second["Location"]) == (302, 302, first["Location"])
    assert Unit.objects.count() == 1


def test_an_opening_that_has_one_keeps_it_and_what_was_typed_is_tried_on_that(client, office, opening, system):
    unit = make_unit(opening, panels="", system=system, panel_count=4, frame_width=6000 * MM, frame_height=3000 * MM)
    answer = put(client, opening, system, panels="5")
    assert (answer.status_code, Unit.objects.count(), unit.panels.count()) == (409, 1, 0)
    page = text(answer)
    assert "This opening has its unit already; an opening has one." in page
    assert re.search(r'name="panels" value="5"', page)
    assert f'action="/openings/{opening.pk}/unit/"' in page
    assert client.get(url(opening))["Location"] == f"/openings/{opening.pk}/unit/"


def test_put_in_by_somebody_else_in_the_same_moment_it_is_still_one(client, office, opening, system, monkeypatch):
    def second(act, opening_id, wished, **more):
        make_unit(opening, panels="", system=system, panel_count=4)
        return put_in(act, opening_id, wished, **more)

    monkeypatch.setattr(units, "put_in", second)
    answer = put(client, opening, system, keep="1")
    assert (answer.status_code, Unit.objects.get().panel_count) == (409, 4)
    assert re.search(r'name="panels" value="3"', text(answer))


@pytest.mark.parametrize(("typed", "status", "words"), [
    ({"panels": "2"}, 409, "The nearest that can be built: 3 panels, 2020.0 mm wide; tracks: 3."),
    ({"panels": "0"}, 422, "a whole number from 1 to 24"), ({"system": "999"}, 422, "one of those offered"),
    ({"system": "x"}, 422, "one of those offered"), ({"glass": "10 and 10"}, 422, "a glass of this door system"),
    ({"sill_length": "long"}, 422, "2451.1 mm"), ({"order_number": "9" * 61}, 422, "at most 60 letters"),
    ({"width": ""}, 422, "Not entered for this unit: frame width."),
    ({"way": "left", "opening_version": "0"}, 412, "changed by somebody else"),
])
def test_a_refusal_puts_nothing_in_and_what_was_typed_stays(client, office, opening, system, typed, status, words):
    answer = put(client, opening, system, **typed)
    assert (answer.status_code, Unit.objects.count(), Opening.objects.get().pocket_side) == (status, 0, "right")
    page = text(answer)
    assert words in said(answer)
    name, value = next(iter(typed.items()))
    assert f'name="{name}" value="{value}"' in page or f'value="{value}" selected' in page
    assert re.search(r'name="height" value="3000"', page)


def test_a_withdrawn_edition_is_refused_at_its_field_with_the_one_that_is_made(client, office, opening, system):
    old = make_system(code="harbour", name="Harbour", edition="1", withdrawn_on=dt.date(2020, 1, 1), **MADE)
    answer = put(client, opening, old)
    assert (answer.status_code, Unit.objects.count()) == (422, 0)
    assert re.search(r'id="f-system-error">Harbour, edition 1 was withdrawn on 2020-01-01; take edition 2<',
                     text(answer))


def test_one_withdrawn_while_the_page_lay_open_is_refused_as_well(client, office, opening, system):
    page = text(client.get(url(opening)))
    assert f'<option value="{system.pk}"' in page
    DoorSystem.objects.update(withdrawn_on=NOW.date() - dt.timedelta(days=1000))
    assert put(client, opening, system).status_code == 422


@pytest.mark.parametrize("typed", ["\x00", "9" * 300, "٣", "💥", "<i>x</i>"])
def test_nothing_typed_breaks_the_page_and_none_of_it_is_markup(client, office, opening, system, typed):
    for name in (*TYPED, "more_on", "sill_length", "system"):
        answer = put(client, opening, system, **{name: typed})
        assert (answer.status_code in (302, 422), "<i>x" in text(answer)) == (True, False), name
        Unit.objects.all().delete()


# ---- who, and how it is come to --------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_only_the_office_may(client, opening, system, role):
    person = make_user(role)
    give_work(opening, make_crew(person))
    client.force_login(person)
    assert client.get(url(opening)).status_code == put(client, opening, system).status_code == 403
    for page in (f"/openings/{opening.pk}/", f"/openings/{opening.pk}/unit/"):
        assert url(opening) not in text(client.get(page))


def test_an_opening_without_a_unit_leads_to_it(client, office, opening):
    for page in (f"/openings/{opening.pk}/", f"/openings/{opening.pk}/unit/"):
        assert url(opening) in text(client.get(page))
    unit = make_unit(make_opening())
    assert "Put a unit in" not in text(client.get(f"/openings/{unit.opening_id}/"))


def test_it_takes_as_many_queries_for_forty_systems_as_for_one(client, office, opening, system):
    one = queries(client, url(opening) + f"?system={system.pk}&width=6000&height=3000&panels=3")
    DoorSystem.objects.bulk_create([DoorSystem(code=f"s{n}", name=f"S {n}") for n in range(40)])
    assert queries(client, url(opening) + f"?system={system.pk}&width=6000&height=3000&panels=3") == one == 11
