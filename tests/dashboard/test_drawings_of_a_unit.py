"""Plan, sill and pocket wall as drawings: read as numbers, as the XML they become, and measured in a browser."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from django.template.loader import render_to_string
from django.utils import translation

from dashboard.drawings import elevation, profile
from dashboard.drawings import plan as plans
from dashboard.drawings import sill as sills
from dashboard.drawings import wall as walls
from dashboard.drawings.spots import spots
from dashboard.drawings.strings import Measured, below
from dashboard.drawings.tape import tape
from dashboard.measures import Reader
from dashboard.sheets import ink
from jobs.calc.lengths import FOOT, INCH, MM
from tests.browser import DESK, chromium
from tests.dashboard.test_drawings import plotted
from tests.site import floor
from units.calc.fastener import Wall
from units.calc.layout import BOTH, LEFT, ONE_WAY, OUTERMOST, RIGHT, TWO_WAY, Door, lay_out
from units.calc.pocket import Surroundings

INCHES, MILLIMETRES = Reader("in"), Reader("mm")
AROUND = Surroundings(pull=50 * MM, stop=20 * MM, pocket_clearance=10 * MM, track_pitch=65 * MM, covers=30 * MM,
                      panel_thickness=55 * MM)
DOORS = [(panels, side, feet) for panels in (2, 8) for side in (LEFT, RIGHT, BOTH) for feet in (6, 20, 60)]
JOINTS = (("seal", "sill", "inside"), ("never-seal", "sill", "outside"), ("seal", "head", "outside"))
WALL = Wall(159 * MM // 10, 381 * MM // 10, 6 * MM, "an invented source", longest=44 * MM)
TWICE = [plans.WIDE, plans.SLIM]


def door(panels=4, side=RIGHT, feet=20, more_on=LEFT):
    ways = TWO_WAY if side == BOTH else ONE_WAY
    return Door(feet * FOOT, panels, ways, side, meeting_lap=50 * MM, interlock_lap=40 * MM, more_on=more_on,
                jamb_engagement=20 * MM if ways == ONE_WAY else 0, lead_on=OUTERMOST)


def planned(made, around=AROUND, reader=INCHES, sheet=plans.WIDE):
    return plans.plan(lay_out(made), around, reader, sheet)


def cut(panels=4, side=RIGHT, **over):
    return sills.Cut(door(panels, side).tracks, **{"pitch": 65 * MM, "covers": 30 * MM, "thickness": 55 * MM,
                                                   "sill": 30 * MM, "bed_least": 3 * MM, "bed_most": 9 * MM, **over})


def svg(template, drawn, title="A1", desc="a drawing", **more):
    return render_to_string(f"dashboard/_{template}.html", {
        "d": drawn, "key": "k", "title": title, "desc": desc, **more})


def parsed(template, drawn, **words):
    return ET.fromstring(svg(template, drawn, **words).strip())


def every(root, kind):
    return [e for e in root.iter() if e.get("class", "").split()[:1] == [kind]]


def drawn_of(template, panels=4, side=RIGHT, feet=20, reader=INCHES, slim=False):
    if template == "plan":
        return planned(door(panels, side, feet), reader=reader, sheet=TWICE[slim])
    if template == "sill":
        return sills.section(cut(panels, side), sills.numbered(JOINTS), reader, (sills.WIDE, sills.SLIM)[slim])
    return walls.section(WALL, reader, (walls.WIDE, walls.SLIM)[slim])


# ---- the plan --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("panels", "side", "feet"), DOORS)
def test_every_panel_is_drawn_closed_and_stacked_at_the_scale_of_the_opening(panels, side, feet):
    made = door(panels, side, feet)
    drawn, laid = planned(made), lay_out(made)
    root = parsed("plan", drawn)
    closed, stacked = every(root, "panel"), every(root, "stacked")
    assert len(closed) == len(stacked) == panels
    assert len(every(root, "pocket")) == len(made.sides)
    scale = drawn.band.width / made.clear_width
    for panel, box in zip(laid.panels, drawn.panels, strict=True):
        assert box.closed.width == pytest.approx(panel.width * scale, abs=0.11)
        assert box.closed.x == pytest.approx(drawn.band.x + panel.closed[0] * scale, abs=0.11)
        assert box.stacked.x == pytest.approx(drawn.band.x + panel.stacked[0] * scale, abs=0.11)
        assert box.stacked.y == box.closed.y, "a panel stays on its track"


@pytest.mark.parametrize("panels", [2, 8])
def test_panels_are_counted_and_measured_as_the_xml_has_them_in_a_language_with_commas(panels):
    made = door(panels, BOTH, 33)
    with translation.override("de"):
        root = parsed("plan", planned(made, reader=MILLIMETRES))
    (band,), boxes = every(root, "cover"), every(root, "panel")
    assert len(boxes) == panels
    scale = float(band.get("width")) / made.clear_width
    assert sorted(float(box.get("width")) for box in boxes) == pytest.approx(
        sorted(panel.width * scale for panel in lay_out(made).panels), abs=0.11)


def test_track_1_is_the_outermost_and_outside_is_below():
    drawn = planned(door(4, RIGHT))
    by_letter = {panel.letter: panel.closed.y for panel in drawn.panels}
    assert by_letter["A"] > by_letter["B"] > by_letter["C"] > by_letter["D"]
    inside, outside = (next(label.y for label in drawn.labels if label.text == said) for said in ("inside", "outside"))
    assert inside < drawn.band.y < drawn.band.bottom < outside


def test_how_many_times_over_it_is_drawn_across_is_what_is_drawn():
    drawn = planned(door(3, RIGHT, 12))
    apart = drawn.panels[0].closed.y - drawn.panels[1].closed.y
    along = drawn.band.width / (12 * FOOT)
    assert apart == pytest.approx(65 * MM * along * drawn.times, abs=0.11)


@pytest.mark.parametrize("sheet", TWICE)
@pytest.mark.parametrize(("panels", "side"), [(2, RIGHT), (4, RIGHT), (8, RIGHT), (5, BOTH), (7, BOTH)])
def test_the_other_hand_is_drawn_mirrored(panels, side, sheet):
    made = door(panels, side)
    here, there = planned(made, sheet=sheet), planned(made.mirrored(), sheet=sheet)

    for panel, other in zip(here.panels, reversed(there.panels), strict=True):
        assert panel.letter == other.letter
        for one, turned in ((panel.closed, other.closed), (panel.stacked, other.stacked)):
            assert (sheet.width - one.right, one.y, one.width, one.height) == pytest.approx(
                (turned.x, turned.y, turned.width, turned.height), abs=0.2)
    for one, turned in zip(here.dimensions, there.dimensions, strict=True):
        assert (one.text, one.y, one.upright) == (turned.text, turned.y, turned.upright)
        assert one.upright or sheet.width - one.x == pytest.approx(turned.x, abs=0.2)
    assert [round(sheet.width - p.box.right) for p in here.pockets] == pytest.approx(
        [round(p.box.x) for p in reversed(there.pockets)], abs=1)


def test_of_two_pockets_each_is_as_wide_as_its_own_tracks():
    drawn = planned(door(5, BOTH, more_on=RIGHT))
    height = {pocket.side: pocket.box.height for pocket in drawn.pockets}
    assert height["left"] < height["right"]


def test_a_measured_pocket_is_drawn_as_it_is_with_a_line_where_it_must_reach():
    shallow = replace(AROUND, pocket_depth={RIGHT: 1500 * MM})
    drawn = planned(door(4, RIGHT), shallow)
    assert drawn.pockets[0].needed
    assert [d.text.split(" ")[0] for d in drawn.dimensions[1:3]] == ["needs", "there"]
    assert not planned(door(4, RIGHT)).pockets[0].needed


@pytest.mark.parametrize("side", [LEFT, RIGHT])
def test_a_pocket_too_shallow_is_drawn_too_shallow_and_its_panels_run_out_of_it(side):
    drawn = planned(door(4, side), replace(AROUND, pocket_depth={side: 900 * MM}))
    scale, (pocket,) = drawn.band.width / door(4, side).clear_width, drawn.pockets
    assert pocket.box.width == pytest.approx(900 * MM * scale, abs=0.11)
    assert all(panel.stacked.width > pocket.box.width for panel in drawn.panels)
    limit = float(pocket.needed[1:].split(" ")[0])
    assert drawn.sheet.side - 0.2 <= limit <= drawn.sheet.width - drawn.sheet.side + 0.2, "it fits the sheet"


def test_what_nobody_has_entered_is_left_out_of_the_plan():
    drawn = planned(door(4, RIGHT), Surroundings())
    assert drawn.times is None
    assert [d.text for d in drawn.dimensions] == ["20' 0\""]


# ---- the sill --------------------------------------------------------------------------------------------


def test_the_sill_shows_where_sealant_goes_and_where_it_must_not():
    drawn = sills.section(cut(), sills.numbered(JOINTS), INCHES)
    assert (len(drawn.seals), len(drawn.nevers)) == (1, 1)
    seal, never = (float(re.match(r"M([\d.]+)", path)[1]) for path in (*drawn.seals, *drawn.nevers))
    assert never < drawn.sheet.width / 2 < seal, "outside is left: there it stays open, inside it is sealed"
    assert [balloon.text for balloon in drawn.balloons] == ["1", "2"]


def test_a_joint_elsewhere_is_in_the_table_without_a_number():
    assert [joint.number for joint in sills.numbered(JOINTS)] == [1, 2, None]


def test_a_sill_written_with_a_capital_is_the_sill():
    assert sills.numbered([("never-seal", "Sill ", "Outside")])[0].side == "outside"


def test_ever_so_many_joints_at_the_sill_leave_the_drawing_readable():
    joints = sills.numbered([("seal", "sill", "inside")] * 30)
    drawn = sills.section(cut(), joints, INCHES)
    assert len(joints) == 30
    assert all(balloon.y > 20 for balloon in drawn.balloons)


@pytest.mark.parametrize("pitch", [1, MM, 1000 * MM])
def test_sizes_nobody_would_make_still_make_a_drawing(pitch):
    odd = replace(AROUND, track_pitch=pitch, panel_thickness=None, covers=3000 * MM)
    assert planned(door(8, LEFT), odd).height < 2000
    drawn = sills.section(cut(pitch=pitch), sills.numbered(JOINTS), INCHES)
    assert drawn.height < 400 and "-" not in "".join(f"{box.width}" for box in (drawn.bed, drawn.floor))


@pytest.mark.parametrize(("panels", "side", "tracks"), [(2, RIGHT, 2), (8, LEFT, 8), (8, BOTH, 4), (5, BOTH, 3)])
def test_every_track_of_the_sill_is_drawn_with_a_panel_on_it(panels, side, tracks):
    root = parsed("sill", sills.section(cut(panels, side), sills.numbered(JOINTS), INCHES))
    assert len(every(root, "rail")) == len(every(root, "panel")) == tracks
    assert len(every(root, "weep")) == 1


def test_the_bed_is_said_as_it_was_read_and_not_at_all_before():
    assert sills.section(cut(), (), MILLIMETRES).bed_said.text == "bed 3.0 mm to 9.0 mm"
    assert sills.section(cut(bed_least=None, bed_most=None), (), MILLIMETRES).bed_said is None


# ---- the pocket wall -------------------------------------------------------------------------------------


def test_the_wall_is_to_scale_and_the_longest_fastener_ends_before_what_must_stay_clear():
    """15.9 + 38.1 - 6 = 48.0 mm."""
    drawn = walls.section(WALL, MILLIMETRES)
    assert drawn.stud.width / drawn.board.width == pytest.approx(38.1 / 15.9, rel=0.01)
    assert drawn.clear.x - drawn.board.x == pytest.approx(48 / 54 * (drawn.stud.right - drawn.board.x), abs=0.2)
    assert "at most 48.0 mm" in [d.text for d in drawn.dimensions]
    assert not drawn.too_long


@pytest.mark.parametrize(("longest", "too_long"), [(48 * MM, False), (48 * MM + 1, True), (None, False)])
def test_a_fastener_that_is_too_long_is_drawn_as_one(longest, too_long):
    drawn = walls.section(replace(WALL, longest=longest), INCHES)
    assert drawn.too_long == too_long
    assert len(every(parsed("wall", drawn), "fastener")) == (longest is not None)


def test_the_longest_length_is_let_down_to_a_mark_never_up():
    """48.0 mm is 120.9 sixty-fourths: 121 would be too long."""
    assert walls.at_most_words(48 * MM, INCHES) == '1 7/8"'
    assert walls.at_most_words(48 * MM, MILLIMETRES) == "48.0 mm"
    assert walls.at_most_words(INCH * 121 // 64, INCHES) == '1 57/64"'


def test_without_a_clearance_nothing_is_said_to_be_the_longest():
    drawn = walls.section(replace(WALL, clearance=None), INCHES)
    assert (drawn.clear, drawn.longest) == (None, "")
    assert not any("most" in d.text for d in drawn.dimensions)


# ---- all of them -----------------------------------------------------------------------------------------


def test_strings_that_would_meet_stand_in_rows_of_their_own():
    strings = below([Measured(0, 30, "10 feet"), Measured(30, 60, "10 feet"), Measured(200, 300, "far off")], 0, 318)
    assert strings[0].y != strings[1].y
    assert strings[0].y == strings[2].y


def page_of(template):
    """Of every template that draws, what it makes."""
    if template == "profile":
        more = {"plot": plotted(floor([0, 0, 5, 0, 3]), MILLIMETRES), "bare": 1, "named": 1}
    elif template == "tape":
        more = {"tape": tape(61 * 60, 74 * 60, 66 * 60)}
    elif template == "elevation":
        panels = tuple(elevation.BuiltPanel(letter, "hung", track=n) for n, letter in enumerate("ABC", start=1))
        built = elevation.Built("accepted", LEFT, 33 * FOOT + 1, 9 * FOOT, 5 * FOOT, True, panels, items=((1, "sill"),))
        d = elevation.large(built, MILLIMETRES)
        more = {"d": d, "lettered": 1, "spots": spots(d, built, beside=True), "title": "A1", "desc": "a drawing"}
    else:
        return svg(template, drawn_of(template, 8, LEFT, reader=MILLIMETRES))
    return render_to_string(f"dashboard/_{template}.html", {"key": "k", **more})


@pytest.mark.parametrize("template", ["elevation", "plan", "sill", "wall", "profile", "tape"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_numbers_keep_their_points_in_a_language_with_commas(template, language):
    with translation.override(language):
        root = ET.fromstring(page_of(template).partition("</svg>")[0].strip() + "</svg>")
    drawn = [element for element in root.iter() if element.get("d") or element.get("width")]
    assert len(drawn) > 3
    for element in root.iter():
        assert not any("," in element.get(name, "") for name in (
            "d", "x", "y", "width", "height", "viewBox", "cx", "cy", "transform", "points"))


@pytest.mark.parametrize("template", ["plan", "sill", "wall"])
@pytest.mark.parametrize("tag", ["W" * 300, "🚪 <script>&\"'", "]]>"])
def test_a_long_tag_an_emoji_or_markup_breaks_no_drawing(template, tag):
    root = parsed(template, drawn_of(template), title=tag, desc=tag)
    assert [root[0].text, root[1].text] == [tag, tag]
    assert not [e for e in root.iter() if e.tag.endswith("script")]


# Every two texts of a drawing whose boxes meet, and every text that runs off its drawing. On paper each text stands
# on a white one, which keeps the lines off it.
MEETING = """() => [...document.querySelectorAll('svg')].flatMap(svg => {
  const sheet = svg.getBoundingClientRect();
  const texts = [...svg.querySelectorAll('text:not([stroke="#fff"])')].map(
    e => [e.textContent, e.getBoundingClientRect()]);
  const off = texts.filter(([, b]) => b.left < sheet.left - 1 || b.right > sheet.right + 1
    || b.top < sheet.top - 1 || b.bottom > sheet.bottom + 1).map(([t]) => `${svg.id}: ${t} runs off`);
  const meet = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 2 && b.top < a.bottom - 2;
  return [...off, ...texts.flatMap(([t, a], n) => texts.slice(n + 1).filter(([, b]) => meet(a, b)).map(
    ([u]) => `${svg.id}: ${t} on ${u}`))];
})"""


@pytest.fixture(scope="module")
def page():
    with chromium() as browser:
        yield browser.new_page(viewport={"width": DESK, "height": 900})


@pytest.fixture(scope="module")
def css(pytestconfig):
    return (pytestconfig.rootpath / "dashboard/static/dashboard/sillbook.css").read_text()


@pytest.mark.parametrize(("slim", "on_paper"), [(False, False), (True, False), (False, True), (True, True)])
def test_no_text_of_a_drawing_stands_on_another_or_runs_off(page, slim, on_paper, css):
    measured = replace(AROUND, pocket_depth={LEFT: 1999 * MM, RIGHT: 1333 * MM})
    shown = []
    for reader in (INCHES, MILLIMETRES):
        for panels, side, feet in [*DOORS, (24, RIGHT, 60), (24, BOTH, 60), (5, BOTH, 33), (1, LEFT, 5)]:
            name = f"{panels}-{side}-{feet}-{reader.units}"
            for around in (AROUND, measured):
                drawn = planned(door(panels, side, feet), around, reader, TWICE[slim])
                shown.append(svg("plan", drawn).replace("<svg ", f'<svg id="plan-{name}" ', 1))
            shown.append(svg("sill", drawn_of("sill", panels, side, reader=reader, slim=slim)).replace(
                "<svg ", f'<svg id="sill-{name}" ', 1))
        for wall in (WALL, Wall(9 * MM, 89 * MM, 6 * MM), Wall(25 * MM, 20 * MM, 60 * MM, longest=90 * MM)):
            drawn = walls.section(wall, reader, (walls.WIDE, walls.SLIM)[slim])
            shown.append(svg("wall", drawn).replace("<svg ", '<svg id="wall" ', 1))
    width = 318 if slim else 740
    if on_paper:
        css, shown = "", [ink.printed(one) for one in shown]
    page.set_content(f"<style>{css}</style><div style='width: {width}px'>{''.join(shown)}</div>")
    assert page.evaluate(MEETING) == []


FLOORS = {"flat": [0] * 27, "one high place": [0, 0, 1, 1, 2, 1, 5] + [0] * 54, "all over the place": [0, 9] * 6,
          "two stations": [0, 3], "a step at its end": [0] * 40 + [8]}


@pytest.mark.parametrize(("sheet", "named"), [(profile.WIDE, 1), (profile.SLIM, 0)])
@pytest.mark.parametrize("on_paper", [False, True])
def test_no_text_of_a_floor_stands_on_another_or_runs_off(page, sheet, named, on_paper, css):
    shown = []
    for reader in (INCHES, MILLIMETRES):
        for name, heights in FLOORS.items():
            read = floor(heights, inner=floor([0] * len(heights))["stations"])
            made = plotted(read, reader, sheet)
            page_of = render_to_string("dashboard/_profile.html", {"plot": made, "key": "k", "named": named, "bare": 1})
            shown.append(page_of.strip().replace("<svg ", f'<svg id="{name}-{reader.units}" ', 1))
    if on_paper:
        css, shown = "", [ink.printed(one) for one in shown]
    page.set_content(f"<style>{css}</style><div style='width: {sheet.width}px'>{''.join(shown)}</div>")
    assert page.evaluate(MEETING) == []


WHERE = ["A", "A", "", "B", "A", "lock jamb", "A", "", "B", "", "lock jamb", "head", "sill", "sill", "pocket"]
ITEMS = tuple(enumerate(WHERE, start=1))


@pytest.mark.parametrize("drawn", [elevation.large, elevation.slim, elevation.printed])
def test_no_text_of_an_elevation_stands_on_another_or_runs_off(page, drawn, css):
    shown = []
    for reader in (INCHES, MILLIMETRES):
        for panels, side, feet in [*DOORS, (5, BOTH, 33), (1, LEFT, 5)]:
            built = elevation.Built(
                "punch list", side, feet * FOOT, 10 * FOOT, max(feet * FOOT // panels, 2 * FOOT), True, tuple(
                    elevation.BuiltPanel("ABCDEFGH"[n], "hung", track=1 + n // 2) for n in range(panels)), items=ITEMS)
            of = drawn(built, reader)
            shown.append(f"<div style='width: {of.width}px'>" + svg("elevation", of, lettered=True).replace(
                "<svg ", f'<svg id="{panels}-{side}-{feet}-{reader.units}" ', 1) + "</div>")
    page.set_content(f"<style>{css}</style>{''.join(shown)}")
    assert page.evaluate(MEETING) == []


def test_the_end_of_a_string_is_broken_where_it_would_run_through_a_text_over_it():
    strings = below([Measured(0, 300, "the whole of it"), Measured(150, 300, "half")], 0, 318)
    assert re.findall(r"M150.0 ([\d.]+)V([\d.]+)", strings[1].path) == [("3.0", "21.0"), ("40.0", "54.0")]
    assert re.findall(r"M300.0 ([\d.]+)V([\d.]+)", strings[1].path) == [("3.0", "54.0")]
    assert 21 < strings[0].y - 12 < strings[0].y + 4 < 40, "the text stands between"


@pytest.mark.parametrize(("length", "within"), [(200, True), (10, False)])
def test_a_string_ends_in_arrow_heads_that_point_at_what_is_measured(length, within):
    """A short one has them outside, pointing in: a head never hides its own line."""
    (string,) = below([Measured(100, 100 + length, "1 in")], 0, 318)
    heads = [re.match(r"M([\d.]+) [\d.]+l(-?[\d.]+)", head) for head in string.heads]
    assert [float(head[1]) for head in heads] == [100, 100 + length], "its points"
    assert [float(head[2]) > 0 for head in heads] == ([True, False] if within else [False, True])


def test_every_string_of_a_drawing_has_two_heads():
    for template in ("plan", "sill", "wall"):
        root = parsed(template, drawn_of(template))
        assert len(every(root, "head")) == 2 * len(every(root, "dim")) > 0
        assert not every(root, "tick")


def test_the_measure_would_find_text_on_text(page):
    page.set_content("<svg viewBox='0 0 90 40'><text x='9' y='20'>one</text><text x='12' y='22'>two</text></svg>")
    assert page.evaluate(MEETING)
