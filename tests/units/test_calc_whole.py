"""A unit as a whole: what is named as one that can be built fails nothing when it is tried; all that is not does."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.calc.verdict import FAIL, BadInput, Limit, plain
from tests.verdicts import limits_of, unlike, vectors
from units.calc import panels, weights, whole

MM = 1_000_000
MOST_TRIED = 10
ROWS = vectors("unit")
JUDGED = [row for row in ROWS if "expect" in row]
REFUSED = [row for row in ROWS if "error" in row]
BOTH = {"panels": panels.LIMITS, "weights": weights.LIMITS}
NAMED = ("can_be_built_with_panels", "nearest_that_can_be_built")


def limits_in(row):
    return [limits_of({"limits": row["limits"].get(name)}, kinds) for name, kinds in BOTH.items()]


def judged(row):
    return whole.judge(whole.Asked(**row["given"]), *limits_in(row))


@pytest.mark.parametrize("row", JUDGED, ids=lambda row: row["name"])
def test_each_vector_gets_both_verdicts_it_expects(row):
    found = judged(row)
    actual = {"panels": found.panels.as_dict(), "weights": found.weights and found.weights.as_dict()}
    assert unlike(row["expect"], actual) == []


@pytest.mark.parametrize("row", REFUSED, ids=lambda row: row["name"])
def test_each_vector_that_cannot_be_is_refused_by_the_field_it_names(row):
    with pytest.raises(BadInput) as refused:
        judged(row)
    assert refused.value.field == row["error"]["field"]
    assert unlike(row["could"], plain(whole.what_can(whole.Asked(**row["given"]), *limits_in(row)))) == []


def test_where_no_number_is_why_none_is_named():
    asked = whole.Asked({**JUDGED[0]["given"]["door"], "panels": "many"}, {})
    assert whole.what_can(asked, {}, {}) == {}
    assert whole.what_can(whole.Asked({"panels": 4}, {}), {}, {}) == {}


def test_where_nothing_fails_no_other_number_is_named():
    row = next(row for row in JUDGED if row["name"] == "Light enough at four panels")
    assert not set(NAMED) & judged(row).panels.computed.keys()


def fails(asked, limits):
    try:
        found = whole.judge(asked, *limits)
    except BadInput:
        return True
    return FAIL in (found.panels.result, found.weights.result)


@settings(max_examples=8)
@given(two=st.booleans(), clear=st.integers(1500, 14_000), n=st.integers(2, 8), mass=st.integers(20, 400),
       area=st.integers(1, 8), wall=st.integers(100, 800), face=st.integers(0, 200),
       nominal=st.sampled_from([4, 8, 12]), thick=st.sampled_from([50, 65]), increment=st.sampled_from([1, 5]))
def test_the_numbers_named_are_those_that_fail_nothing_when_they_are_tried(two, clear, n, mass, area, wall, face,
                                                                           nominal, thick, increment):
    """Each number up to ten tried by itself: nobody is to order by a number that fails."""
    ways = {"ways": "two-way", "pocket_side": "both", "middle_lap": -4, "more_on": "left"} if two else {
        "ways": "one-way", "pocket_side": "left", "jamb_engagement": 20}
    door = {"clear_width": clear, "clear_height": 2800, "panels": n, "meeting_lap": 60, "interlock_lap": 50,
            "height_deductions": 40, "pull": 50, "stop": 20, "pocket_clearance": 25, "pocket_depth": 1700,
            "track_pitch": 60, "covers": 30, "wall_clear": wall, "panel_thickness": thick, "increment": increment,
            "lead_wider_by": 12, **ways}
    make = {"glass": [{"kind": "pane", "nominal": nominal}] * 2, "stile_kg_per_m": 4, "rail_kg_per_m": 5,
            "stile_face": face, "hardware": [{"what": "rollers", "kg": 2, "count": 2}]}
    limits = ({"panel_width_most": Limit(2200 * MM), "panel_width_least": Limit(500 * MM),
               "panel_area_most_m2": Limit(area)}, {"panel_mass_most": Limit(mass)})
    try:
        found = whole.judge(whole.Asked(door, make), *limits)
    except BadInput:
        return
    named = found.panels.computed.get("can_be_built_with_panels")
    assert (named is None) is (FAIL not in (found.panels.result, found.weights.result))
    if named is not None:
        nearest = found.panels.computed["nearest_that_can_be_built"]
        tried = [m for m in range(2 if two else 1, MOST_TRIED + 1)
                 if not fails(whole.Asked({**door, "panels": m}, make), limits)]
        assert [m for m in named if m <= MOST_TRIED] == tried
        assert (nearest and nearest["panels"]) == min(named, key=lambda m: (abs(m - n), m), default=None)
