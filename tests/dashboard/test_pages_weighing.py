"""What the scale said of panels is typed on their unit's page, and stays beside what was computed."""

import re

import pytest

from tests.factories import MM, give_work, make_crew, make_opening, make_unit, make_user
from tests.visits import text
from units.models import Panel

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit():
    """181 and 182 kg as computed."""
    unit = make_unit(make_opening(), "AB")
    Panel.objects.update(width=1500 * MM, height=2600 * MM)
    return unit


def weigh(client, unit, person=None, versions=(), **typed):
    client.force_login(person or make_user("office", units="mm"))
    panels = {panel.letter: panel for panel in unit.panels.all()}
    return client.post(f"/openings/{unit.opening_id}/unit/", {
        "weigh": "1", **{f"version-{panel.pk}": dict(versions).get(letter, panel.version)
                         for letter, panel in panels.items()},
        **{f"weighed-{panels[letter].pk}": said for letter, said in typed.items()}})


def masses(unit):
    return dict(unit.panels.values_list("letter", "weighed_grams"))


@pytest.mark.parametrize(("units", "typed", "grams"), [
    ("mm", "190.5", 190_500), ("mm", "420 lb", 190_509), ("in", "420", 190_509), ("in", "190.5 kg", 190_500)])
def test_a_weight_is_read_as_people_write_it(client, unit, units, typed, grams):
    assert weigh(client, unit, make_user("office", units=units), A=typed).status_code == 302
    assert masses(unit) == {"A": grams, "B": None}


def test_both_are_kept_and_the_heavier_is_lifted(client, unit):
    answer = weigh(client, unit, A="190", B="150")
    page = " ".join(re.sub(r"<[^>]+>", " ", text(client.get(answer["Location"]))).split())
    assert "Kept: what the scale said." in page
    assert "A lead 1 1500.0 mm 2600.0 mm 1 – – 181 kg 190 kg 190 kg, as weighed" in page
    assert "B pocket 2 1500.0 mm 2600.0 mm 2 – – 182 kg 150 kg 182 kg, as computed" in page
    assert unit.opening.work_steps.get(stage="panels hung").lifting_grams == 190_000


def test_what_is_left_empty_is_taken_back_and_what_stands_is_not_rounded(client, unit):
    unit.panels.filter(letter="A").update(weighed_grams=190_001)
    office = make_user("office")
    client.force_login(office)
    stands = re.search(r'id="f-weighed-\d+" name="[^"]*" value="([^"]+)"', text(client.get(
        f"/openings/{unit.opening_id}/unit/")))[1]
    weigh(client, unit, office, A=stands, B="400")
    assert masses(unit) == {"A": 190_001, "B": 181_437}
    weigh(client, unit, office, A=stands, B="")
    assert masses(unit) == {"A": 190_001, "B": None}


@pytest.mark.parametrize(("typed", "right"), [
    ("15000", "at most 2000"), ("0", "more than 0"), ("-5", "420 lb"), ("heavy", "420 lb"), ("<b>", "420 lb"),
    ("1e9", "420 lb"), ("٣", "420 lb"), ("9" * 50, "420 lb")])
def test_what_no_panel_weighs_says_what_would_be_right_and_keeps_none_of_it(client, unit, typed, right):
    answer = weigh(client, unit, A=typed, B="190")
    page = text(answer)
    assert (answer.status_code, masses(unit)) == (422, {"A": None, "B": None})
    assert right in re.search(r'id="f-weighed-\d+-error">([^<]+)', page)[1]
    assert 'value="190"' in page
    assert "<b>\"" not in page


def test_of_two_at_once_the_second_is_told_and_what_was_typed_stays(client, unit):
    answer = weigh(client, unit, A="190", B="191", versions=[("B", 7)])
    assert (answer.status_code, masses(unit)) == (412, {"A": None, "B": None})
    assert 'value="190"' in text(answer)


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service", "guest"])
def test_only_the_office_may(client, unit, role):
    person = make_user(role)
    give_work(unit.opening, make_crew(person))
    assert weigh(client, unit, person, A="190").status_code == 403
    assert "On the scale" not in text(client.get(f"/openings/{unit.opening_id}/unit/"))


def test_a_unit_without_panels_has_nothing_to_weigh(client, unit):
    unit.panels.all().delete()
    assert weigh(client, unit).status_code == 302
    assert "On the scale" not in text(client.get(f"/openings/{unit.opening_id}/unit/"))
