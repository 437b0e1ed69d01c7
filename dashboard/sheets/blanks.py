"""Room to write readings down: the sheets on which they are entered later, blank, in the same order and words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from dashboard import words
from dashboard.forms.sheets import SHEETS, Field, Filling, Group, Sheet, sheet_for, where_read
from dashboard.measures import Reader
from inspections.calc.gate import Asked
from jobs.models import Opening
from units.models import Panel

WIDEST = 12  # columns of a table of stations, which is broken into blocks beside each other
FEWEST = 12  # rows of one that is not broken
JOINTS = "sealing-conditions"  # what is read before a joint is sealed
TABLES_ABREAST = 3  # small ones side by side
LINES_ABREAST = 2  # groups of no more than fit on one line
ONE_LINE = 3  # things read on one line, or at each of several places in one table


def blanks(checks: Iterable[Asked], opening: Opening, panels: Sequence[Panel], reader: Reader) -> list[dict[str, Any]]:
    """Of each sheet that one of these checks is judged from."""
    keys = dict.fromkeys(JOINTS if check.judged_by == "joints" else sheet_for(check.judged_by, check.occasion)
                         for check in checks)
    filling = Filling(opening, panels, reader)
    return [blank for key in keys if key for blank in _sheet(SHEETS[key], filling)]


def _sheet(sheet: Sheet, filling: Filling) -> Iterable[dict[str, Any]]:
    title, groups, places = str(sheet.title), sheet.groups(filling), _places(sheet, filling)
    if len(places) > 1 and all(not group.rows and len(group.fields) <= ONE_LINE for group in groups):
        yield {"title": title, "beside": [[_in_one_table(group, places)] for group in groups]}
    else:
        for place in places:
            yield {"title": f"{title}: {place}" if place else title, "beside": list(_beside(groups))}


def _beside(groups: Sequence[Group]) -> Iterable[list[dict[str, Any]]]:
    """Small tables that follow each other stand side by side, and so do a few lines; everything else by itself."""
    for abreast, run in groupby(groups, key=_abreast):
        made = [_group(group) for group in run]
        yield from (made[n:n + abreast] for n in range(0, len(made), abreast))


def _abreast(group: Group) -> int:
    if group.rows:
        return 1 if group.more else TABLES_ABREAST
    typed = not any(field.choices for field in group.fields)
    return LINES_ABREAST if typed and len(group.fields) <= ONE_LINE else 1


def _places(sheet: Sheet, filling: Filling) -> list[str]:
    return [said if sheet.each_panel else words.place(name) for name, said in where_read(sheet, filling)] or [""]


def _in_one_table(group: Group, places: Iterable[str]) -> dict[str, Any]:
    blank = [""] * len(group.fields)
    return {"title": group.title, "note": group.note, "fields": [], "wide": False,
            "heads": ["", *(field.label for field in group.fields)], "rows": [[place, *blank] for place in places]}


def _group(group: Group) -> dict[str, Any]:
    heads, rows = _table(group)
    return {"title": group.title, "note": group.note, "fields": [_field(field) for field in group.fields],
            "wide": bool(group.more), "heads": heads, "rows": rows}


def _field(field: Field) -> dict[str, Any]:
    return {"label": field.label, "hint": field.hint, "value": "" if field.choices else field.value,
            "options": [said for _value, said in field.choices if said != "–"]}


def _table(group: Group) -> tuple[list[str], list[list[str]]]:
    rows = [[head, *(field.value for field in fields)] if group.heads else [field.value for field in fields]
            for head, fields in group.lines]
    return in_blocks(group.columns, rows) if group.more else (list(group.columns), rows)


def in_blocks(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> tuple[list[str], list[list[str]]]:
    """The rows in blocks beside each other: a long sill takes no page for a thin column of stations."""
    blocks = max(WIDEST // len(heads), 1) if len(rows) > FEWEST else 1
    deep, blank = -(-len(rows) // blocks), [""] * len(heads)
    filled = [list(row) for row in rows] + [blank] * (deep * blocks - len(rows))
    return list(heads) * blocks, [[text for block in range(blocks) for text in filled[n + deep * block]]
                                  for n in range(deep)]
