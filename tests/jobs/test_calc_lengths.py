import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calc import lengths, reading
from jobs.calc.convert import convert
from jobs.calc.lengths import FOOT, INCH, MM, SIXTEENTH, Length, format_inches, format_mm, from_mm, parse, to_mm
from jobs.calc.verdict import BadInput
from tests.quantities import EXACT

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "lengths.json").read_text(encoding="utf-8"))
READ = [v for v in VECTORS if "expect" in v]
REFUSED = [v for v in VECTORS if "error" in v]

whole_lengths = st.integers(-lengths.LONGEST, lengths.LONGEST)
sizes_of_doors = st.integers(-60 * FOOT, 60 * FOOT)
parts_of_an_inch = st.sampled_from(lengths.PARTS)


@pytest.mark.parametrize("vector", READ, ids=[v["name"] for v in READ])
def test_it_reads_what_people_write(vector):
    assert convert(vector["given"]) == vector["expect"]


@pytest.mark.parametrize("vector", REFUSED, ids=[v["name"] for v in REFUSED])
def test_it_refuses_what_cannot_be_read_in_one_way_and_says_why(vector):
    with pytest.raises(BadInput) as refused:
        convert(vector["given"])
    assert refused.value.field == vector["error"]["field"]
    assert vector["error"]["says"] in refused.value.right


# ---- published values ------------------------------------------------------------------------------------


def test_an_inch_and_a_foot_are_the_exact_published_factors():
    # NIST SP 811 (2008), App. B.8: 1 in = 2.54 E-02 m, 1 ft = 3.048 E-01 m, exact (value from memory)
    assert (INCH, FOOT) == (25_400_000, 304_800_000)
    assert to_mm(INCH) == "25.400000"
    assert to_mm(FOOT) == "304.800000"


@pytest.mark.parametrize(("text", "mm"), [
    # exact arithmetic on 1 in = 25.4 mm
    ("8 ft 0 1/8 in", "2441.575000"),
    ("12 ft 7 5/16 in", "3843.337500"),
    ("1/64", "0.396875"),
])
def test_known_lengths_come_out_exactly(text, mm):
    assert to_mm(parse(text)) == mm


def test_no_sum_of_sixty_fourths_drifts():
    assert sum(parse("1/64") for _ in range(64 * 12)) == parse("1'")


def test_feet_are_never_survey_feet():
    # the US survey foot is 1200/3937 m, 0.3048006096 m: a nanometre-counter would see it at once
    assert parse("1 ft") != from_mm("304.8006096")
    with pytest.raises(ValueError, match="write a length"):
        parse("1 survey_foot")


# ---- against pint ----------------------------------------------------------------------------------------




def nanometres_by_pint(amount: Fraction, unit: str) -> Fraction:
    return EXACT.Quantity(amount, unit).to("nanometer").magnitude


@given(st.booleans(), st.integers(0, 60), st.integers(0, 11), st.integers(0, 63), st.sampled_from(["-", " "]))
def test_feet_inches_and_fractions_agree_with_pint(negative, feet, inches, marks, joint):
    text = f"{'-' if negative else ''}{feet}' {inches}{joint}{marks}/64\""
    exact = nanometres_by_pint(Fraction(feet), "foot") + nanometres_by_pint(inches + Fraction(marks, 64), "inch")
    assert parse(text) == (-exact if negative else exact)


@given(st.decimals(-3000, 3000, places=3), st.sampled_from(
    [("mm", "millimeter"), ("cm", "centimeter"), ("in", "inch"), ("ft", "foot")]))
def test_decimals_in_every_unit_agree_with_pint(amount, unit):
    written, name = unit
    assert parse(f"{amount} {written}") == nanometres_by_pint(Fraction(amount), name)


@given(st.decimals(-1000, 1000, places=6))
def test_metres_agree_with_pint(amount):
    assert parse(f"{amount:f} m") == nanometres_by_pint(Fraction(amount), "meter")


# ---- properties ------------------------------------------------------------------------------------------


