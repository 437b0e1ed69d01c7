"""The sheets that are printed: what stands on them, and that nothing people wrote breaks or runs in them."""

import datetime as dt
import re
import xml.etree.ElementTree as ET

import pytest
import segno
from django.urls import reverse
from django.utils import translation

from dashboard.measures import Reader
from dashboard.sheets import ink, letters, material, opening, site_report, wall
from dashboard.sheets.typeset import PAPERS, typeset
from inspections.models import Check
from inspections.services.closing import raise_punch_item
from inspections.services.laying_out import lay_out_panels
from inspections.services.panels import handle_panel
from inspections.services.parts import note_part_came
from inspections.services.waits import raise_wait
from inspections.services.walls import countersign_wall
from inspections.services.work import note_event
from jobs.acts import Act
from jobs.calc.lengths import INCH
from jobs.models import Equipment, Job, OfficeSettings, Opening
from jobs.stages import Stage
from tests.dashboard.test_pages_drawings import measured_site
from tests.factories import (
    MADE,
    MM,
    NOW,
    act_for,
    give_work,
    make_crew,
    make_job,
    make_opening,
    make_system,
    make_unit,
    make_user,
)
from tests.site import Site, floor, reveal
from tests.visits import queries, site_today, text
from units.models import DoorSystem, Panel, Part, Unit

pytestmark = pytest.mark.django_db
READER = Reader("in")
HOSTILE = '#panic("x") *b* _i_ $1/0$ `raw` <a> @b // ]] }} \\ "quoted" 😀 ½ \x07\ufffe ' + "W" * 300


def sheet_of(site: Site) -> dict:
    site.opening.refresh_from_db()
    return opening.shown(site.opening, Act.of(site.office, NOW), READER, "Marrow Bay", "https://sillbook.example/openings/1/")


def unit_in(job, tag="A1", **over):
    rough = {"rough_width": 6020 * MM, "rough_height": 3020 * MM, "pocket_side": "right"}
    joints = [{"place": "head", "side": "outside", "rule": "seal", "width": "10 mm", "depth": "10 mm",
               "product": "Bead"}]
    system = make_system(**{**MADE, "joints": joints, "products": [
        {"name": "Bead", "cartridge_ml": 300, "waste_pct": 0}], **over})
    return make_unit(make_opening(job, tag=tag, **rough), "", system=system, panel_count=3, frame_width=6000 * MM,
                     frame_height=3000 * MM)


def test_the_checks_that_are_still_before_it_are_listed_with_their_limits():
    stages = sheet_of(Site().bring_to(Stage.OPENING_VERIFIED))["stages"]
    assert [stage["name"] for stage in stages][:3] == ["Frame set", "The pocket closes", "Panels hung"]
    sill = next(check for check in stages[0]["checks"] if check["title"] == "Sill level lengthwise")
    assert 'Sill, highest over lowest: 1/8"' in sill["limits"]


def test_a_pocket_released_is_asked_no_more():
    site = Site().bring_to(Stage.FRAME_SET)
    assert sheet_of(site)["stages"][0]["name"] == "The pocket closes"
    site.close_pocket()
    assert sheet_of(site)["stages"][0]["name"] == "Panels hung"


def test_what_was_read_already_is_said_beside_its_check():
    site = Site()
    site.confirm("header-in")
    checks = sheet_of(site)["stages"][0]["checks"]
    assert next(c for c in checks if c["title"].startswith("Header in"))["last"]
    assert next(c for c in checks if c["title"] == "Rack")["last"] == ""


def test_panels_stand_in_the_order_they_are_hung_with_their_weights_and_the_caution():
    unit = lay_out_panels(act_for(make_user("office")), unit_in(make_job()).pk, version=1)
    shown = opening.shown(unit.opening, act_for(make_user("office")), READER, "", "https://sillbook.example/")
    # 253.6 kg by hand: glass 218.1, stiles 17.3, rails 15.2, rollers 3; 559.1 lb, never printed lower than it is
    assert [(p["order"], p["letter"], p["weight"]) for p in shown["panels"]] == [
        (order, letter, "560 lb (254 kg)") for order, letter in (("1", "A"), ("2", "B"), ("3", "C"))]
    assert "manual" in shown["cautions"][0]
    assert shown["panels"][1]["code"] == segno.make("https://sillbook.example/?at=B", error="l").svg_inline(border=1)


