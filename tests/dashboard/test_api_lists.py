"""Lists: pages by key, filters, orderings, the same number of queries however many rows."""

from __future__ import annotations

import base64
import datetime as dt

import orjson
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from dashboard.api_urls import RESOURCES
from jobs.models import Delivery, Equipment, Job, Opening, Wait
from tests.dashboard.world import World
from tests.factories import NOW, give_work, make_crew, make_job, make_opening, make_party, make_unit, make_user

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def office() -> APIClient:
    client = APIClient()
    client.force_authenticate(make_user("office"))
    return client


def walked(client: APIClient, where: str, way: str = "next") -> list[list[dict]]:
    pages = []
    while where:
        page = client.get(where).json()
        pages.append(page["results"])
        where = page[way]
    return pages


def ids(pages: list[list[dict]]) -> list[int]:
    return [row["id"] for page in pages for row in page]


# --- pages ----------------------------------------------------------------------------------------------------------

@pytest.fixture
def some_openings() -> list[int]:
    job, other = make_job(number="J-B"), make_job(number="J-A")
    made = [make_opening(job if n % 2 else other, tag=f"T{n % 4}-{n:02}") for n in range(11)]
    for n, opening in enumerate(made):
        Opening.objects.filter(pk=opening.pk).update(stage_since=NOW + dt.timedelta(hours=n // 3))
    return [opening.pk for opening in made]


@pytest.mark.parametrize("ordering", ["id", "-id", "tag", "-tag", "stage_since", "-stage_since", "job", "-job"])
@pytest.mark.parametrize("size", [1, 3, 4, 11, 50])
def test_every_row_comes_once_in_its_order(office, some_openings, ordering, size):
    names = {"id": ["pk"], "tag": ["tag", "pk"], "stage_since": ["stage_since", "pk"],
             "job": ["job__number", "tag", "pk"]}
    sign = "-" if ordering.startswith("-") else ""
    expected = Opening.objects.order_by(*(sign + name for name in names[ordering.removeprefix("-")]))
    pages = walked(office, f"/api/v1/openings/?ordering={ordering}&page_size={size}")
    assert ids(pages) == [opening.pk for opening in expected]
    assert all(len(page) == size for page in pages[:-1])


def test_the_way_back_shows_the_same_pages(office, some_openings):
    where, pages = "/api/v1/openings/?ordering=-job&page_size=4", []
    while where:
        last = office.get(where).json()
        pages.append(last["results"])
        where = last["next"]
    back = walked(office, last["previous"], "previous")
    assert [last["results"], *back] == pages[::-1]


def test_rows_without_a_value_come_last_either_way_and_none_is_skipped(office):
    job = make_job()
    days = [None, NOW.date(), None, NOW.date() - dt.timedelta(days=1), NOW.date(), None]
    made = [Delivery.objects.create(job=job, what="glass", expected_day=day).pk for day in days]
    for ordering, first in (("expected_day", made[3]), ("-expected_day", made[4])):
        for size in (1, 2, 5):
            pages = walked(office, f"/api/v1/deliveries/?ordering={ordering}&page_size={size}")
            assert sorted(ids(pages)) == sorted(made)
            assert ids(pages)[0] == first
            assert set(ids(pages)[3:]) == {made[0], made[2], made[5]}
    end = office.get("/api/v1/deliveries/?ordering=expected_day&page_size=4").json()["next"]
    assert ids(walked(office, office.get(end).json()["previous"], "previous")) == ids(
        walked(office, "/api/v1/deliveries/?ordering=expected_day&page_size=4"))[:4]


def test_a_row_that_comes_in_between_moves_no_page(office):
    for n in range(4):
        make_party(name=f"P{n}")
    first = office.get("/api/v1/parties/?ordering=name&page_size=2").json()
    make_party(name="P0-a")
    second = office.get(first["next"]).json()
    assert [row["name"] for row in second["results"]] == ["P2", "P3"]


def test_a_cursor_is_read_as_its_columns_own_kind(office):
    def cursor(*values: object) -> str:
        return base64.urlsafe_b64encode(orjson.dumps(values)).decode()

    for bad in (cursor("id", 0, "1 OR 1=1"), cursor("id", 0, {"a": 1}), cursor("id", 2, 1), cursor("id", 0),
                cursor("id", 0, None), cursor("tag", 0, "A", 1), cursor("id", 0, 1, 2)):
        assert office.get(f"/api/v1/openings/?cursor={bad}").status_code == 400
    for fine in (cursor("id", 0, 0), cursor("id", 0, "5")):
        assert office.get(f"/api/v1/openings/?cursor={fine}").status_code == 200
    for time in ("9999-12-31T23:59:59-14:00", "0001-01-01T00:00:00+14:00", "2026-01-01", 5):
        bad = cursor("stage_since", 0, time, 1)
        assert office.get(f"/api/v1/openings/?ordering=stage_since&cursor={bad}").status_code == 400


# --- filters --------------------------------------------------------------------------------------------------------

def found(client: APIClient, where: str) -> list[int]:
    response = client.get(f"/api/v1/{where}")
    assert response.status_code == 200, response.content
    return [row["id"] for row in response.json()["results"]]


def test_openings_are_found_by_what_people_look_for(office):
    crew = make_crew()
    house = make_opening(make_job(number="J-77", title="Hillside house"), tag="W1", location="Living room")
    barn = make_opening(make_job(number="J-78", title="Barn"), tag="N2")
    give_work(house, crew)
    give_work(house, crew, stage="frame set")
    Opening.objects.filter(pk=barn.pk).update(stage="accepted", called_back=True)
    Wait.objects.create(opening=house, what_for="the floor", owed_by_kind="builder", by=make_user(), taken_at=NOW)
    for query, expected in {
        f"job={house.job_id}": house, "stage=accepted": barn, "tag=N2": barn, f"crew={crew.pk}": house,
        "called_back=true": barn, "called_back=false": house, "active=true": house, "active=false": barn,
        "waiting=true": house, "waiting=false": barn, "search=hillside": house, "search=living W1": house,
        "search=j-78": barn, f"stage_since_before={NOW:%Y}-01-01T00:00:00Z&tag=W1": None,
    }.items():
        assert found(office, f"openings/?{query}") == ([] if expected is None else [expected.pk]), query


def test_the_office_finds_what_belongs_to_a_crew_a_caller_or_a_day(office):
    world = World()
    crew, home = world.id("own", "crews"), world.id("own", "openings")
    job = world.openings["own"].job
    owner = make_party("owner", name="Wilhelmina Oarweather")
    Job.objects.filter(pk=job.pk).update(owner=owner, address="14 Invented Quay")
    other = world.openings["other"]
    Opening.objects.filter(pk=other.pk).update(stage="accepted")
    equipment = Equipment.objects.create(name="Lifter", kind="vacuum lifter", inspected_until=NOW.date())
    work = world.openings["own"].assignments.get()
    work.equipment.add(equipment)
    for query, expected in {
        f"jobs/?crew={crew}": job.pk, "jobs/?active=true": job.pk, "jobs/?active=false": other.job_id,
        "openings/?search=oarweather": home, "openings/?search=invented quay": home,
        "units/?search=oarweather": world.id("own", "units"), "units/?search=quay": world.id("own", "units"),
        f"waits/?crew={crew}": world.id("own", "waits"), f"waits/?search={job.number}": world.id("own", "waits"),
        f"assignments/?equipment={equipment.pk}": work.pk, f"assignments/?job={job.pk}&stage={work.work_step.stage}":
        work.pk, f"equipment/?inspected_before={NOW.date() + dt.timedelta(days=1)}": equipment.pk,
        f"deliveries/?search={job.number}": world.id("own", "deliveries"),
        f"time-reports/?job={job.pk}": world.id("own", "time-reports"),
        f"panel-changes/?job={job.pk}&settled=false": world.id("own", "panel-changes"),
        "panel-changes/?settled=true": None, f"reminders/?opening={home}": world.id("own", "reminders"),
    }.items():
        assert [str(pk) for pk in found(office, query)] == ([] if expected is None else [str(expected)]), query


def test_a_guest_finds_no_opening_and_no_unit_by_its_address():
    world = World()
    Job.objects.filter(pk=world.openings["own"].job_id).update(address="14 Invented Quay")
    for kind in ("openings", "units", "jobs"):
        assert len(found(world.client("office"), f"{kind}/?search=quay")) == 1
        assert found(world.client("guest"), f"{kind}/?search=quay") == []


def test_a_lead_filters_among_their_own_only():
    world = World()
    lead = world.client("lead")
    other = world.openings["other"]
    assert found(lead, f"openings/?job={other.job_id}") == []
    assert found(lead, "openings/?search=other") == []
    assert found(lead, f"jobs/?search={other.job.number}") == []


def test_waits_and_items_that_are_open_are_found(office):
    world = World()
    for name, field in (("waits", "open"), ("punch-items", "open"), ("callbacks", "open"), ("set-aside-parts", "away"),
                        ("hold-points", "standing")):
        assert len(found(office, f"{name}/?{field}=true")) == 2
        assert found(office, f"{name}/?{field}=false") == []
    assert found(office, f"waits/?opening={world.id('own', 'openings')}") == [str(world.id("own", "waits"))]


def test_what_was_recorded_and_not_advanced_is_found_until_it_is_settled(office):
    world = World()
    waiting = found(office, "stage-changes/?advanced=false&settled=false")
    assert sorted(waiting) == sorted(str(world.id(side, "kept")) for side in ("own", "other"))


# --- what is read ---------------------------------------------------------------------------------------------------

def test_a_list_shows_a_record_as_the_record_shows_itself():
    world = World()
    for role in ("office", "guest"):
        client = world.client(role)
        for name, resource in RESOURCES.items():
            listed = client.get(f"/api/v1/{name}/")
            if listed.status_code == 403 or name == "reminders":
                continue
            row = next((r for r in listed.json()["results"]
                        if str(r.get("id", r.get("position"))) == str(world.id("own", name))), None)
            if row is not None:
                whole = client.get(f"/api/v1/{name}/{world.id('own', name)}/").json()
                assert row == {key: whole[key] for key in row}, name
                assert resource.listed or row.keys() == whole.keys(), name


def test_times_are_in_utc_and_days_are_days(office):
    opening = make_opening()
    Opening.objects.filter(pk=opening.pk).update(stage_since=NOW)
    assert office.get(f"/api/v1/openings/{opening.pk}/").json()["stage_since"] == "2026-03-10T15:00:00Z"
    job = make_job(promised_date=NOW.date())
    assert office.get(f"/api/v1/jobs/{job.pk}/").json()["promised_date"] == "2026-03-10"


def test_a_job_counts_its_openings_by_stage(office):
    job = make_job()
    for _ in range(3):
        make_opening(job)
    Opening.objects.filter(pk=job.openings.first().pk).update(stage="frame set")
    assert office.get(f"/api/v1/jobs/{job.pk}/").json()["openings_by_stage"] == {"to be measured": 2, "frame set": 1}


def test_the_feed_is_resumed_where_it_was_left(office):
    for n in range(5):
        office.post("/api/v1/parties/", {"kind": "builder", "name": f"B{n}"})
    first = office.get("/api/v1/changes/?page_size=3").json()["results"]
    rest = office.get(f"/api/v1/changes/?since={first[-1]['position']}").json()["results"]
    positions = [line["position"] for line in (*first, *rest)]
    assert positions == list(range(positions[0], positions[0] + 5))
    assert first[0]["what"] == "party made"


# --- how many queries -----------------------------------------------------------------------------------------------

QUERIES = {  # of a list, signed in as the office: the mark and the page; then what rows of another table belong to it
    "jobs": 3, "deliveries": 5, "acceptances": 3, "assignments": 13, "reminders": 4, "photos": 3,
    "wall-agreements": 3,  # whether it still counts
}


def count(client: APIClient, where: str) -> int:
    with CaptureQueriesContext(connection) as seen:
        response = client.get(where)
    assert response.status_code == 200
    return len(seen)


def test_a_list_takes_the_same_queries_for_ten_rows_and_for_twenty(office):
    for _ in range(5):
        World()
    ten = {name: count(office, f"/api/v1/{name}/") for name in RESOURCES}
    rows = {name: len(office.get(f"/api/v1/{name}/").json()["results"]) for name in RESOURCES}
    for _ in range(5):
        World()
    twenty = {name: count(office, f"/api/v1/{name}/") for name in RESOURCES}
    assert ten == twenty == {name: QUERIES.get(name, 2) for name in RESOURCES}
    assert rows["openings"] >= 10
    assert rows["punch-items"] >= 10


def test_a_list_takes_the_same_queries_for_a_lead_of_many():
    lead = make_user("lead")
    crew = make_crew(lead)
    client = APIClient()
    client.force_authenticate(lead)
    seen = []
    for _ in range(2):
        for _ in range(10):
            opening = make_opening()
            make_unit(opening)
            give_work(opening, crew)
        seen.append([count(client, f"/api/v1/{name}/") for name in ("openings", "panels", "jobs", "changes")])
    assert seen[0] == seen[1] == [4, 4, 5, 4]
