"""Requests made up from the API's own description: whatever they ask, the server does not break."""

from __future__ import annotations

from typing import Any

import pytest
import schemathesis
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable

from tests.dashboard.world import World

pytestmark = [pytest.mark.long, pytest.mark.django_db]
EACH = settings(max_examples=25, deadline=None, database=None, suppress_health_check=list(HealthCheck))


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