def test_a_panel_that_hangs_is_said_to_and_one_that_does_not_has_a_box_to_tick():
    site = Site().bring_to(Stage.FRAME_SET)
    site.close_pocket()
    handle_panel(site.act(), site.panel("A").pk, "receive")
    handle_panel(site.act(), site.panel("A").pk, "hang")
    handle_panel(site.act(), site.panel("B").pk, "damage", reason="chipped")
    assert [(p["letter"], p["hung"], p["state"].casefold()) for p in sheet_of(site)["panels"][:3]] == [
        ("A", True, "hung"), ("B", False, "damaged"), ("C", False, "")]


def test_how_the_panels_still_to_be_hung_are_lifted_and_brought_in_stands_under_them():
    site = Site().bring_to(Stage.FRAME_SET)
    site.close_pocket()
    Job.objects.update(way_in=[{"name": "gate", "kind": "corridor", "sizes": {"width": 500}}])
    work = give_work(site.opening, make_crew(make_user("lead"), name="Second crew"), Stage.PANELS_HUNG)
    work.equipment.add(Equipment.objects.create(
        name="Beam lifter", kind="beam lifter", rated_grams=181_500, rating_includes=["design factor"]))
    handle_panel(site.act(), site.panel("A").pk, "receive")
    handle_panel(site.act(), site.panel("A").pk, "hang")
    shown = sheet_of(site)["handling"]
    assert shown["planned"].startswith("Beam lifter")
    assert "A" not in {letter for row in shown["rows"] for letter in row[0].split(", ")}
    assert any("Beam lifter has too little left of its rating" in row[2] for row in shown["rows"])
    Panel.objects.update(state="hung")
    assert sheet_of(site)["handling"] is None


@pytest.mark.parametrize(("letters", "ways", "side"), [
    ("AB", "one-way", "left"), ("ABC", "one-way", "right"), ("ABCDEFGH", "two-way", "both")])
def test_an_opening_sheet_has_elevation_plan_and_sill_with_every_panel_and_joint(letters, ways, side):
    shown = sheet_of(measured_site(letters, ways, side))
    plan, sill = (ET.fromstring(shown[name]) for name in ("plan", "sill"))
    assert len(drawn(plan, "panel")) == len(drawn(plan, "stacked")) == len(letters)
    assert len(drawn(sill, "panel")) == len(letters) // (2 if side == "both" else 1)
    assert [row[0] for row in shown["joints"]] == ["1", "2", "–"]
    assert {e.text for e in drawn(sill, "letter")} == {"1", "2"}
    assert f"{len(letters)} panels" in shown["plan_said"]


def drawn(root, kind):
    return [e for e in root.iter() if e.get("class", "").split()[:1] == [kind]]


def test_the_drawings_of_a_sheet_keep_their_points_in_a_language_with_commas():
    site = measured_site()
    with translation.override("de"):
        shown = opening.shown(site.opening, site.act(), Reader("mm"), "", "https://sillbook.example/")
        of_wall = wall.shown(site.opening, site.act(), Reader("mm"), "")
        report = site_report.shown(site.opening, site.act(), Reader("mm"), OfficeSettings())
    drawings = [shown["drawing"], shown["plan"], shown["sill"], of_wall["walls"][0]["drawing"],
                report["floors"][0]["floor"]["drawing"]]
    for root in map(ET.fromstring, drawings):
        for element in root.iter():
            assert not any("," in element.get(name, "") for name in ("d", "x", "y", "width", "height", "viewBox"))


def test_each_number_in_a_ring_on_an_opening_sheet_has_its_line_below():
    site = Site().bring_to(Stage.PANELS_HUNG)
    panel = site.unit.panels.get(letter="B")
    raise_punch_item(site.act(), site.opening.pk, what="Scratch #[*]", panel_id=panel.pk, owner_id=site.office.pk,
                     due_day=dt.date(2026, 3, 20))
    shown = sheet_of(site)
    assert len([e for e in ET.fromstring(shown["drawing"]).iter() if e.get("class") == "balloon stop"]) == 1
    assert shown["items"] == [["1", "Scratch #[*]", "B", f"{site.office}, Fri 20 Mar"]]
    assert typeset("opening", shown, "a4").startswith(b"%PDF")


