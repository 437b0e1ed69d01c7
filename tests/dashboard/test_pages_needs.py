"""What needs somebody, as a page: in words, worst first, each with the one act that deals with it."""

import datetime as dt
import re

import pytest
from django.utils import timezone

from dashboard import phrases
from inspections.calc.needs import KINDS, Level
from inspections.models import Callback, CorrectionReport
from inspections.services.builders_link import make_link
from inspections.services.closing import raise_punch_item, set_part_aside
from inspections.services.gates import pass_over
from inspections.services.needing.rows import DEALT_WITH_BY
from inspections.services.waits import raise_wait
from jobs.acts import Act
from jobs.calc import promise
from jobs.models import Delivery, Job, OfficeSettings, Opening, WorkStep
from jobs.stages import Stage
from tests.factories import give_work, make_job, make_opening, make_party, make_user
from tests.site import floor
from tests.visits import as_role, queries, site_day, site_today, text
from units.models import Part

pytestmark = pytest.mark.django_db
URL = "/needs-somebody/"
DAY, TODAY = dt.timedelta(days=1), timezone.now().date()


def lines(client, query=""):
    """Of each row: its id, its text, where its act leads."""
    shown = text(client.get(URL + query))
    rows = re.findall(r'<tr id="([^"]+)">(.*?)</tr>', shown)
    return [(key, re.sub(r"<[^>]+>", " ", row), re.search(r'class="act quiet" href="([^"]+)"', row)[1])
            for key, row in rows]


def overdue(site, what="Scratch", ago=2):
    return raise_punch_item(site.act(), site.opening.pk, what=what, owner_id=site.lead.pk,
                            due_day=site_day(site) - ago * DAY)


def one_of_every_kind():
    """Nearly: on two openings of one crew, in UTC."""
    site = site_today(Stage.OPENING_VERIFIED, tag="A1")
    passed = site_today(Stage.OPENING_VERIFIED, tag="B1")
    Job.objects.update(time_zone="UTC", promised_date=TODAY - 5 * DAY)
    site.read("floor-profile", floor([0, 0, 8] + [0] * 24))
    raise_wait(site.act(), site.opening.pk, what_for="power in the room", owed_by_kind="builder",
               expected_day=TODAY - 3 * DAY)
    overdue(site)
    site.advance(done_on_site=True)
    passed.evidence(Stage.FRAME_SET, without=("set-aside-listed",))
    pass_over(passed.act(), passed.opening.pk, "the list is in the van")
    set_part_aside(passed.act(), passed.opening.pk, what="Track cover", where_kept="in the van")
    link = make_link(passed.act(), passed.opening.pk)
    CorrectionReport.objects.create(link=link, note="Ground it.", at=timezone.now())
    supplier = make_party("supplier", name="Quillworks")
    crate = Delivery.objects.create(job=site.opening.job, what="Panels", supplier=supplier,
                                    expected_day=TODAY - DAY)
    crate.openings.add(site.opening)
    Part.objects.create(unit=site.unit, kind="sill", name="Sill, piece 2", looked_through=True)
    give_work(site.opening, site.crew, "frame set", start_day=TODAY, end_day=TODAY)
    idle = make_opening(site.opening.job, tag="C1")
    WorkStep.objects.filter(opening=idle, stage="opening verified").update(ready=True)
    sealed = site_today(Stage.PUNCH_LIST, tag="D1")
    part = set_part_aside(sealed.act(), sealed.opening.pk, what="Head block")
    type(part).objects.update(taken_at=timezone.now() - 9 * DAY)
    Opening.objects.update(stage_since=timezone.now() - 4 * DAY)
    Callback.objects.create(number="C-7", opening=sealed.opening, called_at=timezone.now(), taken_by=site.office,
                            severity="drags", symptom="it drags at the end")
    return site, passed


