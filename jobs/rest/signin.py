"""Tokens for programs and telephones: kept hashed, found by their first letters, refused once expired or revoked."""

from __future__ import annotations

from hmac import compare_digest
from typing import Any

from django.utils import timezone
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from knox.auth import TokenAuthentication
from knox.crypto import hash_token
from knox.settings import CONSTANTS
from rest_framework.exceptions import AuthenticationFailed

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


class BearerScheme(OpenApiAuthenticationExtension):
    """How the API's description writes it down."""

    target_class = BearerToken
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer", "description": "A token made at `tokens`."}