def test_the_finishing_steps_of_the_door_system_stand_at_their_check():
    site = Site()
    site.unit.system.finishing_steps = ["Head block back and screwed", "Holes filled"]
    site.unit.system.save()
    checks = [check for stage in sheet_of(site)["stages"] for check in stage["checks"]]
    assert next(c for c in checks if c["title"].startswith("Finishing"))["steps"] == [
        "Head block back and screwed", "Holes filled"]


def test_a_check_of_several_places_says_how_many_stand_and_one_of_a_single_place_on_what():
    site = Site().bring_to(Stage.ADJUSTED)
    checks = {c["title"]: c["last"] for stage in sheet_of(site)["stages"] for c in stage["checks"]}
    of_joints = next(said for title, said in checks.items() if title.startswith("Every joint"))
    assert of_joints == "1 of 5 stand", "the one that must stay open; nobody sealed the others yet"
    first = next(c for c in sheet_of(read_floor())["stages"][0]["checks"] if c["title"] == "Floor, total range")
    assert re.fullmatch(r"stands, \w{3} \d+ \w{3}, \d\d:\d\d, .+", first["last"])


def read_floor():
    site = Site()
    site.read("floor-profile", floor([0] * 27))
    return site


def test_what_the_pocket_needs_is_one_number_at_its_check_on_the_plan_and_under_the_sill():
    site = measured_site()
    DoorSystem.objects.update(track_pitch=65 * MM + 100_000)
    lay_out_panels(site.act(site.office), site.unit.pk, version=Unit.objects.get().version)
    site.opening = Opening.objects.get(pk=site.opening.pk)
    shown = sheet_of(site)
    plan, sill = ([e.text.replace("\N{NO-BREAK SPACE}", " ") for e in drawn(ET.fromstring(shown[name]), "dimtext")]
                  for name in ("plan", "sill"))
    limits = next(c for c in shown["stages"][0]["checks"] if c["title"].startswith("Pocket depth"))["limits"]
    thick = limits[1].removeprefix("Clear thickness, least: ")
    assert thick in plan and thick in sill
    assert f"needs {limits[0].removeprefix('Depth, least: ')}" in plan


def test_there_is_room_to_write_down_every_reading_that_is_still_before_it():
    site = measured_site("ABCD", "two-way", "both")
    blanks = {blank["title"]: blank["beside"] for blank in sheet_of(site)["blanks"]}
    assert list(blanks) == [
        "Rough opening", "Floor", "Pocket", "Benchmark and finish floors", "Frame, as set", "Longest fastener",
        "Head under its load", "Gap for the last panel", "Rollers at preset",
        "Reveal: left interlock", "Reveal: right interlock", "Force", "Sill again: panels stacked",
        "Sill again: panels spread", "Sealing conditions"]
    stations = blanks["Floor"][1][0]
    places = [text for row in stations["rows"] for text in row[::3] if text]
    assert stations["heads"] == ["At", "Outer line", "Inner line"] * 4
    assert len(places) == len({*places}) > 12, "each foot of the sill"
    assert [row[0] for row in blanks["Rollers at preset"][0][0]["rows"]] == [f"Panel {x}" for x in "ABCD"]
    assert [row[0] for row in blanks["Pocket"][0][0]["rows"]] == ["left pocket", "right pocket"]
    assert [len(beside) for beside in blanks["Force"]] == [3, 2], "four panels and the train, three side by side"
    opening_sheet = [[one["title"] for one in beside] for beside in blanks["Rough opening"]]
    assert opening_sheet == [["Widths", "Heights"], ["Diagonals, seen from outside"], ["Jambs, plumb"]]
    assert all(row[1:] == [""] * 2 for beside in blanks["Force"] for one in beside for row in one["rows"])


