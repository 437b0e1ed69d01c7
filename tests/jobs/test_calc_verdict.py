"""A verdict as it is printed: exact where it can be, and never *over* as if it were equal."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from jobs.calc.verdict import PLACES, Limit, at_least, at_most


@given(st.fractions(-1000, 1000, max_denominator=10**6), st.fractions(-1000, 1000, max_denominator=10**6),
       st.sampled_from(["n", "c", "pct", "deg", "mm"]), st.booleans())
def test_what_is_beyond_its_limit_never_prints_as_equal_to_it(value, limit, unit, least):
    found = (at_least if least else at_most)("x", value, Limit(limit), unit=unit)
    shown = found.as_dict()
    if not found.within:
        assert shown[f"value_{unit}"] != shown[f"limit_{unit}"]
        assert float(shown[f"margin_{unit}"]) < 0
    for name, exact in (("value", value), ("limit", limit)):
        scale = 1 if unit == "mm" else 10 ** PLACES[unit]
        off = Fraction(shown[f"{name}_{unit}"]) * (10**6 if unit == "mm" else scale) - exact * scale
        assert abs(off) < 1
