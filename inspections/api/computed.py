"""What is worked out and not kept: calculations, batches of site entries, progress."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

import django_filters
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, PolymorphicProxySerializer, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.viewsets import ViewSet

from inspections.calc import floor
from inspections.calc import inputs as of_readings
from inspections.calc.kinds import KINDS
from inspections.services import progress
from inspections.services.checks import shipped_limits
from inspections.services.entries import MOST, take_in
from inspections.services.readers import clock_of
from jobs.acts import position
from jobs.calc import convert, reading
from jobs.calc.days import monday_of
from jobs.calc.verdict import Limit, printed
from jobs.errors import Invalid, NotThere
from jobs.models import OfficeSettings
from jobs.rest.bodies import answer
from jobs.rest.errors import BadQuery
from jobs.rest.filters import Day, Number, OneOf, read_query
from jobs.rest.marks import is_known, mark_of, marked, unchanged
from jobs.rest.resources import Asking, MaySee
from units.calc import inputs as of_the_unit
from units.calc.kinds import CALCULATIONS
from units.services.limits import limits_for

INPUTS = {**of_readings.INPUTS, **of_the_unit.INPUTS}
JUDGED = {**KINDS, **CALCULATIONS}


class Worked(Asking, ViewSet):
    """Views that are no records."""

    permission_classes = [MaySee]
    what: str | None = "read"

    def asked_for(self) -> str | None:
        return self.what if self.action else None


class CalculationSerializer(serializers.Serializer):
    name = serializers.CharField()
    says = serializers.CharField(help_text="What it works out.")
    fields_taken = serializers.DictField(child=serializers.CharField(), help_text="Each field of the body.")
    example = serializers.DictField(help_text="A body that can be sent as it is.")
    limits = serializers.DictField(help_text="Each limit's name, with its unit, and the value and source that are "
                                             "shipped.")


class VerdictSerializer(serializers.Serializer):
    """Codes, not prose; lengths in millimetres as decimal strings."""

    result = serializers.CharField()
    findings = serializers.ListField(child=serializers.DictField())
    computed = serializers.DictField()
    missing = serializers.ListField(child=serializers.DictField())
    second_look = serializers.ListField(child=serializers.DictField())
    caution = serializers.CharField(allow_null=True)


class LengthInEveryWay(serializers.Serializer):
    """What `lengths` answers: no verdict, there is nothing to judge."""

    length_mm = serializers.CharField()
    inches = serializers.CharField()
    feet_and_inches = serializers.CharField()
    millimetres = serializers.CharField()


def _all_described() -> str:
    """The body of every calculation, for the docs."""
    parts = (f"**`{name}`** {inputs.says}\n\n" + "\n".join(f"- `{f}`: {what}" for f, what in inputs.fields.items())
             for name, inputs in INPUTS.items())
    return "\n\n".join((
        "The verdict on these readings, by the limits sent under `limits` (each a value, or `{value, source}`), or "
        "else by those that are shipped. A length is a number of millimetres or text. What cannot be is refused by "
        "its field, with what was sent and what would be right; a field that the calculation does not know is, too.",
        *parts))


class CalculationResource(Worked):
    """Judged from what is sent, by the limits that are sent or else those that are shipped. Nothing is kept."""

    lookup_value_regex = "[a-z0-9-]{1,40}"
    rate = "calculations"

    @extend_schema(responses=CalculationSerializer(many=True))
    def list(self, request: Request) -> HttpResponse:
        """The calculations there are, and the limits each takes."""
        names = [convert.NAME, *JUDGED]
        mark = mark_of("calculations", self.reader.user.pk, position())
        if is_known(request.headers.get("If-None-Match"), mark):
            return unchanged(mark)
        return marked(answer([_shown(name) for name in names]), mark)

    @extend_schema(
        request=OpenApiTypes.OBJECT, description=_all_described(),
        responses=PolymorphicProxySerializer("Calculated", [VerdictSerializer, LengthInEveryWay], None),
        examples=[OpenApiExample(name, inputs.example, summary=inputs.says, request_only=True)
                  for name, inputs in INPUTS.items()])
    def create(self, request: Request, pk: str) -> HttpResponse:
        """The verdict on these readings."""
        payload = reading.mapping(request.data, "body")
        if pk == convert.NAME:
            INPUTS[pk].refuse_unknown(payload, {})
            return answer(convert.convert(payload))
        if pk not in JUDGED:
            raise NotThere("There is no such calculation; GET /api/v1/calculations/ lists them.")
        kind = JUDGED[pk]
        given = {name: value for name, value in payload.items() if name != "limits"}
        INPUTS[pk].refuse_unknown(given, kind.limits)
        limits = reading.limits(payload.get("limits"), kind.limits, _shipped(pk), reading.unit_of(payload))
        judge = floor.judge_with_correction if pk == floor.NAME else kind.judge
        return answer(judge(given, limits).as_dict())


def _shown(name: str) -> dict[str, Any]:
    inputs = INPUTS[name]
    return {"name": name, "says": inputs.says, "fields_taken": inputs.fields, "example": inputs.example,
            "limits": _limits_shown(name)}


def _limits_shown(name: str) -> dict[str, Any]:
    if name not in JUDGED:
        return {}
    shipped = _shipped(name)
    return {limit: {"unit": unit, **_limit_shown(shipped.get(limit), unit)} for limit, unit in
            JUDGED[name].limits.items()}


def _shipped(name: str) -> dict[str, Limit]:
    return limits_for(name) if name in CALCULATIONS else shipped_limits(name)


def _limit_shown(limit: Limit | None, unit: str) -> dict[str, Any]:
    if limit is None or limit.value is None:
        return {"value": None, "source": None if limit is None else limit.source}
    return {"value": printed(limit.value, unit), "source": limit.source}


class EntriesIn(serializers.Serializer):
    entries = serializers.ListField(child=serializers.DictField(), max_length=MOST, help_text=(
        "In the order they happened. Each: `id` (chosen by the device), `entry` (inspection, confirmation, "
        "stage-change, …), `opening` or what it is about, `taken_at`, `data`."))


class EntryResult(serializers.Serializer):
    id = serializers.CharField(allow_null=True)
    result = serializers.ChoiceField(["stored", "had already", "recorded, not advanced", "refused"])
    record = serializers.CharField(required=False)
    record_id = serializers.CharField(required=False)
    reasons = serializers.ListField(child=serializers.DictField(), required=False)
    verdict = serializers.DictField(required=False)
    problem = serializers.DictField(required=False)


class EntriesOut(serializers.Serializer):
    results = EntryResult(many=True)


class SiteEntryResource(Worked):
    """Everything a telephone kept while it had no signal."""

    what = "log an adjustment"  # whoever records anything on site; each entry is asked for itself
    rate = "entries"

    @extend_schema(request=EntriesIn, responses=EntriesOut)
    def create(self, request: Request) -> HttpResponse:
        """A batch, taken in in its order, with a result for each. One that is refused does not stop the others, and
        what happened on site is kept even where the gate says no."""
        entries = request.data.get("entries") if isinstance(request.data, Mapping) else None
        if not isinstance(entries, list):
            raise Invalid("Send the entries as a list.", fields={"entries": "a list of entries"})
        return answer({"results": self.taken_in(entries)})

    def taken_in(self, entries: list[Any]) -> list[dict[str, Any]]:
        return take_in(self.act(), entries)


class WeekSerializer(serializers.Serializer):
    earned_minutes = serializers.IntegerField()
    planned_minutes = serializers.IntegerField()
    used_minutes = serializers.IntegerField()


class CrewProgressSerializer(serializers.Serializer):
    crew = serializers.IntegerField()
    name = serializers.CharField()
    people = serializers.ListField(child=serializers.CharField())
    lead = serializers.CharField(allow_null=True)
    week = WeekSerializer()
    week_from = serializers.DateField()
    openings = serializers.ListField(child=serializers.DictField())


class ProgressSerializer(serializers.Serializer):
    day = serializers.DateField()
    crews = CrewProgressSerializer(many=True)


class MinutesLine(WeekSerializer):
    key = serializers.CharField(allow_null=True, help_text="The crew, opening or job by its id, the week by its "
                                                            "Monday; null for minutes of no crew.")


class MinutesSerializer(serializers.Serializer):
    by = serializers.CharField()
    day_from = serializers.DateField()
    day_to = serializers.DateField()
    results = MinutesLine(many=True)


LONGEST = 366  # days
BY = ("crew", "opening", "job", "week")


class MinutesFilter(django_filters.FilterSet):
    """Whose minutes. One that nobody knows is refused, as in every list."""

    by = OneOf(choices=[(name, name) for name in BY], method="left_alone", label="one line for each of these")
    day_from = Day(method="left_alone", label="the first day; Monday of this week when left out")
    day_to = Day(method="left_alone", label="the last day; today when left out")
    crew = Number()
    opening = Number()
    job = Number()

    def left_alone(self, found: Any, _: str, __: Any) -> Any:
        return found


class ProgressResource(Worked):
    """How far each crew has got, and what it waits for."""

    def _today(self) -> dt.date:
        """The day it is for the reader: their weeks end on their own Sunday."""
        return self.reader.now.astimezone(clock_of(self.reader.user, OfficeSettings.current())).date()

    def _unchanged(self, *more: object) -> tuple[str, bool]:
        mark = mark_of(self.request.get_full_path(), position(), *self.reader.rights(), *more)
        return mark, is_known(self.request.headers.get("If-None-Match"), mark)

    @extend_schema(responses=ProgressSerializer)
    def list(self, request: Request) -> HttpResponse:
        """Every crew the reader may see: its openings in hand, this week's minutes, what is waited for, who owes it."""
        read_query(request, None)
        today = self._today()
        mark, known = self._unchanged(today)
        if known:
            return unchanged(mark)
        return marked(answer({"day": today, "crews": progress.crew_progress(self.act(), today)}), mark)

    @extend_schema(responses=MinutesSerializer, parameters=[
        OpenApiParameter("by", str, enum=BY, default="crew"), OpenApiParameter("job", int),
        OpenApiParameter("opening", int), OpenApiParameter("crew", int),
        OpenApiParameter("day_from", dt.date), OpenApiParameter("day_to", dt.date)])
    def minutes(self, request: Request) -> HttpResponse:
        """Earned, planned and used minutes by crew, opening, job or week, over at most a year; this week when no days
        are given. Of one job, opening or crew where that is named."""
        asked = read_query(request, MinutesFilter)
        by, today = asked["by"] or "crew", self._today()
        first = asked["day_from"] or monday_of(today)
        last = asked["day_to"] or max(today, first)
        if not 0 <= (last - first).days <= LONGEST:
            raise BadQuery("day_to", f"day_from or later, and at most {LONGEST} days after it")
        mark, known = self._unchanged(first, last)
        if known:
            return unchanged(mark)
        openings = self.reader.openings()
        if asked["job"] is not None:
            openings = openings.filter(job_id=asked["job"])
        if asked["opening"] is not None:
            openings = openings.filter(pk=asked["opening"])
        rows = progress.ledgers(openings, crew=asked["crew"], first=first, last=last)
        sums = progress.minutes(by, rows, last, first=first)
        lines = [{"key": None if key is None else str(key), **sum3.as_dict()}
                 for key, sum3 in sorted(sums.items(), key=lambda line: str(line[0]))]
        return marked(answer({"by": by, "day_from": first, "day_to": last, "results": lines}), mark)
