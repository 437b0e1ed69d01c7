"""The page of a unit: what follows from it as it stands or as it is tried, and how the office keeps it."""

import datetime as dt
import re

import pytest

from inspections.services.inspecting import record_inspection
from inspections.services.laying_out import lay_out_panels
from inspections.services.panels import handle_panel
from tests.factories import (
    MADE,
    MM,
    NOW,
    act_for,
    give_work,
    make_crew,
    make_opening,
    make_system,
    make_unit,
    make_user,
)
from tests.site import floor
from tests.visits import queries, text
from units.models import DoorSystem, Unit

pytestmark = pytest.mark.django_db
ROLES = ("office", "lead", "installer", "customer-service", "guest")


@pytest.fixture
def office():
    return make_user("office", units="mm")


@pytest.fixture
def unit():
    opening = make_opening(pocket_side="right", tag="A2")
    return make_unit(opening, panels="", system=make_system(name="Harbour", edition="2", **MADE), panel_count=3,
                     frame_width=6000 * MM, frame_height=3000 * MM)


def url(unit):
    return f"/openings/{unit.opening_id}/unit/"


def shown(client, person, unit, **typed):
    client.force_login(person)
    answer = client.get(url(unit), typed)
    assert answer.status_code == 200
    return re.sub(r"<[^>]+>", " ", text(answer)), text(answer)


def said(client, person, unit, **typed):
    return " ".join(shown(client, person, unit, **typed)[0].split())


def post(client, person, unit, **typed):
    client.force_login(person)
    unit.refresh_from_db()
    return client.post(url(unit), {"version": unit.version, "opening_version": unit.opening.version, **typed})


def laid_out(unit, office):
    return lay_out_panels(act_for(office), unit.pk, version=unit.version)


# ---- as it stands ----------------------------------------------------------------------------------------


def test_a_unit_explains_itself_as_it_stands(client, office, unit):
    record_inspection(act_for(office), unit.opening_id, "pocket", {"unit": "mm", "depth": 2200, "thickness": 300})
    page = said(client, office, unit)
    for words in ("Harbour, edition 2", "6000 mm × 3000 mm", "As it stands", "A lead 1 2020.0 mm 2890.0 mm 1 right",
                  "C pocket 3 2020.0 mm 2890.0 mm 3 right 8 and 8", "Net clear opening 5900.0 mm", "Tracks 3",
                  "Width that fills it 2020.0 mm", "Left over by cutting nothing", "Hanging order A, B, C",
                  "Depth, right pocket needs 2100 mm, measured 2200 mm", "needs 225 mm, measured 300 mm",
                  "Gap for panel C 457.2 mm to be left. Common practice, no published source.",
                  "1010.0 mm from the lead edge, 1445.0 mm up", "Panels are heavy glass", "No panels are kept yet"):
        assert words in page, words


def test_what_the_unit_takes_follows_from_what_is_tried_and_from_what_was_read(client, office, unit):
    """By hand: (6000 - 2 * 150) / 400 is 14.25: sixteen anchors; 7000 are 16.75: eighteen; the head 10 by 10 mm is
    600 mL, two cartridges of 300; 7000 mm are 700 mL, three. With 20 mm over the head 1200 mL: four. Wider than the
    opening there is, it is tried with the gaps as they are drawn."""
    head = {"place": "head", "side": "outside", "rule": "seal", "width": "gap", "depth": "10 mm", "product": "Bead"}
    DoorSystem.objects.update(
        joints=[head], products=[{"name": "Bead", "cartridge_ml": 300, "waste_pct": 0}],
        fasteners=[{"member": "head", "spacing_most": "400 mm", "edge_least": "150 mm", "fastener": "screw"}])
    type(unit.opening).objects.update(rough_width=6020 * MM, rough_height=3010 * MM)
    unit = Unit.objects.get()
    page = said(client, office, unit)
    assert "Off the shop drawing. Bead: cartridges 2 16 anchors: screw" in page
    client.force_login(office)
    tried = client.get(url(unit), {"width": "7000"}, HTTP_HX_REQUEST="true")
    assert "Bead: cartridges 3" in text(tried)
    assert "18 anchors: screw" in text(tried)
    assert "With the gaps as they are drawn." in text(tried)
    record_inspection(act_for(office), unit.opening_id, "rough-opening", {
        "unit": "mm", "widths": dict.fromkeys(("top", "middle", "bottom"), 6020),
        "heights": dict.fromkeys(("left", "middle", "right"), 3020)})
    tried = said(client, office, unit, height="3100")
    assert "With the gaps as they are drawn. Bead: cartridges 2" in tried
    page = said(client, office, unit)
    assert "As the opening was measured, without packing: its floor is not read yet." in page
    assert "Changed since the drawing: cartridges of Bead: 2 → 4." in page
    record_inspection(act_for(office), unit.opening_id, "floor-profile", floor())
    assert "As the opening was measured. " in said(client, office, unit)


