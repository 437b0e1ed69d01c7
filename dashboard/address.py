"""Who asks, as an address."""

from django.http import HttpRequest
from rest_framework.throttling import BaseThrottle


def client_address(request: HttpRequest) -> str:
    """The address that counts against whoever guesses passwords: seen past as many proxies as PROXIES says, no more."""
    return BaseThrottle().get_ident(request) or "unknown"