def test_what_is_behind_it_is_not_asked_for_again():
    titles = [blank["title"] for blank in sheet_of(Site().bring_to(Stage.ADJUSTED))["blanks"]]
    assert titles == ["Sealing conditions"]


def test_the_packing_stands_on_it_until_the_frame_is_set():
    site = measured_site()
    packing = sheet_of(site)["packing"]
    assert packing["heads"][:2] == ["At", "outer line"]
    assert sheet_of(Site().bring_to(Stage.FRAME_SET))["packing"] is None


def test_nothing_is_packed_by_a_floor_that_was_poured_again(client):
    site = measured_site()
    note_event(site.act(), site.opening.pk, "re-pour")
    assert sheet_of(site)["packing"] is None
    client.force_login(site.office)
    page = text(client.get(reverse("drawings", args=[site.opening.pk])))
    assert "No longer counts: the floor was poured again" in page and "Packing at each station" not in page


def test_where_it_is_and_how_to_come_in_is_for_those_only_who_may_know():
    site = Site()
    Job.objects.update(address="4 Tern Row", access_notes="By the lane #[*]; the dog is friendly.")
    site.opening = Opening.objects.get(pk=site.opening.pk)
    for role, where, access in (("office", "4 Tern Row", "By the lane #[*]; the dog is friendly."), ("guest", "–", "")):
        shown = opening.shown(site.opening, act_for(make_user(role)), READER, "", "https://sillbook.example/")
        assert {"label": "Where", "text": where} in shown["title"]
        assert shown["access"] == access
        assert typeset("opening", shown, "letter").startswith(b"%PDF")


def test_what_is_written_on_a_drawing_is_as_large_on_every_sheet_and_the_widest_fits_the_paper():
    """A4 leaves 516 pt between its margins."""
    sizes = set()
    for feet in (6, 60):
        site = measured_site("AB", "one-way", "left", rough_width=feet * 12 * INCH)
        root = ET.fromstring(sheet_of(site)["drawing"])
        wide, high = (float(root.get(name).removesuffix("pt")) for name in ("width", "height"))
        assert wide <= 516 and high <= 240
        sizes.add(round(wide / float(root.get("viewBox").split()[2]), 3))
    assert sizes == {ink.UNIT}


def test_a_limit_that_is_no_length_is_said_as_people_of_this_reader_say_it():
    site = Site()
    Check.objects.create(code="force", job=site.opening.job, limits={
        "force_to_start": {"value": 110, "source": "an invented sheet"}})
    limits = [said for stage in sheet_of(site)["stages"] for check in stage["checks"] for said in check["limits"]]
    assert "Tapes apart, a metre: 0.1 mm/m" in limits
    assert "Force to start: 24.7 lbf (110 N)" in limits
    assert "Bead squeezed, least: 25 %" in limits


def test_what_must_be_there_is_never_said_to_be_less_than_it_is():
    """380 mm are 14.96 in: 14 15/16 would be too thin, and 381 mm a whole foot and three inches."""
    assert READER.needed(380 * MM) == "1' 3\""
    assert READER.needed(381 * MM) == "1' 3\""
    assert Reader("mm").needed(380 * MM + 1) == "381 mm"
    unit = make_unit(make_opening(make_job()), "", pocket_depth_needed=1645 * MM, pocket_thickness_needed=380 * MM)
    shown = opening.shown(unit.opening, act_for(make_user("office")), READER, "", "https://sillbook.example/")
    assert {"label": "Pocket, depth and clear thickness needed", "text": "5' 4 13/16\" × 1' 3\""} in shown["sizes"]


def test_where_nothing_is_laid_out_an_opening_sheet_says_what_lacks():
    unit = make_unit(make_opening(make_job()), "", system=None)
    shown = opening.shown(unit.opening, act_for(make_user("office")), READER, "", "https://sillbook.example/")
    assert (shown["plan"], shown["sill"]) == (None, None)
    assert "cannot be drawn" in shown["plan_said"]
    assert typeset("opening", shown, "a4").startswith(b"%PDF")


