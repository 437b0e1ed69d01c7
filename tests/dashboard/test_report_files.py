"""The rows of a report as files, read back; its plots as numbers. None of it needs a database."""

import csv
import datetime as dt
import io
import xml.etree.ElementTree as ET

import pytest
from django.template.loader import render_to_string
from django.utils import translation
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from dashboard.drawings import bars, strips
from dashboard.measures import Reader
from dashboard.reports.files import as_csv, as_xlsx
from dashboard.reports.report import Drawn
from dashboard.reports.table import COUNT, DAY, MINUTES, RATIO, TEXT, Column, Row, Table, summed
from jobs.calc.over_time import WEEK, periods

COLUMNS = (Column("who", "Who", TEXT), Column("day", "Since", DAY), Column("waits", "Waits", COUNT),
           Column("used", "Used", MINUTES), Column("rate", "Rate", RATIO))
ROWS = (Row(("Crew Alder", dt.date(2026, 3, 2), 3, 125, 0.98123)),
        Row(("Crew Birch", None, 0, 0, None)),
        Row(("crew Cedar", dt.date(2025, 12, 31), 12, -61, 1.5)))
TABLE = Table(COLUMNS, ROWS, summed(ROWS, COLUMNS, ("waits", "used")))
FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", " =cmd", "\r=1", "＝1+1"]
SVG = "{http://www.w3.org/2000/svg}"


def read_csv(table):
    return list(csv.reader(io.StringIO(as_csv(table).decode("utf-8-sig"), newline="")))


def read_xlsx(table, title="Hours", about=(("From", "2026-03-02"),)):
    return load_workbook(io.BytesIO(as_xlsx(table, title, about)))


# ---- CSV -------------------------------------------------------------------------------------------------


def test_csv_has_numbers_as_numbers_days_as_days_and_minutes_both_ways():
    assert read_csv(TABLE) == [
        ["Who", "Since", "Waits", "Used, minutes", "Used, hours", "Rate"],
        ["Crew Alder", "2026-03-02", "3", "125", "2.0833", "0.9812"],
        ["Crew Birch", "", "0", "0", "0.0", ""],
        ["crew Cedar", "2025-12-31", "12", "-61", "-1.0167", "1.5"]]


def test_csv_begins_with_the_mark_that_spreadsheets_know_utf8_by():
    table = Table((COLUMNS[0],), (Row(("Jamb of Zoë, ½″",)),))
    assert as_csv(table).startswith(b"\xef\xbb\xbfWho\r\n")
    assert read_csv(table)[1] == ["Jamb of Zoë, ½″"]


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_text_that_begins_like_a_formula_is_only_a_text(formula):
    table = Table((COLUMNS[0],), (Row((formula,)),))
    assert read_csv(table)[1][0] == f"'{formula}"
    cell = read_xlsx(table).worksheets[0]["A2"]
    assert (cell.data_type, cell.quotePrefix) == ("s", True)
    assert cell.value.strip() == formula.strip()


@settings(max_examples=25)
@given(st.text(max_size=80))
def test_any_text_makes_one_cell_that_acts_in_no_spreadsheet(said):
    table = Table(COLUMNS[:1], (Row((said,)), Row(("after",))))
    rows = read_csv(table)
    assert (len(rows), len(rows[1]), rows[2]) == (3, 1, ["after"])
    assert rows[1][0][:1] not in ("=", "+", "-", "@", "\t", "\r")
    assert read_xlsx(table).worksheets[0]["A2"].data_type != "f"


# ---- XLSX ------------------------------------------------------------------------------------------------


