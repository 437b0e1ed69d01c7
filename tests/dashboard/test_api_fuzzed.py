"""Requests made up from the API's own description: whatever they ask, the server does not break."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable

from tests.dashboard.world import World

pytestmark = pytest.mark.django_db
EACH = settings(max_examples=25, deadline=None, database=None, suppress_health_check=list(HealthCheck))


WRONG: list[Any] = [True, -1, 2**70, 1.5, "", "x" * 5000, [], {}, ["x"], [{"a": []}], {"a": {"b": 1}}, "9999-12-31",
                    "NaN"]


def test_no_field_of_any_request_breaks_the_server_whatever_stands_in_it(settings):
    """All fields of a body at once: each is read by itself."""
    settings.RATES = dict.fromkeys(settings.RATES, 10**9)
    world = World()
    client = world.client("office")
    client.raise_request_exception = False
    asked = list(bodies(client.get("/api/v1/schema/").json()))
    assert len(asked) > 70
    broken = []
    for (where, method, names), wrong in itertools.product(asked, WRONG):
        address = where.replace("{id}", str(world.ids["own"].get(where.split("/")[3], 1))).replace("{code}", "1")
        with transaction.atomic():
            said = getattr(client, method)(address, dict.fromkeys(names, wrong), HTTP_IF_MATCH='"1"')
            transaction.set_rollback(True)
        if said.status_code >= 500:
            broken.append((method, where, wrong, said.status_code))
    assert broken == []


def bodies(described: dict[str, Any]) -> Iterator[tuple[str, str, list[str]]]:
    """Each address that takes a body, and the names of its fields."""
    for where, methods in described["paths"].items():
        for method, operation in methods.items():
            sent = operation.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema", {})
            name = sent.get("$ref", "").rpartition("/")[2]
            fields = described["components"]["schemas"].get(name, sent).get("properties")
            if fields and method in ("post", "put", "patch"):
                yield where, method, list(fields)


@pytest.mark.long
def test_no_request_made_up_from_the_description_breaks_the_server(settings):
    settings.RATES = dict.fromkeys(settings.RATES, 10**9)
    client = World().client("office")
    described = schemathesis.openapi.from_dict(client.get("/api/v1/schema/").json())
    broken: list[str] = []
    for found in described.get_all_operations():
        operation = found.ok()

        @EACH
        @given(case=operation.as_strategy())
        def ask(case: Any) -> None:
            status = answered(client, case)
            if status >= 500:
                broken.append(f"{case.method} {case.formatted_path}: {status}")

        try:
            ask()
        except Unsatisfiable:  # a description that allows nothing, such as a file
            continue
    assert broken == []


def answered(client: Any, case: Any) -> int:
    """The status; what was done is undone."""
    sent = case.as_transport_kwargs(base_url="http://testserver")
    body = {"data": sent.get("json", sent.get("data")), "format": "json"} if case.method not in ("GET", "HEAD") else {
        "data": sent.get("params") or {}}
    headers = {f"HTTP_{name.upper().replace('-', '_')}": str(value) for name, value in sent["headers"].items()
               if name.lower() in ("if-match", "if-none-match", "idempotency-key")}
    with transaction.atomic():
        response = getattr(client, case.method.lower())(case.formatted_path, **body, **headers)
        transaction.set_rollback(True)
    return response.status_code
