"""Deliveries: changed by the office, received on site, part by part where its parts are listed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import F, QuerySet

from inspections.services.parts import MAY, RECEIVE, note_part_came
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, Done, carry_out
from jobs.errors import AlreadyHasOther, Invalid, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Delivery, Opening, WorkStep
from jobs.services import office
from jobs.services.access import locked, may, require
from units.models import Part, PartArrival


def change_delivery(act: Act, found: Delivery, values: Mapping[str, Any], *, version: int) -> Delivery:
    """What waits for it says when it is expected."""
    with carry_out(act) as done:
        require(act, MAY)
        if values.get("job", found.job) != found.job and Part.objects.filter(delivery=found).exists():
            raise Invalid("It brings parts of this job.", fields={"job": "as it was; or move its parts first"})
        delivery = office.change(act, found, values, version=version, record="deliveries")
        _level(act, done, delivery)
    return delivery


def plan_delivery(act: Act, found: Delivery | None, values: Mapping[str, Any], *, on: Iterable[int] = (),
                  off: Iterable[int] = (), kinds: Iterable[str] = (), version: int = 1) -> Delivery:
    """Made or changed, together with what it brings: parts put `on` it and taken `off` it, by id; and of the openings
    it names, all parts of these `kinds` that no delivery brings yet."""
    with carry_out(act) as done:
        require(act, MAY)
        delivery = office.create(act, Delivery, values, record="deliveries", may=MAY) if found is None else (
            change_delivery(act, found, values, version=version))
        brings = Part.objects.filter(delivery=delivery)
        _move(act, done, brings.filter(pk__in=list(off)), None)
        free = Part.objects.filter(delivery=None, kind__in=list(kinds), unit__opening__in=delivery.openings.all())
        wanted = {*on, *free.values_list("pk", flat=True)}
        _move(act, done, Part.objects.filter(pk__in=wanted).exclude(delivery=delivery), delivery)
        delivery.refresh_from_db()
    return delivery


def _move(act: Act, done: Done, those: QuerySet[Part], to: Delivery | None) -> None:
    """Whoever has the form of the delivery that brought them before open is told when they send it."""
    parts = list(those.select_related("unit__opening").order_by("pk"))
    if to is not None and any(part.unit.opening.job_id != to.job_id for part in parts):
        raise Invalid("A delivery goes to one job.", fields={"brings": "parts of this job"})
    keys = [part.pk for part in parts]
    Delivery.objects.filter(pk__in={part.delivery_id for part in parts}).update(version=F("version") + 1)
    Part.objects.filter(pk__in=keys).update(delivery=to, version=F("version") + 1)
    for part in parts:
        done.note(act, "part changed", "parts", part.pk, opening=part.unit.opening, fields=["delivery"])
    for opening in sorted({part.unit.opening_id for part in parts}):
        refresh_at_end(act, done, locked(opening))


def put_off(act: Act, delivery_id: int, day: dt.date, *, version: int) -> Delivery:
    """It comes on another day. The same day said again is the same."""
    with carry_out(act):
        require(act, MAY)
        delivery = Delivery.objects.select_related("job").filter(pk=delivery_id).first()
        if delivery is None:
            raise NotThere("There is no such delivery.")
        if delivery.expected_day == day:
            return delivery
        if delivery.received_at is not None:
            raise Refusal("It came already.", code="came-already")
        if day < act.today(delivery.job.time_zone):
            raise Invalid("A day that is over cannot be waited for.", fields={"day": "today or later"})
        return change_delivery(act, delivery, {"expected_day": day}, version=version)


def receive_delivery(act: Act, delivery_id: int, *, condition: str = "", parts: Sequence[Mapping[str, Any]] = (),
                     version: int | None = None) -> Delivery:
    """It is here, in this condition; and of each part that was looked at, what came. Parts that carry an id come once,
    however often they are sent. Said of a unit without parts, whether its material is complete stays the office's to
    confirm."""
    with carry_out(act) as done:
        delivery = _held(act, delivery_id)
        if _said_already(act, delivery, condition, parts):
            return delivery
        _received(act, done, delivery, condition, delivery.version if version is None else version)
        for came in parts:
            note_part_came(act, delivery_id=delivery.pk, **came)
        _level(act, done, delivery)
        delivery.refresh_from_db()
    return delivery


def _held(act: Act, delivery_id: int) -> Delivery:
    """For those who may receive on one of its openings; of which parts they may speak is asked part by part."""
    delivery = Delivery.objects.filter(pk=delivery_id).first()
    if delivery is None:
        raise NotThere("There is no such delivery.")
    openings = openings_of(delivery)
    # A delivery that names no opening is nobody's own: then only those pass whose reach is all.
    if not any(may(act, RECEIVE, opening) for opening in openings):
        require(act, RECEIVE, openings[0] if openings else None)
    for opening in openings:  # in one order, so that two who receive at once never wait for each other
        locked(opening.pk)
    return Delivery.objects.select_for_update(of=("self",)).get(pk=delivery_id)


def _said_already(act: Act, delivery: Delivery, condition: str, parts: Sequence[Mapping[str, Any]]) -> bool:
    """The same sent again: by a double click, or because no answer came."""
    ids = [came["entry_id"] for came in parts if came.get("entry_id")]
    there = PartArrival.objects.filter(pk__in=ids).count() if ids else 0
    if there:
        if there < len(parts):
            raise AlreadyHasOther("This was sent before with other content. The first is kept; send the new one under "
                                  "an id of its own.")
        for came in parts:  # of each: with the same content, or refused
            note_part_came(act, delivery_id=delivery.pk, **came)
        return True
    theirs = delivery.received_at is not None and delivery.received_by_id == act.user.pk
    return theirs and not parts and condition in ("", delivery.condition)


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