def test_a_wall_sheet_has_the_wall_with_the_longest_fastener_and_the_same_in_figures():
    site = measured_site()
    (shown,) = wall.shown(site.opening, site.act(), READER, "")["walls"]
    root = ET.fromstring(shown["drawing"])
    assert len(drawn(root, "fastener")) == len(drawn(root, "limit")) == len(drawn(root, "keep-out")) == 1
    assert ["Longest allowed", '1 7/8"'] in shown["sizes"]
    assert 'at most 1 7/8"' in [e.text for e in drawn(root, "dimtext")]


def test_of_two_pockets_a_wall_sheet_says_of_each_how_deep():
    site = measured_site("ABCD", "two-way", "both")
    site.read("fastener", {"longest": "1 1/2", "board": "5/8", "stud": "2 1/2"}, place="right pocket")
    shown = wall.shown(site.opening, site.act(), READER, "")
    assert [(one["name"], one["longest"]) for one in shown["walls"]] == [
        ("Left pocket", '1 7/8"'), ("Right pocket", '2 7/8"')]
    assert typeset("wall", shown, "letter").startswith(b"%PDF")
    site.opening.inspections.filter(kind="fastener", place="right pocket").delete()
    right = wall.shown(site.opening, site.act(), READER, "")["walls"][1]
    assert (right["headline"], right["longest"], right["drawing"]) == ("Nothing is fixed into this wall yet", "–", None)


def test_a_wall_sheet_names_who_agreed_to_its_figures_and_nobody_who_saw_others():
    site = measured_site()
    countersign_wall(site.act(), site.opening.pk, name="Pat Lund #[*]", trade="drywall")
    shown = wall.shown(site.opening, site.act(), READER, "")
    assert [line.partition(", on ")[0] for line in shown["seen"]] == ["Countersigned by Pat Lund #[*], drywall"]
    assert typeset("wall", shown, "letter").startswith(b"%PDF")
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "2 1/2"})
    assert wall.shown(site.opening, site.act(), READER, "")["seen"] == []


@pytest.mark.parametrize(("sheet", "count"), [("opening-sheet", 25), ("wall-sheet", 7), ("site-report", 8)])
def test_a_sheet_costs_as_many_queries_whatever_stands_on_it(client, sheet, count):
    site = measured_site()
    client.force_login(site.office)
    address = reverse(sheet, args=[site.opening.pk, "a4"])
    before = queries(client, address)
    site.read("reveal", reveal(top=5), place="lock-jamb")
    Panel.objects.create(unit=site.unit, letter="D", position="pocket", track=4, hanging_order=4)
    assert queries(client, address) == before == count


def test_a_jobs_material_sheet_costs_as_many_queries_for_one_unit_as_for_five(client):
    site = measured_site()
    client.force_login(site.office)
    address = reverse("material-sheet", args=[site.opening.job_id, "a4"])
    before = queries(client, address)
    for n in range(4):
        unit_in(site.opening.job, tag=f"B{n}", code=f"b{n}")
    assert queries(client, address) == before == 7


def test_the_code_leads_to_the_record_behind_a_sign_in_and_says_nothing_else():
    expected = segno.make("https://sillbook.example/openings/1/", error="m").svg_inline(border=2)
    assert sheet_of(Site())["code"] == expected


def test_the_drawing_stands_alone_with_every_line_in_the_colours_of_paper():
    root = ET.fromstring(sheet_of(Site().bring_to(Stage.PANELS_HUNG))["drawing"])
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    panels = [e for e in root.iter() if e.get("class") == "panel"]
    assert len(panels) == 4
    assert "var(" not in ink.lines()
    assert ".panel{" in ink.lines().replace(" ", "")


@pytest.mark.parametrize("paper", PAPERS)
def test_what_people_wrote_is_printed_and_never_run(paper):
    job = make_job(title=HOSTILE[:100])
    unit = unit_in(job, tag=HOSTILE[:40])
    unit.opening.location, unit.opening.benchmark = HOSTILE, HOSTILE
    act = act_for(make_user("office"))
    office = OfficeSettings(company=HOSTILE[:120])
    raise_wait(act, unit.opening.pk, what_for=HOSTILE[:200], owed_by_kind="builder")
    for sheet, shown in (("wall", wall.shown(unit.opening, act, READER, HOSTILE)),
                         ("site-report", site_report.shown(unit.opening, act, READER, office)),
                         ("opening", opening.shown(unit.opening, act, READER, HOSTILE, "https://sillbook.example/")),
                         ("material", material.shown(job, [unit], act, READER, HOSTILE))):
        assert typeset(sheet, shown, paper).startswith(b"%PDF")


