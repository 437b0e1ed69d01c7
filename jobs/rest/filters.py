"""Filters: each named, each strict. One that nobody knows is refused, since leaving it out would answer too much."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from typing import Any

import django_filters
from django import forms
from django.db import models
from django.db.models import Q
from django_filters.fields import IsoDateTimeField
from django_filters.rest_framework import DjangoFilterBackend
from rest_framework.request import Request
from rest_framework.views import APIView

from jobs.models import Opening
from jobs.rest.errors import BadQuery
from jobs.rest.reader import reader_of

ALWAYS = frozenset(("cursor", "page_size", "ordering"))


class Filters(DjangoFilterBackend):
    """Costs nothing where nothing is filtered."""

    def filter_queryset(self, request: Request, queryset: models.QuerySet, view: APIView) -> models.QuerySet:
        if not request.query_params.keys() - ALWAYS:
            return queryset
        return _read(request, self.get_filterset_class(view, queryset), ALWAYS, queryset).qs


def read_query(request: Request, kind: type[django_filters.FilterSet] | None) -> dict[str, Any]:
    """What the address asks of something that is no list of records; None for what it leaves out."""
    chosen = _read(request, kind, (), Opening.objects.none())
    found = {} if chosen is None else chosen.form.cleaned_data
    return {name: None if value == "" else value for name, value in found.items()}


def _read(request: Request, kind: type[django_filters.FilterSet] | None, also: Collection[str],
          queryset: models.QuerySet) -> Any:
    known = kind.base_filters if kind else {}
    there = ", ".join(sorted((*known, *also))) or "none"
    for name in sorted(request.query_params.keys() - known.keys() - set(also)):
        raise BadQuery(name, f"no such filter here; there are: {there}")
    if kind is None:
        return None
    chosen = kind(request.query_params, queryset=queryset, request=request)
    if not chosen.is_valid():
        for name, why in chosen.errors.items():
            raise BadQuery(name, " ".join(why).rstrip("."))
    return chosen


class Number(django_filters.Filter):
    """A whole number, such as the id of another record. Whether that record is there is not asked."""

    field_class = forms.IntegerField

    def __init__(self, *args: Any, **how: Any) -> None:
        super().__init__(*args, **{"min_value": 0, "max_value": 2**63 - 1, **how})


class Day(django_filters.DateFilter):
    """2026-03-10, and nothing that can be read two ways."""

    def __init__(self, *args: Any, **how: Any) -> None:
        super().__init__(*args, **{"input_formats": ["%Y-%m-%d"], **how})
        self.extra["error_messages"] = {"invalid": "Write the day as 2026-03-10."}


class _InUTC(IsoDateTimeField):
    """Read as the database will: the first and the last day of all years have hours that no other zone has."""

    def to_python(self, value: Any) -> dt.datetime | None:
        found = super().to_python(value)
        try:
            return found and found.astimezone(dt.UTC)
        except OverflowError as why:
            raise forms.ValidationError(self.error_messages["invalid"]) from why


class Moment(django_filters.IsoDateTimeFilter):
    """RFC 3339: 2026-03-10T15:00:00Z."""

    field_class = _InUTC

    def __init__(self, *args: Any, **how: Any) -> None:
        super().__init__(*args, **how)
        self.extra["error_messages"] = {"invalid": "Write the time as 2026-03-10T15:00:00Z."}


class OneOf(django_filters.ChoiceFilter):
    def __init__(self, *args: Any, choices: Any, **how: Any) -> None:
        super().__init__(*args, choices=choices, **how)
        words = ", ".join(str(value) for value, _ in choices if value)
        self.extra["error_messages"] = {"invalid_choice": f"One of: {words}."}


class YesNo(django_filters.TypedChoiceFilter):
    """`true` or `false`; `empty` turns the question round into *has no value*."""

    def __init__(self, *args: Any, **how: Any) -> None:
        choices = [("true", "true"), ("false", "false")]
        super().__init__(*args, choices=choices, coerce=lambda sent: sent == "true", **how)
        self.extra["error_messages"] = {"invalid_choice": "true or false."}


class Words(django_filters.CharFilter):
    """Looks for the words in any of some columns; in `contacts` only for one who may read those: what is found by
    them tells them too."""

    def __init__(self, *paths: str, contacts: Sequence[str] = (), **how: Any) -> None:
        self.paths, self.contacts = paths, contacts
        super().__init__(**{"max_length": 80, "label": "text to look for", **how})

    def filter(self, qs: models.QuerySet, value: str) -> models.QuerySet:
        for word in (value or "").split()[:6]:
            found = Q()
            for path in self._read():
                found |= Q(**{f"{path}__icontains": word})
            qs = qs.filter(found)
        return qs

    def _read(self) -> Sequence[str]:
        if self.contacts and reader_of(self.parent.request).reach("read contacts") is None:
            return self.paths
        return (*self.paths, *self.contacts)


class NotNull(YesNo):
    """Whether a column has a value."""

    def filter(self, qs: models.QuerySet, value: Any) -> models.QuerySet:
        if value in (None, ""):
            return qs
        return qs.filter(**{f"{self.field_name}__isnull": not value})


class IsNull(YesNo):
    """Whether a column has none yet: still open, not yet back."""

    def filter(self, qs: models.QuerySet, value: Any) -> models.QuerySet:
        if value in (None, ""):
            return qs
        return qs.filter(**{f"{self.field_name}__isnull": bool(value)})