def test_a_joint_too_narrow_for_how_it_moves_is_said_where_the_unit_is_tried(client, office, unit):
    """By hand: 23 millionths over 1800 mm and 60 K are 2.484 mm; a quarter of the joint may move: 9.936 mm and 1 mm
    of tolerance. Beside the frame there are 10."""
    moves = {"expansion_per_c": 23, "range_c": 60, "length": "1800 mm", "tolerance": "1 mm", "source": "by hand"}
    jamb = {"place": "lock-jamb", "side": "outside", "rule": "seal", "width": "gap", "depth": "6 mm",
            "product": "Bead", "movement": moves}
    DoorSystem.objects.update(joints=[jamb], products=[
        {"name": "Bead", "cartridge_ml": 300, "waste_pct": 0, "movement_pct": 25, "source": "an invented sheet"}])
    type(unit.opening).objects.update(rough_width=6020 * MM)
    page = said(client, office, Unit.objects.get())
    assert ("Width of the joint, so that it can move: 10.0 mm lock jamb outside; at least 10.9 mm. 0.9 mm short. "
            "An invented sheet.") in page


def test_a_joint_that_cannot_be_taken_off_is_named_on_the_units_page(client, office, unit):
    head = {"place": "head", "side": "outside", "rule": "seal", "width": "gap", "depth": "10 mm", "product": "Bead"}
    sill = {"place": "sill", "side": "inside", "rule": "seal", "leg": "10 mm", "product": "Bead"}
    DoorSystem.objects.update(joints=[head, sill], products=[{"name": "Bead", "cartridge_ml": 300, "waste_pct": 0}])
    type(unit.opening).objects.update(rough_height=None)
    assert "Left out, for want of a size or of a gap: Head outside." in said(client, office, unit)


def test_where_nothing_can_be_taken_off_the_page_says_what_to_enter_first(client, office, unit):
    page = said(client, office, unit)
    assert "Joints: enter the joints and the fasteners of the door system first." in page
    assert "for want of a size" not in page
    DoorSystem.objects.update(fasteners=[{"member": "sill", "spacing_most": "400 mm", "edge_least": "150 mm"}])
    assert "the fasteners of the door system first" not in said(client, office, unit)
    assert "Frame width: give the unit its frame, its width and its height, first." in said(
        client, office, unit, width="", height="")


def test_every_verdict_is_a_sentence_with_its_limit_and_whose_it_is(client, office, unit):
    page = said(client, office, unit)
    assert ("Width of a panel, most: 2020.0 mm , panels A, B, C; at most 2100.0 mm. 80.0 mm in hand. "
            "An invented system.") in page
    assert "Weight of a panel: 253.6 kg" in page
    assert "no limit set. The door system has to set it." in page


def test_what_was_not_measured_is_said_and_is_no_fault(client, office, unit):
    page = said(client, office, unit)
    assert "the pocket is still to be measured" in page
    assert "The pocket's depth is not measured yet." in page
    assert "needs 2100 mm, not measured" in page


