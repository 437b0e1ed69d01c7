"""Sealing conditions: the dew point against outside references, now, and the hours after."""

import math
from fractions import Fraction

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calc import sealing
from jobs.calc.verdict import BadInput, Limit

psychrolib.SetUnitSystem(psychrolib.SI)
MARGIN = {"dew_margin": Limit(3, "coating practice carried over")}
PRODUCT = {"air_least_c": 5, "air_most_c": 40, "surface_least_c": 5, "skin_minutes": 60, "cure_mm_per_sqrt_day": 2.5,
           "bead_depth": "12.7 mm", "water_test_after_days": 7, "source": "data sheet"}


def payload(**more):
    return {"air_c": 20, "surface_c": 20, "humidity_pct": 50, "surface_dry": True, "product": PRODUCT, **more}


def judge(**more):
    return sealing.judge(payload(**more), MARGIN)


def finding(verdict, quantity):
    return next(f for f in verdict.findings if f.quantity == quantity)


def forecast(*air, rain=(), humidity=50):
    return [{"at": f"2031-06-0{1 + n // 24}T{n % 24:02}:00:00Z", "air_c": t, "humidity_pct": humidity,
             "rain_mm": 1 if n in rain else 0} for n, t in enumerate(air)]


# ---- dew point -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("air", "humidity", "table", "magnus"),
    [
        # Published dew point table (expydoc.com/doc/12113599); the last column computed with 17.62 and 243.12.
        (20, 50, 9.3, "9.26"),
        (20, 60, 12.0, "12.00"),
        (25, 60, 16.7, "16.69"),
        (30, 50, 18.4, "18.44"),
        (25, 50, 13.8, "13.85"),
        (20, 70, 14.4, "14.36"),  # a supplier's public table
    ],
)
def test_the_dew_point_is_that_of_the_published_table(air, humidity, table, magnus):
    dew = sealing.dew_point(air, humidity)
    assert dew == Fraction(magnus)
    assert abs(float(dew) - table) <= 0.1


def test_the_published_tables_misprint_is_not_reproduced():
    """It prints 23.7 at 30 C and 65 %; psychrolib and Magnus say 22.70."""
    assert sealing.dew_point(30, 65) == Fraction("22.70")


@given(air=st.floats(0.5, 50), humidity=st.floats(10, 100))
def test_above_freezing_the_dew_point_is_within_a_tenth_of_psychrolibs(air, humidity):
    theirs = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
    if theirs > 0:
        assert abs(float(sealing.dew_point(air, humidity)) - theirs) <= 0.1


def test_below_freezing_water_and_ice_part_company_and_it_says_so():
    """Computed: 0 C, 90 %: psychrolib -1.27 over ice, Magnus -1.45 over water."""
    assert sealing.dew_point(0, 90) == Fraction("-1.45")
    assert round(psychrolib.GetTDewPointFromRelHum(0, 0.9), 2) == -1.27
    assert "below_freezing_constants" in judge(air_c=0, humidity_pct=90).computed["cautions"]


def test_the_rule_of_thumb_is_too_far_off_for_a_margin_of_three():
    """30 C and 50 %: air less (100 - RH) / 5 is 20; up to 1.6 C off."""
    assert 20 - float(sealing.dew_point(30, 50)) > 1.5


@given(air=st.integers(-20, 50), humidity=st.integers(1, 100))
def test_air_at_its_dew_point_holds_as_much_vapour_as_the_air_does(air, humidity):
    def held(celsius):
        return math.exp(17.62 * celsius / (243.12 + celsius))

    assert held(float(sealing.dew_point(air, humidity))) == pytest.approx(held(air) * humidity / 100, rel=1e-3)


# ---- now -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("surface", "within"), [("12.26", True), ("12.25", False), ("12.2599", False)])
def test_the_margin_is_compared_as_decimals_not_as_binary_numbers(surface, within):
    assert finding(judge(surface_c=surface), "dew_margin").within is within


def test_saturated_air_has_its_dew_point_at_its_own_temperature():
    assert finding(judge(air_c=10, surface_c=10, humidity_pct=100), "dew_margin").value == 0


@pytest.mark.parametrize(
    ("more", "quantity"),
    [
        ({"air_c": 4.9, "surface_c": 10, "humidity_pct": 40}, "air_least"),
        ({"air_c": 41, "humidity_pct": 20}, "air_most"),
        ({"surface_c": 4, "air_c": 6, "humidity_pct": 30}, "surface_least"),
        ({"surface_dry": False}, "surface_dry"),
        ({"product": {**PRODUCT, "humidity_least_pct": 60}}, "humidity_least"),
        ({"product": {**PRODUCT, "humidity_most_pct": 40}}, "humidity_most"),
        ({"surface_c": 12}, "dew_margin"),
    ],
)
def test_one_thing_out_of_range_is_the_one_thing_that_fails(more, quantity):
    verdict = judge(**more)
    assert [f.quantity for f in verdict.findings if f.within is False] == [quantity]
    assert verdict.result == "fail"


