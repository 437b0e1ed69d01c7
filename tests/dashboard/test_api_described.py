"""The API's description: OpenAPI 3.1 that validates, readable docs from this site alone."""

from __future__ import annotations

import re

import pytest
from drf_spectacular.drainage import GENERATOR_STATS
from drf_spectacular.generators import SchemaGenerator
from openapi_spec_validator import validate
from rest_framework.test import APIClient

from dashboard.api_urls import RESOURCES
from inspections.api.computed import INPUTS
from tests.factories import make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def client() -> APIClient:
    client = APIClient()
    client.force_login(make_user("guest"))
    return client


@pytest.fixture
def described(client) -> dict:
    return client.get("/api/v1/schema/").json()


def test_the_description_validates_and_is_3_1(described):
    assert described["openapi"].startswith("3.1.")
    validate(described)


def test_it_is_written_once_and_sent_again_only_when_it_changed(client, monkeypatch):
    first = client.get("/api/v1/schema/")
    monkeypatch.setattr(SchemaGenerator, "get_schema", lambda *_, **__: pytest.fail("written again"))
    assert client.get("/api/v1/schema/").content == first.content
    assert client.get("/api/v1/schema/", HTTP_IF_NONE_MATCH=first["ETag"]).status_code == 304


def test_nothing_in_it_is_guessed(capsys):
    GENERATOR_STATS.reset()
    SchemaGenerator().get_schema(public=True)
    assert "arning" not in capsys.readouterr().err
    assert not GENERATOR_STATS, "what could not be resolved was left out"


def test_every_resource_is_described(described):
    for name in RESOURCES:
        operation = described["paths"][f"/api/v1/{name}/"]["get"]
        assert {"cursor", "page_size", "ordering", "If-None-Match"} <= {p["name"] for p in operation["parameters"]}
        assert operation["description"]


def test_every_operation_says_that_it_may_answer_with_a_problem(described):
    for path, methods in described["paths"].items():
        for method, operation in methods.items():
            assert "application/problem+json" in operation["responses"]["default"]["content"], (method, path)


def test_office_records_ask_for_their_version(described):
    for method in ("put", "patch", "delete"):
        header = next(p for p in described["paths"]["/api/v1/openings/{id}/"][method]["parameters"]
                      if p["name"] == "If-Match")
        assert header["required"]


def test_a_length_is_described_as_text_or_number(described):
    field = described["components"]["schemas"]["Opening"]["properties"]["rough_width_mm"]
    assert {"type": "number"} in field["oneOf"]


def test_every_calculation_is_described_field_by_field_with_an_example_to_send(described):
    operation = described["paths"]["/api/v1/calculations/{id}/"]["post"]
    examples = operation["requestBody"]["content"]["application/json"]["examples"]
    assert {e["summary"]: e["value"] for e in examples.values()} == {i.says: i.example for i in INPUTS.values()}
    for name, inputs in INPUTS.items():
        assert f"**`{name}`**" in operation["description"]
        assert all(f"- `{field}`: {what}" in operation["description"] for field, what in inputs.fields.items())


def test_no_description_is_needed_by_strangers():
    assert APIClient().get("/api/v1/schema/").status_code == 401
    assert APIClient().get("/api/v1/docs/").status_code == 401


def test_the_docs_bring_nothing_from_elsewhere(client):
    page = client.get("/api/v1/docs/")
    text = page.content.decode()
    assert "swagger-ui-bundle.js" in text
    assert re.findall(r"(?:src|href)=\"(https?:)?//", text) == []
    assert "<script>" not in text


def test_only_the_docs_may_style_themselves(client):
    docs = client.get("/api/v1/docs/")["Content-Security-Policy"]
    others = client.get("/api/v1/openings/")["Content-Security-Policy"]
    assert "'unsafe-inline'" in docs
    assert "unsafe" not in others
    assert "script-src" not in docs or "unsafe" not in docs.split("script-src")[1].split(";")[0]


def test_the_root_lists_every_resource(client):
    root = client.get("/api/v1/").json()
    assert root.keys() == RESOURCES.keys()
    assert root["openings"].endswith("/api/v1/openings/")