def test_computed_stands_beside_weighed_and_the_heavier_is_named(client, office, unit):
    unit = laid_out(unit, office)
    unit.panels.filter(letter="A").update(weighed_grams=260_000)
    unit.panels.filter(letter="B").update(weighed_grams=240_000)
    page = said(client, office, unit)
    assert page.count("253.6 kg 260 kg 260 kg, as weighed") == 2, "as it follows and as it is kept"
    assert page.count("253.6 kg 240 kg 253.6 kg, as computed") == 2
    assert "The panels are kept so" in page


def test_panels_kept_otherwise_are_shown_as_they_are(client, office, unit):
    unit = laid_out(unit, office)
    unit.panels.filter(letter="B").update(width=1999 * MM)
    page = said(client, office, unit)
    assert "The panels kept are not these" in page
    assert "1999.0 mm" in page


def test_what_the_door_system_lacks_is_said_all_at_once(client, office, unit):
    DoorSystem.objects.update(meeting_lap=None, interlock_lap=None)
    page = said(client, office, unit)
    assert "Not entered in the door system: meeting lap." in page
    assert "Not entered in the door system: interlock lap." in page
    assert "Lay the panels out" not in page


def test_a_lap_wider_than_a_panel_says_what_would_be_right_in_the_readers_unit(client, unit):
    DoorSystem.objects.update(interlock_lap=4000 * MM)
    page = said(client, make_user("office"), unit)
    assert "Interlock lap: less than a panel, which is 131 1/2\" wide." in page


def test_an_opening_without_a_unit_says_so(client, office):
    client.force_login(office)
    opening = make_opening()
    assert "No unit in this opening yet" in text(client.get(f"/openings/{opening.pk}/unit/"))
    assert client.post(f"/openings/{opening.pk}/unit/").status_code == 404


def test_the_openings_page_leads_to_it(client, office, unit):
    client.force_login(office)
    assert f'href="{url(unit)}"' in text(client.get(f"/openings/{unit.opening_id}/"))


# ---- tried -----------------------------------------------------------------------------------------------


def test_another_number_is_tried_and_nothing_kept(client, office, unit):
    page = said(client, office, unit, panels="4")
    assert "As tried; nothing of it is kept" in page
    assert "D pocket 4 1528.0 mm" in page
    unit.refresh_from_db()
    assert (unit.panel_count, unit.version, unit.panels.count()) == (3, 1, 0)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_what_is_tried_is_drawn(client, office, unit, count):
    client.force_login(office)
    drawn = client.get(url(unit), {"panels": count}, headers={"HX-Request": "true"}).content.decode()
    wide, slim = re.findall(r'<svg class="plan".*?</svg>', drawn, re.DOTALL)
    assert [svg.count('class="panel"') for svg in (wide, slim)] == [count, count]
    assert f"{count} panels on" in wide


def test_what_a_panel_weighed_says_nothing_of_another_size_of_it(client, office, unit):
    unit = laid_out(unit, office)
    unit.panels.filter(letter="A").update(weighed_grams=900_000)
    page = said(client, office, unit, panels="4")
    follows = page[page.index("Panels as they follow"):page.index("Panels as kept")]
    assert "900 kg" not in follows
    assert "900 kg" in page


def test_what_cannot_be_built_is_explained_with_the_nearest_that_can(client, office, unit):
    page, html = shown(client, office, unit, panels="2")
    page = " ".join(page.split())
    assert "it cannot be built so" in page
    assert "Width of a panel, most: 3005.0 mm panels A, B; at most 2100.0 mm. 905.0 mm over." in page
    assert "The nearest number that fits is 3: panels 2020.0 mm wide, tracks 3." in page
    assert "panels=3\">3</a>" in html
    assert "Keep it so" not in page


@pytest.mark.parametrize(("units", "width", "clear"), [
    ("in", "20'", "5996.0"), ("in", "240", "5996.0"), ("in", "20' 0 1/2\"", "6008.7"), ("mm", "6096", "5996.0"),
    ("mm", "20 ft", "5996.0"), ("in", "6096 mm", "5996.0")])
