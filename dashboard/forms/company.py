"""What the company decides once for everybody, and what each decides for themselves, as it is typed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any, ClassVar

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard import words
from dashboard.forms.crews import ZONE
from dashboard.forms.kinds import Kind
from dashboard.forms.records import NEEDED, TICK, WORDS, Ask, Choices, Column, Group, Part, RecordForm
from dashboard.measures import Reader
from dashboard.office.limits import kind_of, unit_of, unit_words
from inspections.models import Check
from inspections.serializers import CheckSerializer
from jobs.calc.amounts import count
from jobs.calc.verdict import BadInput
from jobs.models import OfficeSettings, User
from jobs.roles import Role
from jobs.serializers import OfficeSettingsSerializer, PersonSerializer


def _days(text: str, name: str, reader: Reader) -> int:
    return count(text, name, 1, 60)


DAYS_APART = Kind(lambda days, reader: str(days), _days)


class CompanyForm(RecordForm):
    serializer = OfficeSettingsSerializer
    base: OfficeSettings
    parts = (
        Part(gettext_lazy("The company"), (
            Column("company", gettext_lazy("Name")),
            Column("reply_address", gettext_lazy("Answers to our mail go to")),
            Column("site_address", gettext_lazy("Address of these pages"), hint=gettext_lazy("for links in mail")),
            Column("time_zone", gettext_lazy("Clock"), hint=gettext_lazy("such as America/Los_Angeles"),
                   needed=True))),
        Part(gettext_lazy("When we work"), (
            Column("working_days", gettext_lazy("Days we work"), input="days",
                   hint=gettext_lazy("of those who are on no crew, and to begin with of a new crew")),
            Column("holiday_region", gettext_lazy("Holidays of"),
                   hint=gettext_lazy("a country, or one and its part: US-CA")),
            Column("reminder_interval_days", gettext_lazy("Days between reminders"), DAYS_APART, needed=True,
                   input="number", hint=gettext_lazy("of a punch item that is due and open")))),
        Part(gettext_lazy("In the van"), (
            Column("shims", gettext_lazy("Shims at hand"), WORDS, empty=[],
                   hint=gettext_lazy('thicknesses with commas between: 1/16", 1/8", 3 mm')),)),
    )


class OwnSettingsForm(RecordForm):
    """`mail_others` is asked of the office only: nobody else is told of what others let go by."""

    serializer = PersonSerializer
    base: User

    @cached_property
    def parts(self) -> tuple[Part, ...]:  # type: ignore[override]
        others = (Column("mail_others", gettext_lazy("Punch items that others let go by"), TICK, input="tick",
                         empty=False),)
        return (
            Part(_("How you read"), (
                Column("units", gettext_lazy("Lengths and weights"), input="wide", needed=True),
                Column("time_zone", gettext_lazy("Clock"), hint=ZONE, needed=True))),
            Part(_("What you are told by mail"), (
                Column("mail_own", gettext_lazy("Punch items of yours that are due"), TICK, input="tick", empty=False),
                *(others if self.base.role == Role.OFFICE else ())), self._where_to),
        )

    @property
    def _where_to(self) -> str:
        if not self.base.email:
            return _("No mail address of yours is entered: nothing reaches you. The office enters it.")
        return _("At most one letter a day, to %s, in working hours.") % self.base.email

    def choices(self, name: str) -> Choices:
        return (("in", _('inches in fractions, pounds: 96 1/2"')), ("mm", _("millimetres, kilograms: 2451 mm"))) \
            if name == "units" else ()


class LimitsForm(RecordForm):
    """The limits of one check, each with where it stands."""

    serializer = CheckSerializer
    base: Check
    parts: ClassVar[tuple[Part, ...]] = ()

    def _stands(self, name: str) -> tuple[str, str]:
        kept = self.base.limits[name]
        value, source = kept.get("value"), kept.get("source") or ""
        return "" if value is None else kind_of(self.base, name).shown(value, self.reader), str(source)

    def _field(self, name: str, label: str, shown: str, hint: str = "") -> Ask:
        return Ask(name, label, self.text(name, shown), hint, self.errors.get(name, ""), may=False)

    @property
    def rows(self) -> list[tuple[str, Ask, Ask]]:
        """What it limits, the limit, and where that stands."""
        return [(words.limit(name), *self._asked(name)) for name in self.base.limits]

    def _asked(self, name: str) -> tuple[Ask, Ask]:
        value, source = self._stands(name)
        what, unit = words.limit(name), str(unit_words(unit_of(self.base, name), name))
        return (self._field(f"limits.{name}", what, value, unit),
                self._field(f"limits.{name}.source", _("%s: where it stands") % what, source))

    @property
    def groups(self) -> list[Group]:
        return []

    @property
    def fields(self) -> Iterator[tuple[str, str]]:
        for _what, *asked in self.rows:
            yield from ((one.label, one.value) for one in asked)

    def own_fields(self) -> list[str]:
        return [one.name for _what, *asked in self.rows for one in asked]

    def values(self) -> dict[str, Any] | None:
        limits = {name: self._read_limit(name) for name in self.base.limits}
        if self.errors:
            return None
        return {} if limits == self.base.limits else {"limits": limits}

    def _read_limit(self, name: str) -> Mapping[str, Any]:
        """Emptied, none is set: the door system, the job or nobody says it."""
        kept = self.base.limits[name]
        typed = self.text(f"limits.{name}").strip(), self.text(f"limits.{name}.source").strip()
        stands = self._stands(name)
        if typed == (stands[0], stands[1].strip()):
            return kept
        if not typed[1]:
            self.errors[f"limits.{name}.source"] = str(NEEDED)
        if typed[0] == stands[0]:
            return {**kept, "source": typed[1]}
        try:
            value = kind_of(self.base, name).read(typed[0], f"limits.{name}", self.reader) if typed[0] else None
        except BadInput as why:
            self.errors[f"limits.{name}"] = words.right(why.right, self.reader)
            return kept
        return {"value": value, "source": typed[1]}
