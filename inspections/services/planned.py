"""Work steps, units and panels as the office keeps them: what is earned follows what is planned, in the same act."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from django.db import models

from inspections.services.earning import earn_as_planned
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, Done, carry_out
from jobs.errors import Refusal
from jobs.models import EarnedMinutes, Opening, WorkStep
from jobs.services import office
from jobs.services.access import locked, require
from units.models import Panel, Unit

Planned = TypeVar("Planned", WorkStep, Unit, Panel)
MAY = "keep office records"


def make(act: Act, model: type[Planned], values: Mapping[str, Any], *, record: str) -> Planned:
    with carry_out(act) as done:
        made = office.create(act, model, values, record=record)
        _level(act, done, opening_of(made))
    return made


def change(act: Act, found: Planned, values: Mapping[str, Any], *, version: int, record: str) -> Planned:
    """Moved to another opening, both are put right."""
    with carry_out(act) as done:
        require(act, MAY)
        before = locked(opening_of(found).pk)
        changed = office.change(act, found, values, version=version, record=record)
        for opening in {before.pk: before, opening_of(changed).pk: opening_of(changed)}.values():
            _level(act, done, opening)
    return changed


def remove(act: Act, found: Planned, *, version: int, record: str) -> None:
    """What minutes were earned on stays: the weeks they were earned in would lose them."""
    with carry_out(act) as done:
        require(act, MAY)
        opening = locked(opening_of(found).pk)
        if isinstance(found, WorkStep) and EarnedMinutes.objects.filter(work_step=found).exists():
            raise Refusal("Minutes were earned on this work step; it stays.", code="in-use")
        office.remove(act, found, version=version, record=record)
        _level(act, done, opening)


def opening_of(record: models.Model) -> Opening:
    return record.unit.opening if isinstance(record, Panel) else record.opening


def _level(act: Act, done: Done, opening: Opening) -> None:
    opening = locked(opening.pk)
    earn_as_planned(act, opening)
    refresh_at_end(act, done, opening)
