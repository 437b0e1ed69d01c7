"""The authorisation matrix, held against every address there is."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.urls import get_resolver
from django.urls.resolvers import URLPattern, URLResolver
from rest_framework.test import APIClient

from tests.dashboard.matrix import MATRIX, ROLES, bodies
from tests.dashboard.world import CODE, SIDES, World
from tests.factories import make_job, make_party

pytestmark = pytest.mark.django_db
UNSAFE = ("post", "put", "patch", "delete")
MARKS = {401: "?", 403: "n", 404: "-"}


def routes(patterns: list[Any] | None = None, within: str = "") -> Iterator[tuple[str, str, str]]:
    """(name, method, address) of everything under /api/."""
    for entry in get_resolver().url_patterns if patterns is None else patterns:
        here = within + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from routes(entry.url_patterns, here)
        elif isinstance(entry, URLPattern) and here.startswith("api/"):
            for method in methods_of(entry.callback):
                yield entry.name, method, here


def methods_of(view: Any) -> list[str]:
    actions = getattr(view, "actions", None)
    if actions is None:
        return ["GET"]
    allowed = view.cls.http_method_names
    return [method.upper() for method in actions if method in allowed and method not in ("head", "options")]


def test_every_route_has_its_row_and_every_row_its_route():
    found = {(name, method) for name, method, _ in routes()}
    assert found - MATRIX.keys() == set(), "these routes have no row"
    assert MATRIX.keys() - found == set(), "these rows have no route"


def address(world: World, name: str, side: str) -> str:
    kind = name.rsplit("-", 1)[0]
    fixed = {"api-root": "/api/v1/", "schema": "/api/v1/schema/", "docs": "/api/v1/docs/",
             "progress": "/api/v1/progress/", "progress-minutes": "/api/v1/progress/minutes/",
             "site-entries": "/api/v1/site-entries/", "office-settings": "/api/v1/office-settings/",
             "calculations-list": "/api/v1/calculations/", "calculations-detail": "/api/v1/calculations/lengths/"}
    if name in fixed:
        return fixed[name]
    if name.startswith("jobs-access-code"):
        base = f"/api/v1/jobs/{world.id(side, 'jobs')}/access-codes/"
        return base if name.endswith("codes") else f"{base}{world.id(side, 'access-codes')}/"
    if name.endswith("-list"):
        return f"/api/v1/{kind}/"
    if name.endswith("-detail"):
        return f"/api/v1/{kind}/{world.id(side, kind)}/"
    kind = next(k for k in sorted(world.ids[side], key=len, reverse=True) if name.startswith(f"{k}-"))
    return f"/api/v1/{kind}/{world.id(side, kind)}/{name.removeprefix(f'{kind}-')}/"


def asked(world: World, client: APIClient, name: str, method: str, side: str) -> str:
    """`y`, `n`, `-` or `?`; whatever was done is undone."""
    body = bodies(world.ids[side], world.now.date().isoformat()).get(name, {})
    how: dict[str, Any] = {"format": "json"}
    if (name, method) == ("photos-list", "POST"):
        body = {"opening": world.id(side, "openings"), "photo": SimpleUploadedFile("a.jpg", b"no picture")}
        how = {"format": "multipart"}
    with transaction.atomic():
        where = address(world, name, side)
        response = client.get(where) if method == "GET" else getattr(client, method.lower())(where, body, **how)
        transaction.set_rollback(True)
    assert response.status_code < 500, (name, method, side, response.content)
    if method == "GET" and name.endswith("-list") and response.status_code == 200 and name != "calculations-list":
        return "y" if str(world.id(side, name.removesuffix("-list"))) in ids_in(response.json()) else "-"
    if response.status_code == 403 and response.json()["code"] != "not-allowed":
        return "y"  # the role may; this gate is passed over by nobody
    return MARKS.get(response.status_code, "y")


def ids_in(page: Any) -> set[str]:
    return {str(row.get("id", row.get("position"))) for row in page["results"]}


@pytest.mark.parametrize("role", ROLES)
def test_each_role_gets_what_the_matrix_says_and_no_more(role):
    world = World()
    client = world.client(role)
    wrong = []
    for (name, method), who in MATRIX.items():
        own = asked(world, client, name, method, "own")
        same = address(world, name, "own") == address(world, name, "other") and method == "GET" and "-list" not in name
        got = own + (own if same else asked(world, client, name, method, "other"))
        if got != who[role]:
            wrong.append(f"{method} {name}: {got}, not {who[role]}")
    assert wrong == []


GONE = {int: 2**40, uuid.UUID: uuid.UUID(int=7)}


@pytest.mark.parametrize("role", ROLES)
def test_a_record_that_is_not_there_is_nobodys_and_nothing_is_done(role):
    """The matrix's third column, the same for every role: not there, or not in this role."""
    world = World()
    client = world.client(role)
    world.ids["none"] = {kind: GONE[uuid.UUID if len(str(key)) == 36 else int]
                         for kind, key in world.ids["own"].items()}
    of_one = [(name, method) for name, method in MATRIX
              if address(world, name, "none") != address(world, name, "own")]
    assert len(of_one) > 90
    got = {(name, method): asked(world, client, name, method, "none") for name, method in of_one}
    assert {route: said for route, said in got.items() if said not in "-n"} == {}
    assert {route for route, said in got.items() if said == "n"} <= {
        route for route, who in MATRIX.items() if "n" in who[role]}


