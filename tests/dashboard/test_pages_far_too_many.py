"""The pages of an opening and of a call with far too many of everything: small all the same, and nothing is lost."""

import gzip
import re
from itertools import groupby

import pytest
from django.urls import reverse

from dashboard.opening.lists import AT_HAND, AT_ONCE, SHOWN, Lists
from inspections.models import Adjustment, Callback, Inspection, Photo, PunchItem, ReturnTrip, SetAsidePart
from inspections.services.afterwards import log_callback
from inspections.services.closing import raise_punch_item
from jobs.models import Event, Opening, Wait
from tests.site import reveal
from tests.visits import at, post, site_day, site_today, text

pytestmark = pytest.mark.django_db
FAR_TOO_MANY = 200


def an_opening_with(many):
    site = site_today()
    day = site_day(site)
    kept = {"by": site.lead, "taken_at": site.now, "opening": site.opening}
    made = [PunchItem(**kept, number=n, what=f"Scratch no. {n} on the lead stile", owner=site.lead, due_day=day,
                      place="sill", panel=site.panel("A")) for n in range(1, many + 1)]
    made += [Wait(**kept, what_for=f"Floor to be ground at line {n}", owed_by_kind="builder") for n in range(many)]
    made += [Photo(**kept, caption=f"Corner {n}", width=4, height=3, size=9) for n in range(many)]
    made += [SetAsidePart(**kept, what=f"Track cover {n}", where_kept="in the van") for n in range(many)]
    made += [Event(**kept, kind="other-trades", note=f"Tiles, day {n}") for n in range(many)]
    read = site.read("reveal", reveal(30), place="lock-jamb")
    made += [Inspection(**kept, kind=read.kind, place=read.place, result=read.result, given=read.given,
                        verdict=read.verdict) for n in range(many)]
    for kind, rows in groupby(made, type):
        kind.objects.bulk_create(rows)
    return site


def a_call_with(many):
    site = an_opening_with(many)
    Opening.objects.filter(pk=site.opening.pk).update(stage="accepted", called_back=True)
    call = log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="it drags")
    kept = {"by": site.lead, "taken_at": site.now, "opening": site.opening}
    ReturnTrip.objects.bulk_create(ReturnTrip(callback=call, day=site_day(site), crew=site.crew, bring="shims")
                                   for n in range(many))
    Adjustment.objects.bulk_create(Adjustment(**kept, what=f"rollers {n}", callback=call) for n in range(many))
    Callback.objects.bulk_create(Callback(opening=site.opening, number=f"CB-X{n}", called_at=site.now, severity="looks",
                                          symptom="a scratch", taken_by=site.office) for n in range(many))
    return site, call


def sizes(client, url):
    """As sent, and unpacked."""
    sent = client.get(url, headers={"accept-encoding": "gzip"}).content
    return len(sent), len(gzip.decompress(sent))


def open_items(many):
    site = site_today()
    for n in range(1, many + 1):
        raise_punch_item(site.act(), site.opening.pk, what=f"Scratch {n}", owner_id=site.lead.pk,
                         due_day=site_day(site))
    return site, list(PunchItem.objects.order_by("number"))


def forms(page, kind):
    return page.count(f"/{kind}/\" class=\"act\"")


def test_far_too_many_of_everything_makes_no_large_page(client):
    site, call = a_call_with(FAR_TOO_MANY)
    client.force_login(site.office)
    for url, most in ((reverse("callback", args=[call.pk]), 60_000), (at(site, "call"), 60_000), (at(site), 200_000)):
        sent, unpacked = sizes(client, url)
        assert (sent < 30_000, unpacked < most) == (True, True), (url, sent, unpacked)
    Opening.objects.filter(pk=site.opening.pk).update(stage="punch list", called_back=False)
    sent, unpacked = sizes(client, f"{at(site)}?all=1")  # every row, and accepting it subject to any of the items
    assert sent < 60_000 and unpacked < 700_000, (sent, unpacked)


def test_a_short_list_has_its_forms_at_hand_and_a_longer_one_links_to_the_one_asked_for(client):
    site, items = open_items(AT_HAND)
    client.force_login(site.office)
    assert forms(client.get(at(site)).content.decode(), "close-item") == AT_HAND
    raise_punch_item(site.act(), site.opening.pk, what="One more", owner_id=site.lead.pk, due_day=site_day(site))
    page = client.get(at(site)).content.decode()
    links = re.findall(r'href="([^"]+\?open=close-item-[^"]+)"', page)
    assert (forms(page, "close-item"), len(links)) == (0, AT_HAND + 1)
    asked, _hash, field = links[2].partition("#")
    page = client.get(asked).content.decode()
    assert forms(page, "close-item") == 1
    assert f'id="{field}"' in page and f'name="item" value="{items[2].pk}"' in page
    assert '<details class="fold" open><summary>Close it' in page