def test_a_length_is_read_as_people_write_it(client, unit, units, width, clear):
    page = said(client, make_user("office", units=units), unit, width=width)
    inches = {"5996.0": '236 1/16"', "6008.7": '236 9/16"'}[clear]
    assert f"Clear width {inches if units == 'in' else clear + ' mm'}" in page


def test_two_ways_an_odd_number_asks_for_the_side_with_more(client, office, unit):
    assert "side with more panels" in said(client, office, unit, way="two-way", panels="5")
    page = said(client, office, unit, way="two-way", panels="5", more_on="left")
    assert "Depth, left pocket" in page
    assert "Depth, right pocket" in page


def test_a_pocket_measured_on_one_side_tells_nothing_of_another(client, office, unit):
    record_inspection(act_for(office), unit.opening_id, "pocket", {"unit": "mm", "depth": 2200, "thickness": 300})
    assert "measured 2200 mm" in said(client, office, unit, panels="4")
    assert "measured 2200.0 mm" not in said(client, office, unit, way="left")


@pytest.mark.parametrize(("name", "typed", "right"), [
    ("width", "wide", "2451.1 mm"), ("width", "0", "more than nothing"),
    ("width", "-20'", "cannot be negative"), ("width", "6,000", "comma"), ("width", "900 m", "at most"),
    ("panels", "0", "a whole number from 1 to 24"), ("panels", "99", "a whole number from 1 to 24"),
    ("panels", "three", "a whole number from 1 to 24"), ("way", "sideways", "one of those offered"),
    ("more_on", "top", "one of those offered"), ("glass", "10 and 10", "8 and 8"), ("glass", "<b>", "8 and 8")])
def test_bad_input_is_said_at_its_field_with_what_was_typed_kept(client, office, unit, name, typed, right):
    _page, html = shown(client, office, unit, **{name: typed})
    error = re.search(rf'id="f-{name.replace("_", "-")}-error">([^<]+)', html)
    assert right in error[1]
    assert 'aria-invalid="true"' in html
    escaped = typed.replace("<", "&lt;").replace(">", "&gt;")
    assert f'value="{escaped}"' in html
    unit.refresh_from_db()
    assert unit.version == 1


def test_a_unit_that_does_not_go_with_its_openings_pocket_asks_how_it_opens(client, office, unit):
    Unit.objects.update(ways="two-way")
    page = said(client, office, unit)
    assert "Opens : say how it opens: this does not go with the pocket that the opening has" in page
    assert "say how it opens" not in said(client, office, unit, way="two-way", panels="4")


def test_a_frame_smaller_than_its_members_says_what_they_take(client, office, unit):
    assert "What the frame takes: together less than the frame, which is 10.0 mm." in said(
        client, office, unit, height="10 mm")


@pytest.mark.parametrize("typed", ["\x00", "9" * 300, "٣", "½", "💥", "1e400", "nan"])
def test_nothing_typed_breaks_the_page(client, office, unit, typed):
    for name in ("width", "height", "panels", "way", "more_on", "glass"):
        shown(client, office, unit, **{name: typed})


def test_a_size_on_no_mark_of_the_tape_is_not_rounded_by_trying_something_else(client, unit):
    Unit.objects.update(frame_width=6000_123_457)
    office = make_user("office")
    _page, html = shown(client, office, unit)
    width = re.search(r'name="width" value="([^"]*)"', html)[1]
    post(client, office, unit, width=width, panels="3")
    unit.refresh_from_db()
    assert int(unit.frame_width) == 6000_123_457


def test_a_script_gets_only_what_follows_and_what_is_wrong_at_each_field(client, office, unit):
    client.force_login(office)
    answer = client.get(url(unit), {"panels": "0"}, headers={"HX-Request": "true"})
    html = text(answer)
    assert html.startswith('<section id="follows"')
    assert "<html" not in html
    assert 'id="f-panels-error" hx-swap-oob="true">a whole number' in html
    assert 'id="f-width-error" hx-swap-oob="true" hidden>' in html
    assert "HX-Request" in answer["Vary"]
    again = client.get(url(unit), headers={"HX-Request": "true", "HX-History-Restore-Request": "true"})
    assert "<html" in text(again)


