"""A table of a report: columns that know what they hold, rows that can be put in any order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from dashboard.measures import Reader
from dashboard.written import decimal
from jobs.calc.progress import hours

TEXT, COUNT, MINUTES, DAY, RATIO = "text", "count", "minutes", "day", "ratio"
MOST_ROWS = 200  # on a page; the files have all of them


@dataclass(frozen=True, slots=True)
class Column:
    key: str
    label: str
    kind: str = COUNT

    @property
    def is_number(self) -> bool:
        return self.kind in (COUNT, MINUTES, RATIO)


@dataclass(frozen=True, slots=True)
class Row:
    values: tuple[Any, ...]
    leads_to: tuple[str, int] | None = None  # the page its name leads to: "job", "opening"


@dataclass(frozen=True, slots=True)
class Heading:
    """Of a column as a page shows it: whether the rows stand by it, and how it is asked for the other way round."""

    column: Column
    order: str  # what aria-sort says: "", "ascending", "descending"
    asks: str

    @property
    def mark(self) -> str:
        return {"ascending": "\u25b2", "descending": "\u25bc"}.get(self.order, "")


@dataclass(frozen=True, slots=True)
class Cell:
    label: str
    text: str
    is_number: bool
    url: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    total: tuple[Any, ...] | None = None  # a value a column, None where nothing adds up
    by: str = ""  # the column it stands by, with a minus where the largest come first

    def stands_by(self, asked: str, usual: str) -> Table:
        """The same rows in the order asked for; where nobody can ask for that, in the usual one. What has no value
        comes last either way."""
        keys = [column.key for column in self.columns]
        by = asked if asked.removeprefix("-") in keys else usual
        n, down = keys.index(by.removeprefix("-")), by.startswith("-")
        rows = sorted(self.rows, key=self._named)  # those that are equal stand by their names
        known = [row for row in rows if row.values[n] is not None]
        unknown = tuple(row for row in rows if row.values[n] is None)
        known.sort(key=lambda row: _in_order(row.values[n]), reverse=down)
        return Table(self.columns, (*known, *unknown), self.total, by)

    def _named(self, row: Row) -> tuple[Any, ...]:
        return tuple((value is not None, _in_order(value)) for column, value in zip(
            self.columns, row.values, strict=True) if not column.is_number)

    @property
    def headings(self) -> tuple[Heading, ...]:
        return tuple(self._heading(column) for column in self.columns)

    def _heading(self, column: Column) -> Heading:
        """Numbers are first asked for from the largest down, names and days from the first on."""
        up, down = column.key, f"-{column.key}"
        if self.by == up:
            return Heading(column, "ascending", down)
        if self.by == down:
            return Heading(column, "descending", up)
        return Heading(column, "", down if column.is_number else up)

    def shown(self, reader: Reader) -> list[list[Cell]]:
        return [self._cells(row, reader) for row in self.rows[:MOST_ROWS]]

    def total_shown(self, reader: Reader) -> list[Cell]:
        return [] if self.total is None else self._cells(Row(self.total), reader)[1:]

    def _cells(self, row: Row, reader: Reader) -> list[Cell]:
        url = "" if row.leads_to is None else reverse(row.leads_to[0], args=[row.leads_to[1]])
        return [Cell(column.label, said(value, column.kind, reader), column.is_number, "" if n else url)
                for n, (column, value) in enumerate(zip(self.columns, row.values, strict=True))]


def _in_order(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else value


def said(value: Any, kind: str, reader: Reader) -> str:
    if value is None:
        return ""
    if kind == MINUTES:
        return hours(value)
    if kind == RATIO:
        return decimal(f"{value:.2f}")
    return reader.whole_day(value) if isinstance(value, dt.date) else str(value)


def summed(rows: Sequence[Row], columns: Sequence[Column], adds: Sequence[str]) -> tuple[Any, ...]:
    """The sum of those columns that add up, under the rows."""
    return (_("All"), *(sum(row.values[n] or 0 for row in rows) if column.key in adds else None
                        for n, column in enumerate(columns) if n))
