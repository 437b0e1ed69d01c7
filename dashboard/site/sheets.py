"""The sheets of readings as a telephone asks them: one thing after the other, each with the place it has in what is
judged. They are the same sheets as on the pages; here is only said how a reading is typed, and where it goes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from dashboard import words
from dashboard.forms.sheets import Field, Filling, Group, Sheet, where_read
from inspections.services.datums import system_of

LENGTH, NUMBER, CHOICE, CLOCK = "length", "number", "choice", "clock"
PLAIN_NUMBERS = re.compile(r"(.*\.)?(air_c|surface_c|humidity_pct|rain_mm|mass|start|keep_moving)$")
SIGNED = re.compile(r"(plumb|members)\..*\.(edge|face|bow)$|head_over_sill\.|benchmark|finish_floor|floor\[|sill\[")


def sheet_told(sheet: Sheet, filling: Filling) -> dict[str, Any]:
    """One sheet at one opening: where it is read, what is asked, in its order."""
    told = {
        "key": sheet.key, "kind": sheet.kind, "occasion": sheet.occasion, "title": str(sheet.title),
        "unit": filling.reader.units, "places": [list(place) for place in where_read(sheet, filling)],
        "cautions": list(words.sheet_cautions(sheet.key)),
        "groups": [_group(sheet, group) for group in _groups(sheet, filling)],
    }
    if sheet.kind == "force":
        told["panels"] = [panel.letter for panel in filling.panels]
    if sheet.kind == "sealing-conditions":
        products = getattr(system_of(filling.opening), "products", None) or []
        told.update(zone=filling.opening.job.time_zone, products=products)
    return told


def _groups(sheet: Sheet, filling: Filling) -> list[Group]:
    """As they are handed out; the place is chosen on the telephone, and asks for nothing else."""
    return sheet.groups(replace(filling, typed=None))


def _group(sheet: Sheet, group: Group) -> dict[str, Any]:
    told: dict[str, Any] = {"title": group.title}
    if group.note:
        told["note"] = group.note
    if group.fields:
        told["fields"] = [_field(f) for f in group.fields]
    lines = sheet.tables.get(group.more)
    if lines:
        told["stations"] = {
            "table": group.more,
            "lines": [{"column": line.column, "label": str(line.label), "into": line.goes_to,
                       **_how(f"{group.more}[0].{line.column}")} for line in lines],
            "at": [row[0].value for row in group.rows if row[0].value],
            "known": _known(group, [line.column for line in lines])}
    elif group.rows:
        told["rows"] = [[head, [_field(f) for f in row]] for head, row in group.lines]
    return told


def _known(group: Group, columns: Iterable[str]) -> dict[str, Mapping[str, str]]:
    """What stands at a station to begin with, by its place."""
    known = {row[0].value: {name: f.value for name, f in zip(columns, row[1:], strict=True) if f.value}
             for row in group.rows if row[0].value}
    return {at: values for at, values in known.items() if values}


def _field(field: Field) -> dict[str, Any]:
    told: dict[str, Any] = {"name": field.name, "label": field.label, **_how(field.name)}
    if field.choices:
        told.update(how=CHOICE, choices=[list(c) for c in field.choices])
    for name in ("value", "hint"):
        if getattr(field, name):
            told[name] = getattr(field, name)
    return told


def _how(name: str) -> dict[str, Any]:
    if re.fullmatch(r"forecast\[\d+\]\.at", name):
        return {"how": CLOCK}
    if PLAIN_NUMBERS.fullmatch(name):
        return {"how": NUMBER}
    return {"how": LENGTH, "signed": True} if SIGNED.match(name) else {"how": LENGTH}
