"""People as the office types them. A first password stands in the form to be read out, and is kept nowhere."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard.forms.crews import ZONE
from dashboard.forms.records import Ask, Choices, Column, Group, Part, RecordForm
from dashboard.office.people import first_password
from jobs.models import User
from jobs.models.people import ROLE_CHOICES
from jobs.roles import LABELS, Role
from jobs.serializers import PersonSerializer

MAY_DO = gettext_lazy(
    "Office: keeps everything, and who may sign in. Lead installer: openings of the own crew, passes gates, accepts. "
    "Installer: openings of the own crew. Customer service: reads all, callbacks and return trips. Guest: reads, "
    "without contacts, money and access codes.")
PASSWORD_AT = "password"


class PersonForm(RecordForm):
    serializer = PersonSerializer
    base: User
    parts = (
        Part(gettext_lazy("Who"), (
            Column("name", gettext_lazy("Name"), needed=True),
            Column("phone", gettext_lazy("Telephone")),
            Column("email", gettext_lazy("Mail"), hint=gettext_lazy("reminders go there")),
            Column("time_zone", gettext_lazy("Clock"), hint=ZONE, needed=True))),
        Part(gettext_lazy("Signing in"), (
            Column("role", gettext_lazy("Role"), input="wide", needed=True, hint=MAY_DO),
            Column("username", gettext_lazy("Signs in as"), needed=True,
                   hint=gettext_lazy("letters, digits and @ . + - _")))),
    )

    def choices(self, name: str) -> Choices:
        return [(value, LABELS[Role(value)]) for value, _said in ROLE_CHOICES] if name == "role" else ()


class WithPassword(RecordForm):
    """Asks a first password, made up here, besides what is asked."""

    @property
    def password(self) -> Ask:
        there = self.typed is not None and PASSWORD_AT in self.typed  # it is not, where they had to sign in in between
        return Ask(PASSWORD_AT, _("First password"), self.text(PASSWORD_AT) if there else first_password(),
                   _("Read it out, or write it down for them: once they are in, they give themselves another one."),
                   self.errors.get(PASSWORD_AT, ""))

    def own_fields(self) -> list[str]:
        return [PASSWORD_AT]

    @property
    def fields(self) -> Iterator[tuple[str, str]]:
        """What is compared with what another kept: a password is nobody's to read."""
        return ((label, said) for label, said in super().fields if label != self.password.label)

    @property
    def groups(self) -> list[Group]:
        *others, last = super().groups or [Group("", ())]
        return [*others, Group(last.title, (*last.fields, self.password), last.note)]


class NewPersonForm(WithPassword, PersonForm):
    """The first password goes with it; it is judged by the act."""


class PasswordForm(WithPassword):
    serializer = PersonSerializer

    def values(self) -> dict[str, Any]:
        return {PASSWORD_AT: self.text(PASSWORD_AT)}
