"""Parts and custody on an opening's page: what is here, what is out, what that stops, who has the opening."""

import pytest

from inspections.services.custody import hand_over
from inspections.services.parts import make_parts, note_part_came
from jobs.models import Custody, Delivery
from tests.visits import at, post, queries, site_today, text
from units.models import PartArrival, Unit

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    """One delivery that brings all the parts of a unit."""
    site = site_today(tag="L2")
    Unit.objects.filter(pk=site.unit.pk).update(frame_width=3_600_000_000, frame_height=2_400_000_000)
    make_parts(site.act(site.office), site.unit.pk, version=1)
    crate = Delivery.objects.create(job=site.opening.job, what="Two crates")
    crate.openings.add(site.opening)
    site.unit.parts.update(delivery=crate)
    return site


def came(site, name, **counts):
    return note_part_came(site.act(), site.unit.parts.get(name=name).pk, **counts)


def opening_page(client, site, person=None):
    client.force_login(person or site.office)
    return text(client.get(at(site)))


def row(page, name):
    return page.split(f'<th scope="row">{name}</th>')[1].split("</tr>")[0]


# ---- parts -----------------------------------------------------------------------------------------------


def test_each_part_says_what_came_of_it_with_which_delivery_and_what_is_still_out(client, site):
    came(site, "Sill", short=1, note="The crate was open.")
    came(site, "Head", whole=1)
    came(site, "Panel A", damaged=1, note="A corner is chipped.")
    page = opening_page(client, site)
    assert "<b>short</b>" in row(page, "Sill") and "with: Two crates. The crate was open." in row(page, "Sill")
    assert "here, whole" in row(page, "Head") and "1 whole" in row(page, "Head")
    assert "<b>damaged</b>" in row(page, "Panel A")
    assert "<b>not here yet</b>" in row(page, "Panel B") and "Two crates" in row(page, "Panel B")


def test_what_a_short_delivery_stops_is_said_and_lies_open(client, site):
    came(site, "Sill", short=1)
    page = opening_page(client, site)
    assert "Frame set cannot begin. Material missing: Sill" in page
    assert client.get(at(site)).context["o"].unfolded["material"]


def test_a_part_that_came_is_recorded_from_the_page_as_the_one_record_it_is(client, site):
    sill = site.unit.parts.get(kind="sill")
    assert f"?open=part-came-{sill.pk}#" in opening_page(client, site, site.lead)
    assert at(site, "opening-part-came") in text(client.get(f"{at(site)}?open=part-came-{sill.pk}"))
    answer = post(client, site.lead, at(site, "opening-part-came"), part=sill.pk, damaged="1", note="bent")
    assert answer.url == at(site) + "#material"
    assert PartArrival.objects.values_list("part", "whole", "damaged", "note").get() == (sill.pk, 0, 1, "bent")


def test_nothing_said_of_what_came_is_told_at_the_field(client, site):
    answer = post(client, site.lead, at(site, "opening-part-came"), part=site.unit.parts.get(kind="sill").pk)
    assert answer.status_code == 422
    assert "one or more of whole, short and damaged" in text(answer)


def test_a_part_of_another_opening_is_none_of_this_one(client, site):
    other = site_today(tag="L3")
    sill = site.unit.parts.get(kind="sill")
    assert post(client, other.lead, at(other, "opening-part-came"), part=sill.pk, whole="1").status_code == 422
    assert not PartArrival.objects.exists()


def test_parts_are_listed_by_the_office_from_the_unit_as_it_was_read(client, site):
    assert at(site, "opening-list-parts") not in opening_page(client, site, site.lead)
    unit, url = Unit.objects.get(pk=site.unit.pk), at(site, "opening-list-parts")
    assert url in opening_page(client, site)
    assert post(client, site.office, url, unit=unit.pk, version=unit.version - 1).status_code == 302, "they are listed"
    unit.parts.filter(by_hand=False, kind="sill").delete()
    assert post(client, site.office, url, unit=unit.pk, version=unit.version - 1).status_code == 412
    assert post(client, site.office, url, unit=unit.pk, version=unit.version).status_code == 302


def test_twice_the_parts_take_as_many_queries(client, site):
    client.force_login(site.office)
    for part in list(site.unit.parts.all())[:2]:
        came(site, part.name, short=1)
    few = queries(client, at(site))
    for part in site.unit.parts.all():
        came(site, part.name, short=1)
        hand_over(site.act(), site.opening.pk, holder="owner", condition="Swept.")
    assert queries(client, at(site)) == few


# ---- custody ---------------------------------------------------------------------------------------------


def test_who_has_it_stands_first_with_the_condition_at_each_change(client, site):
    hand_over(site.act(), site.opening.pk, holder="crew", condition="Framed and swept.")
    hand_over(site.act(), site.opening.pk, holder="owner", who="the housekeeper", condition="Washed.")
    page = opening_page(client, site)
    custody = page.split('id="custody"')[1].split("</ul>")[0]
    assert custody.index("The owner: the housekeeper") < custody.index("has it now") < custody.index("Our crew: ")
    assert "Framed and swept." in custody and "Washed." in custody


def test_it_is_handed_over_from_the_page(client, site):
    answer = post(client, site.lead, at(site, "opening-hand-over"), holder="other-trades", who="painters",
                  condition="Film on the glass.")
    assert answer.url == at(site) + "#custody"
    assert Custody.objects.values_list("holder", "who", "condition").get() == (
        "other-trades", "painters", "Film on the glass.")
    assert "What was read before it is to be read again." in text(client.get(at(site)))


# ---- the pocket wall -------------------------------------------------------------------------------------


def wall_form(client, site):
    client.force_login(site.lead)
    return client.get(at(site)).context["o"].countersign_wall


def test_a_wall_nobody_read_is_not_offered_to_be_countersigned(client, site):
    assert wall_form(client, site) is None
    assert "How deep anything may be fixed is not known yet" in opening_page(client, site)


def test_who_saw_the_wall_stands_on_the_page_until_the_figures_are_others(client, site):
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"})
    form = wall_form(client, site)
    answer = post(client, site.lead, at(site, "opening-wall"), who="Pat Lund", trade="drywall",
                  seen=form["seen"].value())
    assert answer.url == at(site) + "#wall"
    page = opening_page(client, site)
    assert "Countersigned by Pat Lund, drywall, on " in page and "No longer counts" not in page
    assert 'No fastener longer than 1 7/8"' in page
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "2 1/2"})
    page = opening_page(client, site)
    assert "countersigned on other figures" in page and "No longer counts: the figures are others now." in page
    assert 'They saw: No fastener longer than 1 7/8"' in page


def test_figures_read_since_the_page_was_shown_are_shown_before_anybody_signs(client, site):
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"})
    form = wall_form(client, site)
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "2 1/2"})
    answer = post(client, site.lead, at(site, "opening-wall"), who="Pat Lund", trade="drywall",
                  seen=form["seen"].value())
    assert answer.status_code == 409 and "The figures of this wall are others now." in text(answer)
