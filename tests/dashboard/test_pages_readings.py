"""Entering readings on their sheets, and the verdict on them."""

import re

import pytest

from dashboard.forms.sheets import SHEETS
from inspections.models import Inspection
from inspections.services.waits import raise_wait
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.factories import make_opening, make_user
from tests.site import PRODUCT, floor, frame, rough_opening
from tests.visits import as_role, at, post, queries, site_today, text

pytestmark = pytest.mark.django_db


def stations(table, *lines, columns=("outer", "inner")):
    """What a table of stations sends: a foot apart, one list of readings a line."""
    data = {}
    for row in range(max(len(line) for line in lines)):
        data[f"{table}[{row}].at"] = f"{row}'" if row == 0 else f"{row}' 0\""
        for column, line in zip(columns, lines, strict=False):
            if row < len(line):
                data[f"{table}[{row}].{column}"] = line[row]
    return data


LEVEL = ["0"] * 27
FILLED = {  # each sheet as somebody on site fills it in, in inches; and what is recorded of it
    "rough-opening": ({"widths.top": "241", "widths.middle": "241", "widths.bottom": "241", "heights.left": "109",
                       "heights.middle": "109", "heights.right": "109", "diagonals.rising": "264 7/16",
                       "diagonals.falling": "264 7/16", "plumb.left.edge": "0", "plumb.left.face": "0",
                       "plumb.left.over": "109", "plumb.right.edge": "-1/16", "plumb.right.face": "0",
                       "plumb.right.over": "109"}, "pass"),
    "floor-profile": ({"read_as": "height", "sill_from": "0", "sill_to": "26'0\"", **stations(
        "floor", LEVEL, LEVEL)}, "pass"),
    "pocket": ({"depth": "65", "thickness": "8"}, "pass"),
    "benchmark": ({"benchmark_height": "39 3/8", "finish_floor_inside": "0", "finish_floor_outside": "-3/4"}, "pass"),
    "frame": ({**stations("sill", LEVEL, LEVEL, ["106 5/16"] * 27, columns=("outer", "inner", "head")),
               **{f"members.{m}.{k}": v for m in ("lock_jamb", "interlock")
                  for k, v in (("edge", "0"), ("face", "0"), ("bow", "0"), ("height", "106"))},
               "end_gaps.left": "3/8", "end_gaps.right": "3/8", "head_over_sill.left": "0",
               "head_over_sill.right": "1/16"}, "pass"),
    "fastener": ({"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"}, "pass"),
    "head-under-load": ({**stations("gaps", ["106 5/16"] * 3, ["106 1/4"] * 3, columns=("set", "loaded")),
                         "watch.panel_clearance": "1", "watch.planned_raise": "3/16",
                         "watch.deflection_allowed": "3/8", "watch.reading_deviation": "1/64"}, "pass"),
    "last-panel-gap": ({"gap": "18"}, "pass"),
    "roller-preset": ({"place": "A", "rollers[0].reading": "3/8", "rollers[1].reading": "7/16"}, "pass"),
    "reveal": ({"place": "lock-jamb", "gaps.top": "5/16", "gaps.middle": "5/16", "gaps.bottom": "5/16",
                "heights.top": "104", "heights.middle": "53", "heights.bottom": "2"}, "pass"),
    "force": ({f"panels[{n}].{way}.{act}": "12" for n in range(2) for way in ("opening", "closing")
               for act in ("start", "keep_moving")} | {f"train.{way}.{act}": "15" for way in ("opening", "closing")
                                                       for act in ("start", "keep_moving")}, "pass"),
    "sill-again": ({"place": "stacked", **stations("sill", LEVEL, LEVEL)}, "pass"),
    "sealing-conditions": ({"air_c": "68", "surface_c": "64.4", "humidity_pct": "60", "surface_dry": "yes",
                            "product": "0"}, "pass"),
}


def site_with_data():
    site = site_today()
    system = site.unit.system
    system.products = [PRODUCT]
    system.save()
    site.unit.roller_spacing = 1_260_000_000
    site.unit.save()
    return site


def test_every_sheet_is_tried_here():
    assert set(FILLED) == set(SHEETS)