def test_each_line_says_what_where_since_when_who_why_and_leads_to_its_act(client):
    site, passed = one_of_every_kind()
    client.force_login(site.office)
    found = {key: (row, url) for key, row, url in lines(client)}
    here, there = f"/openings/{site.opening.pk}/", f"/openings/{passed.opening.pk}/"
    row, url = found[f"failed-{site.opening.pk}"]
    assert "The builder, not asked yet" in row and f"{site.crew.name} is there today." in row and "A1" in row
    assert url == f"{here}#gate"
    row, url = found[f"wait-{site.opening.pk}"]
    assert "power in the room" in row and "The builder" in row and url == f"{here}#waits"
    row, url = found[f"item-{site.opening.pk}"]
    assert "1. Scratch" in row and site.lead.name in row and "past its day." in row and url == f"{here}#items"
    row, url = found[f"kept-{site.opening.pk}"]
    assert "Done on site: frame set" in row and url == f"{here}#kept"
    row, url = found[f"countersignature-{passed.opening.pk}"]
    assert "the list is in the van" in row and url == f"{there}#stages"
    assert found[f"corrected-{passed.opening.pk}"][1] == f"{there}#builder"
    row, url = found[f"delivery-{site.opening.pk}"]
    assert "Quillworks" in row and url == f"/deliveries/{Delivery.objects.get().pk}/"
    row, url = found[f"short-{site.opening.pk}"]
    assert "Sill, piece 2" in row and url == f"/jobs/{site.opening.job_id}/deliveries/new/"
    assert found[f"unfit-{site.opening.pk}"][1] == f"{here}assign/"
    row, url = next(v for key, v in found.items() if key.startswith("unassigned"))
    assert "opening verified, 10 hours" in row and url.endswith("/assign/")
    row, url = next(v for key, v in found.items() if key.startswith("aside"))
    assert "Head block" in row and url.endswith("#parts")
    row, url = next(v for key, v in found.items() if key.startswith("callback"))
    assert "C-7: it drags at the end" in row and url == f"/callbacks/{Callback.objects.get().pk}/"
    row, url = next(v for key, v in found.items() if key.startswith("promise"))
    assert "as things stand" in row and url.startswith("/jobs/")
    assert {key.split("-")[0] for key in found} == set(KINDS)
    for _row, url in found.values():
        page, _, section = url.partition("#")
        answer = client.get(page)
        assert answer.status_code == 200 and f'id="{section}"'.replace('id=""', "<main") in answer.content.decode(), url


def test_nothing_needs_anybody_is_said_in_words_and_so_is_nothing_of_what_was_asked(client):
    client.force_login(make_user())
    assert "Nothing needs anybody:" in text(client.get(URL))
    assert "Nothing of this needs anybody." in text(client.get(URL + "?kind=wait"))
    client.force_login(make_user("lead"))
    assert "Nothing that is yours to deal with needs you." in text(client.get(URL))


def test_every_kind_and_level_has_its_words_and_somebody_who_deals_with_it():
    for table in (phrases.NEEDS, phrases.NEEDS_ONE, DEALT_WITH_BY):
        assert set(table) == set(KINDS)
    assert set(phrases.NEED_LEVELS) == set(Level)
    assert set(phrases.PROMISES) == {promise.LATE, promise.GIVEN_AFTER, promise.TOO_MUCH}


def test_many_of_the_same_at_one_opening_are_one_line(client):
    site = site_today()
    for n, ago in enumerate((2, 5, 3), start=1):
        overdue(site, f"Scratch {n}", ago)
    client.force_login(site.office)
    (row,) = [row for key, row, _url in lines(client, "?kind=item")]
    assert "2. Scratch 2" in row and "Also: 3. Scratch 3, and 1 more." in row


def test_it_is_asked_for_by_kind_job_and_crew_and_says_what_was_asked(client):
    site = site_today()
    overdue(site)
    client.force_login(site.office)
    number = site.opening.job.number
    assert len(lines(client, f"?kind=item&job={number}&crew={site.crew.pk}")) == 1
    shown = text(client.get(f"{URL}?kind=item&job={number}&crew={site.crew.pk}"))
    assert f'value="{number}"' in shown and '<option value="item" selected>' in shown
    assert lines(client, "?kind=item&job=none-such") == []
    for nonsense in ("?kind=x", "?crew=x", "?crew=99999999999999999999", "?from=-1", "?from=%00", "?job=%00%27"):
        assert client.get(URL + nonsense).status_code == 200


def test_of_far_too_many_the_worst_are_shown_and_the_others_counted(client, monkeypatch):
    monkeypatch.setattr("dashboard.views.needs.PAGE", 3)
    office = make_user()
    for n in range(5):
        opening = make_opening(make_job(time_zone="UTC"))
        raise_punch_item(Act.of(office, timezone.now()), opening.pk, what=f"thing {n}", owner_id=office.pk,
                         due_day=TODAY - (n + 1) * DAY)
    client.force_login(office)
    assert [row.split("thing ")[1][0] for _key, row, _url in lines(client, "?kind=item")] == ["4", "3", "2"]
    shown = text(client.get(URL + "?kind=item"))
    assert "5 things" in shown and 'href="?kind=item&from=3">And 2 more</a>' in shown
    assert [row.split("thing ")[1][0] for _key, row, _url in lines(client, "?kind=item&from=3")] == ["1", "0"]


