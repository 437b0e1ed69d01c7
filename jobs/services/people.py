"""People who sign in: kept by the office, closed rather than removed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db.models import F

from jobs.acts import Act, carry_out
from jobs.errors import Invalid, Refusal
from jobs.models import User
from jobs.roles import Role
from jobs.services import office
from jobs.services.access import require


def make_person(act: Act, values: Mapping[str, Any], password: str) -> User:
    require(act, "keep people")
    values = {**values, "password": _hashed(values, password)}
    return office.create(act, User, values, record="people", may="keep people")


def change_person(act: Act, person: User, values: Mapping[str, Any], *, version: int, password: str = "") -> User:
    """A closed account or another role counts from the next request on."""
    require(act, "keep people")
    if password:
        values = {**values, "password": _hashed(values, password)}
    with carry_out(act):
        changed = office.change(act, person, values, version=version, record="people", may="keep people")
        if not User.objects.filter(role=Role.OFFICE.value, is_active=True).exists():
            raise Refusal("Somebody has to keep the office: this is the last account that can.", code="last-office")
    return changed


def change_own_password(act: Act, password: str) -> User:
    """Whoever is signed in gives themselves another one; that they know the old one was asked before."""
    person = act.user
    hashed = _hashed({"username": person.username, "name": person.name, "email": person.email}, password)
    with carry_out(act) as done:
        User.objects.filter(pk=person.pk).update(password=hashed, version=F("version") + 1)
        person.refresh_from_db()
        done.note(act, "password changed", "people", person.pk)
    return person


def _hashed(values: Mapping[str, Any], password: str) -> str:
    draft = User(**{name: values[name] for name in ("username", "name", "email") if name in values})
    try:
        validate_password(password, draft)
    except ValidationError as why:
        raise Invalid("That password is too easy to guess.", fields={"password": " ".join(why.messages)}) from why
    draft.set_password(password)
    return draft.password
