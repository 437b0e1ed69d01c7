"""Rows that acts made once, put back as they were: hundreds of tests begin at a stage that takes a hundred acts.

Only where nothing can tell the difference: the same rows stood there before, down to their ids, but for when they were
written and for what is drawn at random.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import cache
from typing import Any

from django.apps import apps
from django.contrib.auth.hashers import make_password
from django.db import connection, transaction
from django.utils import timezone

from jobs.models.base import new_id

Rows = dict[str, dict[Any, tuple]]
OURS = ("jobs", "units", "inspections")
AT_RANDOM = (timezone.now, new_id, make_password)

_kept: dict[Hashable, tuple[dict[str, tuple[list, list[tuple]]], Any]] = {}


@cache
def _tables() -> dict[str, tuple[str, str, list[str]]]:
    """Of each table: its columns, its key, and which columns are the same each time."""
    found = {}
    for app in OURS:
        for model in apps.get_app_config(app).get_models(include_auto_created=True):
            fields = model._meta.concrete_fields
            names = ", ".join(f'"{field.column}"' for field in fields)
            steady = [n for n, field in enumerate(fields)
                      if field.default not in AT_RANDOM and field.column != "password"]
            found[model._meta.db_table] = (names, model._meta.pk.column, steady)
    return found


def _rows() -> Rows:
    found: Rows = {}
    with connection.cursor() as cursor:
        for table, (names, key, _) in _tables().items():
            cursor.execute(f'SELECT "{key}", {names} FROM "{table}" ORDER BY 1')
            found[table] = {row[0]: row[1:] for row in cursor.fetchall()}
    return found


def _as_far_as_it_is_steady(rows: Rows) -> Hashable:
    return tuple((table, tuple(tuple(row[n] for n in _tables()[table][2]) for row in those.values()))
                 for table, those in rows.items() if those)


def once(name: Hashable, make: Callable[[], Any]) -> Any:
    """What `make` gives; the rows it wrote are put back instead where it has run from the same state before."""
    if connection.vendor != "sqlite":  # the only one that gives the same ids again after a rollback
        return make()
    before = _rows()
    asked = (name, _as_far_as_it_is_steady(before))
    if asked not in _kept:
        given = make()
        after = _rows()
        _kept[asked] = {
            table: ([key for key, row in before[table].items() if after[table].get(key) != row],
                    [row for key, row in after[table].items() if before[table].get(key) != row])
            for table in after if after[table] != before[table]
        }, given
        return given
    changed, given = _kept[asked]
    with transaction.atomic(), connection.cursor() as cursor:
        for table, (gone, rows) in changed.items():
            names, key, _ = _tables()[table]
            cursor.executemany(f'DELETE FROM "{table}" WHERE "{key}" = %s', [(it,) for it in gone])
            marks = ", ".join(["%s"] * (names.count(",") + 1))
            cursor.executemany(f'INSERT INTO "{table}" ({names}) VALUES ({marks})', rows)
    return given