def test_bounds_the_product_does_not_give_are_not_judged():
    assert "surface_most" not in {f.quantity for f in judge().findings}


def test_a_product_without_any_temperature_has_no_limit_set():
    assert judge(product={"name": "Some sealant"}).result == "no_limit_set"


def test_a_product_that_gives_only_the_airs_range_is_judged_by_that():
    verdict = judge(product={"air_least_c": 5, "source": "data sheet"})
    assert [f.quantity for f in verdict.findings] == ["dew_margin", "air_least", "surface_dry"]
    assert verdict.result == "pass"


def test_a_range_of_one_temperature_is_a_range():
    assert finding(judge(product={**PRODUCT, "air_least_c": 20, "air_most_c": 20}), "air_most").within


def test_no_margin_at_all_may_be_asked_for():
    verdict = sealing.judge(payload(air_c=10, surface_c=10, humidity_pct=100), {"dew_margin": Limit(0, "its sheet")})
    assert finding(verdict, "dew_margin").within


@pytest.mark.parametrize(("humidity", "said"), [(50, False), (49, True)])
def test_a_dew_point_just_above_freezing_needs_no_caution(humidity, said):
    """At 10 C: 0.04 and -0.24 C after Magnus; psychrolib says 0.06 and -0.19."""
    assert ("below_freezing_constants" in judge(air_c=10, humidity_pct=humidity).computed["cautions"]) is said


@pytest.mark.parametrize(("surface", "looks"), [(-10, 0), (-11, 1), (50, 0)])
def test_thirty_degrees_between_air_and_surface_are_believed_either_way(surface, looks):
    assert len(judge(surface_c=surface).second_look) == looks


def test_a_surface_far_from_its_air_is_kept_and_looked_at_again():
    assert judge(surface_c=51).second_look[0]["why"] == "far_from_air"


# ---- the hours after -------------------------------------------------------------------------------------


def test_without_a_forecast_the_hours_after_are_a_caution_not_a_verdict():
    verdict = judge()
    assert (verdict.result, verdict.caution) == ("pass", "no_forecast")
    assert not [f for f in verdict.findings if f.quantity.startswith(("tonights", "rain"))]


def test_a_coming_hours_surface_is_its_air_plus_todays_difference():
    verdict = judge(surface_c=14, forecast=forecast(*[20] * 23, 11))
    assert finding(verdict, "tonights_low_surface").value == 5
    assert verdict.result == "pass"
    assert judge(surface_c=13.99, forecast=forecast(*[20] * 23, 11)).result == "fail"


def test_the_night_is_the_one_that_follows_not_the_one_after():
    assert judge(forecast=forecast(*[20] * 24, 0)).result == "pass"
    assert judge(forecast=forecast(*[20] * 23, 0)).result == "fail"


def test_rain_counts_until_it_has_skinned():
    dry_enough = [20] * 24
    assert judge(forecast=forecast(*dry_enough, rain=[0])).result == "fail"
    assert judge(forecast=forecast(*dry_enough, rain=[1])).result == "pass"
    half_past = {"at": "2031-06-01T00:30:00Z"}
    assert judge(forecast=forecast(*dry_enough, rain=[1]), **half_past).result == "fail"


def test_it_opens_at_the_first_hour_that_passes():
    verdict = judge(surface_c=12, air_c=14, humidity_pct=80, forecast=forecast(14, 15, 16, 20, *[20] * 24))
    # 2 C under the air: 20 C air, 18 C surface, dew point 9.26 at 50 %; at 14 C: 12 against 3.72 + 3, so at once.
    assert verdict.computed["opens_at"] == "2031-06-01T00:00:00+00:00"
    damp = judge(surface_c=12, air_c=14, humidity_pct=95, forecast=forecast(*[14] * 3, humidity=95) + [
        {"at": f"2031-06-01T{hour:02}:00:00Z", "air_c": 15, "humidity_pct": 60} for hour in range(3, 9)])
    assert damp.computed["opens_at"] == "2031-06-01T03:00:00+00:00"
    assert damp.computed["hours"][0]["against"] == ["dew_margin"]


def test_an_hour_that_skins_beyond_the_forecast_does_not_open():
    hours = judge(forecast=forecast(20, 20), product={**PRODUCT, "skin_minutes": 90}).computed["hours"]
    assert [hour["against"] for hour in hours] == [[], ["forecast_ends_before_skin"]]


