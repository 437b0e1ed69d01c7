"""Sheets to measure: one beside the typesetter alone on the same page; a job's material beside one opening's."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from itertools import count
from typing import Any

from dashboard.benching import rows
from dashboard.benching.timing import milliseconds
from dashboard.benching.units import some_units
from dashboard.measures import Reader
from dashboard.sheets import material, opening
from dashboard.sheets.typeset import typeset
from inspections.services.laying_out import lay_out_panels
from jobs.acts import Act
from jobs.models import Opening
from units.models import Unit

READER = Reader("in")
NUMBERS = count()


def one_sheet() -> tuple[float, float]:
    """Milliseconds for an opening sheet, from the record to the PDF; and for the typesetter on what was gathered."""
    act = _act()
    unit = lay_out_panels(act, some_units(1)[0].pk, version=1)

    def gathered() -> dict[str, Any]:
        of = Opening.objects.select_related("job", "unit__system").get(pk=unit.opening_id)
        return opening.shown(of, act, READER, "Bench", "https://sillbook.example/")

    shown = gathered()
    return (milliseconds(lambda: _anew("opening", gathered()), 7), milliseconds(lambda: _anew("opening", shown), 7))


def material_sheet(openings: int = 40) -> tuple[float, float]:
    """Milliseconds for the material sheet of a job with so many openings; and with one."""
    units = some_units(openings)
    return tuple(milliseconds(lambda of=of: _material(of), 7) for of in (units, units[:1]))


def _material(units: list[Unit]) -> bytes:
    return _anew("material", material.shown(units[0].opening.job, units, _act(), READER, "Bench"))


def _anew(sheet: str, shown: Mapping[str, Any]) -> bytes:
    """No two sheets alike: the typesetter remembers what it has set, and would only be asked to remember."""
    return typeset(sheet, {**shown, "footer": str(next(NUMBERS))}, "letter")


def _act() -> Act:
    return Act.of(rows.office(), dt.datetime.now(dt.UTC))
