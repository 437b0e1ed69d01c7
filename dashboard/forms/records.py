"""Office records as they are typed: each field with its kind, read into what the API takes, judged by its serializer.

What was not touched stays exactly as it was kept. Refused, everything typed stays in its field.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from django.db import models
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from rest_framework.serializers import BaseSerializer

from dashboard import words
from dashboard.forms import kinds
from dashboard.forms.kinds import Kind
from dashboard.forms.sheets import Field
from dashboard.measures import Reader
from jobs.calc.lengths import to_mm
from jobs.calc.verdict import BadInput
from jobs.fields import LengthField

LONGEST = 4000
Choices = Sequence[tuple[str, Any]]
NEEDED = gettext_lazy("this is needed")
WEEK = (gettext_lazy("Mon"), gettext_lazy("Tue"), gettext_lazy("Wed"), gettext_lazy("Thu"), gettext_lazy("Fri"),
        gettext_lazy("Sat"), gettext_lazy("Sun"))


def _read_day(text: str, name: str, reader: Reader) -> str:
    try:
        return dt.date.fromisoformat(text).isoformat()
    except ValueError as why:
        raise BadInput(name, text, "a day, such as 2026-03-10") from why


def _read_words(text: str, name: str, reader: Reader) -> list[str]:
    said = [word for part in text.replace("\n", ",").split(",") if (word := " ".join(part.split()))]
    return list(dict.fromkeys(said))


DAY = Kind(lambda day, reader: day.isoformat(), _read_day)
WORDS = Kind(lambda said, reader: ", ".join(str(one) for one in said), _read_words)
AS_TYPED = Kind(kinds.TEXT.shown, lambda text, name, reader: text)
CHOSEN = Kind(lambda record, reader: str(getattr(record, "pk", record)), lambda text, name, reader: text)
TICK = Kind(lambda ticked, reader: "yes" if ticked else "", lambda text, name, reader: text == "yes")
DAYS = Kind(AS_TYPED.shown, lambda text, name, reader: text)


@dataclass(frozen=True, slots=True)
class Ask(Field):
    """A field, and how it is typed: in a line, in several, as a day, by ticks."""

    input: str = "line"
    may: bool = False  # may stay empty

    @property
    def described(self) -> str:
        """The ids of what is said of it beside its name."""
        return " ".join(f"{self.id}-{what}" for what, there in (("error", self.error), ("hint", self.hint)) if there)

    @property
    def wide(self) -> bool:
        return self.input in ("lines", "days", "tick", "wide")

    @property
    def ticked(self) -> bool:
        return self.value == "yes"

    @property
    def days(self) -> list[tuple[int, Any, bool]]:
        """Of a working week: number, name, whether it is worked."""
        return [(n, name, self.value[n:n + 1] == "1") for n, name in enumerate(WEEK)]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the record: what it is called, how it reads. `empty`: what is kept where nothing is typed."""

    name: str
    label: Any
    kind: Kind = AS_TYPED
    hint: Any = ""
    input: str = "line"
    needed: bool = False
    empty: Any = ""


@dataclass(frozen=True, slots=True)
class Part:
    title: Any
    columns: tuple[Column, ...]
    note: Any = ""


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    fields: tuple[Ask, ...]
    note: str = ""


