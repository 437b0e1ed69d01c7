"""What a browser may load on our pages."""

import pytest
from csp.constants import NONCE
from csp.utils import build_policy
from django.http import HttpResponse
from django.test import RequestFactory

from dashboard.content_policy import ContentPolicy


def test_a_page_says_what_the_settings_say(client, db):
    assert client.get("/sign-in/")["Content-Security-Policy"] == build_policy()
    assert "frame-ancestors 'none'" in build_policy()


def test_an_answer_with_a_policy_of_its_own_keeps_it():
    def sandboxed(request):
        return HttpResponse(headers={"Content-Security-Policy": "sandbox"})

    assert ContentPolicy(sandboxed)(RequestFactory().get("/"))["Content-Security-Policy"] == "sandbox"


@pytest.mark.parametrize(("mark", "value", "says"), [
    ("_csp_update", {"style-src": ["'unsafe-inline'"]}, "style-src 'unsafe-inline'"),
    ("_csp_replace", {"img-src": ["'none'"]}, "img-src 'none'"),
])
def test_what_a_view_adds_to_the_policy_is_in_it(mark, value, says):
    def wider(request):
        response = HttpResponse()
        setattr(response, mark, value)
        return response

    assert says in ContentPolicy(wider)(RequestFactory().get("/"))["Content-Security-Policy"]


def test_a_nonce_that_a_page_asked_for_is_in_the_policy(settings):
    settings.CONTENT_SECURITY_POLICY = {"DIRECTIVES": {"script-src": [NONCE]}}

    def with_script(request):
        return HttpResponse(f"<script nonce={request.csp_nonce}>")

    request = RequestFactory().get("/")
    policy = ContentPolicy(with_script)(request)["Content-Security-Policy"]
    assert f"'nonce-{request._csp_nonce}'" in policy
