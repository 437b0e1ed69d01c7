"""The simple readings: what the vectors do not say."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calc.kinds import KINDS
from jobs.calc.verdict import BadInput, Limit

MM = 1_000_000


def judge(kind, payload, **limits):
    return KINDS[kind].judge(payload, {name: Limit(value) for name, value in limits.items()})


@given(st.integers(0, 10**9), st.integers(0, 10**9))
def test_a_gap_passes_exactly_when_it_is_not_less_than_the_limit(gap, least):
    verdict = judge("last-panel-gap", {"gap": f"{gap / MM:.6f} mm"}, gap_least=least)
    assert (verdict.result == "pass") == (gap >= least)


@given(board=st.integers(0, 50), stud=st.integers(0, 100), clearance=st.integers(0, 20), longest=st.integers(0, 150))
def test_a_fastener_passes_exactly_when_it_stops_short_of_the_pocket(board, stud, clearance, longest):
    verdict = judge("fastener", {"unit": "mm", "board": board, "stud": stud, "longest": longest},
                    clearance=clearance * MM)
    assert (verdict.result == "pass") == (longest + clearance <= board + stud)


@given(move=st.integers(-8_000_000, 8_000_000))
def test_a_roller_turned_as_told_stands_at_its_preset(move):
    preset = 9_525_000
    payload = {"rollers": [{"panel": "A", "roller": 1, "reading": f"{(preset + move) / MM:.6f} mm"}]}
    told = judge("roller-preset", payload, preset=preset, within=0).findings[0]
    assert told.within is (move == 0)
    if move:
        assert preset + move + told.remedy.values["move_mm"] == preset
        assert told.remedy.values["way"] == ("down" if move > 0 else "up")


def test_each_reading_is_kept_under_its_own_name():
    kept = KINDS["benchmark"].readings({"unit": "mm", "benchmark_height": 1000, "finish_floor_inside": -12})
    assert {one.quantity: one.value for one in kept} == {
        "benchmark_height": 1000 * MM, "finish_floor_inside": -12 * MM}
    assert [one.value for one in KINDS["pocket"].readings({"unit": "mm", "depth": [2500, 2501]})] == [
        2500 * MM, 2501 * MM]


@pytest.mark.parametrize(
    ("kind", "payload", "field"),
    [
        ("roller-preset", {"rollers": [{"panel": "A", "roller": "1"}]}, "rollers[0].reading"),
        ("roller-preset", {"rollers": [{"panel": "A", "reading": "3/8"}]}, "rollers[0].roller"),
        ("roller-preset", {"rollers": ["3/8"]}, "rollers[0]"),
        ("roller-preset", {"panels": "AB"}, "panels"),
        ("pocket", {"depth": {"top": 1}}, "depth"),
        ("fastener", {"longest": "forty eight"}, "longest"),
        ("benchmark", {"unit": "cubits"}, "unit"),
    ],
)
def test_what_cannot_be_read_is_refused_by_its_name(kind, payload, field):
    with pytest.raises(BadInput) as refused:
        judge(kind, payload)
    assert refused.value.field == field