def test_a_refused_form_comes_back_at_its_row_however_far_down_that_is(client):
    site, items = open_items(SHOWN + 4)
    client.force_login(site.office)
    shown = text(client.get(at(site)))
    assert "Show 4 more" in shown and items[-1].what not in shown.partition('id="items"')[2].partition("</section>")[0]
    answer = post(client, site.office, at(site, "opening-close-item"), item=str(items[-1].pk), version="7",
                  how="polished at last")
    page = answer.content.decode()
    assert answer.status_code == 412
    assert forms(page, "close-item") == 1 and "polished at last" in page and items[-1].what in page


def test_the_rest_is_one_link_away_and_those_still_open_come_first(client):
    site, items = open_items(SHOWN + 4)
    PunchItem.objects.filter(pk__in=[i.pk for i in items[:3]]).update(closed_at=site.now, closed_how="polished",
                                                                    closed_by=site.lead)
    client.force_login(site.office)
    first = client.get(at(site)).context["o"].punch_items
    assert [row.item.number for row in first] == list(range(4, SHOWN + 4))
    every = client.get(f"{at(site)}?all=1")
    assert [row.item.number for row in every.context["o"].punch_items] == list(range(1, SHOWN + 5))
    assert f"?all=1&amp;open=close-item-{items[-1].pk}#" in every.content.decode()


def test_from_every_row_a_link_leads_back_to_the_first_ones_and_to_those_before(client):
    site, call = a_call_with(1)
    client.force_login(site.office)
    for address in (at(site, "call"), reverse("callback", args=[call.pk])):
        back, before = f'<a href="{address}">Their first rows only', f'<a href="{address}?all=1">The rows before'
        found = {asked: (back in page, before in page) for asked in ("", "?all=1", "?all=2")
                 for page in [client.get(address + asked).content.decode()]}
        assert found == {"": (False, False), "?all=1": (True, False), "?all=2": (True, True)}, address


def test_an_opening_s_index_unfolds_all_of_it_and_folds_it_again(client):
    site, _items = open_items(1)
    client.force_login(site.office)
    unfold, fold = '<a href="?all=1">Unfold all', f'<a href="{at(site)}">Fold again'
    first, every = (client.get(at(site) + asked).content.decode() for asked in ("", "?all=1"))
    assert (unfold in first, fold in first, unfold in every, fold in every) == (True, False, False, True)


def test_what_has_no_end_is_paged_where_every_row_is_asked_for():
    rows = list(range(2 * AT_ONCE + 50))
    first, middle, last, beyond = (Lists("/", all=n) for n in (1, 2, 3, 9))
    assert [lists.first(rows) for lists in (first, middle, last, beyond)] == [
        rows[:AT_ONCE], rows[AT_ONCE:2 * AT_ONCE], rows[2 * AT_ONCE:], rows[2 * AT_ONCE:]]
    assert [lists.more(len(rows), AT_ONCE) for lists in (first, middle, last)] == [AT_ONCE, 50, 0]
    assert (first.every_row, last.first(rows[:AT_ONCE])) == ("/?all=2", rows[:AT_ONCE]), "a shorter one is there whole"
    assert [lists.last(rows) for lists in (first, last)] == [rows[-AT_ONCE:], rows[:50]], "from its end"


def test_which_part_is_asked_for_whatever_was_sent(rf):
    sent = {"": 0, "all=1": 1, "all=3": 3, "all=0": 1, "all=-2": 1, "all=": 1, "all=" + "9" * 40: 1, "all=\u0663": 1}
    assert {one: Lists.asked(rf.get(f"/?{one}"), "/", ()).all for one in sent} == sent


def test_a_folded_part_in_which_a_form_is_asked_for_lies_open(client):
    site = an_opening_with(AT_HAND + 1)
    client.force_login(site.office)
    part = SetAsidePart.objects.first()
    for asked, lies_open in (("", False), (f"?open=put-back-{part.pk}", True), ("?open=nonsense", False)):
        assert client.get(at(site) + asked).context["o"].unfolded["parts"] is lies_open


def test_of_many_trips_each_leads_to_its_two_forms(client):
    site, call = a_call_with(AT_HAND + 1)
    client.force_login(site.office)
    address, trip = reverse("callback", args=[call.pk]), ReturnTrip.objects.last()
    page = client.get(address).content.decode()
    assert (forms(page, "change-trip"), forms(page, "trip-made")) == (0, 0)
    assert f"{address}?open=change-trip-{trip.pk}#change-trip-{trip.pk}-crew" in page
    asked = client.get(f"{address}?open=trip-made-{trip.pk}").content.decode()
    assert (forms(asked, "change-trip"), forms(asked, "trip-made")) == (0, 1)
    refused = post(client, site.office, f"{address}change-trip/", trip=str(trip.pk), version="1", day="soon")
    assert refused.status_code == 422 and forms(refused.content.decode(), "change-trip") == 1


def test_what_is_asked_of_a_page_that_came_back_refused_is_asked_of_the_page_itself(client):
    site, call = a_call_with(1)
    client.force_login(site.office)
    assert client.get(f"{at(site, 'opening-close-item')}?at=sill").url == f"{at(site)}?at=sill"
    address = reverse("callback", args=[call.pk])
    assert client.get(f"{address}change-trip/?all=1").url == f"{address}?all=1"
