"""Acts to measure, each beside the least that would have to be done."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Mapping
from statistics import median
from typing import Any

from django.db import connection, transaction

from dashboard.benching import rows
from dashboard.benching.timing import milliseconds
from inspections.calc import floor
from inspections.models import Check, Inspection, Reading
from inspections.services.checks import shipped_limits
from inspections.services.entries import take_in
from inspections.services.gates import advance_opening
from inspections.services.inspecting import confirm
from jobs.acts import Act
from jobs.calc.verdict import Limit
from jobs.models import Opening, StageChange, WorkStep
from jobs.models.base import new_id
from jobs.stages import WORKED, Stage

FOOT = 304.8
OPENINGS = 10


def _act() -> Act:
    return Act.of(rows.office(), dt.datetime.now(dt.UTC))


def _openings(count: int, prefix: str) -> list[Opening]:
    made = [Opening.objects.create(job=rows.job(), tag=f"{prefix}{n}") for n in range(count)]
    for opening in made:
        for stage in WORKED:
            WorkStep.objects.create(opening=opening, stage=stage.value, planned_minutes=600)
    return made


def _floor(chance: random.Random, stations: int = 20) -> dict[str, Any]:
    def line() -> list[dict[str, float]]:
        return [{"at": n * FOOT, "reading": round(chance.uniform(0, 1.5), 1)} for n in range(stations)]
    return {"stations": line(), "inner": line(), "sill_from": 0, "sill_to": (stations - 1) * FOOT}


def batch_of_entries(count: int) -> tuple[float, float]:
    """Milliseconds for a batch of floors read on twenty stations and two lines, on ten openings; and for the bare
    writing of the rows that came of it."""
    chance = random.Random(1)  # noqa: S311
    openings = _openings(OPENINGS, "batch-")

    def entries() -> list[dict[str, Any]]:
        return [{"id": str(new_id()), "entry": "inspection", "opening": openings[n % OPENINGS].pk,
                 "data": {"kind": "floor-profile", "given": _floor(chance)}} for n in range(count)]

    batches = iter([entries() for _ in range(4)])

    def take() -> None:
        results = take_in(_act(), next(batches))
        if any(r["result"] != "stored" for r in results):
            raise RuntimeError(results[0])

    judged = milliseconds(take, 4)
    return judged, _bare_batch(count)


def _bare_batch(count: int) -> float:
    kept = list(Inspection.objects.order_by("-id").values_list("pk", flat=True)[:count])
    sets = [(model, list(model.objects.filter(**{f"{path}__in": kept}).values_list()))
            for model, path in ((Inspection, "pk"), (Reading, "inspection"))]
    tables = [_bare_copy(model, found) for model, found in sets]

    taken = []
    for _ in range(5):
        taken.append(milliseconds(lambda: _write(tables), 1))
        with connection.cursor() as cursor:
            for sql, _ in tables:
                cursor.execute("DELETE FROM " + sql.split()[2])  # noqa: S608
    return median(taken)


def _write(tables: list[tuple[str, list[list[Any]]]]) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        for sql, values in tables:
            cursor.executemany(sql, values)


def _bare_copy(model: Any, found: list[tuple]) -> tuple[str, list[list[Any]]]:
    """The same columns without their constraints, as text and numbers already: nothing but the writing is measured."""
    fields = model._meta.concrete_fields
    table = f"bench_{model._meta.db_table}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE TABLE {table} ({', '.join(f.column for f in fields)})")
    marks = ", ".join(["%s"] * len(fields))
    values = [[f.get_db_prep_save(v, connection) for f, v in zip(fields, row, strict=True)] for row in found]
    return f"INSERT INTO {table} VALUES ({marks})", values  # noqa: S608


def one_advance(count: int = 12) -> tuple[float, float]:
    """Milliseconds to advance an opening through the punch list gate; and to update and insert a row, committed."""
    openings = iter(_openings(count, "advance-"))
    Check.objects.filter(stage=Stage.OPENING_VERIFIED).exclude(judged_by="confirmed").update(asked=False)
    codes = list(Check.objects.filter(stage=Stage.OPENING_VERIFIED, asked=True).values_list("code", flat=True))
    Check.objects.filter(code__in=codes).update(photo=False)
    ready = []
    for opening in openings:
        for code in codes:
            confirm(_act(), opening.pk, code, "yes")
        ready.append(opening)
    waiting = iter(ready)
    advanced = milliseconds(lambda: advance_opening(_act(), next(waiting).pk), count)
    return advanced, _bare_advance(ready[0])


def _bare_advance(opening: Opening) -> float:
    change = StageChange.objects.filter(opening=opening).first()

    def write() -> None:
        with transaction.atomic():
            Opening.objects.filter(pk=opening.pk).update(location="here")
            change.pk = new_id()
            change.save(force_insert=True)

    return milliseconds(write, 10)


def correction_of_a_floor() -> tuple[float, float]:
    """Milliseconds for the whole correction of a floor of sixty stations, and for the one solve in it."""
    chance = random.Random(3)  # noqa: S311
    height, line = 0.0, []
    for n in range(30):
        height += chance.uniform(-3, 3)
        line.append({"at": n * FOOT, "reading": round(height, 1)})
    inner = [{"at": s["at"], "reading": round(s["reading"] + chance.uniform(-3, 3), 1)} for s in line]
    payload = {"stations": line, "inner": inner, "sill_from": 0, "sill_to": 29 * FOOT}
    limits = shipped_limits(floor.NAME)
    whole = milliseconds(lambda: floor.correct(payload, limits), 9)
    return whole, _solver_alone(payload, limits)


def _solver_alone(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> float:
    """The solver's own runs of the same program, made beforehand: the best plan, grinding only, filling only."""
    program = floor.program_of(payload, limits)

    def solve() -> None:
        for grind, fill in ((True, True), (True, False), (False, True)):
            program.allow(grind=grind, fill=fill)
            program.solve(0)

    return milliseconds(solve, 9)
