"""Every code of lifting and of the way in that a unit's page can show, in words: by the vectors, and by the sums."""

import re
from pathlib import Path

import pytest

from dashboard.measures import Reader
from dashboard.opening.handling_shown import (
    KINDS,
    LACKING,
    LIFTED,
    OF_A_LEG,
    SOMETHING,
    THROUGH,
    TOO_MUCH,
    WAYS,
    HandlingShown,
    lacks,
    lifted,
)
from jobs.calc import route
from jobs.calc.legs import NEEDED
from jobs.calc.route_sent import NEEDED_OF_LOAD
from jobs.calc.verdict import FAIL, NOT_ENOUGH_DATA, Finding, Verdict
from tests.verdicts import limits_of, vectors
from units.calc import lifting
from units.services.handling import Handling, Help, ToCarry

UNITS = Path(lifting.__file__).parent
TEXT = {name: (UNITS / f"{name}.py").read_text() for name in ("lifting", "niosh")}
JOBS = UNITS.parents[1] / "jobs" / "calc"
TEXT["route"] = (JOBS / "route.py").read_text()
RATING = (JOBS / "rating.py").read_text()


def test_everything_that_can_fail_in_a_lift_has_its_words():
    written = set(re.findall(r"(?:at_most|at_least|_carries)\(\s*\"([a-z_]+)\"", TEXT["lifting"] + TEXT["niosh"]))
    assert {"mass", "mass_for_the_team", "ceiling_clearance"} <= written <= LIFTED.keys()


def test_everything_a_lift_can_lack_has_its_words():
    written = set(re.findall(r"\"what\": \"([a-z_]+)\"", TEXT["lifting"] + RATING)) - {"mass"}
    assert {"team_of_four", "circuits", "reduction"} <= written <= LACKING.keys()
    assert {"hands", "hands_or_equipment", "ceiling_clearance", "needs_above", "air_density", "drag",
            "area"} <= LACKING.keys()


def test_everything_the_way_in_can_lack_has_its_words():
    assert {"legs", "mass", "cart_mass", *NEEDED_OF_LOAD} <= LACKING.keys()
    assert {name for needed in NEEDED.values() for name in needed} | {"lean"} == OF_A_LEG.keys()


def test_everything_that_would_let_it_pass_has_its_words():
    tries = TEXT["route"].split("tries = ")[1].split("ways = ")[0]
    written = set(re.findall(r"\(\"([a-z_]+)\", ", tries)) | {"make_it_larger", "lean_it"}
    assert written == WAYS.keys()


def test_every_leg_every_way_past_it_and_everything_too_much_for_it_has_its_words():
    written = set(re.findall(r"at_most\(f?\"([a-z_{}]+)\"", TEXT["route"]))
    assert written - {"length_in_{side}"} | {"length_in_room_before", "length_in_room_after"} == TOO_MUCH.keys()
    assert {"turning", "sideways", "straight", "diagonal"} == THROUGH.keys()
    assert NEEDED.keys() == KINDS.keys()


@pytest.mark.parametrize("row", [row for row in vectors("lifting") if "expect" in row],
                         ids=lambda row: row["name"])
def test_every_lift_of_the_vectors_is_said_in_words(row):
    said = lifted(lifting.judge(row["given"], limits_of(row, lifting.LIMITS)))
    assert said and str(SOMETHING) not in said and "_" not in said and "  " not in said


@pytest.mark.parametrize("row", [row for row in vectors("route") if "expect" in row], ids=lambda row: row["name"])
def test_every_way_in_of_the_vectors_is_said_in_words(row):
    given = row["given"]
    if "panels" not in given:
        given = {**given, "panels": [{"panel": "A"}]}
    way = route.judge(given, limits_of(row, route.LIMITS))
    lift = Verdict(NOT_ENOUGH_DATA, computed={"mass": {"judged_kg": 190}}, missing=({"what": "hands_or_equipment"},))
    handling = Handling({one["panel"]: lift for one in way.computed["panels"]}, way, ())
    panels = [ToCarry(one["panel"], 1, 1) for one in way.computed["panels"]]
    shown = HandlingShown(handling, Help((), None), Reader("in"), panels)
    for line in shown.lines:
        assert line.mass == "419 lb (190 kg)"
        assert str(SOMETHING) not in line.way_in and "_" not in line.way_in
    for leg in shown.legs:
        assert all(said and str(SOMETHING) not in said and "_" not in said for _, said in leg.cells), leg


def test_a_leg_whose_width_nobody_entered_is_named():
    assert lacks(({"what": "width", "leg": "the gate"},)) == "how wide it is at the gate"
    assert lacks(({"what": "height", "panel": "B"},), "A") == str(SOMETHING)


def test_wind_is_said_against_the_equipment_or_against_the_site():
    of = [Finding("wind_speed", 9, 8, False, "", "m_per_s", where=where) for where in (
        {"equipment": "Beam lifter"}, {"at": "the_site"})]
    assert lifted(Verdict(FAIL, tuple(of))) == "too much wind for Beam lifter; more wind than the site allows"
