"""Sealant: volumes, cartridges, and what is left in the last one."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.quantities import UNITS
from units.calc.sealant import FLUID_OUNCE, ML, DepthRule, Fillet, Joint, Product, Rectangle, cartridges, uses, yields

INCH, MM = 25_400_000, 1_000_000
TUBE = Fraction("10.1") * FLUID_OUNCE
SIZES = st.integers(1, 60 * MM)


def inches(text):
    return int(Fraction(text) * INCH)


def test_a_fluid_ounce_is_that_of_pint():
    assert float(FLUID_OUNCE) == pytest.approx(UNITS.Quantity(1, "US_fluid_ounce").to("milliliter").magnitude, rel=1e-9)


def test_a_fluid_ounce_is_exactly_231_128ths_of_a_cubic_inch():
    assert Fraction(231, 128) * Fraction("2.54") ** 3 == FLUID_OUNCE


def test_a_tube_of_10_1_fluid_ounces_is_18_2273_cubic_inches():
    """The factor 1.80469 is in a supplier's public table; pint the other way."""
    assert round(float(TUBE / Fraction("2.54") ** 3), 4) == 18.2273
    assert UNITS.Quantity(float(TUBE), "milliliter").to("inch ** 3").magnitude == pytest.approx(18.2273, abs=5e-5)


@pytest.mark.parametrize(
    ("width", "depth", "feet"),
    [("1/4", "1/4", 24.30), ("3/8", "1/4", 16.20), ("1/2", "1/4", 12.15), ("1/2", "3/8", 8.10), ("3/4", "3/8", 5.40)],
)
def test_what_a_tube_yields_is_what_pint_makes_of_it(width, depth, feet):
    found = float(yields(TUBE, Rectangle(inches(width), inches(depth))) / (12 * INCH))
    area = UNITS.Quantity(float(Fraction(width)), "inch") * UNITS.Quantity(float(Fraction(depth)), "inch")
    assert found == pytest.approx((UNITS.Quantity(10.1, "US_fluid_ounce") / area).to("foot").magnitude, rel=1e-9)
    assert round(found, 2) == feet


@pytest.mark.parametrize(("width", "depth", "metres"), [(6, 6, 8.333), (10, 6, 5.0), (12, 6, 4.167), (20, 10, 1.5)])
def test_what_300_millilitres_yield(width, depth, metres):
    assert round(float(yields(Fraction(300), Rectangle(width * MM, depth * MM)) / (1000 * MM)), 3) == metres


def test_a_quarter_inch_bead_yields_what_one_supplier_prints_and_not_twice_as_much():
    """24 ft out of 10.1 fl oz: a supplier's public table, 18 / (12 w d). Another prints 50 to 55 ft, twice that."""
    feet = yields(TUBE, Rectangle(INCH // 4, INCH // 4)) / (12 * INCH)
    assert 24 <= feet < 25


@pytest.mark.parametrize(("ounces", "printed"), [(10.1, 18.3), (27, 48.7), (30, 54.1)])
def test_cartridges_and_sausages_hold_the_cubic_inches_a_supplier_prints(ounces, printed):
    """A supplier's public table, rounded there; within half a per cent."""
    assert float(Fraction(str(ounces)) * FLUID_OUNCE / Fraction("16.387064")) == pytest.approx(printed, rel=0.005)


def test_310_millilitres_are_a_thirtieth_more_than_300():
    section = Rectangle(10 * MM, 6 * MM)
    assert yields(Fraction(310), section) / yields(Fraction(300), section) == Fraction(31, 30)


def test_a_fillet_takes_half_its_square():
    assert Joint("head", length=1000 * MM, section=Fillet(10 * MM)).volume == 50
    assert Joint("head", length=1000 * MM, section=Rectangle(10 * MM, 10 * MM)).volume == 100


def test_a_joint_that_is_never_sealed_takes_nothing_whatever_its_size():
    joint = Joint("sill", "outside", "never-seal", 4000 * MM, Rectangle(10 * MM, 6 * MM))
    assert joint.volume is None
    assert uses([joint], [Product("P", Fraction(300), Fraction(10))]) == ()


def test_a_volume_that_fills_its_cartridges_takes_no_more_of_them():
    assert cartridges(Fraction(900), Fraction(300)) == 3
    assert cartridges(Fraction(900) + Fraction(1, ML), Fraction(300)) == 4


def test_waste_is_put_on_top_before_the_cartridges_are_counted():
    joint = Joint("head", length=5000 * MM, section=Rectangle(10 * MM, 6 * MM), product="P")
    (use,) = uses([joint], [Product("P", Fraction(300), Fraction(10))])
    assert (use.volume, use.with_waste, use.cartridges, use.remainder) == (300, 330, 2, 270)


def test_the_joints_of_one_product_are_added_up_before_its_cartridges_are_counted():
    """Three joints of 1.2 cartridges are 3.6: four cartridges, not six."""
    joint = Joint("head", length=6000 * MM, section=Rectangle(10 * MM, 6 * MM), product="P")
    (use,) = uses([joint] * 3, [Product("P", Fraction(300), Fraction(0)), Product("Q")])
    assert (use.cartridges, use.remainder) == (4, 120)


@given(st.lists(st.tuples(st.integers(1, 10**11), SIZES, SIZES), min_size=1, max_size=6),
       st.fractions(1, 1000, max_denominator=1000), st.integers(0, 50))
def test_the_cartridges_hold_what_the_joints_take_and_one_fewer_would_not(sizes, cartridge, waste):
    """Against counting up from nought."""
    joints = [Joint("head", length=length, section=Rectangle(w, d), product="P") for length, w, d in sizes]
    (use,) = uses(joints, [Product("P", cartridge, Fraction(waste))])
    needed = sum(Fraction(length * w * d, ML) for length, w, d in sizes) * Fraction(100 + waste, 100)
    assert (use.cartridges - 1) * cartridge < needed <= use.cartridges * cartridge
    assert use.remainder == use.cartridges * cartridge - needed
    assert 0 <= use.remainder < cartridge


@pytest.mark.parametrize(("width", "depth"), [(6, 6), (10, 6), (12, 6), (20, 10), (26, 13), (40, 13)])
def test_a_joint_is_half_as_deep_as_wide_between_6_and_13_millimetres(width, depth):
    """depth = width / 2, not under 6 mm (1/4 in) nor over 13 mm (1/2 in): a textbook on architectural detailing."""
    assert DepthRule(Fraction(50), 6 * MM, 13 * MM).for_width(width * MM) == depth * MM


def test_where_nobody_set_the_share_no_depth_is_made_up():
    assert DepthRule(None, 6 * MM, 13 * MM).for_width(20 * MM) is None