@pytest.mark.parametrize("key", SHEETS)
def test_a_sheet_filled_in_on_site_is_recorded_and_judged(client, key):
    site, (data, result) = site_with_data(), FILLED[key]
    answer = post(client, site.lead, at(site, "readings", key), **data)
    assert answer.status_code == 302, text(answer)[text(answer).find('class="told"'):][:500]
    made = Inspection.objects.get()
    assert (made.kind, made.occasion, made.place) == (SHEETS[key].kind, SHEETS[key].occasion, data.get("place", ""))
    assert made.result == result, made.verdict
    page = text(client.get(answer.url))
    assert "within every limit" in page


@pytest.mark.parametrize("key", SHEETS)
def test_an_empty_sheet_shows_what_it_asks(client, key):
    site = site_with_data()
    client.force_login(site.lead)
    assert client.get(at(site, "readings", key)).status_code == 200


@pytest.mark.parametrize("key", SHEETS)
def test_a_sheet_sent_back_empty_or_with_nonsense_is_refused_with_a_sentence(client, key):
    site = site_with_data()
    for value in ("nonsense", "\x00", "9" * 400, "-5 parsecs"):
        data = {name: value for name in FILLED[key][0]}
        answer = post(client, site.lead, at(site, "readings", key), **data)
        assert answer.status_code == 422, value
        assert 'class="wrong"' in text(answer) or 'class="told"' in text(answer)
    assert post(client, site.lead, at(site, "readings", key)).status_code in (302, 422)


@pytest.mark.parametrize("key", SHEETS)
def test_in_millimetres_a_bare_number_is_millimetres(client, key):
    site = site_with_data()
    site.lead.units = "mm"
    site.lead.save()
    client.force_login(site.lead)
    assert "A bare number is in millimetres" in text(client.get(at(site, "readings", key)))


def test_pressed_twice_it_is_one_set_of_readings(client):
    site, entry = site_today(), str(new_id())
    first, second = (post(client, site.lead, at(site, "readings", "last-panel-gap"), entry=entry, gap="18")
                     for _ in range(2))
    assert (first.url, Inspection.objects.count()) == (second.url, 1)


@pytest.mark.parametrize("role", ["customer-service", "guest"])
def test_who_may_not_record_readings_is_told_so(client, role):
    site = site_today()
    person = as_role(site, role)
    client.force_login(person)
    assert client.get(at(site, "readings", "pocket")).status_code == 403
    assert post(client, person, at(site, "readings", "pocket"), depth="65", thickness="8").status_code == 403
    assert not Inspection.objects.exists()


def test_there_is_no_other_sheet(client):
    site = site_today()
    client.force_login(site.lead)
    assert client.get(at(site, "readings", "weather")).status_code == 404


# ---- at the field ----------------------------------------------------------------------------------------


def refused(client, key, **data):
    site = site_with_data()
    answer = post(client, site.lead, at(site, "readings", key), **data)
    assert answer.status_code == 422
    return answer, [f.name for _part, f in answer.context["wrong"]]


def test_a_length_that_can_be_read_two_ways_is_said_at_its_field_and_stays_there(client):
    answer, wrong = refused(client, "pocket", depth="65", thickness="11/2")
    assert wrong == ["thickness"]
    assert 'value="11/2"' in text(answer)
    assert 'value="65"' in text(answer)
    assert "top must be less than its bottom" in text(answer)


def test_blank_rows_do_not_shift_what_is_said_of_a_station(client):
    _, wrong = refused(client, "floor-profile", **{
        "floor[0].at": "0", "floor[0].outer": "0", "floor[4].at": "2'0\"", "floor[4].outer": "0",
        "floor[7].at": "1'0\"", "floor[7].outer": "1/16"})
    assert wrong == ["floor[7].at"], "stations run on along the sill"


def test_a_reading_without_its_place_is_asked_for_its_place(client):
    _, wrong = refused(client, "floor-profile", **{"floor[2].outer": "1/16"})
    assert wrong == ["floor[2].at"]


def test_the_inner_line_may_have_other_stations(client):
    site = site_today()
    post(client, site.lead, at(site, "readings", "floor-profile"), **{
        "floor[0].at": "0", "floor[0].outer": "0", "floor[0].inner": "1/16", "floor[1].at": "1'0\"",
        "floor[1].outer": "0", "floor[2].at": "1'6\"", "floor[2].inner": "0"})
    given = Inspection.objects.get().given
    assert [s["at"] for s in given["stations"]] == ["0", "1'0\""]
    assert [s["at"] for s in given["inner"]] == ["0", "1'6\""]


