"""Every code that a unit's sums can give, in words: found by asking them for it, and by reading the sums."""

import json
import re
from pathlib import Path

import pytest

from dashboard import phrases, words
from dashboard.measures import Reader
from jobs.calc.verdict import BadInput, Limit
from tests.factories import MADE, MM
from units.calc import panels, weights

INCHES, MILLIMETRES = Reader("in"), Reader("mm")
UNITS = Path(panels.__file__).resolve().parents[1]
TEXT = "".join((UNITS / "calc" / f"{name}.py").read_text() for name in ("panels", "weights"))

DOOR = {"unit": "mm", "ways": "one-way", "pocket_side": "right", "panels": 3, "frame_width": 6000,
        "frame_height": 3000, "frame_deductions": {"lock_jamb": 60, "interlock": 40, "head": 70, "sill": 30},
        "height_deductions": 10, "meeting_lap": 50, "interlock_lap": 40, "jamb_engagement": 20, "increment": 1,
        "pull": 50, "stop": 20, "pocket_clearance": 10, "track_pitch": 65, "covers": 30, "panel_thickness": 55,
        "pocket_depth": 2200, "wall_clear": 230}
UNSET = {name: Limit(None, "must be set by the door system") for name in panels.LIMITS}
GLASS = [{"kind": "pane", "nominal": 8}, {"kind": "pane", "nominal": 8}]
MAKE = {"unit": "mm", "glass": GLASS, "glass_inset": 40, "stile_kg_per_m": 3, "rail_kg_per_m": 4,
        "hardware": [{"what": "rollers", "kg": 1.5, "count": 2}]}


def limit(**over):
    return {**UNSET, **{name: Limit(value, "an invented system") for name, value in over.items()}}


def weigh(most=None, density=1070, **over):
    limits = {"panel_mass_most": Limit(most, "an invented system"), "weighed_apart": Limit(5, "ours"),
              "interlayer_density": Limit(density, "ours")}
    return weights.judge({**MAKE, "panels": [{"panel": "A", "width": 2020, "height": 2890}], **over}, limits).as_dict()


def built(limits=None, **over):
    return panels.judge({**DOOR, **over}, limits or UNSET).as_dict()


# Between them these give every finding, remedy, lack and second look there is.
ASKED = {
    "nothing": lambda: panels.judge({}, UNSET).as_dict(),
    "no members": lambda: built(frame_deductions={}),
    "two ways": lambda: panels.judge({"ways": "two-way", "panels": 3}, UNSET).as_dict(),
    "one way": lambda: panels.judge({"ways": "one-way"}, UNSET).as_dict(),
    "one pocket": lambda: built(ways="two-way", pocket_side="both", middle_lap=0, pocket_depth={"left": 2200},
                                wall_clear={"left": 230}),
    "narrow": lambda: built(limit(panel_width_least=2100 * MM)),
    "wide": lambda: built(limit(panel_width_most=1999 * MM)),
    "wide and none helps": lambda: built(limit(panel_width_least=2500 * MM, panel_width_most=2400 * MM)),
    "low": lambda: built(limit(panel_height_least=3000 * MM)),
    "high": lambda: built(limit(panel_height_most=2800 * MM)),
    "large": lambda: built(limit(panel_area_most_m2=5)),
    "too large for any": lambda: built(limit(panel_area_most_m2=0)),
    "cut": lambda: built(limit(remainder_most=MM), panel_width=2010),
    "shallow": lambda: built(pocket_depth=2000),
    "thin": lambda: built(wall_clear=200),
    "no room": lambda: built(lean_in_room=100, lean_in_angle=45),
    "vast": lambda: built(frame_width=30_000, frame_height=8000),
    "odd laps": lambda: built(meeting_lap=600, interlock_lap=600, jamb_engagement=600, lead_wider_by=600,
                              frame_deductions={**DOOR["frame_deductions"], "lock_jamb": 700}),
    "odd middle": lambda: built(ways="two-way", pocket_side="both", more_on="left", middle_lap=700),
    "coarse": lambda: built(increment=50),
    "much off": lambda: built(height_deductions=1000),
    "no make": lambda: weights.judge({"unit": "mm", "panels": [{"panel": "A", "width": 2020, "height": 2890}]}, {
        name: Limit(None, "ours") for name in weights.LIMITS}).as_dict(),
    "laminate": lambda: weigh(density=None, glass=[{"kind": "laminate", "plies": [6, 6], "interlayer": 0.76}]),
    "heavy": lambda: weigh(most=200),
    "heavy by its hardware": lambda: weigh(most=1),
    "weighed": lambda: weigh(panels=[{"panel": "A", "width": 2020, "height": 2890, "weighed": 400}]),
    "vast panels": lambda: weigh(panels=[{"panel": "A", "width": 7000, "height": 7000}]),
}
FORMED = [f"panel_{size}_{bound}" for size in ("width", "height") for bound in ("least", "most")]


@pytest.fixture(scope="module")
def given():
    return {name: ask() for name, ask in ASKED.items()}


def seen(given, where):
    return {code for verdict in given.values() for code in where(verdict)}