@pytest.mark.parametrize(
    ("hours", "caution"),
    [(0, "no_forecast"), (1, "forecast_ends_before_skin"), (23, "forecast_ends_before_morning"), (24, None)],
)
def test_it_says_how_far_the_forecast_does_not_reach(hours, caution):
    verdict = judge(forecast=forecast(*[20] * hours), product={**PRODUCT, "skin_minutes": 90})
    assert (verdict.result, verdict.caution) == ("pass", caution)


def test_a_forecast_that_reaches_just_until_it_skins_is_enough_for_the_rain():
    verdict = judge(forecast=forecast(20))
    assert finding(verdict, "rain_before_skin").within
    assert verdict.caution == "forecast_ends_before_morning"


def test_a_forecast_for_other_days_says_nothing_of_tonight():
    verdict = judge(at="2031-05-30T12:00:00Z", forecast=forecast(0, 0))
    assert verdict.result == "pass"
    assert {f.quantity for f in verdict.findings if f.quantity.startswith(("tonights", "rain"))} == set()


def test_the_night_that_is_known_is_said_to_be_known():
    for hours, known in ((24, True), (23, False)):
        assert judge(forecast=forecast(*[20] * hours)).computed["opens_at_night_known"] is known


def test_hours_that_are_over_are_left_out():
    verdict = judge(at="2031-06-01T02:00:00Z", forecast=forecast(0, 0, *[20] * 24))
    assert verdict.result == "pass"
    assert len(verdict.computed["hours"]) == 24


def test_a_forecast_in_another_offset_is_the_same_forecast():
    local = [{**hour, "at": hour["at"].replace("Z", "+00:00")} for hour in forecast(*[20] * 25)]
    assert judge(at="2031-05-31T19:30:00-05:00", forecast=local).computed["opens_at"] == "2031-06-01T00:00:00+00:00"


# ---- cure ------------------------------------------------------------------------------------------------


def test_half_an_inch_at_two_and_a_half_millimetres_cures_in_26_days():
    assert sealing.cure_days(12_700_000, Fraction("2.5")) == Fraction("25.8064")
    assert judge().as_dict()["computed"]["cure_days"] == "26.0"


def test_water_tests_wait_for_the_later_of_cure_and_the_products_own_number():
    assert judge().computed["water_test_after_days"] == 26
    assert judge(product={**PRODUCT, "water_test_after_days": 30}).computed["water_test_after_days"] == 30
    assert judge(bead_depth="5 mm").computed["water_test_after_days"] == 7
    assert judge(bead_depth="5 mm").computed["load_after_days"] == 4


@pytest.mark.parametrize("lacking", ["cure_mm_per_sqrt_day", "bead_depth"])
def test_without_its_rate_or_its_depth_nothing_is_said_of_the_cure(lacking):
    computed = judge(product={**PRODUCT, lacking: None}, days_since=4).computed
    assert computed["cure_days"] is None
    assert computed["water_test_after_days"] == 7
    assert ("cured_depth_mm" in computed) is (lacking == "bead_depth")


@given(depth=st.integers(1_000_000, 30_000_000), k=st.decimals("0.5", "6", places=2))
def test_the_depth_cured_by_then_is_the_depth_asked_for(depth, k):
    days = sealing.cure_days(depth, Fraction(k))
    assert abs(sealing.cured_depth(Fraction(k), days) - depth) <= 500


# ---- what is refused -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"humidity_pct": 140}, "humidity_pct"),
        ({"humidity_pct": 0}, "humidity_pct"),
        ({"humidity_pct": 100.1}, "humidity_pct"),
        ({"air_c": True}, "air_c"),
        ({"surface_c": "20 K"}, "surface_c"),
        ({"surface_c": "9" * 5000}, "surface_c"),
        ({"surface_c": float("nan")}, "surface_c"),
        ({"product": {**PRODUCT, "source": ["data sheet"]}}, "product.source"),
        ({"air_c": "10,5"}, "air_c"),
        ({"at": "tomorrow"}, "at"),
        ({"at": "9999-12-31T23:00:00Z"}, "at"),
        ({"forecast": [{"at": "2031-06-01T00:00:00Z", "air_c": 5}]}, "forecast[0].humidity_pct"),
        ({"product": {**PRODUCT, "skin_minutes": -5}}, "product.skin_minutes"),
        ({"product": {**PRODUCT, "cure_mm_per_sqrt_day": 0}}, "product.cure_mm_per_sqrt_day"),
        ({"product": {**PRODUCT, "humidity_least_pct": 90, "humidity_most_pct": 40}}, "product.humidity_least_pct"),
        ({"days_since": -1}, "days_since"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(more, field):
    with pytest.raises(BadInput) as refused:
        judge(**more)
    assert refused.value.field == field


def test_a_margin_below_nothing_is_refused():
    with pytest.raises(BadInput, match=r"limits\.dew_margin"):
        sealing.judge(payload(), {"dew_margin": Limit(-15)})
