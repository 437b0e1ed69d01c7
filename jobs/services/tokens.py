"""Tokens for programs and telephones: made once, shown once, revoked for good."""

from __future__ import annotations

import datetime as dt

from jobs.acts import Act, carry_out
from jobs.errors import Invalid, NotAllowed
from jobs.models import AccessToken
from jobs.roles import LABELS, Role, is_within
from jobs.services.access import require

LONGEST = 366  # days


def make_token(act: Act, *, name: str, role: str = "", days: int = 90) -> tuple[AccessToken, str]:
    """A token in the person's own name, and its secret, which is kept nowhere."""
    if not act.user.is_active:
        raise NotAllowed("This account is closed.")
    if role and not is_within(role, act.role):
        raise Invalid("A token may not do more than its person.",
                      fields={"role": f"no wider than {LABELS[Role(act.role)].lower()}"})
    with carry_out(act) as done:
        token, secret = AccessToken.objects.create(act.user, dt.timedelta(days=days), name=name, role=role)
        done.note(act, "token made", "tokens", token.public_id)
    return token, secret


def revoke_token(act: Act, token: AccessToken) -> AccessToken:
    """From the next request on it opens nothing. Revoking twice changes nothing."""
    if token.user_id != act.user.pk:
        require(act, "keep people")
    with carry_out(act) as done:
        if AccessToken.objects.filter(pk=token.pk, revoked_at=None).update(revoked_at=act.now):
            done.note(act, "token revoked", "tokens", token.public_id)
        token.refresh_from_db()
    return token