def test_every_quantity_has_its_name(given):
    formed = [*FORMED, "pocket_depth_spare", "wall_spare"]
    written = {*re.findall(r"(?:at_most|at_least)\(\"([a-z_]+)\"", TEXT), *formed}
    assert written == seen(given, lambda v: (f["quantity"] for f in v["findings"]))
    assert written <= phrases.QUANTITIES.keys()


def test_every_remedy_has_its_sentence(given):
    written = {*re.findall(r"Remedy\(\s*\"([a-z_]+)\"", TEXT), "change_the_number_of_panels",
               "no_number_of_panels_fits"}
    assert written == seen(given, lambda v: (f["remedy"]["code"] for f in v["findings"] if f["remedy"]))
    assert written <= phrases.REMEDIES.keys()


def test_everything_lacking_has_its_sentence(given):
    lacking = seen(given, lambda v: (m["what"] for m in v["missing"]))
    assert len(lacking) >= 26
    assert lacking <= phrases.MISSING.keys()
    assert {what for what in lacking if what not in ("pocket_depth", "wall_clear")} <= phrases.UNIT_FIELDS.keys()


def test_everything_odd_has_its_sentence(given):
    written = set(re.findall(r"\"why\": \"([a-z_]+)\"", TEXT))
    assert written == seen(given, lambda v: (s["why"] for s in v["second_look"]))
    assert written <= phrases.SECOND_LOOKS.keys()


def test_every_caution_result_and_source_has_its_words(given):
    assert seen(given, lambda v: [v["caution"]]) - {None} == {"panels_are_heavy"} <= phrases.CAUTIONS.keys()
    assert seen(given, lambda v: [v["result"]]) <= phrases.UNIT_RESULTS.keys()
    shipped = json.loads((UNITS / "shipped.json").read_text())
    sources = {row["source"] for name in (panels.NAME, weights.NAME) for row in shipped[name].values()}
    assert sources | {panels.GEOMETRY, panels.AS_GIVEN} <= phrases.SOURCES.keys()


@pytest.mark.parametrize("reader", [INCHES, MILLIMETRES])
def test_nothing_said_of_a_unit_is_left_blank_or_in_code(given, reader):
    for name, verdict in given.items():
        said = words.verdict(verdict, reader)
        lines = [*map(words.finding, said.notes), *said.missing, *said.second_look, said.caution]
        for line in filter(None, lines):
            assert "_" not in line and "  " not in line and "None" not in line and " ." not in line, (name, line)


# ---- how they read ---------------------------------------------------------------------------------------


def test_what_cannot_be_built_is_said_with_limit_source_and_the_nearest_that_can(given):
    failed = next(f for f in given["wide"]["findings"] if f["within"] is False)
    assert words.finding(words.note(failed, MILLIMETRES)) == (
        "Width of a panel, most: 2020.0 mm, panels A, B, C; at most 1999.0 mm. 21.0 mm over. An invented system. "
        "Take another number of panels. The nearest number that fits is 4: panels 1528.0 mm wide, tracks 4. "
        "But that number fails by: thickness to spare in the wall. "
        "As many panels would fill a clear width of 5837.0 mm.")


def test_a_pocket_says_which_what_it_needs_and_what_there_is(given):
    note = words.note(next(f for f in given["shallow"]["findings"] if f["within"] is False), MILLIMETRES)
    assert (note.where, note.by) == ("right pocket, needs 2100 mm, has 2000 mm", "100.0 mm short")
    assert note.remedy.startswith("The builder makes the pocket 100.0 mm deeper.")


@pytest.mark.parametrize(("asked", "way"), [("low", "higher"), ("high", "lower")])
def test_a_height_is_said_to_be_changed_one_way_or_the_other(given, asked, way):
    note = words.note(next(f for f in given[asked]["findings"] if f["within"] is False), INCHES)
    assert note.remedy.endswith(f'" {way}.')
    assert "-" not in note.remedy


def test_too_heavy_is_said_in_pounds_or_kilograms_and_never_reads_as_equal():
    finding = {"quantity": "panel_mass", "value_kg": "200.001", "limit_kg": "200.000", "margin_kg": "-0.001",
               "within": False, "where": {"panel": "A", "by": "weighed"}, "source": "", "remedy": None}
    note = words.note(finding, MILLIMETRES)
    assert (note.value, note.where) == ("just over 200 kg", "panel A, as weighed")
    assert words.note(finding, INCHES).value == "just over 440.9 lb"


def test_what_would_be_right_is_said_in_the_readers_own_unit():
    with pytest.raises(BadInput) as refused:
        panels.judge({**DOOR, "interlock_lap": 4000}, UNSET)
    assert "mm" in words.right(refused.value.right, MILLIMETRES)
    said = words.right(refused.value.right, INCHES)
    assert said.startswith("less than a panel, which is ") and said.endswith('" wide') and "mm" not in said


def test_every_field_of_a_unit_that_can_be_refused_has_a_name():
    asked = {*DOOR, *(name for name in MADE if not name.endswith(("_per_m", "glasses", "limits")))}
    named = asked - {"unit", "lock_jamb", "interlock", "head", "sill", "height_deduction"}
    assert named <= phrases.UNIT_FIELDS.keys()
