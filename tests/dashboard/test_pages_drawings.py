"""The page with all the drawings of an opening, each with its table."""

import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from html import unescape
from xml.sax.saxutils import escape

import pytest

from inspections.services.facts import pockets_of
from jobs.models import Opening
from jobs.stages import Stage
from tests.factories import MADE, MM, make_opening
from tests.site import floor
from tests.visits import at, queries, site_today, text
from units.models import DoorSystem, Panel, Unit

pytestmark = pytest.mark.django_db
JOINTS = [{"place": "sill", "side": "inside", "rule": "seal"},
          {"place": "sill", "side": "outside", "rule": "never-seal"},
          {"place": "head", "side": "outside", "rule": "seal"}]
HEIGHTS = [0, 0, 1, 1, 2, 1, 1] + [0] * 20


def measured_site(panels="ABC", ways="one-way", side="right", **over):
    """A unit of a system whose maker's data are all entered; its floor, pocket and pocket wall read."""
    site = site_today(Stage.TO_BE_MEASURED, panels=panels, pocket_side=side, **over)
    DoorSystem.objects.filter(pk=site.unit.system_id).update(joints=JOINTS, **MADE)
    Unit.objects.filter(pk=site.unit.pk).update(panel_count=len(panels), ways=ways, frame_width=6000 * MM,
                                                frame_height=2700 * MM)
    site.read("floor-profile", floor(HEIGHTS))
    for place in pockets_of(site.opening) or ("",):
        site.read("pocket", {"depth": "84", "thickness": "10"}, place=place)
        site.read("fastener", {"longest": "1 1/2", "board": "5/8", "stud": "1 1/2"}, place=place)
    return site


@pytest.fixture
def site():
    return measured_site()


def shown(client, site):
    """With plain spaces within a figure: there it is never broken."""
    client.force_login(site.office)
    return client.get(at(site, "drawings")).content.decode().replace("\N{NO-BREAK SPACE}", " ")


def drawings(page):
    """Every drawing on the page, by the id of its title."""
    found = {}
    for part in page.split("<svg ")[1:]:
        if "aria-labelledby" in part.split(">")[0]:
            root = ET.fromstring("<svg " + part.split("</svg>")[0] + "</svg>")
            found[root[0].get("id").removesuffix("-title")] = root
    return found


def every(root, kind):
    return [e for e in root.iter() if e.get("class", "").split()[:1] == [kind]]


def test_all_the_drawings_are_there_for_a_desk_and_for_a_telephone(client, site):
    assert set(drawings(shown(client, site))) == {
        "drawing", "slim", "plan", "slim-plan", "cut", "slim-cut", "profile", "slim-profile", "pocket-wall",
        "slim-wall", "small-elevation", "small-plan", "small-cut", "small-profile", "small-wall"}


def test_each_is_at_the_top_small_without_writing_and_leads_to_the_large_one(client, site):
    page = shown(client, site)
    found = drawings(page)
    for name, large, kind, of in (("elevation", "drawing", "frame rough", ""), ("plan", "plan", "panel", "plan"),
                                  ("cut", "cut", "panel", "sill"), ("profile", "profile", "floorline", "floor"),
                                  ("wall", "pocket-wall", "panel", "wall")):
        little = found[f"small-{name}"]
        assert not [e for e in little.iter() if e.tag == "text"], name
        assert len(every(little, kind)) == len(every(found[large], kind)), name
        assert f'href="#{of or "elevation"}"' in page
        assert f'<section id="{of or "elevation"}"' in page


def test_every_drawing_has_its_title_and_its_description(client, site):
    for name, root in drawings(shown(client, site)).items():
        assert [root[0].tag, root[1].tag] == ["title", "desc"]
        assert root[0].text and root[1].text, name
        assert root.get("role") == "img"
        assert root.get("aria-labelledby") == f"{root[0].get('id')} {root[1].get('id')}"


def table(page, section, nth=0):
    """The cells of a table of a section, row by row."""
    part = page.split(f'<section id="{section}"')[1].split("</section>")[0].split("<tbody>")[nth + 1]
    rows = part.split("</tbody>")[0].split("<tr>")[1:]
    return [[unescape(re.sub("<[^>]+>", "", cell)).strip() for cell in re.split("</t[hd]>", row)[:-1]] for row in rows]


def written(root):
    return [e.text for e in root.iter() if e.get("class", "").startswith("dimtext")]


def test_the_table_of_the_elevation_agrees_with_it(client):
    site = site_today(Stage.PANELS_HUNG, panels="ABC")
    page = shown(client, site)
    root = drawings(page)["drawing"]
    rows = table(page, "elevation")
    assert sorted(e.text for e in every(root, "letter")) == [row[0] for row in rows] == ["A", "B", "C"]
    assert {row[1].casefold() for row in rows} == {"hung"} and len(every(root, "sash")) == 3
    width, height = written(root)[0], written(root)[-1]
    assert unescape(page).count(f"Rough opening {width} wide, {height} high.") == 1