def test_a_number_too_heavy_is_not_named_as_one_that_can_be_built(client, office, unit):
    """By hand: 1.448 by 2.81 m at 40 kg, 17.34 of stiles, 11.264 of rails and 3 are 194.4 kg at four; five of 1232 mm
    158.7; six of 1035 mm 135.0."""
    limits = {**MADE["limits"], "weights": {"panel_mass_most": {"value": 140, "source": "an invented system"}}}
    DoorSystem.objects.update(limits=limits)
    page, html = shown(client, office, unit, panels="4")
    page = " ".join(page.split())
    assert "Weight of a panel: 194.4 kg panel A, as computed; at most 140 kg. 54.4 kg over." in page
    assert "The nearest that can be built: 6 panels, 1035.0 mm wide; tracks: 6." in page
    assert "Numbers of panels that can be built here, as far as is known:" in page
    assert next(re.finditer(r'panels=(\d+)">\d+</a>', html))[1] == "6"


def test_too_heavy_with_one_glass_the_glass_that_would_do_is_named(client, office, unit):
    """By hand: 40 kg a square metre make 253.6 kg, 20 make 144.6."""
    panes = [{"kind": "pane", "nominal": 8}]
    glasses = [{"name": name, "layers": panes * count} for name, count in (("two", 2), ("<one>", 1), ("three", 3))]
    heaviest = {"weights": {"panel_mass_most": {"value": 250, "source": "an invented system"}}}
    DoorSystem.objects.update(limits={**MADE["limits"], **heaviest}, glasses=glasses)
    page, html = shown(client, office, unit, glass="two")
    assert "light enough with another glass of this system: &lt;one&gt; ." in " ".join(page.split())
    assert 'glass=%3Cone%3E">&lt;one&gt;</a>' in html
    assert "another glass of this system" not in said(client, office, unit, glass="<one>")


def test_a_number_that_makes_no_door_at_all_is_refused_with_the_nearest_that_does(client, office, unit):
    page, html = shown(client, office, unit, panels="24", width="1000")
    page = " ".join(page.split())
    assert "nothing of it is kept: this cannot be right" in page
    assert "Face of a stile: less than half of panel A." in page
    assert re.search(r"The nearest that can be built: \d+ panels, ", page)
    assert "panels=2\">2</a>" in html


def test_another_system_is_tried_with_its_own_glass_and_the_unit_keeps_its_own(client, office, unit):
    other = make_system(name="Quay", edition="1", **{**MADE, "meeting_lap": 80 * MM, "glasses": [
        {"name": "6 and 6", "layers": [{"kind": "pane", "nominal": 6}] * 2}]})
    page = said(client, office, unit, system=str(other.pk))
    assert "C pocket 3 2040.0 mm 2890.0 mm 3 right 6 and 6" in page
    Unit.objects.update(glass="8 and 8")
    assert "a glass of this door system: 6 and 6" in said(client, office, unit, system=str(other.pk))
    post(client, office, unit, system=str(other.pk), glass="6 and 6")
    unit = Unit.objects.get()
    assert (unit.system, unit.glass, unit.panels.count()) == (other, "6 and 6", 3)


def test_a_unit_keeps_an_edition_that_is_made_no_more_and_no_other_takes_it(client, office, unit):
    gone = NOW.date() - dt.timedelta(days=900)
    DoorSystem.objects.update(withdrawn_on=gone)
    _page, html = shown(client, office, unit)
    assert f'<option value="{unit.system_id}" selected>Harbour, edition 2, made no more</option>' in html
    assert post(client, office, unit, panels="4").status_code == 302
    old = make_system(name="Old", withdrawn_on=gone)
    _page, html = shown(client, office, unit, system=str(old.pk))
    assert re.search(rf'id="f-system-error">Old, edition 1 was withdrawn on {gone}; take another door system<', html)


