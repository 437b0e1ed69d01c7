"""Whose address counts when somebody guesses passwords: nobody may choose it by sending a header."""

import pytest
from rest_framework.settings import api_settings

from dashboard.address import client_address


@pytest.mark.parametrize(
    ("proxies", "forwarded", "address"),
    [
        (0, "203.0.113.9", "198.51.100.1"),
        (1, "203.0.113.9", "203.0.113.9"),
        (1, "192.0.2.66, 203.0.113.9", "203.0.113.9"),  # the first is whatever the sender liked to claim
        (2, "192.0.2.66, 203.0.113.9, 10.0.0.1", "203.0.113.9"),
        (1, None, "198.51.100.1"),
    ],
)
def test_it_is_seen_past_our_own_proxies_and_no_further(rf, monkeypatch, proxies, forwarded, address):
    monkeypatch.setattr(api_settings, "NUM_PROXIES", proxies)
    headers = {"X-Forwarded-For": forwarded} if forwarded else {}
    assert client_address(rf.get("/", REMOTE_ADDR="198.51.100.1", headers=headers)) == address


def test_an_address_that_is_not_known_is_still_one(rf):
    assert client_address(rf.get("/", REMOTE_ADDR="")) == "0.0.0.0"
    assert client_address(rf.get("/", REMOTE_ADDR="not an address")) == "0.0.0.0"