def test_nobody_gets_anything_without_signing_in():
    world = World()
    client = world.client(None)
    let_in = [(name, method) for name, method in MATRIX if asked(world, client, name, method, "own") != "?"]
    assert let_in == [("tokens-list", "POST")]  # which asks for a name and password


# --- what is left out ----------------------------------------------------------------------------------------------

def everything_read(world: World, role: str) -> Iterator[tuple[str, str]]:
    """Each list and record of each side, as this role gets it."""
    client = world.client(role)
    for name, method in MATRIX:
        if method == "GET" and name not in ("schema", "docs", "jobs-access-code"):
            for side in SIDES:
                yield name, client.get(address(world, name, side)).content.decode(errors="replace")


CONTACTS = ("555-0101", "b@builder.example", "by the side gate", "1 Invented Way", "a private reason", "at nine")
MONEY = ("12345600", "contract_cents")


@pytest.mark.parametrize("role", ROLES)
def test_nobody_reads_codes_only_the_office_reads_money_and_a_guest_no_contacts(role):
    secrets = {"office": (CODE,), "guest": (CODE, *MONEY, *CONTACTS)}.get(role, (CODE, *MONEY))
    shown = [(name, secret) for name, text in everything_read(World(), role) for secret in secrets if secret in text]
    assert shown == []


@pytest.mark.parametrize("address", ["parties/?search=halfpenny", "jobs/?search=kittiwake"])
def test_a_guest_finds_nothing_by_what_a_guest_may_not_read(address):
    make_job(address="4 Kittiwake Lane", builder=make_party(contact="Corin Halfpenny"))
    world = World()
    counts = {role: len(world.client(role).get(f"/api/v1/{address}").json()["results"]) for role in ("office", "guest")}
    assert counts == {"office": 1, "guest": 0}


def test_a_crew_learns_of_nobody_by_naming_them_in_a_wait():
    world = World()
    lead, stranger, builder = world.client("lead"), world.id("other", "parties"), world.id("own", "parties")
    body = {"opening": world.id("own", "openings"), "what_for": "the floor", "owed_by_kind": "builder"}
    refused = lead.post("/api/v1/waits/", {**body, "owed_by": stranger})
    assert refused.status_code == 422
    assert "owed_by" in refused.json()["fields"]
    assert lead.get(f"/api/v1/parties/{stranger}/").status_code == 404
    assert lead.post("/api/v1/waits/", {**body, "owed_by": builder}).status_code == 201
    assert world.client("office").post("/api/v1/waits/", {**body, "owed_by": stranger}).status_code == 201
    assert lead.post("/api/v1/waits/", {**body, "owed_by": stranger}).status_code == 201  # the office named them here


def test_an_access_code_is_for_the_crew_on_the_day_only():
    world = World()
    job, code = world.id("own", "jobs"), world.id("own", "access-codes")
    lead = world.client("lead")
    response = lead.get(f"/api/v1/jobs/{job}/access-codes/{code}/")
    assert response.json()["code"] == CODE
    assert response["Cache-Control"] == "no-store"
    work = world.openings["own"].assignments.get()
    work.start_day = work.end_day = world.now.date().replace(year=2020)
    work.save()
    assert lead.get(f"/api/v1/jobs/{job}/access-codes/{code}/").status_code == 403
    assert lead.get(f"/api/v1/jobs/{job}/access-codes/").status_code == 403


def test_progress_shows_a_lead_their_own_crew():
    world = World()
    names = [crew["crew"] for crew in world.client("lead").get("/api/v1/progress/").json()["crews"]]
    assert names == [world.id("own", "crews")]
    assert len(world.client("office").get("/api/v1/progress/").json()["crews"]) == 2


def test_minutes_count_a_leads_own_openings_only():
    world = World()
    lines = world.client("lead").get("/api/v1/progress/minutes/?by=opening").json()["results"]
    assert [line["key"] for line in lines] == [str(world.id("own", "openings"))]
