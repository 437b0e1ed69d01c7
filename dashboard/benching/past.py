"""A long past to measure with: what was accepted in the demo, over and over, each time somewhat longer ago. SQLite."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping

from django.db import connection, models
from django.db.models import Q

from dashboard.benching.rows import COUNT
from inspections.models import Acceptance, Callback, PunchItem, ReturnTrip
from jobs.models import Assignment, EarnedMinutes, Job, Opening, StageChange, Wait, WorkStep
from jobs.stages import Stage

APART = 1_000_000  # between the keys of one copy and of the next
# Whose keys are new in a copy, and which rows of accepted openings are copied: what is over, not what is still open.
COPIED: Mapping[type[models.Model], Callable[[list[int]], models.Q]] = {
    Job: lambda openings: Q(openings__in=openings),
    Opening: lambda openings: Q(pk__in=openings),
    WorkStep: lambda openings: Q(opening__in=openings),
    Assignment: lambda openings: Q(opening__in=openings),
    EarnedMinutes: lambda openings: Q(work_step__opening__in=openings),
    StageChange: lambda openings: Q(opening__in=openings) & ~Q(kind="pass-over"),  # seldom, not at every door
    Acceptance: lambda openings: Q(opening__in=openings),
    PunchItem: lambda openings: Q(opening__in=openings, closed_at__isnull=False),
    Wait: lambda openings: Q(opening__in=openings, cleared_at__isnull=False),
    Callback: lambda openings: Q(opening__in=openings, closed_at__isnull=False),
    ReturnTrip: lambda openings: Q(callback__opening__in=openings, callback__closed_at__isnull=False),
}
AGO = "'-' || (60 + n.i % 1500) || ' days'"
OTHERWISE = {
    (Job, "number"): "t.number || '-' || n.i", (Callback, "number"): "t.number || '-' || n.i",
    (StageChange, "gate"): "'{}'",  # some 60 kB an opening, which no list reads
}


def copies(first: int, last: int) -> int:
    """The copies numbered so, of every accepted opening with all that was done on it; how many openings."""
    accepted = list(Opening.objects.filter(stage=Stage.ACCEPTED.value, pk__lt=APART).values_list("pk", flat=True))
    with connection.cursor() as cursor:
        for model, of in COPIED.items():
            rows = set(model.objects.filter(of(accepted)).order_by().values_list("pk", flat=True))
            _copy(cursor, model, list(rows), first, last)
        cursor.execute("ANALYZE")
    return len(accepted) * (last - first + 1)


def _copy(cursor: object, model: type[models.Model], rows: list, first: int, last: int) -> None:
    fields = model._meta.concrete_fields
    table, columns = model._meta.db_table, ", ".join(field.column for field in fields)
    values, marks = ", ".join(_value(model, field) for field in fields), ", ".join("%s" for _ in rows)
    sql = (f"INSERT INTO {table} ({columns}) {COUNT} SELECT {values} FROM {table} t, n "  # noqa: S608 - all our own
           f"WHERE n.i >= %s AND t.{model._meta.pk.column} IN ({marks})").replace(" % 1500", " %% 1500")
    cursor.execute(sql, [last, first, *(pk.hex if isinstance(pk, uuid.UUID) else pk for pk in rows)])


def _value(model: type[models.Model], field: models.Field) -> str:
    """What the copy holds there: keys of its own, days further back, and all else as it was."""
    column = f"t.{field.column}"
    target = field.related_model if field.is_relation else model if field.primary_key else None
    if (model, field.name) in OTHERWISE:
        return OTHERWISE[model, field.name]
    if target in COPIED:
        own = target._meta.pk
        return f"substr({column}, 1, 24) || printf('%%08x', n.i)" if isinstance(own, models.UUIDField) else (
            f"{column} + n.i * {APART}")
    if isinstance(field, models.DateTimeField):
        return f"strftime('%%Y-%%m-%%d %%H:%%M:%%f', {column}, {AGO})"
    return f"date({column}, {AGO})" if isinstance(field, models.DateField) else column
