"""Codes in words: what a tradesperson would say."""

import datetime as dt
import re
import zoneinfo
from pathlib import Path

import pytest
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from dashboard import phrases, words
from dashboard.measures import Reader, hours
from dashboard.opening.read import READ, _parts, reading_words
from dashboard.opening.said import objection_words
from inspections.calc import gate, spans
from inspections.calc.kinds import KINDS
from inspections.calc.opening import SELDOM
from inspections.models import Check
from jobs.calc.lengths import INCH
from jobs.stages import Stage
from tests.verdicts import vectors

INCHES, MILLIMETRES = Reader("in"), Reader("mm")
CALC = Path(__file__).resolve().parents[2] / "inspections" / "calc"


def finding(**over):
    return {"quantity": "worst_rise_in_a_foot", "value_mm": "2.381250", "limit_mm": "1.587500",
            "margin_mm": "-0.793750", "within": False, "source": "common practice, no published source",
            "where": {"line": "outer", "from_mm": "3657.600000", "to_mm": "3962.400000"},
            "remedy": {"code": "grind_or_fill_between", "values": {}}, **over}


def test_a_finding_says_what_where_the_limit_whose_limit_by_how_much_and_what_to_do():
    note = words.note(finding(), INCHES)
    assert (note.what, note.value, note.where, note.limit, note.by) == (
        "Rise in a foot", '3/32"', "between 12' 0\" and 13' 0\", outer line", 'at most 1/16"', '1/32" over')
    assert (note.source, note.remedy) == ("Common practice, no published source.",
                                          "Grind the high end or fill the low end of it.")


def test_in_millimetres_it_says_the_same():
    note = words.note(finding(), MILLIMETRES)
    assert (note.value, note.where, note.limit, note.by) == (
        "2.4 mm", "between 3658 mm and 3962 mm, outer line", "at most 1.6 mm", "0.8 mm over")


def test_a_least_limit_says_how_much_is_short():
    note = words.note({"quantity": "gap", "value_mm": "431.800000", "limit_mm": "457.200000", "limit_is": "least",
                       "margin_mm": "-25.400000", "within": False, "where": {}, "source": "", "remedy": None}, INCHES)
    assert (note.limit, note.by) == ('at least 18"', '1" short')


def test_within_its_limit_it_says_what_is_in_hand():
    assert words.note(finding(within=True, value_mm="0.793750", margin_mm="0.793750"), INCHES).by == '1/32" in hand'


def test_without_a_limit_it_says_so():
    note = words.note(finding(within=None, limit_mm=None, margin_mm=None), INCHES)
    assert (note.limit, note.by, note.mark) == ("no limit set", "", "no limit")


@given(over=st.integers(1, INCH), limit=st.integers(0, 100 * INCH), units=st.sampled_from(["in", "mm"]))
def test_what_is_over_its_limit_never_reads_as_equal_to_it(over, limit, units):
    reader = Reader(units)
    assert reader.beyond(limit + over, limit) != reader.length(limit)
    assert reader.difference(over) not in ('0"', "0.0 mm")


