"""The list of punch items: whose, by when; closing one."""

import datetime as dt

import pytest
from django.urls import reverse

from inspections.models import PunchItem
from inspections.services.closing import close_punch_item, raise_punch_item
from jobs.models.base import new_id
from tests.factories import make_user
from tests.visits import as_role, post, queries, site_today, text

pytestmark = pytest.mark.django_db
LIST = "/punch-items/"


def item(site, what="Scratch on the cover", owner=None, days=3):
    return raise_punch_item(site.act(), site.opening.pk, what=what, owner_id=(owner or site.lead).pk,
                            due_day=dt.date.today() + dt.timedelta(days=days))


def shown(client, person, **asked):
    client.force_login(person)
    answer = client.get(LIST, asked)
    assert answer.status_code == 200
    return [row.item.what for row in answer.context["rows"]]


def close(client, person, made, **data):
    return post(client, person, reverse("close-punch-item", args=[made.pk]), **{
        "version": str(made.version), "how": "polished out", **data})


def test_without_items_it_says_so(client):
    client.force_login(make_user())
    assert "No such items." in text(client.get(LIST))


def test_items_stand_by_their_day_with_whose_they_are(client):
    site = site_today()
    item(site, "later", days=5)
    item(site, "sooner", days=-1)
    assert shown(client, site.office) == ["sooner", "later"]
    page = text(client.get(LIST))
    assert site.lead.name in page
    assert "overdue" in page


def test_they_are_found_by_whose_by_what_is_overdue_by_job_and_by_closed(client):
    site, other = site_today(), site_today()
    item(site, "theirs", days=-2)
    item(other, "elsewhere")
    done = item(site, "done")
    close_punch_item(site.act(), done.pk, how="polished out")
    assert shown(client, site.lead, owner="me") == ["theirs"]
    assert shown(client, site.office, owner=str(other.lead.pk)) == ["elsewhere"]
    assert shown(client, site.office, state="overdue") == ["theirs"]
    assert shown(client, site.office, job=other.opening.job.number) == ["elsewhere"]
    assert shown(client, site.office, state="closed") == ["done"]


@pytest.mark.parametrize("asked", [{"owner": "x"}, {"owner": "9" * 50}, {"state": "odd"}, {"after": "2026-02-31~x"},
                                   {"job": "\x00"}, {"owner": "²"}])
def test_what_cannot_be_asked_is_as_if_it_were_not(client, asked):
    site = site_today()
    item(site)
    assert shown(client, site.office, **asked) == ["Scratch on the cover"]


def test_a_long_list_goes_on_where_it_stopped(client):
    site = site_today()
    for n in range(55):
        item(site, f"{n}")
    client.force_login(site.office)
    first = client.get(LIST).context
    assert len(first["rows"]) == 50
    rest = client.get(LIST, {"after": first["more"]}).context
    assert ([r.item.what for r in rest["rows"]], rest["more"]) == (["50", "51", "52", "53", "54"], "")


def test_a_crew_sees_its_own_openings_items(client):
    site, other = site_today(), site_today()
    item(other)
    assert shown(client, site.lead) == []


MAY = {"office": True, "lead": True, "installer": False, "customer-service": False, "guest": False}


@pytest.mark.parametrize("role", MAY)
def test_who_may_close_an_item_that_is_not_theirs(client, role):
    site = site_today()
    made, person = item(site), as_role(site, role)
    client.force_login(person)
    assert (f"/punch-items/{made.pk}/close/" in text(client.get(LIST))) == MAY[role]
    answer = close(client, person, made)
    made.refresh_from_db()
    assert (answer.status_code, made.closed_at is not None) == ((302, True) if MAY[role] else (403, False))


def test_an_installer_closes_their_own(client):
    site = site_today()
    person = as_role(site, "installer")
    made = item(site, owner=person)
    assert close(client, person, made).status_code == 302


def test_closing_twice_closes_once_and_leads_back_to_the_same_list(client):
    site = site_today()
    made = item(site)
    client.force_login(site.office)
    url = reverse("close-punch-item", args=[made.pk]) + "?owner=me&state=overdue"
    data = {"entry": str(new_id()), "version": "1", "how": "polished out"}
    assert [client.post(url, data).url for _ in range(2)] == ["/punch-items/?owner=me&state=overdue"] * 2
    assert PunchItem.objects.get().version == 2


def test_a_refused_closing_keeps_what_was_typed_at_its_row(client):
    site = site_today()
    made = item(site)
    answer = close(client, site.office, made, version="9")
    assert answer.status_code == 412
    assert 'value="polished out"' in text(answer)
    assert close(client, site.office, made, how=" ").status_code == 422


def test_who_was_slower_than_another_keeps_what_they_wrote_though_the_row_is_gone(client):
    site = site_today()
    made = item(site)
    assert close(client, site.office, made).status_code == 302
    answer = close(client, site.lead, made, how="ground off with a block")
    assert (answer.status_code, "ground off with a block" in text(answer)) == (412, True)


def test_an_item_changed_meanwhile_is_closed_by_who_has_read_it_again(client):
    site = site_today()
    made = item(site)
    answer = close(client, site.office, made, version="9")
    assert next(row.close["version"].value() for row in answer.context["rows"]) == "1"


def test_an_item_of_others_is_not_there(client):
    site, other = site_today(), site_today()
    assert close(client, site.lead, item(other)).status_code == 404
    client.force_login(site.lead)
    assert client.post(reverse("close-punch-item", args=[new_id()])).status_code == 404


@pytest.mark.parametrize("role", ["office", "lead"])
def test_it_takes_as_many_queries_for_ten_items_as_for_twenty(client, role):
    site = site_today()
    client.force_login(as_role(site, role))
    for n in range(10):
        item(site, f"{n}")
    ten = queries(client, LIST)
    for n in range(10):
        item(site, f"{n + 10}")
    assert queries(client, LIST) == ten == {"office": 5, "lead": 6}[role]