@dataclass
class RecordForm:
    """`base`: what it starts from. `typed`: what was sent; None: nothing yet."""

    base: models.Model
    reader: Reader
    typed: QueryDict | None = None
    errors: dict[str, str] = field(default_factory=dict)

    parts: ClassVar[tuple[Part, ...]] = ()
    serializer: ClassVar[type[BaseSerializer]]
    elsewhere: ClassVar[Mapping[str, str]] = {}  # where what is said of a column is shown

    # ---- what stands in the fields ----------------------------------------------------------------------

    def text(self, name: str, shown: str = "") -> str:
        if self.typed is None:
            return shown
        return self.typed.get(name, "").replace("\x00", "").replace("\r\n", "\n")[:LONGEST]

    def shown(self, column: Column) -> str:
        kept = getattr(self.base, column.name)
        return "" if kept is None else column.kind.shown(kept, self.reader)

    def typed_in(self, column: Column) -> str:
        if column.input == "days" and self.typed is not None:
            ticked = self.typed.getlist(column.name)
            return "".join("1" if str(n) in ticked else "0" for n in range(7))
        return self.text(column.name, self.shown(column))

    def choices(self, name: str) -> Choices:
        """What is offered for this column, where something is."""
        return ()

    def ask(self, column: Column) -> Ask:
        text = self.typed_in(column)
        offered = list(self.choices(column.name))
        if offered and text not in {value for value, _said in offered}:
            offered.append((text, text))
        return Ask(column.name, str(column.label), text, str(column.hint), self.errors.get(column.name, ""),
                   tuple((value, str(said)) for value, said in offered), column.input, not column.needed)

    @property
    def groups(self) -> list[Group]:
        return [Group(str(part.title), tuple(self.ask(column) for column in part.columns), str(part.note))
                for part in self.parts]

    @property
    def fields(self) -> Iterator[tuple[str, str]]:
        """Each thing asked with what stands there, for what two people wrote at once."""
        for group in self.groups:
            for one in group.fields:
                yield one.label, self.said(one)

    def said(self, one: Ask) -> str:
        if one.input == "days":
            return ", ".join(str(name) for _n, name, worked in one.days if worked)
        return str(dict(one.choices).get(one.value, one.value))

    @property
    def other_errors(self) -> list[str]:
        """What belongs to no field that is shown."""
        there = {column.name for part in self.parts for column in part.columns} | set(self.own_fields())
        return [said for name, said in self.errors.items() if name not in there]

    def own_fields(self) -> Sequence[str]:
        """Fields a form asks beside its columns."""
        return ()

    # ---- what was typed ---------------------------------------------------------------------------------

    def values(self) -> dict[str, Any] | None:
        """What is to be changed, as the service takes it; None where something cannot be right."""
        sent = {self._sent_as(column): self._read(column) for part in self.parts for column in part.columns}
        sent |= self.more()
        read = self.serializer(self.base if self.base.pk else None, data=sent, partial=bool(self.base.pk))
        if not read.is_valid():
            for name, why in read.errors.items():
                self.take(name.removesuffix("_mm"), why)
        if self.errors:
            return None
        return {name: value for name, value in read.validated_data.items() if self._is_new(name, value)}

    def more(self) -> dict[str, Any]:
        """What a form asks beside its columns."""
        return {}

    def _is_new(self, name: str, value: Any) -> bool:
        return not self.base.pk or getattr(self.base, name) != value

    def _sent_as(self, column: Column) -> str:
        is_length = isinstance(self.base._meta.get_field(column.name), LengthField)
        return f"{column.name}_mm" if is_length else column.name

    def _read(self, column: Column) -> Any:
        text, kept = self.typed_in(column).strip(), getattr(self.base, column.name)
        if not text:
            if column.needed:
                self.errors[column.name] = str(NEEDED)
            return column.empty
        if self.base.pk and text == self.shown(column).strip():
            return self._as_kept(column, kept)
        try:
            return column.kind.read(text, column.name, self.reader)
        except BadInput as why:
            self.errors[column.name] = words.right(why.right, self.reader)
            return column.empty

    def _as_kept(self, column: Column, kept: Any) -> Any:
        if isinstance(kept, models.Model):
            return kept.pk
        return f"{to_mm(kept)} mm" if self._sent_as(column) != column.name else kept

    def take(self, name: str, why: Any) -> None:
        said = " ".join(str(one) for one in why) if isinstance(why, list) else str(why)
        self.errors.setdefault(self.elsewhere.get(name, name), words.right(said, self.reader))

    def refused(self, fields: Mapping[str, str]) -> None:
        for name, right in fields.items():
            self.take(name, right)


def differences(theirs: RecordForm, mine: RecordForm) -> list[str]:
    """What stands now and what was typed here, field by field."""
    both = zip(theirs.fields, mine.fields, strict=False)
    return [_("%(field)s: now “%(theirs)s”, typed here “%(mine)s”.") % {
        "field": said, "theirs": now, "mine": typed}
        for (said, now), (_said, typed) in both if now.strip() != typed.strip()]


Make = Callable[..., RecordForm]