@pytest.mark.parametrize(("nm", "inches", "mm"), [
    (INCH // 16, '1/16"', "1.6 mm"), (INCH // 32, '1/32"', "0.8 mm"), (INCH // 64, '1/64"', "0.4 mm"),
    (-3 * INCH // 16, '-3/16"', "-4.8 mm"), (0, '0"', "0.0 mm"), (1_197_280, '3/64"', "1.2 mm")])
def test_a_length_is_as_fine_as_it_is(nm, inches, mm):
    assert (INCHES.length(nm), MILLIMETRES.length(nm)) == (inches, mm)


def test_temperatures_and_their_differences_are_told_apart():
    margin = {"quantity": "dew_margin", "value_c": "2.00", "limit_c": "3.00", "margin_c": "-1.00", "within": False,
              "limit_is": "least", "where": {}, "source": "", "remedy": None}
    assert words.note(margin, INCHES).value == "3.6 °F", "two degrees Celsius between them, not 35.6"
    assert words.note({**margin, "quantity": "air_least", "value_c": "10.00"}, INCHES).value == "50.0 °F"


def test_forces_are_said_in_pounds_with_newtons_beside_them():
    force = {"quantity": "force_to_start", "value_n": "120.0", "limit_n": "100.0", "margin_n": "-20.0",
             "within": False, "where": {"of": "panel", "panel": "B", "way": "opening"}, "source": "", "remedy": None}
    note = words.note(force, INCHES)
    assert (note.value, note.where) == ("27.0 lbf (120 N)", "panel B, opening")
    assert words.note(force, MILLIMETRES).value == "120.0 N"


def test_times_stand_on_the_clock_of_the_job():
    at = dt.datetime(2031, 3, 4, 23, 30, tzinfo=dt.UTC)
    assert Reader("in", zoneinfo.ZoneInfo("Asia/Tokyo")).moment(at) == "Wed 5 Mar, 08:30"
    assert Reader("in", zoneinfo.ZoneInfo("America/Los_Angeles")).day(at) == "Tue 4 Mar"


def test_a_day_of_another_year_is_said_with_its_year():
    reader = Reader("in", zoneinfo.ZoneInfo("America/Los_Angeles"), year=2026)
    assert reader.day(dt.date(2026, 12, 31)) == "Thu 31 Dec"
    assert reader.day(dt.date(2027, 1, 4)) == "Mon 4 Jan 2027"
    assert reader.moment(dt.datetime(2027, 1, 1, 6, tzinfo=dt.UTC)) == "Thu 31 Dec, 22:00", "the job's year counts"
    assert reader.moment(dt.datetime(2025, 3, 4, 20, tzinfo=dt.UTC)) == "Tue 4 Mar 2025, 12:00"


@pytest.mark.parametrize(("minutes", "said"), [(60, "1"), (90, "1.5"), (0, "0"), (2900, "48.3")])
def test_hours_are_said_as_on_a_tape(minutes, said):
    assert hours(minutes) == said


# ---- every code has its words ----------------------------------------------------------------------------


def codes(pattern):
    """Codes as they stand in the calculations; one written with a place to fill in is looked up by its beginning."""
    found = {code for file in CALC.glob("*.py") for code in re.findall(pattern, file.read_text())}
    assert found
    return sorted(code for code in found if "{" not in code)


@pytest.mark.parametrize("code", codes(r"Remedy\(\s*f?\"([a-z_{}]+)\""))
def test_every_remedy_has_its_sentence(code):
    assert code in phrases.REMEDIES


@pytest.mark.parametrize("code", codes(r"(?:at_most|at_least|Finding|_unjudged|_one)\(\s*f?\"([a-z_{}]+)\""))
def test_every_quantity_has_its_name(code):
    assert words.quantity_words(code) != code.replace("_", " ").capitalize() or code in phrases.QUANTITIES


@pytest.mark.parametrize(("code", "said"), [
    ("roller_B_lead", "Roller, panel B, lead end"), ("panel_A_closing_keep_moving", "Panel A, closing, to keep moving"),
    ("head_less_sill_weight_on", "Head less sill, panels' weight on"), ("gap_top", "Gap, top"),
    ("interlock_left_bow", "Left interlock, bow"), ("gap", "Gap for the last panel"), ("outer", "Outer line"),
    ("roller_near", "Near roller")])
def test_a_reading_is_called_what_was_read_and_where(code, said):
    assert reading_words(code) == said


@pytest.mark.parametrize("name", KINDS)
def test_every_part_of_a_readings_name_is_a_word(name):
    kept = {one.quantity for given in given_of(name) for one in KINDS[name].readings(given)} - phrases.QUANTITIES.keys()
    said = {part for code in kept for part in _parts(code.split("_"))}
    named = {part for part in said if not part.isdigit() and not part.startswith("panel ")}
    assert named <= {str(word) for word in READ.values()}


def given_of(name):
    """What the published and invented cases of this kind are given."""
    file = "spans" if name in {span.name for span in spans.SPANS} else name
    found = [row["given"] for row in vectors(file) if row.get("kind", name) == name and "expect" in row]
    assert found
    return found


@pytest.mark.parametrize("code", codes(r"\"what\": f?\"([a-z_{}]+)\""))
def test_everything_missing_or_odd_has_its_sentence(code):
    assert code in {**phrases.MISSING, **phrases.SECOND_LOOKS}


@pytest.mark.parametrize("code", [
    *codes(r"yield \"([a-z_]+)\"\n"), *codes(r"(?:CAUTION|GRINDING|FILLING) = \"([a-z_]+)\""),
    "head_clearance_not_read"])
def test_every_caution_has_its_sentence(code):
    assert code in phrases.CAUTIONS


def test_every_kind_stage_outcome_and_class_has_its_words():
    assert set(KINDS) <= set(phrases.KINDS)
    assert {s.value for s in Stage} | {Check.HOLD_POINT} == set(phrases.STAGES)
    assert set(phrases.NEXT) == {s.value for s in Stage}
    assert {gate.PASSES, gate.MISSING, gate.STALE, gate.ENDED, gate.FAILED, gate.UNSET, gate.NOT_ENOUGH,
            gate.NO_PHOTO} == set(phrases.OUTCOMES)
    assert set(phrases.GUARDS) == gate.GUARDED


def all_phrases():
    for name, table in vars(phrases).items():
        if name.isupper() and isinstance(table, dict):
            yield from ((f"{name}.{key}", str(one)) for key, said in table.items()
                        for one in (said if isinstance(said, tuple) else (said,)))


@pytest.mark.parametrize(("name", "said"), list(all_phrases()))
def test_no_phrase_promises_what_is_not_ours_to_promise(name, said):
    assert "safe" not in said.lower()
    assert len(said) < 220, "short enough to be read with cold hands"


@pytest.mark.parametrize("template", [*phrases.REMEDIES.values(), *phrases.MISSING.values(),
                                      *phrases.SECOND_LOOKS.values(), *phrases.HAPPENED.values()])
def test_a_sentence_never_breaks_on_a_value_nobody_sent(template):
    with translation.override("en"):
        assert str(template) % words.values({}, INCHES) is not None

def test_a_slope_is_said_over_a_foot_to_who_reads_inches():
    shown = {"computed": {"slope_mm_per_m": "2.083333"}}
    assert words.follows(shown, INCHES) == [("Slope, end to end", "0.025 in/ft")]
    assert words.follows(shown, MILLIMETRES) == [("Slope, end to end", "2.08 mm/m")]
    assert words.follows({"computed": {"slope_mm_per_m": "0.000000"}}, INCHES) == [("Slope, end to end", "0 in/ft")]


# ---- gates -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("reason", "said"), [
    ({"reason": "waiting", "what_for": "the floor", "owed_by_kind": "builder"}, "Waiting on the builder: the floor."),
    ({"reason": "waiting", "what_for": "Grind it.", "owed_by_kind": "builder"}, "Waiting on the builder: Grind it."),
    ({"reason": "hold-point", "name": "the pocket closes"}, "The pocket is not released to close."),
    ({"reason": "not-next", "stage": "frame set", "next": "panels hung"},
     "It stands at frame set; the next stage is panels hung."),
    ({"reason": "out-of-order", "letter": "C", "first": ["A", "B"]}, "Panel C comes after A, B."),
    ({"reason": "panel-state", "letter": "C", "state": "expected", "needs": ["received"]},
     "Panel C is not here yet; for this it must be here, not hung."),
    ({"reason": "panel-already", "letter": "C", "act": "hang", "state": "adjusted"}, "Panel C is hung already."),
    ({"reason": "panel-damaged", "letter": "C"}, "Panel C is damaged."),
    ({"reason": "frame-not-set", "stage": "to be measured"}, "The frame is not set."),
    ({"reason": "earlier-stage", "stage": "frame set"}, "First: frame set."),
    ({"reason": "material-missing", "parts": ["Sill", "Head", "Panel A"], "delivery": 4, "expected_day": "2026-03-20"},
     "Material missing: Sill and 2 more, expected Fri 20 Mar."),
    ({"reason": "material-missing", "parts": ["Sill"], "delivery": None, "expected_day": None},
     "Material missing: Sill, on no delivery."),
    ({"reason": "something-new"}, "Something new."),
])
def test_reasons_are_short_plain_sentences(reason, said):
    assert words.reason(reason, INCHES) == said


def test_who_owes_it_is_named_only_to_those_who_may_read_it():
    wait = {"reason": "waiting", "what_for": "the floor", "owed_by_kind": "builder", "owed_by": "Quoin and Daughters"}
    assert "Quoin" in words.reason(wait, INCHES)
    assert "Quoin" not in words.reason(wait, INCHES, named=False)


def test_the_gap_that_there_is_one_of_is_asked_for_without_a_place():
    assert words.missing({"what": "gap"}, INCHES) == "Measure the gap."
    assert words.missing({"what": "gap", "where": "top"}, INCHES) == "Measure the gap at the top."


def test_a_part_that_is_missing_says_how_many_how_many_of_them_damaged_and_when_more_come():
    lacks = {"what": "part", "name": "Track cover", "count": 2, "damaged": 1, "delivery": 4, "expected_day": None}
    assert words.missing(lacks, INCHES) == "Track cover: 2 missing, of these 1 damaged."


def test_what_is_seldom_chance_is_said_without_statistics():
    assert "deviation" not in words.source(SELDOM)


def test_every_limit_of_a_check_has_a_name_for_people():
    names = {name for kind in KINDS.values() for name in kind.limits}
    assert [name for name in names if "_" in words.limit(name)] == []
    assert set(phrases.CHECK_LIMITS) <= names


@pytest.mark.parametrize(("code", "values", "said"), [
    ("overlap", {"opening": "J-1 · A1", "start_day": "2026-11-27", "end_day": "2026-11-27"},
     "The crew is at J-1 · A1, Fri 27 Nov."),
    ("equipment_booked", {"equipment": "Beam", "opening": "J-1 · A1", "start_day": "2026-11-27", "end_day": None},
     "Beam is given to J-1 · A1, Fri 27 Nov."),
    ("day_off", {"days": [{"day": "2026-11-26", "why": "holiday"}, {"day": "2026-11-28", "why": "not_a_working_day"}]},
     "The crew does not work on all of its days (Thu 26 Nov: public holiday; Sat 28 Nov: not a working day)."),
])
def test_what_stands_against_work_says_on_which_days(code, values, said):
    assert objection_words({"code": code, "values": values}, Reader("in", year=2026), True) == said


@pytest.mark.parametrize(("what", "more", "said"), [
    ("callback logged", {"number": "C-0003", "severity": "drags"}, "Callback logged: C-0003, drags"),
    ("return trip booked", {"number": "C-0003", "day": "2026-12-01", "crew": "Alder"},
     "Return trip booked: C-0003, 1 Dec 2026, Alder"),
    ("work given", {"crew": "Alder", "stage": "sealed", "from_day": "2026-12-01", "to_day": "2026-12-02"},
     "Work given to Alder: sealed, 1 Dec 2026 \u2013 2 Dec 2026"),
    ("told", {"crew": "Alder", "stage": "sealed", "from_day": "2026-12-01", "to_day": "2026-12-01"},
     "Told of the days: Alder, sealed, 1 Dec 2026"),
    # As it was noted before it said so much.
    ("callback logged", {"severity": "drags"}, "Callback logged: drags"), ("part set aside", {}, "Part set aside"),
    ("return trip made", {}, "Return trip made"), ("told", {}, "Told of the days"),
    ("work given", {"crew": "Alder"}, "Work given to Alder"), ("photo added", {"check": ""}, "Photo added"),
])
def test_a_line_of_the_feed_says_what_happened(what, more, said):
    assert words.happened(what, more, {}) == said


@pytest.mark.parametrize(("text", "said"), [
    ("Ensure this field has no more than 80 characters.", "at most 80 characters"),
    ("Ensure this value has at most 64 characters (it has 300).", "at most 64 characters"),
    ("Ensure this field has no more than 254 characters. Enter a valid email address.",
     "at most 254 characters; a mail address, such as name@company.example"),
    ("Enter a valid URL.", "an address, such as https://company.example"),
    ("between 5 mm and 10 mm", 'between 13/64" and 25/64"'), ("text such as 5 mm", "text such as 5 mm")])
def test_what_would_be_right_is_said_in_our_own_words(text, said):
    assert words.right(text, Reader("in")) == said
