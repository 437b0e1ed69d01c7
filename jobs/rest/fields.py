"""Fields that serializers of all floors use: lengths, finite numbers, short lists, zones."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any
from zoneinfo import available_timezones

from django.core.exceptions import ObjectDoesNotExist
from django.db import models
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from jobs.calc import reading
from jobs.calc.holidays import public_holidays
from jobs.calc.lengths import Length, to_mm
from jobs.calc.verdict import BadInput
from jobs.fields import LengthField

LENGTH_IN = {
    "oneOf": [{"type": "string"}, {"type": "number"}],
    "description": "In: a number of millimetres, or text in any unit (`96 1/2\"`, `8' 0-1/2\"`, `245.11 cm`); text "
                   "without a unit is millimetres. Out: millimetres as a decimal string with six places.",
    "examples": ["6121.400000", "20' 1\"", 6121.4],
}


@extend_schema_field(LENGTH_IN)
class LengthMM(serializers.Field):
    """A length: in as text in any unit or a number of millimetres, out as `"6121.400000"`.

    Text without a unit is millimetres, so that what went out may come back in unchanged.
    """

    def __init__(self, *, signed: bool = False, **how: Any) -> None:
        self.signed = signed
        super().__init__(**how)

    def to_internal_value(self, data: Any) -> Length:
        try:
            return Length(reading.length(data, self.field_name, unit="mm", signed=self.signed))
        except BadInput as why:
            raise serializers.ValidationError(why.right) from why

    def to_representation(self, value: int) -> str:
        return to_mm(value)


class FiniteFloat(serializers.FloatField):
    def to_internal_value(self, data: Any) -> float:
        value = super().to_internal_value(data)
        if not math.isfinite(value):
            raise serializers.ValidationError("Write a plain number, with a point for decimals.")
        return value


class Moment(serializers.DateTimeField):
    """A time with its zone: without one it could be any of twenty-four."""

    def enforce_timezone(self, value: dt.datetime) -> dt.datetime:
        if value.tzinfo is None:
            raise serializers.ValidationError("Write the time with its zone: 2026-03-10T09:30:00-07:00 or …T16:30:00Z.")
        return super().enforce_timezone(value)


class Id(serializers.IntegerField):
    """The id of another record, looked up by whoever acts on it."""

    def __init__(self, **how: Any) -> None:
        super().__init__(**{"min_value": 1, "max_value": 2**63 - 1, **how})


class HolidayRegion(serializers.CharField):
    """US or US-CA. A region nobody knows is refused: its holidays would be worked through without a word."""

    def __init__(self, **how: Any) -> None:
        super().__init__(**{"max_length": 12, "allow_blank": True, **how})

    def to_internal_value(self, data: Any) -> str:
        region = super().to_internal_value(data).upper()
        try:
            public_holidays(region)
        except ValueError as why:
            raise serializers.ValidationError(
                "No holidays are known for this region; write a country such as US, or one and its part: US-CA.",
            ) from why
        return region


class Computed(serializers.Field):
    """Out only: made from columns. `compute` gets the values under `paths`, in their order."""

    def __init__(self, paths: Sequence[str], compute: Callable[..., Any] | None = None, **how: Any) -> None:
        self.paths, self.compute = tuple(paths), compute
        super().__init__(**{"read_only": True, "source": "*", **how})

    def to_representation(self, value: Any) -> Any:  # pragma: no cover - answers are made from rows
        raise NotImplementedError


@extend_schema_field({"type": ["string", "null"]})
class Words(Computed):
    """Text from another table, such as a job's number beside its id."""


@extend_schema_field({"type": ["integer", "null"]})
class Whole(Computed):
    """A whole number from other columns."""


def known_zone(name: str) -> None:
    if name not in available_timezones():
        raise serializers.ValidationError("No such time zone; write one such as America/Los_Angeles.")


def short_words(value: Any) -> None:
    """A list of short texts."""
    if not isinstance(value, list) or len(value) > 100 or not all(isinstance(w, str) and len(w) <= 200 for w in value):
        raise serializers.ValidationError("Send a list of at most 100 short texts.")


def plain_objects(value: Any) -> None:
    """A list of objects."""
    if not isinstance(value, list) or len(value) > 200 or not all(isinstance(w, Mapping) for w in value):
        raise serializers.ValidationError("Send a list of at most 200 objects.")


def plain_object(value: Any) -> None:
    if not isinstance(value, Mapping) or len(value) > 200:
        raise serializers.ValidationError("Send an object here.")


def more_than_nothing(value: int) -> None:
    """For a size that readings are judged by: none can be taken of a sill of no length."""
    if value == 0:
        raise serializers.ValidationError("A size is more than nothing; leave it out where it is not known.")


class RecordSerializer(serializers.ModelSerializer):
    """A record's fields. `<name>_mm` stands for the length column `<name>`.

    Uniqueness is asked of the service that saves, so that pages and API say the same.
    """

    serializer_field_mapping = {**serializers.ModelSerializer.serializer_field_mapping, models.FloatField: FiniteFloat}

    def build_field(self, field_name: str, info: Any, model_class: type[models.Model], nested_depth: int) -> Any:
        column = info.fields.get(field_name.removesuffix("_mm"))
        if field_name.endswith("_mm") and isinstance(column, LengthField):
            how: dict[str, Any] = {"source": column.name, "allow_null": column.null}
            if not column.editable:
                how = {"source": column.name, "read_only": True}
            elif column.null or column.has_default():
                how["required"] = False
            return LengthMM, how
        kind, how = super().build_field(field_name, info, model_class, nested_depth)
        if field_name == "time_zone":
            how["validators"] = [known_zone]
        return kind, {**how, **_what_would_be_right(how)}

    def get_validators(self) -> list[Any]:
        return []


def _what_would_be_right(how: Mapping[str, Any]) -> dict[str, Any]:
    if how.get("choices"):
        named = ", ".join(str(value) for value, _said in how["choices"] if value)
        return {"error_messages": {"invalid_choice": f"one of: {named}"}}
    if how.get("queryset") is not None:
        return {"error_messages": {"does_not_exist": "the id of one that is there; there is no {pk_value}"}}
    return {}


def found_or_none(queryset: Any, pk: Any) -> Any:
    try:
        return queryset.get(pk=pk)
    except (ObjectDoesNotExist, ValueError):
        return None
