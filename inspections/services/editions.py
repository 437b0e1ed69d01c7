"""A new edition of a door system: another row, with the checks that the former edition had of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inspections.models import Check
from jobs.acts import Act, carry_out
from jobs.services import office
from units.models import DoorSystem
from units.services.systems import MAY, RECORD

STAYS = {"id", "version", "created_at", "system"}


def make_edition(act: Act, former: DoorSystem, values: Mapping[str, Any]) -> DoorSystem:
    """Units ordered by the former edition keep it."""
    with carry_out(act):
        made = office.create(act, DoorSystem, {**values, "code": former.code}, record=RECORD, may=MAY)
        names = [f.name for f in Check._meta.concrete_fields if f.editable and f.name not in STAYS]
        for check in former.checks.all():
            own = {name: getattr(check, name) for name in names}
            office.create(act, Check, {**own, "system": made}, record="checks", may=MAY)
    return made
