"""Deliveries: changed by the office, received on site, part by part where its parts are listed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import F

from inspections.services.parts import MAY, RECEIVE, note_part_came
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, Done, carry_out
from jobs.errors import Invalid, NotThere, SomeoneWasFaster
from jobs.models import Delivery, Opening, WorkStep
from jobs.services import office
from jobs.services.access import locked, require
from units.models import Part


def change_delivery(act: Act, found: Delivery, values: Mapping[str, Any], *, version: int) -> Delivery:
    """What waits for it says when it is expected."""
    with carry_out(act) as done:
        require(act, MAY)
        if values.get("job", found.job) != found.job and Part.objects.filter(delivery=found).exists():
            raise Invalid("It brings parts of this job.", fields={"job": "as it was; or move its parts first"})
        delivery = office.change(act, found, values, version=version, record="deliveries")
        _level(act, done, delivery)
    return delivery


def receive_delivery(act: Act, delivery_id: int, *, condition: str = "", parts: Sequence[Mapping[str, Any]] = (),
                     version: int | None = None) -> Delivery:
    """It is here, in this condition; and of each part that was looked at, what came. Said of a unit without parts,
    whether its material is complete stays the office's to confirm."""
    with carry_out(act) as done:
        delivery = Delivery.objects.filter(pk=delivery_id).first()
        if delivery is None:
            raise NotThere("There is no such delivery.")
        # A delivery that names no opening is nobody's own: then only those pass whose reach is all.
        openings = openings_of(delivery)
        for opening in openings or [None]:
            require(act, RECEIVE, opening)
        if delivery.received_at is not None and not parts:
            return delivery
        for opening in openings:  # in one order, so that two who receive at once never wait for each other
            locked(opening.pk)
        _received(act, done, delivery, condition, delivery.version if version is None else version)
        for came in parts:
            note_part_came(act, delivery_id=delivery.pk, **came)
        _level(act, done, delivery)
        delivery.refresh_from_db()
    return delivery


def openings_of(delivery: Delivery) -> list[Opening]:
    """Those it names, and those whose parts it brings."""
    named = set(delivery.openings.values_list("pk", flat=True))
    brought = set(Part.objects.filter(delivery=delivery).values_list("unit__opening", flat=True))
    return list(Opening.objects.filter(pk__in=named | brought).order_by("pk"))


def _received(act: Act, done: Done, delivery: Delivery, condition: str, version: int) -> None:
    """The first time it came; later, more of it was looked through."""
    first = delivery.received_at is None
    values: dict[str, Any] = {"received_at": act.taken_at, "received_by": act.user} if first else {}
    if first or condition:
        values["condition"] = condition
    if not Delivery.objects.filter(pk=delivery.pk, version=version).update(**values, version=F("version") + 1):
        raise SomeoneWasFaster("This delivery was changed by somebody else. Read it again.")
    done.note(act, "delivery received" if first else "delivery looked through", "deliveries", delivery.pk,
              job=delivery.job)


def _level(act: Act, done: Done, delivery: Delivery) -> None:
    for opening in Opening.objects.filter(unit__parts__delivery=delivery).distinct().order_by("pk"):
        refresh_at_end(act, done, locked(opening.pk))


def stopped_by(deliveries: Iterable[int], openings: Any) -> dict[int, list[dict[str, Any]]]:
    """By delivery: of these openings, those that lack what it brings, and the work that cannot begin for it."""
    lacking = Part.objects.lacking().filter(delivery__in=list(deliveries), unit__opening__in=openings)
    lacking = list(lacking.select_related("panel", "unit__opening").order_by("unit__opening__tag", "pk"))
    held = _held_steps({part.unit.opening_id for part in lacking})
    found: dict[int, dict[int, dict[str, Any]]] = {}
    for part in lacking:
        opening = part.unit.opening
        rows = found.setdefault(part.delivery_id, {})
        row = rows.setdefault(opening.pk, {
            "opening": opening.pk, "opening_tag": opening.tag, "parts": [],
            "work_steps": held.get((part.delivery_id, opening.pk), [])})
        row["parts"].append({"part": part.pk, "name": part.name, "missing": part.missing})
    return {delivery: list(rows.values()) for delivery, rows in found.items()}


def _held_steps(openings: set[int]) -> dict[tuple[int, int], list[dict[str, Any]]]:
    """Those that say so themselves."""
    held: dict[tuple[int, int], list[dict[str, Any]]] = {}
    steps = WorkStep.objects.filter(opening__in=openings, ready=False).order_by("pk") if openings else ()
    for step in steps:
        for reason in step.not_ready:
            if reason.get("reason") == "material-missing":
                held.setdefault((reason["delivery"], step.opening_id), []).append(
                    {"work_step": step.pk, "stage": step.stage})
    return held
