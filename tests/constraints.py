"""Breaking the database's own rules, past every service, and seeing that it refuses."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, models, transaction

from jobs.fields import LengthField

Breaks = dict[str, Callable[[], Any]]


def names_of(app: str) -> set[str]:
    """The constraints of an app's tables, and its columns that hold a value once."""
    tables = list(apps.get_app_config(app).get_models())
    columns = {f"{model._meta.db_table}.{field.column}" for model in tables for field in model._meta.local_fields
               if field.unique and not field.primary_key}
    return columns | {constraint.name for model in tables for constraint in model._meta.constraints}


def put(row: models.Model, **values: Any) -> None:
    """Writes into a row that is there, as plain SQL would."""
    type(row)._base_manager.filter(pk=row.pk).update(**values)


def again(row: models.Model, **values: Any) -> None:
    """The same row once more, under a key of its own."""
    copy = type(row)._base_manager.get(pk=row.pk)
    copy.pk = None if isinstance(copy._meta.pk, models.AutoField) else uuid.uuid4()
    for name, value in values.items():
        setattr(copy, name, value)
    type(row)._base_manager.bulk_create([copy])


def negative(on: str, make: Callable[[], models.Model], *sizes: str) -> Breaks:
    """For each size of a table (by its short name): one nanometre below nothing."""
    return {f"{on}_{size}_not_negative": lambda size=size: put(make(), **{size: -1}) for size in sizes}


def refuses(name: str, broken: Callable[[], Any]) -> None:
    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        broken()
    said = str(refused.value)
    unique_on_sqlite = connection.vendor == "sqlite" and said.startswith("UNIQUE constraint failed:")
    column = name.partition(".")[2]
    assert name in said or unique_on_sqlite or (column and column in said), said


def lengths_without_a_floor(app: str) -> set[str]:
    """Length columns that may go below nothing."""
    found = set()
    for model in apps.get_app_config(app).get_models():
        held = " ".join(constraint.name for constraint in model._meta.constraints)
        found |= {f"{model.__name__}.{field.name}" for field in model._meta.local_fields
                  if isinstance(field, LengthField) and f"_{field.name}_not_negative" not in held}
    return found