def test_xlsx_is_read_back_as_it_was_with_a_heading_that_stays_and_says_what_was_asked():
    book = read_xlsx(TABLE)
    sheet, about = book.worksheets
    rows = list(sheet.iter_rows(values_only=True))
    assert rows[0] == ("Who", "Since", "Waits", "Used, minutes", "Used, hours", "Rate")
    assert rows[1] == ("Crew Alder", dt.datetime(2026, 3, 2), 3, 125, 2.0833, 0.9812)
    assert rows[2] == ("Crew Birch", None, 0, 0, 0, None)
    assert (sheet["B2"].number_format, sheet["C2"].number_format) == ("yyyy-mm-dd", "0")
    assert (sheet.freeze_panes, sheet.auto_filter.ref, sheet["A1"].font.bold) == ("B2", "A1:F4", True)
    assert list(about.iter_rows(values_only=True)) == [("From", "2026-03-02")]


@pytest.mark.parametrize("title", ["Hours: crews/jobs [all]?", "x" * 80])
def test_a_sheet_is_called_as_a_sheet_may_be(title):
    assert 0 < len(read_xlsx(TABLE, title).worksheets[0].title) <= 31


# ---- the order of rows -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("asked", "names"), [
    ("who", ["Crew Alder", "Crew Birch", "crew Cedar"]), ("-who", ["crew Cedar", "Crew Birch", "Crew Alder"]),
    ("used", ["crew Cedar", "Crew Birch", "Crew Alder"]), ("-used", ["Crew Alder", "Crew Birch", "crew Cedar"]),
    ("day", ["crew Cedar", "Crew Alder", "Crew Birch"]),  # what is not known comes last
    ("-day", ["Crew Alder", "crew Cedar", "Crew Birch"]), ("odd", ["crew Cedar", "Crew Alder", "Crew Birch"])])
def test_rows_stand_by_what_is_asked_for_and_else_as_usual(asked, names):
    assert [row.values[0] for row in TABLE.stands_by(asked, "-waits").rows] == names


def test_a_heading_says_how_rows_stand_and_asks_for_the_other_way_round():
    headings = {h.column.key: (h.order, h.asks) for h in TABLE.stands_by("-used", "who").headings}
    assert headings["used"] == ("descending", "used")
    assert (headings["who"], headings["waits"]) == (("", "who"), ("", "-waits"))
    assert TABLE.stands_by("used", "who").headings[3].order == "ascending"


def test_only_what_adds_up_is_added_up():
    assert TABLE.total == ("All", None, 15, 64, None)
    assert [cell.text for cell in TABLE.total_shown(Reader())] == ["", "15", "1 h 4 min", ""]


# ---- plots -----------------------------------------------------------------------------------------------


def drawn(plot, language="en"):
    with translation.override(language):
        shown = Drawn("key", "Hours & <more>", "In words.", plot, plot)
        text = render_to_string(shown.template, {"plot": plot, "drawn": shown, "key": shown.key})
    return ET.fromstring(text.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1))


def found(svg, name, kind):
    return [e for e in svg.iter(SVG + name) if kind in (e.get("class") or "").split()]


MEASURED = [bars.Measured("Crew Alder", ("12.5 earned",), 12.5, planned=20, used=11),
            bars.Measured("Crew Birch", ("3 earned",), 3.25, hatched=1.5),
            bars.Measured("Crew Cedar", ("-2 earned",), -2)]


@pytest.mark.parametrize("paper", [bars.WIDE, bars.SLIM])
@pytest.mark.parametrize("language", ["en", "de"])
def test_bars_are_as_long_as_what_they_stand_for_in_a_language_with_commas_too(paper, language):
    svg = drawn(bars.bars(MEASURED, "hours", paper), language)
    filled = [float(e.get("width")) for e in found(svg, "rect", "filled")]
    hatched = [float(e.get("width")) for e in found(svg, "rect", "hatched")]
    assert (len(filled), len(hatched), len(found(svg, "g", "bar"))) == (2, 1, 3)
    assert filled[0] / filled[1] == pytest.approx(12.5 / 3.25, rel=0.01)
    assert hatched[0] / filled[0] == pytest.approx(1.5 / 12.5, rel=0.02)
    assert (len(found(svg, "path", "planned")), len(found(svg, "path", "used"))) == (1, 1)
    assert svg.find(SVG + "title").text == "Hours & <more>"
    assert svg.find(SVG + "desc").text == "In words."
    assert "," not in "".join(e.get("d") for e in svg.iter(SVG + "path"))