def test_the_builder_is_told_what_fails_where_by_how_much_how_to_mend_it_and_whom_to_tell():
    site = Site()
    heights = [0] * 12 + [1] + [1] * 14
    given = floor(heights)
    given["stations"][12]["reading"] = "3/32"
    site.read("floor-profile", given)
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder",
               expected_day=dt.date(2026, 3, 20))
    office = OfficeSettings(company="Marrow Bay", reply_address="office@marrow.example")
    shown = site_report.shown(site.opening, site.act(), READER, office)
    report = shown["reports"][0]
    assert any('12\' 0"' in note["said"] and '1/32" over' in note["said"] for note in report["notes"])
    assert report["plan"]
    assert ET.fromstring(report["floor"]["drawing"]).tag.endswith("svg")
    assert "Full line, outer; long dashes, inner" in report["floor"]["said"]
    assert "Thin blue line, as it will be once put right." in report["floor"]["said"]
    assert any("20 Mar" in wait for wait in shown["waits"])
    assert "office@marrow.example" in shown["tell"]
    assert report["cautions"]


def test_of_a_floor_that_was_poured_again_the_builder_is_asked_nothing_until_it_is_read():
    site = Site()
    site.read("floor-profile", floor([0, 0, 0, 4] + [0] * 23))
    note_event(site.act(), site.opening.pk, "other-trades")
    report = site_report.shown(site.opening, site.act(), READER, OfficeSettings())
    assert len(report["reports"]) == 1 and not report["again"], "what others do in the opening puts nothing right"
    note_event(site.act(), site.opening.pk, "re-pour")
    report = site_report.shown(site.opening, site.act(), READER, OfficeSettings())
    assert (report["reports"], report["headline"]) == ([], "Nothing is asked of the builder")
    assert [line.partition(": ")[2].partition(",")[0] for line in report["again"]] == ["no longer counts"]
    assert "the floor was poured again" in report["again"][0]
    assert report["tell"] == "", "nobody is told of what nobody was asked"
    assert typeset("site-report", report, "letter").startswith(b"%PDF")
    site.read("floor-profile", floor([0, 0, 0, 4] + [0] * 23))
    assert site_report.shown(site.opening, site.act(), READER, OfficeSettings())["again"] == []


def test_how_deep_anything_may_go_into_the_wall_is_what_board_and_stud_leave():
    """5/8 + 1 1/2 in less 6 mm: 15.875 + 38.1 - 6 = 47.975 mm."""
    site = Site()
    assert "yet" in wall.shown(site.opening, site.act(), Reader("mm"), "")["walls"][0]["headline"]
    site.read("fastener", {"longest": "3", "board": "5/8", "stud": "1 1/2"})
    shown = wall.shown(site.opening, site.act(), Reader("mm"), "")
    assert shown["walls"][0]["longest"] == "47.9 mm"  # never up: 48.0 would be too long
    assert wall.shown(site.opening, site.act(), READER, "")["walls"][0]["longest"] == '1 7/8"'
    assert "Towel bars" in " ".join(shown["fixed"])


def test_what_is_the_crews_own_to_put_right_is_no_matter_of_the_builders():
    site = Site().bring_to(Stage.PANELS_HUNG)
    site.read("reveal", reveal(top=5), place="lock-jamb")
    assert site_report.shown(site.opening, site.act(), READER, OfficeSettings())["reports"] == []


def test_a_jobs_material_is_added_up_and_what_is_lacking_is_named():
    job = make_job()
    units = [unit_in(job, "A1"), unit_in(job, "A2"), make_unit(make_opening(job, tag="Z9"), "", system=None)]
    shown = material.shown(job, units, act_for(make_user("office")), READER, "Marrow Bay")
    assert shown["lines"] == ["Bead: cartridges 4"]  # 6000 x 10 x 10 mm are 600 mL: two of 300 for each
    assert [one["lines"] for one in shown["openings"]] == [["Bead: cartridges 2"]] * 2
    assert shown["unknown"] == ["Z9: system: give the unit its door system first"]


