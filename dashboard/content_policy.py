"""What a browser may load on our pages. The package works it out for each answer; it is the same for nearly all."""

from __future__ import annotations

from csp.constants import HEADER
from csp.middleware import CSPMiddleware
from csp.utils import build_policy
from django.conf import settings
from django.http import HttpRequest, HttpResponse

DEBUG_PAGES = (404, 500)  # Django's own, which bring their style with them


class ContentPolicy(CSPMiddleware):
    """The header written once; an answer with a policy of its own takes the package's way."""

    def __init__(self, get_response: object) -> None:
        super().__init__(get_response)
        self._usual = build_policy()

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        asks = getattr(request, "_csp_nonce", None) or any(name.startswith("_csp") for name in vars(response))
        if asks or (settings.DEBUG and response.status_code in DEBUG_PAGES):
            return super().process_response(request, response)
        response.headers.setdefault(HEADER, self._usual)
        return response