def test_what_is_not_drawn_is_counted():
    assert (bars.bars(MEASURED, "hours", of=13).left_out, bars.bars(MEASURED, "hours").left_out) == (10, 0)


@given(st.text(max_size=320), st.lists(st.text(max_size=40), min_size=1, max_size=3),
       st.sampled_from([bars.WIDE, bars.SLIM]))
def test_a_name_and_its_figures_have_room_however_long_they_are(name, figures, paper):
    [bar] = bars.bars([bars.Measured(name, tuple(figures), 1)], "hours", paper).bars
    assert all(bars.wide(line.text) <= paper.rule for line in bar.figures)
    beside = 0 if paper.slim else bars.wide(bar.figures[0].text)
    assert bars.wide(bar.name) + beside <= paper.rule or bar.name in ("…", "")
    assert bar.name == name or bar.name.endswith("…")
    at = [line.y for line in bar.figures]
    assert len(at) == 1 or (paper.slim and all(b - a >= bars.FIGURES for a, b in zip(at, at[1:], strict=False)))


def test_on_slim_paper_figures_take_the_lines_they_need_and_none_is_cut():
    parts = ("223.8 earned", "220.8 planned", "225 used", "9 overdue")
    bar = bars.bars([bars.Measured("Crew", parts, 1)], "hours", bars.SLIM).bars[0]
    assert " · ".join(line.text for line in bar.figures) == " · ".join(parts)
    assert len(bar.figures) == 2


WEEKS = periods(dt.date(2026, 3, 2), dt.date(2026, 5, 3), WEEK)
COUNTS = [("Frame set", [n % 4 for n in range(9)]), ("Sealed", [0] * 9), ("Accepted", list(range(10, 100, 10)))]


@pytest.mark.parametrize("paper", [strips.WIDE, strips.SLIM])
@pytest.mark.parametrize("language", ["en", "de"])
def test_a_strip_a_stage_has_a_step_a_period_to_one_scale_but_for_the_last(paper, language):
    plot = strips.strips(COUNTS, WEEKS, [f"{p.last:%d %b}" for p in WEEKS], paper)
    svg = drawn(plot, language)
    lines = [e.get("d") for e in found(svg, "path", "step")]
    assert [line.count("H") for line in lines] == [9, 9, 9]
    assert "," not in "".join(lines)
    heights = [[strip.y - float(part.split("H")[0].split(" ")[1]) for part in strip.line[1:].split("L")]
               for strip in plot.strips]
    assert heights[0] == pytest.approx([strips.STRIP * (n % 4) / 3 for n in range(9)], abs=0.1)
    assert heights[1] == [0] * 9
    assert heights[2][-1] == pytest.approx(strips.STRIP, abs=0.1)
    assert [(strip.now, strip.most) for strip in plot.strips] == [(0, 3), (0, 0), (90, 90)]


@pytest.mark.parametrize("count", [1, 2, 9, 60, 106])
@pytest.mark.parametrize("paper", [strips.WIDE, strips.SLIM])
def test_days_under_the_axis_never_meet_and_stay_on_the_paper(count, paper):
    weeks = periods(dt.date(2026, 3, 2), dt.date(2026, 3, 2) + dt.timedelta(days=7 * count - 1), WEEK)
    plot = strips.strips([("Sealed", [1] * count)], weeks, ["30 Sep"] * count, paper)
    at = [tick.x for tick in plot.ticks]
    assert at and all(b - a >= strips.TICK for a, b in zip(at, at[1:], strict=False))
    assert at[0] >= strips.TICK / 2 and at[-1] <= paper.width - strips.TICK / 2
