"""Answers are made from rows: a serializer's fields become the columns of one query, with no object a row.

The schema and the writing side stay ordinary serializers; lists and single records read alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.db import models
from rest_framework import serializers

from jobs.rest.fields import Computed, LengthMM

Row = dict[str, Any]


def millimetres(nm: int | None) -> str | None:
    """As `lengths.to_mm`, without its cost."""
    if nm is None:
        return None
    whole, part = divmod(abs(nm), 1_000_000)
    return f"{'-' if nm < 0 else ''}{whole}.{part:06}"


@dataclass(frozen=True, slots=True)
class Plan:
    """Which columns to read, and what becomes of them."""

    names: tuple[str, ...]  # plain fields, each from the column at its place in `paths`
    paths: tuple[str, ...]  # pk first, then the plain fields' columns, then what is computed from
    changed: tuple[tuple[str, Callable[[Any], Any]], ...]
    computed: tuple[tuple[str, slice, Callable[..., Any]], ...]
    many: tuple[tuple[str, str], ...]  # field, and the relation its ids come from
    order: tuple[str, ...]

    def rows(self, found: models.QuerySet) -> list[Row]:
        return self.made(found.model, list(found.values_list(*self.paths)))

    def made(self, model: type[models.Model], tuples: Iterable[tuple[Any, ...]]) -> list[Row]:
        tuples = list(tuples)
        made = [dict(zip(self.names, values[1:], strict=False)) for values in tuples]
        for name, change in self.changed:
            for row in made:
                row[name] = change(row[name])
        for name, place, compute in self.computed:
            for row, values in zip(made, tuples, strict=True):
                row[name] = compute(*values[place])
        if self.many and made:
            self._add_many(model, made, [values[0] for values in tuples])
        if self.computed or self.many:
            return [{name: row[name] for name in self.order} for row in made]
        return made

    def _add_many(self, model: type[models.Model], made: list[Row], keys: list[Any]) -> None:
        for name, relation in self.many:
            ids: dict[Any, list[Any]] = {key: [] for key in keys}
            pairs = model._default_manager.filter(pk__in=keys, **{f"{relation}__isnull": False})
            for key, other in pairs.order_by("pk", relation).values_list("pk", relation):
                ids[key].append(other)
            for row, key in zip(made, keys, strict=True):
                row[name] = ids[key]


def plan_for(serializer: type[serializers.Serializer], hidden: Iterable[str] = ()) -> Plan:
    """The plan of a serializer's readable fields, without those that are hidden."""
    fields = {name: field for name, field in serializer().fields.items() if not field.write_only and name not in hidden}
    plain = {name: field for name, field in fields.items()
             if not isinstance(field, (Computed, serializers.ManyRelatedField))}
    paths = ["pk", *(field.source.replace(".", "__") for field in plain.values())]
    computed = []
    for name, field in fields.items():
        if isinstance(field, Computed):
            start = len(paths)
            paths.extend(field.paths)
            computed.append((name, slice(start, len(paths)), field.compute or _itself))
    return Plan(
        names=tuple(plain), paths=tuple(paths),
        changed=tuple((name, millimetres) for name, field in plain.items() if isinstance(field, LengthMM)),
        computed=tuple(computed),
        many=tuple((n, f.source) for n, f in fields.items() if isinstance(f, serializers.ManyRelatedField)),
        order=tuple(fields),
    )


def _itself(value: Any) -> Any:
    return value
