"""The limits that the sums about a unit are held to: shipped, then the door system's own."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from jobs.calc import reading
from jobs.calc.verdict import Limit
from units.calc.kinds import CALCULATIONS
from units.models import DoorSystem

SHIPPED = Path(__file__).resolve().parent.parent / "shipped.json"


@cache
def _shipped() -> Mapping[str, Mapping[str, Any]]:
    return json.loads(SHIPPED.read_text(encoding="utf-8"))


def limits_for(name: str, system: DoorSystem | None = None) -> dict[str, Limit]:
    """Every limit of one sum, with its source."""
    return reading.limits(rows_for(name, system), CALCULATIONS[name].limits, {}, "mm")


def rows_for(name: str, system: DoorSystem | None = None) -> dict[str, Any]:
    """The same as they are entered: those of the system over those shipped."""
    return {**_shipped()[name], **({} if system is None else system.limits.get(name, {}))}