def test_what_came_short_or_damaged_is_on_the_material_sheet_and_what_nobody_expects_yet_is_not():
    job, act = make_job(), act_for(make_user("office"))
    unit = unit_in(job)
    sill, covers, _later = (Part.objects.create(unit=unit, kind=kind, name=name, wanted=wanted, created_at=NOW)
                            for kind, name, wanted in (("sill", "Sill 2", 1), ("cover", "Covers #[*]", 4),
                                                       ("head", "Head", 1)))
    note_part_came(act, sill.pk, short=1)
    note_part_came(act, covers.pk, whole=3, damaged=1)
    shown = material.shown(job, [unit], act, READER, "")
    assert shown["short"] == ["A1: Sill 2, short; no delivery named",
                              "A1: Covers #[*], 1 damaged; no delivery named"]
    assert typeset("material", shown, "letter").startswith(b"%PDF")


@pytest.mark.parametrize("paper", PAPERS)
def test_both_sheets_come_as_pdf_on_either_paper(client, paper):
    site = site_today()
    client.force_login(site.office)
    for name, key in (("opening-sheet", site.opening.pk), ("site-report", site.opening.pk),
                      ("wall-sheet", site.opening.pk), ("material-sheet", site.opening.job_id)):
        answer = client.get(reverse(name, args=[key, paper]))
        assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
        assert answer.content.startswith(b"%PDF")


def test_a_sheet_is_set_in_the_typefaces_that_come_along_and_in_no_other():
    shown = {"title": [{"label": "Job", "text": "Marrow Bay 門 😀 ก שלום ☃"}], "lines": ["20' 1 × 2 ½ →"],
             "openings": [], "unknown": [], "short": [], "cautions": [], "footer": "",
             "words": {"together": "Together", "nothing": ""}}
    made = typeset("material", shown, "letter")
    named = {name.decode() for name in re.findall(rb"/FontName/(?:[A-Z]{6}\+)?([A-Za-z0-9]+)", made)}
    assert named == {"SourceSansPro", "NotoEmoji", "NotoSansCJKsc", "NotoSansHebrew", "NotoSansThai"}


@pytest.mark.parametrize("text", ["Küche ½ → × °", "🚪 👍🏽 🇺🇸", "東京の家 한국", "Привет Ωμέγα", "ห้อง हिन्दी",
                                  "2 ″ ✓ ▲ ⌀"])
def test_letters_of_other_scripts_and_emoji_are_drawn(text):
    assert letters.as_drawn(text) == text


def test_a_character_that_no_typeface_has_is_written_out_by_its_name_and_a_drawing_stays_as_it_is():
    shown = {"said": "Door ཀ \ue000", "rows": [("\ufffe", 3, None)], "drawing": "<svg>ཀ</svg>"}
    assert letters.as_drawn(shown) == {
        "said": "Door [tibetan letter ka] [U+E000]", "rows": [["[U+FFFE]", 3, None]], "drawing": "<svg>ཀ</svg>"}


def test_what_stands_after_letters_that_run_from_right_to_left_keeps_its_place():
    """A mark after them: or the inch and a half of a tag's line would stand left of the tag."""
    assert letters.as_drawn("A1 חדר גדול 3: 1 1/2") == "A1 חדר גדול\u200e 3: 1 1/2"
    assert letters.as_drawn("חדר 3 גדול, 2") == "חדר 3 גדול\u200e, 2"


def test_paper_of_another_size_is_no_page(client):
    site = site_today()
    client.force_login(site.office)
    assert client.get(reverse("opening-sheet", args=[site.opening.pk, "napkin"])).status_code == 404


def test_a_crew_prints_no_sheet_of_an_opening_that_is_not_theirs(client):
    site = site_today()
    client.force_login(make_user("installer"))
    assert client.get(reverse("opening-sheet", args=[site.opening.pk, "a4"])).status_code == 404
    assert client.get(reverse("material-sheet", args=[site.opening.job_id, "a4"])).status_code == 404
