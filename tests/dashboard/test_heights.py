"""A floor's heights, as a builder works to them: against the benchmark where it was read, else the highest place."""

import pytest

from dashboard.measures import Reader
from dashboard.sheets import site_report
from dashboard.views.readings import floor_of
from jobs.models import OfficeSettings
from tests.site import Site, floor
from tests.visits import at, text

pytestmark = pytest.mark.django_db
BUMP = [0] * 12 + [4] + [0] * 14  # a quarter of an inch at 12 ft
BENCHMARK = "40"  # inches above the floor's datum


@pytest.fixture
def site():
    return Site()


def shown(site, units="in", **given):
    inspection = site.read("floor-profile", floor(BUMP, **given))
    inspection.opening = site.opening
    return floor_of(inspection, Reader(units))


def test_against_the_benchmark_the_height_to_be_is_the_one_as_read_less_what_is_ground(site):
    heights = shown(site, benchmark_reading=BENCHMARK)["heights"]
    assert "against the benchmark" in heights.caption
    assert heights.lines == ("outer line", "inner line")
    highest = next(row for row in heights.stations if row.at == "12' 0\"")
    as_read, to_be = highest.cells[0]
    assert as_read == '39 3/4" below'
    ground = next(line for line in shown(site, benchmark_reading=BENCHMARK)["correction"]["stations"]
                  if line["line"] == "outer" and float(line["grind_mm"]) > 0)
    inches_below = 40 - 0.25 + float(ground["grind_mm"]) / 25.4
    assert to_be == Reader("in").length(round(inches_below * 25_400_000)) + " below"
    assert highest.cells[1] == highest.cells[0]  # both lines were read alike


def test_without_a_benchmark_they_are_against_the_highest_place(site):
    found = shown(site)
    assert found["highest"] == ""
    assert "highest place" in found["heights"].caption
    assert next(row for row in found["heights"].stations if row.at == "12' 0\"").cells[0][0] == "level"


def test_a_rod_under_a_laser_reads_the_other_way_round(site):
    down = floor([8 - h for h in BUMP], read_as="down_from_level", benchmark_reading="-40")
    inspection = site.read("floor-profile", down)
    inspection.opening = site.opening
    found = floor_of(inspection, Reader("in"))
    assert found["highest"] == 'The highest place lies 40 1/4" below the benchmark.'
    assert next(row for row in found["heights"].stations if row.at == "12' 0\"").cells[0][0] == '40 1/4" below'


@pytest.mark.parametrize(("read", "said"), [
    ("1/4", "level with"), ("40", '39 3/4" below'), ("0", '1/4" above')])
def test_where_the_floor_stands_against_the_benchmark_is_said(site, read, said):
    assert shown(site, benchmark_reading=read)["highest"] == f"The highest place lies {said} the benchmark."


def test_a_level_floor_has_nothing_to_be_done(site):
    inspection = site.read("floor-profile", floor([0] * 27, benchmark_reading=BENCHMARK))
    inspection.opening = site.opening
    found = floor_of(inspection, Reader("mm"))
    assert (found.get("heights"), found["highest"]) == (None, "The highest place lies 1016.0 mm below the benchmark.")


def test_only_where_something_is_done_stands_a_height_to_be(site):
    for row in shown(site, benchmark_reading=BENCHMARK)["heights"].stations:
        assert any(to_be for _as_read, to_be in row.cells)
        assert all(as_read != to_be for as_read, to_be in row.cells)


def test_the_page_of_a_floor_and_the_sheet_for_the_builder_have_them(client, site):
    inspection = site.read("floor-profile", floor(BUMP, benchmark_reading=BENCHMARK))
    client.force_login(site.office)
    page = text(client.get(at(site, "inspection", inspection.pk)))
    assert "The highest place lies 39 3/4″ below the benchmark." in page.replace('"', "″")
    sheet = site_report.shown(site.opening, site.act(), Reader("in"), OfficeSettings())
    rows = sheet["reports"][0]["heights"]["rows"]
    assert next(row for row in rows if row[0] == "12' 0\"")[:2] == ["12' 0\"", '39 3/4" below']
    assert all(len(row) == 5 for row in rows)