def test_a_force_is_said_at_its_panel_though_another_was_not_read(client):
    _, wrong = refused(client, "force", **{"panels[0].mass": "399 lb", "panels[1].opening.start": "much"})
    assert wrong == ["panels[1].opening.start"]


def test_a_gap_under_load_is_said_at_its_column(client):
    _, wrong = refused(client, "head-under-load", **stations(
        "gaps", ["106"] * 3, ["106", "a lot", "106"], columns=("set", "loaded")))
    assert wrong == ["gaps[1].loaded"]


def test_a_roller_is_said_at_its_field(client):
    _, wrong = refused(client, "roller-preset", place="A", **{"rollers[1].reading": "low"})
    assert wrong == ["rollers[1].reading"]


@pytest.mark.parametrize("key", ["reveal", "sill-again", "roller-preset"])
def test_a_sheet_that_is_read_at_several_places_asks_which(client, key):
    _, wrong = refused(client, key, **{**FILLED[key][0], "place": "the moon"})
    assert wrong == ["place"]


def test_humidity_beyond_what_there_is_is_said_at_its_field(client):
    _, wrong = refused(client, "sealing-conditions", **{**FILLED["sealing-conditions"][0], "humidity_pct": "140"})
    assert wrong == ["humidity_pct"]


# ---- more rows, stations to begin with -------------------------------------------------------------------


def test_more_rows_keep_what_was_typed_and_record_nothing(client):
    site = site_today()
    answer = post(client, site.lead, at(site, "readings", "floor-profile"), more="floor",
                  **stations("floor", ["1/16", "0", "0"]))
    rows = answer.context["groups"][1].rows
    assert (answer.status_code, len(rows), rows[0][1].value) == (200, 9, "1/16")
    assert not Inspection.objects.exists()


def test_a_sill_whose_length_is_known_has_its_stations_written_in(client):
    site = site_today()
    site.unit.sill_length = 26 * 304_800_000 + 152_400_000
    site.unit.save()
    client.force_login(site.lead)
    rows = client.get(at(site, "readings", "floor-profile")).context["groups"][1].rows
    assert [rows[n][0].value for n in (0, 1, -2, -1)] == ['0"', "1' 0\"", "26' 0\"", "26' 6\""]


def test_an_opening_of_which_no_size_is_known_has_rows_all_the_same(client):
    client.force_login(make_user())
    opening = make_opening(rough_width=None, rough_height=None)
    page = client.get(f"/openings/{opening.pk}/readings/floor-profile/")
    assert len(page.context["groups"][1].rows) == 5


# ---- the verdict -----------------------------------------------------------------------------------------


def verdict_page(client, site, made, person=None):
    client.force_login(person or site.office)
    return client.get(at(site, "inspection", made.pk))


def test_a_floor_that_fails_says_where_by_how_much_and_how_to_put_it_right(client):
    site = site_today()
    page = text(verdict_page(client, site, site.read("floor-profile", floor([0, 0, 3, 0, 0, 0, 0]))))
    for words in ('Rise in a foot: 3/16" between 1\' 0" and 2\' 0", outer line; at most 1/16". ', '1/8" over',
                  "Common practice, no published source.", "The least work there is:", "Heights drawn"):
        assert words in page.replace("</b>", "").replace('<span class="by">', ""), words


def test_every_reading_stands_in_a_table_that_says_what_the_drawing_shows(client):
    site = site_today()
    shown = verdict_page(client, site, site.read("floor-profile", floor([0, 0, 3, 0], inner=floor([1, 0, 0, 0])[
        "stations"]))).context["as_read"]
    assert shown.lines == ("Outer line", "Inner line")
    assert shown.stations[2] == ("2' 0\"", ('3/16"', '0"'))


def test_a_level_floor_is_drawn_without_a_spot(client):
    site = site_today()
    shown = verdict_page(client, site, site.read("floor-profile", floor(inner=floor()["stations"])))
    assert shown.context["plot"].spots == ()
    assert "To put it right" not in text(shown)


