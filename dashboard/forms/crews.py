"""Crews, who is on them, and days off, as the office types them."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from dashboard.forms.kinds import Kind, plain
from dashboard.forms.records import CHOSEN, DAY, TICK, WORDS, Ask, Choices, Column, Group, Part, RecordForm
from dashboard.measures import Reader, typed_hours
from dashboard.office.crews import skills_in_use, who_may_be_on_a_crew
from jobs.calc import reading
from jobs.models import Crew, CrewMember, DayOff
from jobs.serializers import CrewMemberSerializer, CrewSerializer, DayOffSerializer


def _minutes(text: str, name: str, reader: Reader) -> int:
    return round(reading.number(text, name, least=0, most=24) * 60)


def _degrees(text: str, name: str, reader: Reader) -> float:
    return reading.number(text, name, least=-180, most=180)


HOURS = Kind(lambda minutes, reader: typed_hours(minutes), _minutes)
DEGREES = Kind(lambda value, reader: plain(value), _degrees)
REGION = Column("holiday_region", gettext_lazy("Holidays of"),
                hint=gettext_lazy("a country, or one and its part: US-CA; empty: as the company"))
ZONE = gettext_lazy("such as America/Los_Angeles; UTC: as the company")


class CrewForm(RecordForm):
    serializer = CrewSerializer
    parts = (
        Part(gettext_lazy("Which"), (
            Column("name", gettext_lazy("Name"), needed=True),
            Column("base", gettext_lazy("Home base"), hint=gettext_lazy("where they start from")),
            Column("latitude", gettext_lazy("Latitude"), DEGREES, empty=None, input="number"),
            Column("longitude", gettext_lazy("Longitude"), DEGREES, empty=None, input="number"))),
        Part(gettext_lazy("When they work"), (
            Column("working_days", gettext_lazy("Days they work"), input="days"),
            Column("minutes_a_day", gettext_lazy("Hours a day, of one person"), HOURS, input="number", needed=True),
            REGION,
            Column("time_zone", gettext_lazy("Clock"), hint=ZONE, needed=True))),
        Part("", (Column("active", gettext_lazy("It goes out: it stands in crew progress"), TICK, input="tick",
                         empty=False),)),
    )


class MemberForm(RecordForm):
    serializer = CrewMemberSerializer
    base: CrewMember

    @cached_property
    def parts(self) -> tuple[Part, ...]:  # type: ignore[override]
        who = (Column("user", gettext_lazy("Who"), CHOSEN, needed=True),)
        return (Part("", (
            *(() if self.base.pk else who),
            Column("leads", gettext_lazy("Leads the crew"), TICK, input="tick", empty=False),
            Column("skills", gettext_lazy("Skills"), WORDS, _("with commas between; in use: %s") % self.in_use,
                   empty=[]),
            Column("from_day", gettext_lazy("On it from"), DAY, input="day", needed=True, empty=None),
            Column("to_day", gettext_lazy("to"), DAY, input="day", empty=None,
                   hint=gettext_lazy("the last day; empty: until further notice")))),)

    @cached_property
    def in_use(self) -> str:
        return skills_in_use() or "–"

    @cached_property
    def people(self) -> Choices:
        return [("", "–"), *((str(one.pk), f"{one.name}, {one.get_role_display()}") for one in who_may_be_on_a_crew())]

    def shown(self, column: Column) -> str:
        return "" if column.name == "user" and self.base.user_id is None else super().shown(column)

    def choices(self, name: str) -> Choices:
        return self.people if name == "user" else ()

    def _read(self, column: Column) -> Any:
        if column.name == "user":
            text = self.typed_in(column).strip()
            if not text.isdecimal():
                self.errors["user"] = _("say who")
                return None
            return text
        return super()._read(column)

    def more(self) -> dict[str, Any]:
        return {} if self.base.pk else {"crew": self.base.crew_id}


class DayOffForm(RecordForm):
    """`who`: a crew or a person, in one choice."""

    serializer = DayOffSerializer
    base: DayOff
    parts = (Part("", (
        Column("from_day", gettext_lazy("From"), DAY, input="day", needed=True, empty=None),
        Column("to_day", gettext_lazy("To"), DAY, input="day", needed=True, empty=None,
               hint=gettext_lazy("the last day off")),
        Column("reason", gettext_lazy("Why"), input="wide",
               hint=gettext_lazy("sick, on holiday, training; only the office reads it")))),)

    @cached_property
    def offered(self) -> Choices:
        crews = [(f"crew-{one.pk}", _("Crew %s, all of it") % one.name) for one in Crew.objects.filter(active=True)]
        people = [(f"person-{one.pk}", one.name) for one in who_may_be_on_a_crew()]
        return [("", "–"), *crews, *people]

    @property
    def who(self) -> Ask:
        stands = f"crew-{self.base.crew_id}" if self.base.crew_id else (
            f"person-{self.base.user_id}" if self.base.user_id else "")
        return Ask("who", _("Who"), self.text("who", stands), "", self.errors.get("who", ""),
                   tuple((value, str(said)) for value, said in self.offered))

    def own_fields(self) -> list[str]:
        return ["who"]

    @property
    def groups(self) -> list[Group]:
        first, *others = super().groups
        if self.base.pk:
            return [first, *others]
        return [Group(first.title, (self.who, *first.fields), first.note), *others]

    def more(self) -> dict[str, Any]:
        if self.base.pk:
            return {}
        kind, _dash, key = self.who.value.partition("-")
        if kind not in ("crew", "person") or not key.isdecimal():
            self.errors["who"] = _("say who: a crew, or somebody")
            return {}
        return {"crew" if kind == "crew" else "user": key}

    def take(self, name: str, why: Any) -> None:
        super().take("who" if name in ("crew", "user") else name, why)


