"""Every code that a take-off can send, in words: found by asking for it, and by reading the sums."""

import re
from pathlib import Path

import pytest

from dashboard import phrases, words
from dashboard.measures import Reader
from dashboard.opening.taken import TakenShown, change_words
from dashboard.sheets import material
from inspections.services.taking_off import taken_off
from jobs.calc.verdict import Limit
from tests.dashboard.test_sheets import unit_in
from tests.factories import act_for, make_job, make_user
from units.calc import takeoff

INCHES, MILLIMETRES = Reader("in"), Reader("mm")
CALC = Path(takeoff.__file__).resolve().parent
TEXT = "".join((CALC / f"{name}.py").read_text() for name in (
    "takeoff", "takeoff_sent", "materials", "sealant", "movement", "anchors", "shims", "fastener"))
PRODUCTS = {"Bead": {"cartridge_ml": 300, "movement_pct": 25, "waste_pct": 10}}
JOINT = {"place": "head", "side": "outside", "rule": "seal", "length": 4000, "width": 12, "depth": 6,
         "product": "Bead"}
MOVES = {"length": 4000, "expansion_per_c": 23, "range_c": 60, "tolerance": 2}


def taken(limits=(), **given):
    known = {name: Limit(None, "must be set by the door system") for name in takeoff.LIMITS}
    known |= {name: Limit(value, "an invented sheet") for name, value in dict(limits).items()}
    return takeoff.judge({"unit": "mm", **given}, known).as_dict()


def joints(*more, limits=(), products=PRODUCTS, **over):
    return taken(limits, joints=[{**JOINT, **over}, *more], products=products)


MM = 1_000_000
DEPTHS = {"joint_depth_least": 6 * MM, "joint_depth_most": 13 * MM, "joint_depth_of_width": 50}
# Between them these give every finding, remedy, lack and second look there is.
ASKED = {
    "narrow": lambda: joints(limits={"joint_width_least": 20 * MM}),
    "moves": lambda: joints(movement=MOVES),
    "moves, nothing known": lambda: joints(movement={"expansion": None}, products={"Bead": {}}),
    "shallow": lambda: joints(limits=DEPTHS, depth=3),
    "deep": lambda: joints(limits=DEPTHS, depth=30),
    "without a sealant": lambda: joints(product=None),
    "twice": lambda: joints(JOINT),
    "wasted": lambda: joints(products={"Bead": {**PRODUCTS["Bead"], "waste_pct": 60}}),
    "no schedule": lambda: taken(members=[{"name": "head", "length": 4000}]),
    "short member": lambda: taken(members=[{"name": "head", "length": 200}],
                                  anchors={"spacing_most": 400, "edge_least": 100}),
    "no shims": lambda: taken(stations=[{"at": 0, "packing": 3}]),
    "thick": lambda: taken(stations=[{"at": 600, "packing": 60}], shims=[10]),
    "wall": lambda: taken(wall={"board": 16, "stud": 38}),
    "wall, too long": lambda: taken({"clearance": 6 * MM}, wall={"board": 16, "stud": 38, "longest": 60}),
    "wall, none short enough": lambda: taken({"clearance": 6 * MM}, wall={"board": 16, "stud": 38, "fasteners": [60]}),
}


@pytest.fixture(scope="module")
def given():
    return {name: ask() for name, ask in ASKED.items()}


def seen(given, where):
    return {code for verdict in given.values() for code in where(verdict)}


def test_every_quantity_has_its_name(given):
    written = set(re.findall(r"(?:at_most|at_least)\(\"([a-z_]+)\"", TEXT))
    assert written == seen(given, lambda v: (f["quantity"] for f in v["findings"]))
    assert written <= phrases.QUANTITIES.keys()


def test_every_remedy_has_its_sentence(given):
    written = set(re.findall(r"Remedy\(\"([a-z_]+)\"", TEXT))
    assert written == seen(given, lambda v: (f["remedy"]["code"] for f in v["findings"] if f["remedy"]))
    assert written <= phrases.REMEDIES.keys()


def test_everything_lacking_has_its_sentence(given):
    formed = {f"movement_{name}" for name in ("expansion", "length", "range", "tolerance")}
    written = {*re.findall(r"yield {\"what\": \"([a-z_]+)\"(?:, \*\*joint.where)?}", TEXT), *formed, "anchor_spacing",
               "anchor_edge", "cartridge_ml", "waste_pct", "movement_pct"}
    assert written == seen(given, lambda v: (m["what"] for m in v["missing"]))
    assert written <= phrases.MISSING.keys()


def test_everything_odd_has_its_sentence(given):
    written = set(re.findall(r"\"why\": \"([a-z_]+)\"", TEXT))
    assert written == seen(given, lambda v: (s["why"] for s in v["second_look"]))
    assert written <= phrases.SECOND_LOOKS.keys()


def test_every_caution_and_every_change_has_its_words(given):
    assert seen(given, lambda v: [v["caution"]]) - {None} == {takeoff.CAUTION} <= phrases.CAUTIONS.keys()
    written = set(re.findall(r"\(\"what\", \"([a-z_]+)\"\)", TEXT))
    lines = [{"what": "cartridges", "product": "Bead", "was": 1, "now": None}, {
        "what": "anchors", "fastener": "screw", "was": 0, "now": 4}, {
        "what": "shims", "thickness_mm": 1_587_500, "was": 2, "now": 3}]
    assert {line["what"] for line in lines} == written
    assert [change_words(line, INCHES) for line in lines] == [
        "cartridges of Bead: 1 → ?", "anchors screw: 0 → 4", 'shims of 1/16": 2 → 3']


@pytest.mark.parametrize("reader", [INCHES, MILLIMETRES])
def test_nothing_said_of_a_take_off_is_left_blank_or_in_code(given, reader):
    for name, verdict in given.items():
        said = words.verdict(verdict, reader)
        for line in filter(None, [*map(words.finding, said.notes), *said.missing, *said.second_look, said.caution]):
            assert "_" not in line and "  " not in line and "None" not in line and " ." not in line, (name, line)


def test_how_a_joint_too_narrow_is_helped_is_said_with_where_it_is(given):
    note = words.note(next(f for f in given["narrow"]["findings"] if f["within"] is False), MILLIMETRES)
    assert (note.where, note.remedy) == ("head outside", "Make the joint 20.0 mm wide.")
    moves = words.note(next(f for f in given["moves"]["findings"] if f["within"] is False), MILLIMETRES)
    assert re.fullmatch(r"Make the joint [\d.]+ mm wide. Or take a sealant that moves [\d.]+ % of its width.",
                        moves.remedy)


def test_what_is_lacking_is_said_of_a_unit_and_on_its_jobs_material_sheet(db):
    unit = unit_in(make_job(), products=[{"name": "Bead"}])
    lacks = "Bead: what a cartridge holds is not entered."
    assert lacks in TakenShown.of(taken_off(unit), INCHES).lacking
    shown = material.shown(unit.opening.job, [unit], act_for(make_user("office")), INCHES, "")
    assert f"A1: {lacks}" in shown["unknown"]