def test_the_table_of_the_plan_agrees_with_it(client, site):
    """Letters, tracks and widths by the drawing's own measure; the pockets by what stands at its strings."""
    site.office.units = "mm"
    site.office.save()
    page = shown(client, site)
    root = drawings(page)["plan"]
    (band,) = every(root, "cover")
    unit = float(band.get("width")) / 5900  # 5900 mm clear
    boxes = every(root, "panel")
    letters = [e.text for e in every(root, "letter")][-len(boxes):]
    for letter, track, _side, width, closed, _stacked in table(page, "plan"):
        box = boxes[letters.index(letter)]
        start, end = (int(mm) for mm in re.findall(r"(-?\d+) mm", closed))
        assert float(box.get("width")) / unit == pytest.approx(int(width.split(" ")[0]), abs=2)
        assert (float(box.get("x")) - float(band.get("x"))) / unit == pytest.approx(start, abs=2)
        assert end - start == int(width.split(" ")[0])
        lower = sum(float(other.get("y")) > float(box.get("y")) for other in boxes)
        assert int(track) == 1 + lower, "track 1 is the lowest on the sheet, outside"
    ((_side, needed, there, wall, _wall_there),) = table(page, "plan", 1)
    assert {f"needs {needed}", f"there {there}", wall} <= set(written(root))


def test_the_tables_of_the_sill_agree_with_it(client, site):
    page = shown(client, site)
    root = drawings(page)["cut"]
    sizes, joints = dict(table(page, "sill")), table(page, "sill", 1)
    assert int(sizes["Tracks"]) == len(every(root, "rail"))
    assert sizes["From track to track"] in written(root)
    assert f"bed {sizes['Bed, least']} to {sizes['Bed, most']}" in written(root)
    ringed = [row for row in joints if row[0] != "–"]
    assert [row[0] for row in ringed] == [e.text for e in every(root, "letter")]
    assert sum(row[2] == "sealed" for row in ringed) == len(every(root, "bead"))
    assert sum(row[2].startswith("never") for row in ringed) == len(every(root, "never"))


def test_the_table_of_the_floor_agrees_with_it(client, site):
    page = shown(client, site)
    root = drawings(page)["profile"]
    rows = [row for row in table(page, "floor") if row[0] == "outer line"]  # the bed is drawn on the outer line
    packed = [re.match(r"M[\d.]+ ([\d.]+)V([\d.]+)", e.get("d")) for e in every(root, "packed")]
    deep = [float(path[1]) - float(path[2]) for path in packed]
    said = [sum(Fraction(part) for part in row[2].rstrip('"').split()) for row in rows]
    assert len(rows) == len(packed) == len(HEIGHTS)
    most = max(range(len(said)), key=said.__getitem__)
    for drawn, inches in zip(deep, said, strict=True):
        assert drawn == pytest.approx(deep[most] * float(inches / said[most]), abs=0.3)


def test_the_table_of_the_wall_agrees_with_it(client, site):
    page = shown(client, site)
    root, sizes = drawings(page)["pocket-wall"], dict(table(page, "wall"))
    assert {f"board {sizes['Board it goes through']}", f"stud {sizes['Flat stud behind it']}",
            f"clear {sizes['Must stay clear']}", f"at most {sizes['Longest allowed']}",
            f"used {sizes['Longest used']}"} == set(written(root))


@pytest.mark.parametrize(("letters", "ways", "side"), [("ABC", "one-way", "right"), ("ABC", "one-way", "left"),
                                                      ("ABCD", "two-way", "both")])
def test_each_has_the_panels_it_should(client, letters, ways, side):
    found = drawings(shown(client, measured_site(letters, ways, side)))
    assert len(every(found["plan"], "panel")) == len(every(found["plan"], "stacked")) == len(letters)
    assert len(every(found["plan"], "pocket")) == (2 if side == "both" else 1)
    assert len(every(found["cut"], "panel")) == (2 if side == "both" else 3)


def test_the_tables_say_the_same(client, site):
    """W = 6000 - 60 - 40 = 5900 mm; (5900 + 2 * 50 + 40 + 20) / 3 = 2020 mm; pocket 2020 + 80; wall 3 * 65 + 30."""
    site.office.units = "mm"
    site.office.save()
    page = shown(client, site)
    for said in ("Clear width 5900 mm", "2020 mm", "2100 mm", "225 mm", "never sealed: water leaves here",
                 "65.0 mm", "Packing at each station"):
        assert said in page