@given(st.integers(-39_000, 39_000), parts_of_an_inch, st.booleans())
def test_what_is_printed_on_the_grid_is_read_back_unchanged(marks, parts, feet):
    nm = marks * (INCH // parts)
    assert parse(format_inches(nm, parts, feet)) == nm


@given(sizes_of_doors, parts_of_an_inch, st.booleans())
def test_printing_is_never_more_than_half_a_mark_off(nm, parts, feet):
    assert 2 * abs(parse(format_inches(nm, parts, feet)) - nm) <= INCH // parts


@given(sizes_of_doors, parts_of_an_inch, st.booleans())
def test_printing_what_was_printed_changes_nothing(nm, parts, feet):
    once = format_inches(nm, parts, feet)
    assert format_inches(parse(once), parts, feet) == once


@given(sizes_of_doors, parts_of_an_inch, st.booleans())
def test_the_other_way_round_prints_the_same_with_the_other_sign(nm, parts, feet):
    # halves away from zero: to even or upwards would break it
    assert parse(format_inches(-nm, parts, feet)) == -parse(format_inches(nm, parts, feet))


@given(whole_lengths)
def test_millimetres_with_six_places_are_exact(nm):
    assert from_mm(to_mm(nm)) == from_mm(Decimal(to_mm(nm))) == parse(to_mm(nm) + " mm") == nm


@given(whole_lengths)
def test_tenths_of_a_millimetre_are_never_more_than_half_a_tenth_off(nm):
    near = (abs(nm) + MM // 20) // (MM // 10) * (MM // 10)
    assert from_mm(format_mm(nm).removesuffix(" mm")) == (near if nm >= 0 else -near)


@given(st.text(max_size=80))
def test_any_text_is_a_length_or_a_sentence(text):
    try:
        assert abs(parse(text)) <= lengths.LONGEST
    except ValueError as why:
        assert len(str(why)) > 20


@given(st.text(alphabet="0123456789 /-'\".½⅜′″’”−inftmc", max_size=20), st.sampled_from(["in", "mm"]))
def test_what_is_read_means_the_same_when_it_is_printed_and_read_again(text, unit):
    try:
        nm = parse(text, unit)
    except ValueError:
        return
    assert parse(to_mm(nm), "mm") == nm


# ---- the rest --------------------------------------------------------------------------------------------


def test_half_a_sixteenth_is_the_worst_that_printing_does():
    # 1/32 in = 0.79375 mm, by hand
    assert to_mm(parse(format_inches(SIXTEENTH // 2)) - SIXTEENTH // 2) == "0.793750"


def test_a_fraction_of_a_nanometre_is_rounded_once_from_the_exact_value():
    # 31.499.. sixteenths must not become 31.5 and then 32
    assert format_inches(Fraction(SIXTEENTH, 2) - Fraction(1, 10**9)) == '0"'
    assert format_mm(Fraction(MM, 20) - Fraction(1, 10**9)) == "0.0 mm"


@pytest.mark.parametrize(("value", "nm"), [
    (1, 1_000_000), ("25.4", INCH), ("\u22121.5875", -SIXTEENTH), (Decimal("0.0000005"), 1),
    (Decimal("-0.0000005"), -1), (Decimal("0.0000004999"), 0), (Decimal("1E-999999"), 0),
    (Decimal("0E+999999"), 0), (Decimal("1E+6"), 10**12),
])
def test_millimetres_become_the_nearest_nanometre_halves_away_from_zero(value, nm):
    assert from_mm(value) == nm


@pytest.mark.parametrize("value", [
    Decimal("NaN"), Decimal("Infinity"), Decimal("1E+999999"), 10**30, "1,5", "", "abc", "1e3", "9" * 61,
    Decimal("1000000.000001"),
])
def test_what_is_no_number_of_millimetres_is_refused(value):
    with pytest.raises(ValueError, match=r"millimetres|kilometre"):
        from_mm(value)


def test_a_number_too_large_names_its_field():
    with pytest.raises(BadInput) as refused:
        reading.length(1e300, "width")
    assert refused.value.field == "width"


def test_a_length_is_a_number_that_says_its_millimetres():
    length = Length(396_875)
    assert length == 396_875
    assert length.mm == "0.396875"
    assert json.dumps(length) == "396875"


@pytest.mark.parametrize("parts", [0, 3, 128, -16])
def test_an_inch_is_only_divided_as_tapes_are(parts):
    with pytest.raises(ValueError, match="divided"):
        format_inches(INCH, parts)


def test_a_bare_number_is_in_inches_or_in_millimetres():
    with pytest.raises(ValueError, match="bare number"):
        parse("1", "ft")


@given(st.floats(-20_000, 20_000))
def test_a_number_of_millimetres_is_read_the_same_on_the_short_way_as_on_the_exact_one(value):
    assert reading.length(value, "width", signed=True) == lengths.from_mm(Decimal(str(value)))


@given(st.integers(-10**10, 10**10))
def test_millimetres_with_six_places_keep_every_nanometre(nm):
    assert reading.length(nm / 1_000_000, "width", signed=True) == nm


@pytest.mark.parametrize(("value", "nm"), [(5e-7, 1), (-5e-7, -1), (2.5e-6, 3), (-2.5e-6, -3), (4.9e-7, 0)])
def test_a_number_between_two_nanometres_goes_away_from_nought_on_the_short_way_too(value, nm):
    assert reading.length(value, "width", signed=True) == nm