def test_one_station_is_no_line_and_is_not_drawn(client):
    site = site_today()
    made = site.read("floor-profile", {"stations": [{"at": "0", "reading": "0"}]})
    shown = verdict_page(client, site, made)
    assert shown.context["plot"] is None
    assert "Read at least three stations" in text(shown)


def test_what_the_builder_is_told_of_the_wall_defers_to_the_engineer(client):
    site = site_today()
    made = site.read("rough-opening", rough_opening(widths={"top": "239", "middle": "239", "bottom": "239"},
                                                    diagonals={"rising": "262 11/16", "falling": "262 11/16"}))
    page = text(verdict_page(client, site, made))
    assert "The builder makes it larger by" in page
    assert "Their drawings and local code decide." in page


@pytest.mark.parametrize("role", ["office", "lead", "installer", "customer-service", "guest"])
def test_who_may_see_the_opening_sees_its_verdicts(client, role):
    site = site_today()
    made = site.read("last-panel-gap", {"gap": "18"})
    assert verdict_page(client, site, made, as_role(site, role)).status_code == 200


def test_a_verdict_is_not_reached_through_another_opening(client):
    site, other = site_today(), site_today()
    made = other.read("last-panel-gap", {"gap": "18"})
    assert verdict_page(client, site, made).status_code == 404


def test_a_verdict_takes_as_many_queries_for_ten_stations_as_for_twenty(client):
    site = site_today(Stage.TO_BE_MEASURED)
    client.force_login(site.office)
    ten, twenty = (queries(client, at(site, "inspection", site.read("floor-profile", floor([0] * n)).pk))
                   for n in (10, 20))
    assert ten == twenty == 8


@pytest.mark.parametrize("key", SHEETS)
def test_an_empty_sheet_is_not_kept_in_the_place_of_what_was_read(client, key):
    site = site_with_data()
    client.force_login(site.lead)
    shown = client.get(at(site, "readings", key))
    before = Inspection.objects.count()
    data = {f.name: f.value for group in shown.context["groups"] for f in group.all_fields}
    place = {"place": shown.context["place"].choices[1][0]} if shown.context["place"] else {}
    answer = client.post(at(site, "readings", key), {"entry": shown.context["entry"], **data, **place})
    assert answer.status_code == 422 and "Nothing was read" in text(answer)
    assert Inspection.objects.count() == before


def test_what_is_wrong_is_listed_with_the_part_of_the_sheet_it_stands_in(client):
    site = site_with_data()
    answer = post(client, site.lead, at(site, "readings", "rough-opening"), **{"widths.top": "wide"})
    assert "Widths: Top" in " ".join(re.sub(r"<[^>]+>", "", text(answer)).split())


@pytest.mark.parametrize("air", ["warm", "\u0663", "-96"])
def test_a_temperature_is_asked_for_in_words_that_hold_for_either_scale(client, air):
    site = site_with_data()
    answer = post(client, site.lead, at(site, "readings", "sealing-conditions"), air_c=air)
    assert answer.status_code == 422
    assert "50 F or 10 C" in text(answer) or "-76 °F" in text(answer)


# ---- what the record knows already -----------------------------------------------------------------------


def cells(page, table, column):
    rows = next(g for g in page.context["groups"] if g.more == table).rows
    return {row[0].value: f.value for row in rows for f in row if f.name.endswith(f".{column}")}


def test_the_head_as_it_was_set_stands_in_the_sheet_on_which_it_is_read_under_its_load(client):
    site = site_today(Stage.FRAME_SET)
    client.force_login(site.lead)
    page = client.get(at(site, "readings", "head-under-load"))
    was = cells(page, "gaps", "set")
    assert len(was) == 27 and set(was.values()) == {"2700 mm"}, "what no mark shows is not rounded"
    assert "As it was set stands here from the readings of" in text(page)
    data = {f.name: f.value for g in page.context["groups"] for f in g.all_fields}
    data |= {"gaps[0].loaded": "2700 mm", "gaps[12].loaded": "2698 mm", "gaps[26].loaded": "2700 mm",
             "watch.panel_clearance": "1", "watch.planned_raise": "1/16", "watch.deflection_allowed": "1/8"}
    assert post(client, site.lead, at(site, "readings", "head-under-load"), **data).status_code == 302
    made = Inspection.objects.get(occasion="under-load")
    assert [len(visit["gaps"]) for visit in made.given["watch"]["readings"]] == [3, 3]
    assert made.result == "pass"


