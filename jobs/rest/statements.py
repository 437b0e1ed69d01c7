"""Lists as the database gives them: SQL written by the ORM once, run as often as it is asked, with no object a value.

Writing the SQL of one page and turning its values into Python's costs several times what the database takes. Only
the text is kept, and only for a page of a whole table; whatever narrows a list (a filter, a reader's own openings)
takes the ordinary way and gives the same rows.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from typing import Any

import orjson
from django.db import connection, models
from django.db.models.functions import Cast
from django.db.models.query import get_related_populators

from jobs.rest.paging import Cut, field_at, leaves
from jobs.rest.rows import Plan, changed

Columns = list[Sequence[Any]]
Reader = Callable[[Any], Any] | None
MOST = 1000  # texts kept: whoever asks for every page size there is fills no memory
_written: dict[Hashable, tuple[str, tuple[Reader, ...]] | None] = {}


def read(found: Callable[[], models.QuerySet], plan: Plan, cut: Cut) -> Columns | None:
    """The columns of this page, as `wanted` names them; None where the ordinary way is needed."""
    empty = None if cut.after is None else tuple(value is None for value in cut.after)
    key = (id(plan), connection.vendor, cut.name, cut.size, cut.back, empty)  # plans are kept for good
    if key not in _written:
        if len(_written) >= MOST:
            _written.clear()
        _written[key] = _write(found(), plan, cut)
    if _written[key] is None:
        return None
    sql, readers = _written[key]
    with connection.cursor() as cursor:
        cursor.execute(sql, _params(cut) or None)
        columns = list(zip(*cursor.fetchall(), strict=True))
    return [column if reader is None else changed(column, reader)
            for column, reader in zip(columns, readers, strict=bool(columns))]


def wanted(plan: Plan, cut: Cut) -> tuple[str, ...]:
    """Every column once."""
    return tuple(dict.fromkeys((*plan.paths, *(key.path for key in cut.keys))))


def _write(found: models.QuerySet, plan: Plan, cut: Cut) -> tuple[str, tuple[Reader, ...]] | None:
    """The SQL of this page for any values of its cursor, and how its columns are read; None where its parameters are
    not the cursor's alone."""
    if plan.many:
        return None
    asked = (_as_kept(found.model, path) for path in wanted(plan, cut))
    sql, params = cut.page(found).values_list(*asked).query.sql_with_params()
    if tuple(params) != tuple(_params(cut)):
        return None
    readers = tuple(_reader(field_at(found.model, path)) for path in wanted(plan, cut))
    return sql if params else sql.replace("%%", "%"), readers


def _as_kept(model: type[models.Model], path: str) -> Any:
    """SQLite's driver takes each time apart and puts it together again; as text it comes as it is kept."""
    is_time = isinstance(field_at(model, path), models.DateTimeField)
    return Cast(path, models.TextField()) if is_time and connection.vendor == "sqlite" else path


def _params(cut: Cut) -> list[Any]:
    if cut.after is None:
        return []
    return [key.field.get_db_prep_value(value, connection) for key, value in leaves(cut.keys, cut.after, cut.back)]


# --- one record with what it points to --------------------------------------------------------------------------------


class Lookup:
    """Records by one value, with their relations: the same objects the ORM makes, without writing the SQL each time."""

    def __init__(self, found: Callable[[Any], models.QuerySet]) -> None:
        self._found = found
        self._ready: tuple[Any, ...] | None = None

    def _prepared(self) -> tuple[Any, ...]:
        if self._ready is None:
            query = self._found("").query
            compiler = query.get_compiler(connection.alias)
            sql, _ = compiler.as_sql()
            self._ready = (sql, compiler, compiler.get_converters(col[0] for col in compiler.select),
                           get_related_populators(compiler.klass_info, compiler.select, connection.alias))
        return self._ready

    def __call__(self, value: Any) -> Iterator[Any]:
        sql, compiler, converters, related = self._prepared()
        with connection.cursor() as cursor:
            cursor.execute(sql, [value])
            rows = cursor.fetchall()
        kind, places = compiler.klass_info["model"], compiler.klass_info["select_fields"]
        names = [compiler.select[place][0].target.attname for place in places]
        for row in compiler.apply_converters(rows, converters):
            record = kind.from_db(connection.alias, names, row[places[0]: places[-1] + 1])
            for populator in related:
                populator.populate(row, record)
            yield record


# --- what a database gives, as the answer says it -------------------------------------------------------------------


def _reader(field: models.Field) -> Reader:
    """What turns the database's own value into one that is written as the ORM's would be."""
    while isinstance(field, models.ForeignKey):
        field = field.target_field
    if isinstance(field, models.JSONField):
        return orjson.Fragment
    if connection.vendor != "sqlite":
        return None
    if isinstance(field, models.DateTimeField):
        return _moment
    return _dashed if isinstance(field, models.UUIDField) else None


def _moment(kept: str) -> str:
    """SQLite keeps a time as text in UTC: 2026-03-10 15:00:00.5."""
    return f"{kept[:10]}T{kept[11:]}Z"


def _dashed(kept: str) -> str:
    """SQLite keeps a UUID as 32 letters."""
    return f"{kept[:8]}-{kept[8:12]}-{kept[12:16]}-{kept[16:20]}-{kept[20:]}"