def test_what_is_kept_beside_it_needs_no_new_panels(client, office, unit):
    unit = laid_out(unit, office)
    handle_panel(act_for(office), unit.panels.get(letter="B").pk, "receive")
    assert post(client, office, unit, keep="1", order_number="J-9", sill_length="8100").status_code == 302
    unit.refresh_from_db()
    assert (unit.order_number, int(unit.sill_length)) == ("J-9", 8100 * MM)
    assert unit.panels.get(letter="B").state == "received"
    refused = post(client, office, unit, keep="1", panels="4")
    assert (refused.status_code, "Panels have come already (B)" in text(refused)) == (409, True)


def test_without_a_script_what_follows_is_asked_for_by_its_button_and_nothing_is_kept(client, office, unit):
    answer = post(client, office, unit, see="1", panels="4", order_number="J-9")
    assert (answer.status_code, "D pocket 4 1528.0 mm" in " ".join(re.sub(r"<[^>]+>", " ", text(answer)).split())) == (
        200, True)
    unit.refresh_from_db()
    assert (unit.version, unit.order_number) == (1, "")
    assert 'name="order_number" value="J-9"' in text(answer)


# ---- kept ------------------------------------------------------------------------------------------------


def test_the_office_keeps_what_was_tried_and_the_panels_are_laid_out(client, office, unit):
    answer = post(client, office, unit, width="7000", panels="4", way="left")
    assert (answer.status_code, answer["Location"]) == (302, url(unit))
    unit = Unit.objects.get()
    assert (unit.panel_count, int(unit.frame_width), unit.opening.pocket_side) == (4, 7000 * MM, "left")
    assert unit.panels.count() == 4
    assert "Kept; 4 panels are laid out." in text(client.get(url(unit)))


@pytest.mark.parametrize(("typed", "status", "words"), [
    ({"panels": "2"}, 409, "Width of a panel, most: 3005.0 mm"),
    ({"panels": "0"}, 422, "a whole number from 1 to 24"),
    ({"width": ""}, 422, "Not entered for this unit: frame width."),
    ({"glass": "10 and 10"}, 422, "a glass of this door system: 8 and 8"),
    ({"version": "0"}, 412, "changed by somebody else"), ({"version": "old"}, 412, "changed by somebody else"),
    ({"opening_version": "0", "way": "left"}, 412, "changed by somebody else"),
])
def test_a_refusal_says_every_reason_and_what_was_typed_stays(client, office, unit, typed, status, words):
    answer = post(client, office, unit, **typed)
    assert answer.status_code == status
    page = text(answer)
    assert words in page
    name, value = next((n, v) for n, v in typed.items() if n != "opening_version")
    assert name == "version" or f'name="{name}" value="{value}"' in page or f'value="{value}" selected' in page
    unit.refresh_from_db()
    assert (unit.panel_count, int(unit.frame_width), unit.panels.count()) == (3, 6000 * MM, 0)


def test_a_panel_that_has_come_keeps_them_all(client, office, unit):
    unit = laid_out(unit, office)
    handle_panel(act_for(office), unit.panels.get(letter="B").pk, "receive")
    assert "Panels have come already (B)" in said(client, office, unit)
    answer = post(client, office, unit, panels="4")
    assert answer.status_code == 409
    assert "Panels have come already (B)" in text(answer)


@pytest.mark.parametrize("role", ROLES)
def test_only_the_office_has_the_button_and_only_the_office_may(client, unit, role):
    person = make_user(role)
    give_work(unit.opening, make_crew(person))
    page = said(client, person, unit, panels="4")
    assert ("Keep it so and lay the panels out" in page) is (role == "office")
    status = post(client, person, unit, panels="4").status_code
    assert status == (302 if role == "office" else 403)
    assert unit.panels.count() == (4 if role == "office" else 0)


def test_the_page_takes_as_many_queries_for_eight_panels_as_for_three(client, office, unit):
    client.force_login(office)
    unit = laid_out(unit, office)
    three = queries(client, url(unit))
    Unit.objects.update(panel_count=8, frame_width=15_000 * MM)
    unit.refresh_from_db()
    laid_out(unit, office)
    assert queries(client, url(unit)) == three == 11
