"""What is owed and past its day, or waits for somebody's word: each of these is a row that stands open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from typing import Any

from django.db.models import F, OuterRef, Q, Subquery

from inspections.calc import needs
from inspections.models import (
    Callback,
    CorrectionReport,
    Countersignature,
    HoldPoint,
    PunchItem,
    ReturnTrip,
    SetAsidePart,
)
from inspections.services.needing.rows import DEALT_WITH_BY, MOST, Need, Scope, day_at
from jobs.models import Delivery, Opening, StageChange, Wait
from jobs.roles import Reach, reach
from jobs.stages import Stage
from units.models import PanelChange, Part, PartArrival

URGENT = frozenset({"cannot-be-secured", "broken-glass"})
PARTS_BACK_BY = (Stage.PUNCH_LIST.value, Stage.ACCEPTED.value)  # they go back on before the punch list is walked


def _need(scope: Scope, kind: str, opening: Opening, since: dt.date, key: Any, **more: Any) -> Need:
    return Need(kind, opening, since, (scope.today(opening) - since).days, str(key), **more)


def waits(scope: Scope) -> Iterable[Need]:
    week_ago = scope.act.now - dt.timedelta(days=needs.UNDATED_FOR - 1)
    rows = scope.within(needs.WAIT, Wait.objects.filter(cleared_at=None)).filter(
        Q(expected_day__lt=scope.latest_today) | Q(expected_day=None, taken_at__lt=week_ago))
    rows = rows.select_related("opening__job", "owed_by")
    for wait in rows.order_by(F("expected_day").asc(nulls_last=True), "taken_at")[:MOST]:
        raised = day_at(wait.opening, wait.taken_at)
        if needs.wait_is_due(wait.expected_day, raised, scope.today(wait.opening)):
            yield _need(scope, needs.WAIT, wait.opening, wait.expected_day or raised, wait.pk, values={
                "what": wait.what_for, "owed_by_kind": wait.owed_by_kind, "expected": wait.expected_day,
                "owed_by": "" if wait.owed_by is None else wait.owed_by.name})


def deliveries(scope: Scope) -> Iterable[Need]:
    """One row, at the first of the openings that it is for."""
    rows = Delivery.objects.filter(received_at=None, expected_day__lt=scope.latest_today)
    rows = scope.within(needs.DELIVERY, rows.exclude(openings=None), "openings").distinct()
    rows = rows.select_related("supplier").prefetch_related("openings__job").order_by("expected_day", "pk")
    for row in rows[:MOST]:
        opening, *_others = row.openings.all()
        if row.expected_day < scope.today(opening):
            yield _need(scope, needs.DELIVERY, opening, row.expected_day, row.pk, values={
                "what": row.what, "supplier": "" if row.supplier is None else row.supplier.name})


def parts_short(scope: Scope) -> Iterable[Need]:
    """What came short or broken and nothing still to come brings; one row an opening."""
    awaited = Q(delivery__received_at=None, delivery__expected_day__gte=scope.act.today())
    rows = Part.objects.came_short().exclude(awaited).filter(unit__opening__in=Opening.objects.active().values("pk"))
    rows = scope.within(needs.SHORT, rows, "unit__opening").select_related("unit__opening__job", "delivery__supplier")
    last = PartArrival.objects.filter(part=OuterRef("pk")).order_by("-taken_at")
    for part in rows.annotate(came=Subquery(last.values("taken_at")[:1])).order_by("came", "pk")[:MOST]:
        opening, delivery = part.unit.opening, part.delivery
        yield _need(scope, needs.SHORT, opening, day_at(opening, part.came or part.created_at), part.pk, values={
            "what": part.name, "supplier": delivery.supplier.name if delivery and delivery.supplier else ""})


def kept(scope: Scope) -> Iterable[Need]:
    """Recorded on site and not advanced: stages, panels, the pocket."""
    open_rows: tuple[tuple[Any, str, Callable[[Any], dict[str, Any]]], ...] = (
        (StageChange, "opening", lambda row: {"of": "stage", "stage": row.to_stage}),
        (PanelChange, "panel__unit__opening", lambda row: {
            "of": "panel", "letter": row.panel.letter, "act": row.act}),
        (HoldPoint, "opening", lambda row: {"of": "pocket"}))
    for model, path, said in open_rows:
        rows = scope.within(needs.KEPT, model.objects.filter(advanced=False, settlement=None), path)
        for row in rows.select_related(f"{path}__job", "by").order_by("taken_at", "pk")[:MOST]:
            opening = row.panel.unit.opening if model is PanelChange else row.opening
            yield _need(scope, needs.KEPT, opening, day_at(opening, row.taken_at), row.pk,
                        values={**said(row), "by": row.by.name})


def countersignatures(scope: Scope) -> Iterable[Need]:
    rows = scope.within(needs.COUNTERSIGN, Countersignature.objects.filter(state="owed"), "change__opening")
    for row in rows.select_related("change__opening__job", "change__by").order_by("owed_since", "pk")[:MOST]:
        opening = row.change.opening
        yield _need(scope, needs.COUNTERSIGN, opening, day_at(opening, row.owed_since), row.pk, values={
            "stage": row.change.to_stage, "reason": row.change.reason, "by": row.change.by.name})


def items(scope: Scope) -> Iterable[Need]:
    rows = scope.within(needs.ITEM, PunchItem.objects.still_open().filter(due_day__lt=scope.latest_today))
    if reach(scope.act.role, DEALT_WITH_BY[needs.ITEM]) is Reach.THEIRS:
        rows = rows.filter(owner=scope.act.user)
    for item in rows.select_related("opening__job", "owner").order_by("due_day", "pk")[:MOST]:
        if item.due_day < scope.today(item.opening):
            yield _need(scope, needs.ITEM, item.opening, item.due_day, item.pk, values={
                "number": item.number, "what": item.what, "owner": item.owner.name})


def parts_aside(scope: Scope) -> Iterable[Need]:
    """What was taken off and is not back, where the work that it was taken off for is over."""
    rows = scope.within(needs.ASIDE, SetAsidePart.objects.filter(back_at=None, opening__stage__in=PARTS_BACK_BY))
    for part in rows.select_related("opening__job").order_by("taken_at", "pk")[:MOST]:
        since = day_at(part.opening, max(part.taken_at, part.opening.stage_since))
        if since < scope.today(part.opening):
            yield _need(scope, needs.ASIDE, part.opening, since, part.pk, values={
                "what": part.what, "where_kept": part.where_kept})


def callbacks(scope: Scope) -> Iterable[Need]:
    """No crew goes back for it yet, or who went has not closed it."""
    to_come = ReturnTrip.objects.filter(callback=OuterRef("pk"), done_at=None).exclude(crew=None).order_by("-day")
    rows = scope.within(needs.CALLBACK, Callback.objects.filter(closed_at=None)).annotate(
        goes=Subquery(to_come.values("day")[:1])).filter(Q(goes=None) | Q(goes__lt=scope.latest_today))
    for row in rows.select_related("opening__job", "taken_by").order_by("called_at", "pk")[:MOST]:
        if row.goes is not None and row.goes >= scope.today(row.opening):
            continue
        yield _need(scope, needs.CALLBACK, row.opening, day_at(row.opening, row.called_at), row.pk,
                    urgent=row.severity in URGENT, values={
                        "number": row.number, "what": row.symptom, "severity": row.severity, "by": row.taken_by.name})


def corrections(scope: Scope) -> Iterable[Need]:
    """The builder says that it is put right, and nobody has taken note."""
    rows = scope.within(needs.CORRECTED, CorrectionReport.objects.filter(seen_at=None), "link__opening")
    for row in rows.select_related("link__opening__job").order_by("at", "pk")[:MOST]:
        opening = row.link.opening
        yield _need(scope, needs.CORRECTED, opening, day_at(opening, row.at), row.pk, values={"what": row.note})
