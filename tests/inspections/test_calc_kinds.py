"""Every kind of inspection, by its name: its vectors, its limits, and what a gate can pick from it."""

import pytest

from inspections.calc.kinds import KINDS
from jobs.calc.verdict import RESULTS, BadInput
from tests.verdicts import limits_of, unlike, vectors

ELSEWHERE = ("floor-profile", "rough-opening", "frame")  # their vectors are run beside their own tests
OWN_FILE = ("reveal", "force", "sealing-conditions")  # the simple readings share spans.json, each row with its kind


def every_vector():
    rows = [(kind, row) for kind in OWN_FILE for row in vectors(kind)]
    rows += [(row["kind"], row) for row in vectors("spans")]
    return [pytest.param(kind, row, id=f"{kind}: {row['name']}") for kind, row in rows]


JUDGED = [one for one in every_vector() if "expect" in one.values[1]]
REFUSED = [one for one in every_vector() if "error" in one.values[1]]


def judge(kind, row):
    return KINDS[kind].judge(row["given"], limits_of(row, KINDS[kind].limits))


@pytest.mark.parametrize(("kind", "row"), JUDGED)
def test_each_vector_gets_the_verdict_it_expects(kind, row):
    actual = judge(kind, row).as_dict()
    assert unlike(row["expect"], actual) == []
    assert actual["result"] in RESULTS


@pytest.mark.parametrize(("kind", "row"), REFUSED)
def test_each_vector_that_cannot_be_is_refused_by_the_field_it_names(kind, row):
    with pytest.raises(BadInput) as refused:
        judge(kind, row)
    assert refused.value.field == row["error"]["field"]


@pytest.mark.parametrize(("kind", "row"), JUDGED)
def test_what_is_judged_can_be_kept_as_readings(kind, row):
    kept = KINDS[kind].readings(row["given"])
    assert all(isinstance(one.value, int) for one in kept if one.unit == "mm")
    assert len({(one.quantity, one.at) for one in kept}) == len(kept) or kind == "pocket"


def test_the_kinds_are_those_that_the_shipped_checks_are_judged_by():
    assert set(KINDS) == {
        "floor-profile", "rough-opening", "frame", "reveal", "force", "sealing-conditions",
        "last-panel-gap", "roller-preset", "pocket", "fastener", "benchmark",
    }
    assert all(name == kind.name for name, kind in KINDS.items())


@pytest.mark.parametrize("kind", [k for k in KINDS if k not in ELSEWHERE])
def test_a_kind_without_any_limit_given_never_passes_by_default(kind):
    """Only the benchmark has nothing to fail."""
    row = next(one.values[1] for one in JUDGED if one.values[0] == kind)
    result = KINDS[kind].judge(row["given"], {}).result
    assert result == ("pass" if kind == "benchmark" else "no_limit_set")