def test_head_and_sill_off_different_datums_are_no_gap_and_stand_nowhere(client):
    site = site_today(Stage.OPENING_VERIFIED)
    below = [{"at": n * 300, "reading": -3} for n in range(27)]
    site.read("frame", frame(head={"stations": below}), occasion="frame-set")
    client.force_login(site.lead)
    assert set(cells(client.get(at(site, "readings", "head-under-load")), "gaps", "set").values()) == {""}


def forecast(*rows):
    """What the hours after are typed as: hour, air, humidity, rain; other rows stay as they were handed out."""
    names = ("at", "air_c", "humidity_pct", "rain_mm")
    return {f"forecast[{n}].{name}": value for n, row in enumerate(rows)
            for name, value in zip(names, row, strict=True)}


NOW_DRY = {"air_c": "68", "surface_c": "66", "humidity_pct": "50", "surface_dry": "yes", "product": "0"}


def test_a_night_too_cold_and_wet_for_the_sealant_is_seen_on_the_forecast(client):
    site = site_with_data()
    client.force_login(site.lead)
    offered = cells(client.get(at(site, "readings", "sealing-conditions")), "forecast", "air_c")
    hours = list(offered)
    assert len(hours) == 8  # every third hour, and the first once more a day later
    rows = forecast((hours[0], "65", "60", "0.1"), ("", "", "", ""), (hours[2], "30", "90", ""))
    answer = post(client, site.lead, at(site, "readings", "sealing-conditions"), **NOW_DRY, **rows)
    assert answer.status_code == 302
    page = text(client.get(answer.url))
    assert Inspection.objects.get().result == "fail"
    assert "Tonight's low" in page and "Rain before it skins" in page
    given = Inspection.objects.get().given["forecast"]
    assert given[0]["air_c"] == "65 F" and given[0]["rain_mm"] == "0.1 in" and len(given) == 2


@pytest.mark.parametrize(("row", "field", "said"), [
    (("25:00", "65", "60", ""), "forecast-2-at", "such as 18:00"),
    (("", "65", "60", ""), "forecast-2-at", "such as 18:00"),
    (("18:00", "warm", "60", ""), "forecast-2-air-c", "50 F or 10 C"),
    (("18:00", "65", "", ""), "forecast-2-humidity-pct", ""),
    (("18:00", "65", "60", "much"), "forecast-2-rain-mm", ""),
])
def test_what_cannot_be_read_of_a_forecast_is_said_at_its_field_and_stays(client, row, field, said):
    site = site_with_data()
    blank = ("", "", "", "")
    answer = post(client, site.lead, at(site, "readings", "sealing-conditions"), **NOW_DRY,
                  **forecast(blank, blank, row))
    assert answer.status_code == 422
    wrong = [f for _group, f in answer.context["wrong"]]
    assert [f.id for f in wrong] == [f"f-{field}"] and said in wrong[0].error
    assert cells(answer, "forecast", "air_c")[row[0]] == row[1]
    assert not Inspection.objects.exists()


# ---- cautions --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", SHEETS)
def test_every_sheet_says_who_decides_where_somebody_can_be_hurt(client, key):
    site = site_with_data()
    client.force_login(site.lead)
    page = client.get(at(site, "readings", key))
    assert page.context["cautions"]
    assert all(said in text(page) for said in page.context["cautions"])
    assert all(re.search("decides?[ .,]|to judge", said) for said in page.context["cautions"])
    data = {name: value for name, value in FILLED[key][0].items()}
    made = post(client, site.lead, at(site, "readings", key), **data)
    assert all(said in text(client.get(made.url)) for said in page.context["cautions"]), "and so does its verdict"


def test_a_plan_says_who_decides_how_it_is_ground_or_filled_and_so_does_the_wait_for_it(client):
    site = site_today()
    made = site.read("floor-profile", floor([0, 0, -3, 0, 0]))
    shown = verdict_page(client, site, made)
    assert {part["act"] for part in shown.context["correction"]["plan"]} == {"fill"}
    assert "Levelling compound burns skin" in text(shown)
    raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder", inspection_id=made.pk)
    assert "Levelling compound burns skin" in text(client.get(at(site)))
