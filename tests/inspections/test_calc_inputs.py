"""What each calculation takes is said in full, and nothing that it does not take is passed over in silence."""

import pytest

from inspections.calc import inputs as of_readings
from inspections.calc import kinds
from jobs.calc import convert
from jobs.calc.verdict import BadInput, Limit
from tests.verdicts import vectors
from units.calc import inputs as of_the_unit
from units.calc.kinds import CALCULATIONS

INPUTS = {**of_readings.INPUTS, **of_the_unit.INPUTS}
KINDS = {**kinds.KINDS, **CALCULATIONS}
OWN_FILE = ("lengths", "floor-profile", "rough-opening", "frame", "reveal", "force", "sealing-conditions",
            *CALCULATIONS)


def rows_of(name):
    return vectors(name) if name in OWN_FILE else [row for row in vectors("spans") if row["kind"] == name]


def test_every_calculation_says_what_it_takes():
    assert INPUTS.keys() == {convert.NAME, *KINDS}
    assert all(inputs.says and all(inputs.fields.values()) for inputs in INPUTS.values())


@pytest.mark.parametrize("name", INPUTS)
def test_every_field_of_every_vector_is_one_that_is_described(name):
    for row in rows_of(name):
        INPUTS[name].refuse_unknown(row["given"], {})


@pytest.mark.parametrize("name", INPUTS)
def test_every_vector_has_a_name_of_its_own_and_says_where_its_expectation_comes_from(name):
    rows = rows_of(name)
    assert rows
    assert len({row["name"] for row in rows}) == len(rows)
    assert all(row["from"] and row.keys() >= {"given"} and ("expect" in row) != ("error" in row) for row in rows)


@pytest.mark.parametrize("name", INPUTS)
def test_every_field_described_is_read(name):
    """Something that is no reading at all is refused by that very field, or by one within it."""
    example = INPUTS[name].example
    without_text = {field: sent for field, sent in example.items() if field != "text"}  # a length comes in one way
    slips = ({"nobody": "knows"}, 7, "nobody knows", [{"nobody": "knows"}])
    for field in INPUTS[name].fields:
        tried = ({**besides, field: slip} for besides in (example, without_text) for slip in slips)
        assert any(_names(name, payload, field) for payload in tried), field


def _names(name, payload, field):
    try:
        convert.convert(payload) if name == convert.NAME else KINDS[name].judge(payload, {})
    except BadInput as refused:
        return refused.field == field or refused.field.startswith((f"{field}.", f"{field}["))
    return False


@pytest.mark.parametrize("name", KINDS)
def test_every_example_is_enough_to_judge_by_once_the_limits_are_set(name):
    within = {"c_apart": 3, "n": 90, "pct": 25, "number": 1, "mm": 3_175_000,
              "kg": 200, "deg": 20, "m_per_s": 10}
    limits = {limit: Limit(within[unit]) for limit, unit in KINDS[name].limits.items()}
    if "anchor_spacing" in limits:
        limits["anchor_spacing"] = Limit(400_000_000)  # nothing is anchored every eighth of an inch
    verdict = KINDS[name].judge(INPUTS[name].example, limits)
    assert verdict.findings or name == "benchmark"
    assert {f.within for f in verdict.findings} <= {True, False}


def test_a_limit_among_the_readings_is_pointed_to_where_it_belongs():
    with pytest.raises(BadInput, match=r"limits\.rack") as refused:
        INPUTS["rough-opening"].refuse_unknown({"rack": "1/8"}, KINDS["rough-opening"].limits)
    assert refused.value.field == "rack"
