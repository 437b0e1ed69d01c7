"""Door systems as the office keeps them. What a unit was ordered by stays: other values are another edition."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from jobs.acts import Act, carry_out
from jobs.errors import Invalid, Refusal
from jobs.services import office
from jobs.services.access import require
from units.models import DoorSystem
from units.services.bringing_in import write_for_system

MAY = "keep office records"
RECORD = "door-systems"
FREE = frozenset(("sources", "withdrawn_on"))  # where a value stands, and whether it is still made


def change_system(act: Act, found: DoorSystem, values: Mapping[str, Any], *, version: int) -> DoorSystem:
    """While units stand on it, what it lacks may be filled in; what it says stays."""
    with carry_out(act):
        require(act, MAY)
        said = {name: getattr(found, name) for name in values}
        changed = office.change(act, found, values, version=version, record=RECORD, may=MAY)
        other = [name for name, value in said.items() if name not in FREE and not _lacking(value)
                 and getattr(changed, name) != value]
        if other and changed.units.exists():
            raise Refusal("Units are ordered by this edition, and keep what it says. Enter a new edition for other "
                          "values.", code="in-use", fields=dict.fromkeys(other, "as it was, or in a new edition"))
        write_for_system(changed)
    return changed


def refuse_withdrawn(system: DoorSystem, today: dt.date) -> None:
    """No new unit is ordered of it; those that were keep theirs."""
    if system.is_made_on(today):
        return
    others = DoorSystem.objects.filter(code=system.code).made_on(today).order_by("-pk")
    instead = ", ".join(f"edition {other.edition}" for other in others) or "another door system"
    raise Invalid("This edition is made no more.", fields={
        "system": f"{system} was withdrawn on {system.withdrawn_on}; take {instead}"})


def _lacking(value: Any) -> bool:
    return value is None or value in ("", [], {})