def test_more_than_anybody_reads_is_said_to_be_more(client, monkeypatch):
    monkeypatch.setattr("inspections.services.needing.owed.MOST", 2)
    monkeypatch.setattr("inspections.services.needing.all.MOST", 2)
    site, other = site_today(), site_today()
    for one in (site, other, site):
        overdue(one)
    client.force_login(site.office)
    assert "2 and more" in text(client.get(URL + "?kind=item"))


def test_what_people_wrote_is_text_and_nothing_else(client):
    site = site_today()
    overdue(site, "<script>alert(1)</script>")
    client.force_login(site.office)
    shown = client.get(URL).content.decode()
    assert "<script>alert" not in shown and "&lt;script&gt;alert(1)" in shown


def test_asked_again_while_nothing_has_happened_it_sends_nothing(client):
    site = site_today()
    client.force_login(site.office)
    first = client.get(URL)
    assert f'data-mark="{first["ETag"]}"' in text(first)
    assert client.get(URL, headers={"If-None-Match": first["ETag"]}).status_code == 304
    assert client.get(URL + "?kind=item", headers={"If-None-Match": first["ETag"]}).status_code == 200
    overdue(site)
    assert client.get(URL, headers={"If-None-Match": first["ETag"]}).status_code == 200


def test_the_unchanged_answer_costs_few_queries(client, django_assert_max_num_queries):
    site = site_today()
    type(site.office).objects.filter(pk=site.office.pk).update(time_zone="America/Denver")
    client.force_login(site.office)
    mark = client.get(URL)["ETag"]
    with django_assert_max_num_queries(3):
        client.get(URL, headers={"If-None-Match": mark})


def test_somebody_with_nothing_to_deal_with_has_no_such_page(client):
    client.force_login(make_user("guest"))
    assert client.get(URL).status_code == 403


def test_crews_are_not_named_to_who_is_not_on_them(client):
    site, other = site_today(), site_today()
    client.force_login(site.lead)
    shown = text(client.get(URL))
    assert site.crew.name in shown and other.crew.name + "<" not in shown


def test_it_takes_as_many_queries_for_many_as_for_few(client):
    OfficeSettings.objects.create(pk=1, company="Marrow Bay Sliding Walls")
    office = make_user()
    client.force_login(office)

    def more(count):
        for _ in range(count):
            opening = make_opening(make_job(time_zone="UTC", promised_date=TODAY))
            act = Act.of(office, timezone.now())
            raise_punch_item(act, opening.pk, what="x", owner_id=office.pk, due_day=TODAY - DAY)
            raise_wait(act, opening.pk, what_for="x", owed_by_kind="owner", expected_day=TODAY - DAY)
    more(2)
    few = queries(client, URL)
    more(9)
    assert queries(client, URL) == few == 26


@pytest.mark.parametrize("role", ["lead", "installer", "customer-service"])
def test_each_finds_their_own_and_may_do_what_it_says(client, role):
    site = site_today()
    Opening.objects.update(called_back=True)
    person = as_role(site, role)
    raise_punch_item(site.act(site.office), site.opening.pk, what="theirs", owner_id=person.pk,
                     due_day=site_day(site) - 2 * DAY)
    client.force_login(person)
    ((_key, row, url),) = lines(client, "?kind=item")
    assert "theirs" in row
    assert "Close it" in text(client.get(url.partition("#")[0]))


def test_it_is_said_in_the_day_of_the_job(client):
    """Due on the third in Kiritimati it is overdue there while it is the third elsewhere."""
    office = make_user()
    there = timezone.now().astimezone(dt.timezone(dt.timedelta(hours=14))).date()
    for zone, ago in (("Pacific/Kiritimati", 0), ("Pacific/Kiritimati", 1)):
        opening = make_opening(make_job(time_zone=zone))
        raise_punch_item(Act.of(office, timezone.now()), opening.pk, what=f"{ago} days", owner_id=office.pk,
                         due_day=there - ago * DAY)
    client.force_login(office)
    assert [("0 days" in row, "1 days" in row) for _key, row, _url in lines(client, "?kind=item")] == [(False, True)]
