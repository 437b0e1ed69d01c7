"""Temperatures and limits as they are sent."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc import reading
from jobs.calc.verdict import BadInput, Limit
from tests.quantities import EXACT

# ---- temperatures and what lies between them -------------------------------------------------------------


@given(st.decimals("-76", "194", places=1))
def test_fahrenheit_agrees_with_pint_and_lands_on_every_celsius_that_has_an_end(fahrenheit):
    exact = EXACT.Quantity(Fraction(fahrenheit), "degF").to("degC").magnitude
    read = reading.temperature(f"{fahrenheit} F", "air_c")
    assert read == float(exact)
    if (100 * exact).denominator == 1:
        assert Fraction(str(read)) == exact


@given(st.decimals("0", "90", places=1))
def test_a_difference_of_fahrenheit_agrees_with_pint(fahrenheit):
    exact = EXACT.Quantity(Fraction(fahrenheit), "delta_degF").to("delta_degC").magnitude
    assert reading.warmer(f"{fahrenheit} °F", "margin") == float(exact)


@pytest.mark.parametrize(("text", "celsius"), [
    ("50 F", 10), ("50°F", 10), ("10", 10), ("10 c", 10), ("\u22125 °C", -5),
])
def test_temperatures_are_read_as_people_write_them(text, celsius):
    assert reading.temperature(text, "air_c") == celsius


@pytest.mark.parametrize("sent", [
    "5,5 C", "20 K", "F", "", "1e2 F", "9" * 5000, "200 F", "-80 F", -61, 91, True, None, [5], float("nan"),
    float("inf"), 10**400,
])
def test_no_other_temperature_is_read(sent):
    with pytest.raises(BadInput) as refused:
        reading.temperature(sent, "air_c")
    assert refused.value.field == "air_c"


@pytest.mark.parametrize("sent", ["-1 F", -0.1, 151, "5 K", True, float("nan")])
def test_a_difference_is_never_below_nothing(sent):
    with pytest.raises(BadInput):
        reading.warmer(sent, "limits.dew_margin")


# ---- limits ----------------------------------------------------------------------------------------------


def test_a_limit_sent_stands_over_the_shipped_one_with_its_source_and_the_others_stay():
    shipped = {"rack": Limit(1, "shipped"), "twist": Limit(2, "shipped")}
    kinds = {"rack": "mm", "twist": "mm", "force": "n"}
    found = reading.limits({"rack": {"value": "1/8", "source": "the maker's sheet"}}, kinds, shipped)
    assert found == {"rack": Limit(3_175_000, "the maker's sheet"), "twist": Limit(2, "shipped"),
                     "force": Limit(None, "no limit set")}
    assert reading.limits({"rack": "1/8", "twist": {"value": None}}, kinds, shipped)["rack"].source == "as sent"
    assert reading.limits({"twist": {"value": None}}, kinds, shipped)["twist"].value is None


@pytest.mark.parametrize(("sent", "field"), [
    ({"rock": 1}, "limits.rock"), ({"rack": -1}, "limits.rack"), ({"rack": True}, "limits.rack"), ([], "limits"),
    ({"force": "-1"}, "limits.force"), ({"force": {"value": "5,5"}}, "limits.force"),
    ({"rack": {"value": 1, "source": 7}}, "limits.rack.source"),
    ({"rack": {"value": 1, "source": "x" * 201}}, "limits.rack.source"),
])
def test_a_limit_nobody_could_mean_is_refused_by_its_name(sent, field):
    with pytest.raises(BadInput) as refused:
        reading.limits(sent, {"rack": "mm", "force": "n"}, {})
    assert refused.value.field == field
