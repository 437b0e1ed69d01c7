"""What travels to a telephone is packed; what the API sends keeps its mark."""

import gzip

import brotli
import pytest
from django.urls import reverse

from jobs.models import AccessToken
from jobs.stages import Stage
from tests.visits import at, site_today

pytestmark = pytest.mark.django_db
PACKED = {"accept-encoding": "gzip"}


def test_a_page_travels_packed_and_is_the_same_page(client):
    site = site_today(Stage.FRAME_SET, panels="ABCDEF")
    client.force_login(site.office)
    packed = client.get(at(site), headers=PACKED)
    assert packed["Content-Encoding"] == "gzip" and "Accept-Encoding" in packed["Vary"]
    assert len(packed.content) < 20_000 < len(gzip.decompress(packed.content))
    assert "Content-Encoding" not in client.get(at(site))


def test_a_packed_page_that_has_not_changed_sends_nothing_again(client):
    client.force_login(site_today().office)
    mark = client.get("/", headers=PACKED)["ETag"]
    assert client.get("/", headers={**PACKED, "if-none-match": mark}).status_code == 304


@pytest.mark.parametrize("name", ["site", "site-words", "site-worker", "site-manifest", "site-day"])
def test_what_a_telephone_keeps_travels_by_brotli_where_its_browser_can(client, name):
    client.force_login(site_today().lead)
    sent = client.get(reverse(name))
    by_brotli = client.get(reverse(name), headers={"accept-encoding": "gzip, deflate, br"})
    assert by_brotli["Content-Encoding"] == "br" and "Accept-Encoding" in by_brotli["Vary"]
    assert int(by_brotli["Content-Length"]) == len(by_brotli.content) < len(sent.content)
    if name != "site-day":  # which says when it was asked for
        assert brotli.decompress(by_brotli.content) == sent.content
    for mark in (by_brotli["ETag"], sent["ETag"]):
        assert client.get(reverse(name), headers={"accept-encoding": "br", "if-none-match": mark}).status_code == 304
    refused = client.get(reverse(name), headers={"accept-encoding": "gzip, br;q=0"})
    assert refused.get("Content-Encoding", "gzip") == "gzip"


def test_what_the_api_sends_can_be_changed_with_the_mark_it_came_with(client):
    site = site_today()
    token = AccessToken.objects.create(user=site.office, name="here")[1]
    headers = {**PACKED, "authorization": f"Bearer {token}"}
    address = f"/api/v1/openings/{site.opening.pk}/"
    mark = client.get(address, headers=headers)["ETag"]
    assert not mark.startswith("W/")
    changed = client.patch(address, {"location": "attic"}, "application/json", headers={**headers, "if-match": mark})
    assert changed.status_code == 200
