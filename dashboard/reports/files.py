"""The rows of a report as files for a spreadsheet: numbers as numbers, days as days, and nothing in it that acts.

A text that begins like a formula would be worked out by the program that opens the file. In CSV it gets an apostrophe
before it; in XLSX it is stored as text, and marked so that it stays text when somebody edits it. CSV begins with a
byte order mark, without which a common spreadsheet takes its letters for others.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.utils.translation import gettext as _
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter

from dashboard.reports.table import COUNT, MINUTES, RATIO, Column, Table

CSV, XLSX = "csv", "xlsx"
TYPES = {CSV: "text/csv; charset=utf-8",
         XLSX: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}
ACTS = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|[\t\r\n]")
NOT_WRITTEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")  # what no sheet may hold
LONGEST_CELL = 32_000
FORMATS = {COUNT: "0", RATIO: "0.00"}
Line = tuple[str, str]  # what was asked, and how


def written(kind: str, table: Table, title: str, about: Sequence[Line]) -> bytes:
    return as_csv(table) if kind == CSV else as_xlsx(table, title, about)


# ---- what stands in it -----------------------------------------------------------------------------------


def headings(columns: Iterable[Column]) -> list[str]:
    """Minutes stand twice: as they are kept, so that sums agree, and in hours."""
    return [said for column in columns for said in (
        (_("%s, minutes") % column.label, _("%s, hours") % column.label) if column.kind == MINUTES
        else (column.label,))]


def values(table: Table) -> Iterator[list[tuple[Any, str]]]:
    """Each value with the format of its cell."""
    for row in table.rows:
        line: list[tuple[Any, str]] = []
        for column, value in zip(table.columns, row.values, strict=True):
            if column.kind == MINUTES:
                line += [(value, "0"), (None if value is None else round(value / 60, 4), "0.00")]
            elif column.kind == RATIO:
                line.append((None if value is None else round(float(value), 4), FORMATS[RATIO]))
            else:
                line.append((value, FORMATS.get(column.kind, "")))
        yield line


def text(value: str) -> str:
    return NOT_WRITTEN.sub("", value)[:LONGEST_CELL]


def harmless(value: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    value = text(value)
    return f"'{value}" if ACTS.match(value) else value


# ---- CSV -------------------------------------------------------------------------------------------------


def as_csv(table: Table) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(harmless(said) for said in headings(table.columns))
    writer.writerows([_in_csv(value) for value, _format in line] for line in values(table))
    return out.getvalue().encode("utf-8-sig")


def _in_csv(value: Any) -> Any:
    if isinstance(value, str):
        return harmless(value)
    return value.isoformat() if isinstance(value, dt.date) else "" if value is None else value


# ---- XLSX ------------------------------------------------------------------------------------------------


def as_xlsx(table: Table, title: str, about: Sequence[Line]) -> bytes:
    """The rows on one sheet, under a heading that stays and filters; what was asked on another."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(text(re.sub(r"[][*?:/\\\\]", " ", title))[:31])
    names = headings(table.columns)
    for n, name in enumerate(names, start=1):
        sheet.column_dimensions[get_column_letter(n)].width = 30 if n == 1 else max(12, min(len(name) + 3, 28))
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(names))}{len(table.rows) + 1}"
    sheet.append([_bold(sheet, name) for name in names])
    for line in values(table):
        sheet.append([_cell(sheet, value, shape) for value, shape in line])
    asked = book.create_sheet(text(_("About"))[:31])
    asked.column_dimensions["A"].width, asked.column_dimensions["B"].width = 24, 80
    for name, said in about:
        asked.append([_bold(asked, name), _cell(asked, said, "")])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _cell(sheet: Any, value: Any, shape: str) -> Any:
    if isinstance(value, str):
        return _text(sheet, value)
    cell = WriteOnlyCell(sheet, value)
    if isinstance(value, dt.date):
        cell.number_format = "yyyy-mm-dd"
    elif shape:
        cell.number_format = shape
    return cell


def _text(sheet: Any, value: str) -> Any:
    cell = WriteOnlyCell(sheet, text(value))
    cell.data_type = "s"  # never a formula, whatever it begins with
    if ACTS.match(value):
        cell.quotePrefix = True
    return cell


def _bold(sheet: Any, value: str) -> Any:
    cell = _text(sheet, value)
    cell.font = Font(bold=True)
    cell.alignment = Alignment(wrap_text=True, vertical="top")
    return cell
