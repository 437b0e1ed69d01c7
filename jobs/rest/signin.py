"""Who asks. Tokens for programs and telephones: kept hashed, found by their first letters, refused once expired or
revoked. Pages ask by the session of whoever is signed in, and say who they believe that is."""

from __future__ import annotations

from hmac import compare_digest
from typing import Any

from django.conf import settings
from django.utils import timezone
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from knox.auth import TokenAuthentication
from knox.crypto import hash_token
from knox.settings import CONSTANTS
from rest_framework.authentication import SessionAuthentication
from rest_framework.exceptions import AuthenticationFailed, PermissionDenied
from rest_framework.request import Request

from jobs.errors import Refusal
from jobs.models import AccessToken, User
from jobs.rest.statements import Lookup

_near = Lookup(lambda key: AccessToken.objects.filter(token_key=key).select_related("user"))
NOT_KNOWN = "This token is not known here. Ask for a new one."


class BearerToken(TokenAuthentication):
    """One query a request. An expired or revoked token is kept, so that its owner still sees what it was."""

    def authenticate_credentials(self, token: bytes) -> tuple[User, AccessToken]:
        try:
            text = token.decode("ascii")
        except UnicodeDecodeError as why:
            raise AuthenticationFailed(NOT_KNOWN) from why
        digest = hash_token(text)
        for found in _near(text[: CONSTANTS.TOKEN_KEY_LENGTH]):
            if compare_digest(digest, found.digest):
                return self.validate_user(found)
        raise AuthenticationFailed(NOT_KNOWN)

    def validate_user(self, auth_token: AccessToken) -> tuple[User, AccessToken]:
        if auth_token.revoked_at is not None:
            raise AuthenticationFailed("This token was revoked.")
        if auth_token.expiry is not None and auth_token.expiry <= timezone.now():
            raise AuthenticationFailed("This token has expired. Ask for a new one.")
        if not auth_token.user.is_active:
            raise AuthenticationFailed("This account is closed.")
        if auth_token.is_too_wide():
            raise AuthenticationFailed("This token may do more than its person may today. Ask for a new one.")
        return auth_token.user, auth_token


PERSON = "Sillbook-Person"


class BySession(SessionAuthentication):
    """A telephone that was without signal may be somebody else's by now: what one person did on site is never taken
    in under the name of another."""

    def authenticate(self, request: Request) -> tuple[User, None] | None:
        found = super().authenticate(request)
        meant = request.headers.get(PERSON)
        if found is not None and meant is not None and meant != str(found[0].pk):
            raise Refusal("Somebody else is signed in here now. Sign in as whoever made these entries.",
                          code="other-person")
        return found

    def enforce_csrf(self, request: Request) -> None:
        try:
            super().enforce_csrf(request)
        except PermissionDenied as why:
            raise StaleForm("This page is from before the last sign-in. Load it again, then send it again.") from why


class StaleForm(Refusal):
    """A request that its own page did not send, as far as one can tell."""

    status, code, title = 403, "stale-page", "Load the page again"


class SessionScheme(OpenApiAuthenticationExtension):
    target_class = BySession
    name = "cookieAuth"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "cookie", "name": settings.SESSION_COOKIE_NAME}


class BearerScheme(OpenApiAuthenticationExtension):
    """How the API's description writes it down."""

    target_class = BearerToken
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer", "description": "A token made at `tokens`."}
