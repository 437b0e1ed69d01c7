"""Two sets of readings of one opening, side by side."""

import datetime as dt

import pytest
from django.urls import reverse

from dashboard.measures import Reader
from dashboard.opening.compared import changed
from inspections.models import Inspection
from jobs.models.base import new_id
from tests.site import floor, force, frame, reveal
from tests.visits import as_role, at, queries, site_today, text

pytestmark = pytest.mark.django_db


def compared(client, person, site, a, b):
    client.force_login(person)
    answer = client.get(at(site, "compare"), {"a": getattr(a, "pk", a), "b": getattr(b, "pk", b)})
    assert answer.status_code == 200
    return answer


def test_a_floor_read_again_is_told_with_what_lies_between_and_how_each_was_judged(client):
    site = site_today()
    first = site.read("floor-profile", floor([0, 0, 4, 0, 0]))
    second = site.read("floor-profile", floor([0, 0, 1, 0, 0]))
    context = compared(client, site.office, site, second, first).context  # asked the other way round
    rise = next(row for row in context["judged"] if row.what == "Rise in a foot")
    assert (rise.before, rise.after, rise.between, rise.limit) == (
        '1/4", beyond, 3/16" over', '1/16", within, 0" in hand', '\u22123/16"', 'at most 1/16"')
    [outer, _inner] = [row for row in context["read"] if row.what.endswith("at 2' 0\"")]
    assert (outer.before, outer.after, outer.between) == ('1/4"', '1/16"', '\u22123/16"')
    assert [row.between for row in context["read"]].count("the same") == 8
    assert [headline for _one, _when, headline in context["times"]] == ["Not within its limits", "Within every limit"]


def test_what_stood_before_and_does_not_now_is_marked(client):
    site = site_today()
    first, second = site.read("floor-profile", floor([0] * 5)), site.read("floor-profile", floor([0, 0, 4, 0, 0]))
    assert "stood before" in text(compared(client, site.office, site, first, second))
    assert "stood before" not in text(compared(client, site.office, site, first, first))


def test_what_was_read_only_once_has_no_difference(client):
    site = site_today()
    first, second = site.read("floor-profile", floor([0] * 4)), site.read("floor-profile", floor([0] * 5))
    rows = compared(client, site.office, site, first, second).context["read"]
    assert {(row.before, row.between) for row in rows if row.before == "–"} == {("–", "")}


def test_forces_are_compared_in_the_readers_units(client):
    site = site_today()
    first = site.read("force", force(site.panels))
    sent = force(site.panels)
    sent["panels"][0] = {**sent["panels"][0], "opening": {"start": 75, "keep_moving": 50}}
    second = site.read("force", sent)
    rows = compared(client, site.office, site, first, second).context["read"]
    assert [row.between for row in rows if row.between != "the same"] == ["+1.1 lbf (5 N)"]


def test_only_readings_of_one_kind_and_place_are_compared(client):
    site = site_today()
    jamb, interlock = (site.read("reveal", reveal(), place=place) for place in ("lock-jamb", "interlock"))
    answer = compared(client, site.office, site, jamb, interlock)
    assert "are read in different ways" in text(answer)
    assert "read" not in answer.context


def test_without_two_it_offers_what_was_read_more_than_once(client):
    site = site_today()
    client.force_login(site.office)
    assert "Nothing was read more than once here." in text(client.get(at(site, "compare")))
    first, second = site.read("floor-profile", floor()), site.read("floor-profile", floor())
    for odd in ({}, {"a": "x", "b": "y"}, {"a": str(first.pk)}, {"a": str(new_id()), "b": str(second.pk)}):
        shown = client.get(at(site, "compare"), odd)
        assert f"?a={first.pk}&amp;b={second.pk}" in shown.content.decode(), odd


def test_readings_of_another_opening_are_not_there(client):
    site, other = site_today(), site_today()
    mine, theirs = site.read("floor-profile", floor()), other.read("floor-profile", floor())
    assert "times" not in compared(client, site.office, site, mine, theirs).context
    client.force_login(site.lead)
    assert client.get(reverse("compare", args=[other.opening.pk])).status_code == 404


def test_a_verdict_leads_to_the_comparison_with_the_one_before_it(client):
    site = site_today()
    first = site.read("floor-profile", floor())
    client.force_login(as_role(site, "guest"))
    assert "Compare it" not in text(client.get(at(site, "inspection", first.pk)))
    second = site.read("floor-profile", floor())
    shown = client.get(at(site, "inspection", second.pk)).content.decode()
    assert f'{at(site, "compare")}?a={first.pk}&amp;b={second.pk}' in shown


def test_of_the_first_it_leads_to_the_comparison_with_the_one_after_it(client):
    site = site_today()
    first, second = (site.read("floor-profile", floor()) for _ in range(2))
    client.force_login(site.lead)
    shown = client.get(at(site, "inspection", first.pk)).content.decode()
    assert f'{at(site, "compare")}?a={second.pk}&amp;b={first.pk}' in shown


def test_the_opening_leads_there_once_something_was_read_twice_on_whatever_occasion(client):
    site = site_today()
    client.force_login(site.lead)
    first = site.read("frame", frame(), occasion="frame-set")
    assert "Compare two readings" not in text(client.get(at(site)))
    site.read("frame", frame(), occasion="under-load")
    assert f'href="{at(site, "compare")}">Compare two readings' in text(client.get(at(site)))
    again = site.read("frame", frame(), occasion="frame-set")
    offered = client.get(at(site, "compare")).content.decode()
    assert f"?a={first.pk}&amp;b={again.pk}" in offered, "the one of the same occasion, since another may be read else"


def test_what_is_counted_in_a_hundred_differs_in_hundredths():
    assert changed(-6.2, "pct", Reader()) == "\u22126.2 %"
    assert changed(2.0, "days", Reader()) == "+2 days"


def test_those_compared_can_still_be_chosen_behind_a_hundred_later_ones(client):
    site = site_today()
    first, second = (site.read("floor-profile", floor()) for _ in range(2))
    Inspection.objects.bulk_create(Inspection(
        opening=site.opening, kind="floor-profile", by=site.lead, taken_at=site.now + dt.timedelta(minutes=n),
        given={}, verdict={"findings": []}, result="pass") for n in range(1, 130))
    context = compared(client, site.office, site, first, second).context
    assert {first.pk, second.pk} < {one.pk for one in context["choices"]}
    assert len(context["choices"]) == 102


def test_it_takes_as_many_queries_for_ten_stations_and_readings_as_for_twenty(client):
    site = site_today()
    client.force_login(site.office)

    def asked(stations):
        a, b = (site.read("floor-profile", floor([0] * stations)) for _ in range(2))
        return queries(client, at(site, "compare") + f"?a={a.pk}&b={b.pk}")

    assert asked(10) == asked(20) == 7
