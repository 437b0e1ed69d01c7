"""Who asks, as an address."""

from ipaddress import ip_address

from django.http import HttpRequest
from rest_framework.throttling import BaseThrottle

NOBODY = "0.0.0.0"  # noqa: S104 - stands for an address that is none; nothing listens on it


def client_address(request: HttpRequest) -> str:
    """The address that counts against whoever guesses passwords: seen past as many proxies as PROXIES says, no more.

    What is no address counts as one and the same: PostgreSQL keeps nothing else in its column.
    """
    found = BaseThrottle().get_ident(request) or ""
    try:
        return str(ip_address(found.strip()))
    except ValueError:
        return NOBODY
