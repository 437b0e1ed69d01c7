"""Two sets of readings side by side: what is the same thing, and what only one of them has."""

from hypothesis import given
from hypothesis import strategies as st

from inspections.calc.compared import Pair, findings, pairs


def finding(quantity, value, **where):
    return {"quantity": quantity, "value_mm": value, "where": where}


def told(before, after):
    return [(p.before and p.before["value_mm"], p.after and p.after["value_mm"]) for p in findings(before, after)]


def test_what_only_one_has_stands_alone_and_in_order():
    assert pairs({"a": 1, "b": 2}, {"c": 3, "b": 4}) == (Pair("a", 1, None), Pair("b", 2, 4), Pair("c", None, 3))


def test_a_panel_is_compared_with_itself_whatever_the_order():
    before = [finding("force", "1", panel="A", way="opening"), finding("force", "2", panel="B", way="opening")]
    after = [finding("force", "4", panel="B", way="opening"), finding("force", "3", panel="A", way="opening")]
    assert told(before, after) == [("1", "3"), ("2", "4")]


def test_where_along_the_sill_it_was_worst_makes_it_no_other_thing():
    assert told([finding("rise", "2", line="outer", from_mm="0", to_mm="300")],
                [finding("rise", "1", line="outer", from_mm="900", to_mm="1200")]) == [("2", "1")]


def test_where_the_worst_line_is_the_other_one_now_they_are_compared_all_the_same():
    assert told([finding("rise", "2", line="outer")], [finding("rise", "1", line="inner")]) == [("2", "1")]


def test_one_thing_told_twice_is_two_things():
    assert told([finding("gap", "1"), finding("gap", "2")], [finding("gap", "3")]) == [("1", "3"), ("2", None)]


names = st.lists(st.sampled_from("ABCDE"), max_size=6)


@given(names, names)
def test_every_finding_of_both_is_told_once(before, after):
    found = findings([finding("rise", f"b{n}", line=line) for n, line in enumerate(before)],
                     [finding("rise", f"a{n}", line=line) for n, line in enumerate(after)])
    for which, count in (("before", len(before)), ("after", len(after))):
        told_of = [getattr(pair, which) for pair in found if getattr(pair, which) is not None]
        assert len(told_of) == len({one["value_mm"] for one in told_of}) == count
    assert len(found) == max(len(before), len(after))
