"""Answers are made from rows: a serializer's fields become the columns of one query, with no object a row.

The schema and the writing side stay ordinary serializers; lists and single records read alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import models
from rest_framework import serializers

from jobs.rest.fields import Computed, LengthMM

Row = dict[str, Any]
Change = Callable[[Any], Any] | None


def millimetres(nm: int) -> str:
    """As `lengths.to_mm`, without its cost."""
    if nm >= 0:
        return f"{nm // 1_000_000}.{nm % 1_000_000:06}"
    whole, part = divmod(-nm, 1_000_000)
    return f"-{whole}.{part:06}"


@dataclass(frozen=True, slots=True)
class Shown:
    """One field of an answer: from which columns (their places in `Plan.paths`), and what becomes of them."""

    name: str
    places: tuple[int, ...]
    change: Change = None  # of one value; None stays None
    compute: Callable[..., Any] | None = None  # of all of them

    def column(self, columns: Sequence[Sequence[Any]]) -> Iterable[Any]:
        first = columns[self.places[0]]
        if self.compute is not None:
            return map(self.compute, *(columns[place] for place in self.places))
        return first if self.change is None else changed(first, self.change)


@dataclass(frozen=True, slots=True)
class Plan:
    """Which columns to read (the first is the primary key), and what becomes of them."""

    paths: tuple[str, ...]
    shown: tuple[Shown, ...]
    many: tuple[tuple[str, str], ...]  # a field that is a list of ids, and the relation they come from
    order: tuple[str, ...]

    def rows(self, found: models.QuerySet) -> list[Row]:
        return self.made(found.model, list(found.values_list(*self.paths)))

    def made(self, model: type[models.Model], tuples: Sequence[tuple[Any, ...]]) -> list[Row]:
        """Worked out column by column: what is the same for a whole column is asked once."""
        if not tuples:
            return []
        return self.of_columns(model, list(zip(*tuples, strict=True)))

    def of_columns(self, model: type[models.Model], columns: Sequence[Sequence[Any]]) -> list[Row]:
        names = [shown.name for shown in self.shown]
        rows = [dict(zip(names, values, strict=True))
                for values in zip(*(shown.column(columns) for shown in self.shown), strict=True)]
        if not self.many:
            return rows
        self._add_many(model, rows, columns[0])
        return [{name: row[name] for name in self.order} for row in rows]

    def _add_many(self, model: type[models.Model], rows: list[Row], keys: Sequence[Any]) -> None:
        for name, relation in self.many:
            ids: dict[Any, list[Any]] = {key: [] for key in keys}
            pairs = model._default_manager.filter(pk__in=keys, **{f"{relation}__isnull": False})
            for key, other in pairs.order_by("pk", relation).values_list("pk", relation):
                ids[key].append(other)
            for row, key in zip(rows, keys, strict=True):
                row[name] = ids[key]


def changed(column: Sequence[Any], change: Callable[[Any], Any]) -> list[Any]:
    return [None if value is None else change(value) for value in column]


def plan_for(serializer: type[serializers.Serializer], hidden: Iterable[str] = ()) -> Plan:
    """The plan of a serializer's readable fields, without those that are hidden."""
    fields = {name: field for name, field in serializer().fields.items() if not field.write_only and name not in hidden}
    places: dict[str, int] = {"pk": 0}

    def place(path: str) -> int:
        return places.setdefault(path, len(places))

    shown = []
    for name, field in fields.items():
        if isinstance(field, serializers.ManyRelatedField):
            continue
        if isinstance(field, Computed):
            shown.append(Shown(name, tuple(place(path) for path in field.paths), compute=field.compute))
        else:
            change = millimetres if isinstance(field, LengthMM) else None
            shown.append(Shown(name, (place(field.source.replace(".", "__")),), change))
    return Plan(
        paths=tuple(places), shown=tuple(shown), order=tuple(fields),
        many=tuple((n, f.source) for n, f in fields.items() if isinstance(f, serializers.ManyRelatedField)))