def test_a_pocket_too_shallow_and_a_wall_too_thin_are_said_to_be(client, site):
    page = shown(client, site)
    assert "too shallow" not in page and "too thin" not in page
    site.read("pocket", {"depth": "80", "thickness": "8"})
    page = shown(client, site)
    assert "too shallow" in page and "too thin" in page


def test_the_wall_says_how_long_a_fastener_may_be_and_when_one_is_longer(client, site):
    """5/8 + 1 1/2 in less 6 mm is 47.975 mm: 1 7/8 in, let down to a mark."""
    assert "No fastener longer than 1 7/8&quot;" in shown(client, site)
    site.read("fastener", {"longest": "2", "board": "5/8", "stud": "1 1/2"})
    assert "The longest fastener used is too long: 1 7/8&quot; is the most" in shown(client, site)


def test_of_two_pockets_the_wall_of_each_is_drawn_and_one_not_read_is_named(client):
    site = measured_site("ABCD", "two-way", "both")
    site.read("fastener", {"longest": "2", "board": "5/8", "stud": "1 1/2"}, place="right pocket")
    page = shown(client, site)
    assert {"pocket-wall", "slim-wall", "small-wall", "pocket-wall-2", "slim-wall-2", "small-wall-2"} <= set(
        drawings(page))
    assert drawings(page)["pocket-wall"][1].text == 'Left pocket. No fastener longer than 1 7/8"'
    assert drawings(page)["pocket-wall-2"][1].text.startswith("Right pocket. The longest fastener used is too long")
    assert page.index("<h3>Left pocket</h3>") < page.index("<h3>Right pocket</h3>")
    site.opening.inspections.filter(kind="fastener", place="right pocket").delete()
    assert "Right pocket: Board and stud are not read yet." in shown(client, site)


def test_of_an_opening_without_a_unit_it_says_what_is_to_be_entered(client, site):
    bare = make_opening(job=site.opening.job)
    client.force_login(site.office)
    page = text(client.get(f"/openings/{bare.pk}/drawings/"))
    assert "There is no unit in this opening yet" in page and "Board and stud are not read yet." in page


def test_what_cannot_be_worked_out_says_why(client, site):
    DoorSystem.objects.update(meeting_lap=9000 * MM)
    page = shown(client, site)
    assert "less than a panel" in page and "plan" not in drawings(page)


def test_panels_entered_otherwise_than_the_system_says_are_named(client, site):
    assert "otherwise than its door system says" not in shown(client, site)
    Panel.objects.filter(unit=site.unit, letter="B").update(track=7)
    assert "otherwise than its door system says: B." in shown(client, site)


@pytest.mark.parametrize("tag", ["<b>&\"'", "🚪🪟"])
def test_what_people_have_written_is_escaped_in_every_drawing(client, site, tag):
    Opening.objects.filter(pk=site.opening.pk).update(tag=tag)
    page = shown(client, site)
    assert drawings(page)["drawing"][0].text == tag
    assert tag not in page or tag == escape(tag)


def test_numbers_in_a_drawing_keep_their_points_for_a_reader_of_commas(client, site):
    site.office.language = "es"
    site.office.units = "mm"
    site.office.save()
    for root in drawings(shown(client, site)).values():
        for element in root.iter():
            assert "," not in "".join(element.get(name, "") for name in ("d", "x", "y", "width", "height", "viewBox"))


@pytest.mark.parametrize("change", [{"ways": "two-way"}, {"system": None}, {"panel_count": None}, {"panel_count": 0},
                                    {"frame_width": 1}])
def test_a_unit_that_cannot_be_laid_out_has_no_plan_and_says_why(client, site, change):
    Unit.objects.filter(pk=site.unit.pk).update(**change)
    page = shown(client, site)
    assert "plan" not in drawings(page) and "It cannot be drawn yet." in page
    assert "<ul><li>" in page.split('id="plan"')[1].split("</section>")[0]


def test_a_sealant_rule_nobody_knows_or_a_place_with_markup_breaks_nothing(client, site):
    DoorSystem.objects.update(joints=[{"place": "<sill>", "side": "🪟" * 100, "rule": "seal"}])
    assert "&lt;sill&gt;" in shown(client, site).lower()


def test_it_costs_as_many_queries_whatever_there_is(client, site):
    client.force_login(site.office)
    before = queries(client, at(site, "drawings"))
    site.read("floor-profile", floor([0] * 27))
    Panel.objects.create(unit=site.unit, letter="D", position="pocket", track=4, hanging_order=4)
    assert queries(client, at(site, "drawings")) == before == 13


def test_the_opening_leads_to_its_drawings(client, site):
    client.force_login(site.office)
    assert at(site, "drawings") in client.get(at(site)).content.decode()
