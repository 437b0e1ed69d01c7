"""People who sign in: kept by the office, closed rather than removed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db.models import F

from jobs.acts import Act, carry_out
from jobs.errors import Invalid, Refusal, SomeoneWasFaster
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


OWN = ("units", "time_zone", "mail_own", "mail_others")


def change_own_settings(act: Act, values: Mapping[str, Any], *, version: int) -> User:
    """How somebody reads, and what they are told by mail: theirs to say. What they may is the office's."""
    unknown = [name for name in values if name not in OWN]
    if unknown:
        raise Invalid("That is the office's to change.", fields=dict.fromkeys(unknown, "ask the office"))
    with carry_out(act) as done:
        mine = User.objects.filter(pk=act.user.pk, version=version)
        if not mine.update(**values, version=F("version") + 1):
            raise SomeoneWasFaster("Your settings were changed elsewhere meanwhile. Look at them again, then change "
                                   "them.")
        person = User.objects.get(pk=act.user.pk)
        try:
            person.clean_fields(exclude=[f.name for f in User._meta.fields if f.name not in values])
        except ValidationError as why:
            raise Invalid("That cannot be.", fields={k: " ".join(v) for k, v in why.message_dict.items()}) from why
        done.note(act, "own settings changed", "people", person.pk, fields=sorted(values))
    return person


def _hashed(values: Mapping[str, Any], password: str) -> str:
    draft = User(**{name: values[name] for name in ("username", "name", "email") if name in values})
    try:
        validate_password(password, draft)
    except ValidationError as why:
        raise Invalid("That password is too easy to guess.", fields={"password": " ".join(why.messages)}) from why
    draft.set_password(password)
    return draft.password
