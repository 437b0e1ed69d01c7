"""Weights: glass by its layers, panels part by part, their centre of mass; computed against weighed."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from structuralglass import Q_
from structuralglass.layers import GlassPly, t_min_lookup_imperial, t_min_lookup_metric

from jobs.calc.verdict import RESULTS, BadInput, Limit
from tests.quantities import UNITS
from tests.verdicts import limits_of, unlike, vectors
from units.calc import weights
from units.calc.glass import BY_INCHES, NOMINAL, Glass, Layer, kg_a_square_metre
from units.calc.mass import Inset, Make, Panel, Piece, kg_for_each_nm, weigh

MM = 1_000_000
INCH = 25_400_000
PVB = 1070  # kg/m3, value from memory
JUDGED = [row for row in vectors("weights") if "expect" in row]
REFUSED = [row for row in vectors("weights") if "error" in row]
ASKED = {
    "panels": [{"panel": "A", "width": 2000, "height": 3000}, {"panel": "B", "width": 1500, "height": 3000}],
    "glass": [{"kind": "pane", "nominal": 6}, {"kind": "space", "width": 12}, {"kind": "pane", "nominal": 6}],
    "glass_inset": 50, "stile_kg_per_m": 2, "rail_kg_per_m": 3,
    "hardware": [{"what": "rollers", "kg": 1, "count": 2},
                 {"what": "lock", "kg": 2, "at": [40, 1000], "panels": ["A"]}],
}
LIMITS = {"panel_mass_most": Limit(250), "weighed_apart": Limit(5), "interlayer_density": Limit(PVB)}


def judge(limits=LIMITS, **more):
    return weights.judge({**ASKED, **more}, limits)


def pane(*mm):
    return Glass(tuple(Layer((int(one * MM),)) for one in mm))


amounts = st.fractions(0, 20, max_denominator=1000)
edges = st.integers(0, 200 * MM)


@st.composite
def made(draw):
    """A panel and what it is made of."""
    panel = Panel("A", draw(st.integers(900 * MM, 4000 * MM)), draw(st.integers(1500 * MM, 5000 * MM)))
    layers = draw(st.lists(st.builds(
        Layer, st.lists(st.sampled_from(NOMINAL), min_size=1, max_size=3).map(tuple), st.just(760_000)),
        min_size=1, max_size=3))
    places = st.tuples(st.integers(0, panel.width), st.integers(0, panel.height))
    pieces = draw(st.lists(st.builds(Piece, st.just("piece"), amounts, st.integers(1, 4), st.none() | places),
                           max_size=4))
    return panel, Make(Glass(tuple(layers)), PVB, Inset(*(draw(edges) for _ in range(4))),
                       (draw(amounts), draw(amounts)), (draw(amounts), draw(amounts)), draw(edges), draw(edges),
                       tuple(pieces))


# ---- vectors --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", JUDGED, ids=lambda row: row["name"])
def test_each_vector_gets_the_verdict_it_expects(row):
    actual = weights.judge(row["given"], limits_of(row, weights.LIMITS)).as_dict()
    assert unlike(row["expect"], actual) == []
    assert actual["result"] in RESULTS


@pytest.mark.parametrize("row", REFUSED, ids=lambda row: row["name"])
def test_each_vector_that_cannot_be_is_refused_by_the_field_it_names(row):
    with pytest.raises(BadInput) as refused:
        weights.judge(row["given"], limits_of(row, weights.LIMITS))
    assert refused.value.field == row["error"]["field"]


# ---- glass ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("glass", "kg"), [
    (pane(2), 5), (pane(4), 10), (pane(6), 15), (pane(10), 25), (pane(12), 30), (pane(4, 4), 20), (pane(4, 4, 4), 30)])
def test_a_square_metre_weighs_what_a_suppliers_public_table_prints(glass, kg):
    """A glass supplier's public table; 1 m2 of 1 mm is 2.5 kg (EN 572-1, read in a copy)."""
    assert kg_a_square_metre(glass, None) == kg


@pytest.mark.parametrize(("mm", "kg", "pounds"), [
    (2.5, 6.25, 1.280), (3, 7.5, 1.536), (4, 10, 2.048), (5, 12.5, 2.560), (6, 15, 3.072), (8, 20, 4.096),
    (10, 25, 5.120), (12, 30, 6.144), (16, 40, 8.193), (19, 47.5, 9.729)])
def test_a_square_foot_weighs_as_many_pounds_as_pint_says(mm, kg, pounds):
    """The nominal column of the table of thicknesses; pounds a square foot computed with pint."""
    assert kg_a_square_metre(pane(mm), None) == Fraction(str(kg))
    assert UNITS.Quantity(kg, "kg/m**2").to("lb/ft**2").magnitude == pytest.approx(pounds, abs=0.0006)


@given(st.lists(st.sampled_from(NOMINAL), min_size=1, max_size=4))
def test_panes_weigh_what_density_times_thickness_is_in_pint(plies):
    glass = Glass(tuple(Layer((ply,)) for ply in plies))
    expected = sum(UNITS.Quantity(2500, "kg/m**3") * UNITS.Quantity(ply, "nm") for ply in plies)
    assert float(kg_a_square_metre(glass, None)) == pytest.approx(expected.to("kg/m**2").magnitude, rel=1e-12)


def test_a_laminate_weighs_its_interlayer_too():
    """Two plies of 4 mm with 0.76 mm between: 20.81 kg/m2, the plies alone 20 (computed; 1070 kg/m3 from memory)."""
    laminate = Glass((Layer((4 * MM, 4 * MM), 760_000),))
    assert kg_a_square_metre(laminate, PVB) == Fraction("20.8132")
    assert kg_a_square_metre(laminate, None) is None
    assert laminate.thickness == 8_760_000


def test_the_thicknesses_that_are_made_are_those_of_the_published_table():
    """The table of ASTM E1300 as structuralglass has it; 15 mm is of the European series, value from memory."""
    assert {nm / MM for nm in NOMINAL} - {15} == {float(mm) for mm in t_min_lookup_metric}


def test_glass_named_by_parts_of_an_inch_is_that_of_the_same_least_thickness():
    by_inches = {Fraction(nm, INCH): made for nm, made in BY_INCHES.items()}
    assert by_inches.keys() == {Fraction(inches) for inches in t_min_lookup_imperial}
    for inches, least in t_min_lookup_imperial.items():
        assert t_min_lookup_metric[by_inches[Fraction(inches)] / MM] == least


def test_the_weight_is_of_the_nominal_thickness_and_so_never_less_than_of_the_least_allowed():
    for mm in (2.5, 3, 4, 5, 6, 8, 10, 12, 16, 19):
        least = GlassPly.from_nominal_thickness(Q_(mm, "mm")).t_min.to("mm").magnitude
        assert 0.86 < least / mm < 1
        assert kg_a_square_metre(pane(mm), None) > Fraction(str(least)) * Fraction(5, 2)


# ---- panels ---------------------------------------------------------------------------------------------


def test_a_panel_of_a_published_size_weighs_what_was_worked_out():
    """6 mm, 1.5 x 2.0 m is 45 kg (a supplier's public table); 12 mm, 2.09 x 3.05 m is 191 kg in glass alone;
    6/12/6, 2.4 x 1.5 m is 108 kg (computed)."""
    for glass, width, height, kg in (
            (pane(6), 1500, 2000, 45), (pane(12), 2090, 3050, 191), (pane(6, 6), 2400, 1500, 108)):
        weight = weigh(Panel("A", width * MM, height * MM), Make(glass))
        assert round(weight.of("glass")) == kg


def test_a_panel_is_the_sum_of_its_parts():
    weight = judge().computed["panels"][0]
    assert weight["glass_kg"] == Fraction(30) * Fraction("1.9") * Fraction("2.9")
    assert weight["stiles_kg"] == 2 * 2 * 3
    assert weight["rails_kg"] == 2 * 3 * 2
    assert weight["hardware_kg"] == 2 + 2
    assert weight["computed_kg"] == Fraction("165.3") + 12 + 12 + 4
    assert weight["computed_grams"] == 193_300


def test_a_piece_counts_only_on_the_panels_it_is_on():
    a, b = judge().computed["panels"]
    assert (a["hardware_kg"], b["hardware_kg"]) == (4, 2)
    assert a["hardware_without_a_place"] == ["rollers"]


@given(made())
def test_the_centre_of_mass_is_where_a_grid_of_small_masses_balances(drawn):
    """Another way: panel cut into strips, each with its own mass, summed in numpy."""
    panel, make = drawn
    masses, xs, ys = [], [], []

    def spread(kg, x0, x1, y0, y1, n=8):
        x, y = (np.arange(n) + 0.5) / n * (x1 - x0) + x0, (np.arange(n) + 0.5) / n * (y1 - y0) + y0
        for one in np.stack(np.meshgrid(x, y), -1).reshape(-1, 2):
            masses.append(float(kg) / n**2), xs.append(one[0]), ys.append(one[1])

    width, height, inset = panel.width / 1e9, panel.height / 1e9, make.inset
    face, rail = make.stile_face / 1e9, make.rail_face / 1e9
    left, right = inset.lead / 1e9, width - inset.tail / 1e9
    bottom, top = inset.bottom / 1e9, height - inset.top / 1e9
    spread((right - left) * (top - bottom) * float(make.kg_a_square_metre), left, right, bottom, top)
    spread(make.stiles[0] * panel.height / 10**9, 0, face, 0, height)
    spread(make.stiles[1] * panel.height / 10**9, width - face, width, 0, height)
    long = (panel.width - 2 * make.stile_face) / 1e9
    spread(float(make.rails[0]) * long, face, width - face, 0, rail)
    spread(float(make.rails[1]) * long, face, width - face, height - rail, height)
    for piece in make.hardware:
        x, y = piece.at or (panel.width / 2, panel.height / 2)
        spread(piece.kg * piece.count, x / 1e9, x / 1e9, y / 1e9, y / 1e9)
    weight = weigh(panel, make)
    assert float(weight.total) == pytest.approx(sum(masses), rel=1e-9)
    assert [float(at) / 1e9 for at in weight.centre] == pytest.approx(
        [np.average(xs, weights=masses), np.average(ys, weights=masses)], rel=1e-9)


@given(made())
def test_turned_end_for_end_and_upside_down_it_balances_at_the_same_spot(drawn):
    panel, make = drawn
    inset = make.inset
    turned = replace(
        make, inset=Inset(inset.tail, inset.lead, inset.top, inset.bottom), stiles=make.stiles[::-1],
        rails=make.rails[::-1],
        hardware=tuple(replace(p, at=p.at and (panel.width - p.at[0], panel.height - p.at[1])) for p in make.hardware))
    (x, y), (u, v) = weigh(panel, make).centre, weigh(panel, turned).centre
    assert (x + u, y + v) == (panel.width, panel.height)


@given(made(), st.integers(1, 500 * MM))
def test_a_wider_or_higher_panel_is_never_lighter(drawn, more):
    panel, make = drawn
    before = weigh(panel, make).total
    wider = weigh(replace(panel, width=panel.width + more), make).total
    assert wider > before
    assert wider - before == more * kg_for_each_nm(weigh(panel, make))
    assert weigh(replace(panel, height=panel.height + more), make).total > before


@given(made(), st.fractions(Fraction(1, 1000), 5, max_denominator=1000), st.integers(0, 3))
def test_more_glass_heavier_stiles_or_rails_or_another_piece_is_never_lighter(drawn, more, which):
    panel, make = drawn
    heavier = (
        replace(make, glass=Glass((*make.glass.layers, Layer((3 * MM,))))),
        replace(make, stiles=(make.stiles[0] + more, make.stiles[1])),
        replace(make, rails=(make.rails[0], make.rails[1] + more)),
        replace(make, hardware=(*make.hardware, Piece("one more", more))),
    )[which]
    assert weigh(panel, heavier).total > weigh(panel, make).total


# ---- the judgement --------------------------------------------------------------------------------------


def test_computed_and_weighed_are_both_kept_and_the_heavier_is_judged():
    panels = [{"panel": "A", "width": 2000, "height": 3000, "weighed": 200},
              {"panel": "B", "width": 2000, "height": 3000, "weighed": 190}]
    verdict = judge(panels=panels)
    a, b = verdict.computed["panels"]
    assert (a["computed_kg"], a["weighed_kg"], a["handle_by"]) == (Fraction("193.3"), 200, "weighed")
    assert (b["weighed_kg"], b["handle_by"], b["handle_by_kg"]) == (190, "computed", Fraction("191.3"))
    assert [f.value for f in verdict.findings] == [200, Fraction("191.3")]
    assert verdict.second_look == ()


@pytest.mark.parametrize(("weighed", "looked_at"), [
    ("202.965", False), ("202.966", True), ("183.635", False), ("183.634", True)])
def test_they_are_looked_at_twice_when_they_are_more_than_the_limit_apart(weighed, looked_at):
    """193.3 kg computed: 5 % of it is 9.665."""
    verdict = judge(panels={"panel": "A", "width": 2000, "height": 3000, "weighed": weighed})
    assert ("weighed_apart_from_computed" in {look["why"] for look in verdict.second_look}) is looked_at


def test_a_panel_too_heavy_says_how_wide_it_might_be_and_that_is_just_within():
    panels = {"panel": "A", "width": 3000, "height": 3000}
    remedy = judge(panels=panels).findings[0].remedy
    assert remedy.code == "narrower_panels_or_lighter_glass"
    for more, within in ((0, True), (1, False)):
        width = f"{(remedy.values['width_at_most_mm'] + more) / MM:.6f} mm"
        assert judge(panels={**panels, "width": width}).findings[0].within is within


def test_on_its_limit_a_panel_is_within_it():
    assert judge(limits={**LIMITS, "panel_mass_most": Limit(193.3)}).result == "pass"


def test_a_limit_nobody_set_leaves_the_masses_unjudged():
    assert judge(limits={}).result == "no_limit_set"


@pytest.mark.parametrize("lacking", ["glass", "stile_kg_per_m", "rail_kg_per_m", "hardware"])
def test_without_a_part_of_it_a_panel_has_no_weight_and_nothing_passes(lacking):
    verdict = judge(**{lacking: None})
    assert verdict.result == "not_enough_data"
    assert verdict.missing == ({"what": lacking},)
    assert {p["computed_kg"] for p in verdict.computed["panels"]} == {None}
    assert {p["handle_by_kg"] for p in verdict.computed["panels"]} == {None}
    assert verdict.findings == ()


def test_what_is_known_of_a_panel_may_be_too_heavy_already():
    verdict = judge(hardware=None, limits={**LIMITS, "panel_mass_most": Limit(189)})
    assert verdict.result == "fail"
    assert [f.where["panel"] for f in verdict.findings] == ["A"]


def test_a_laminate_whose_interlayer_nobody_gave_a_density_for_is_not_weighed_without_it():
    laminate = [{"kind": "laminate", "plies": [4, 4], "interlayer": 0.76}]
    verdict = judge(glass=laminate, limits={"panel_mass_most": Limit(250)})
    assert verdict.missing == ({"what": "interlayer_density"},)
    assert judge(glass=laminate).computed["glass"]["kg_a_square_metre"] == Fraction("20.8132")


def test_pounds_and_pounds_a_foot_are_those_of_pint():
    verdict = judge(panels={"panel": "A", "width": 1000, "height": 1000, "weighed": "120 lb"},
                    stile_kg_per_m="1.5 lb/ft", hardware=[])
    panel = verdict.computed["panels"][0]
    assert float(panel["weighed_kg"]) == pytest.approx(UNITS.Quantity(120, "lb").to("kg").magnitude, rel=1e-12)
    assert float(panel["stiles_kg"]) == pytest.approx(2 * UNITS.Quantity(1.5, "lb/ft").to("kg/m").magnitude, rel=1e-12)


@pytest.mark.parametrize(("panel", "what"), [
    ({"width": 6000, "height": 6000}, "mass"), ({"width": 300, "height": 300}, "mass"),
    ({"width": "20 ft 1 in", "height": 1000}, "width"), ({"width": 1000, "height": "20 ft 1 in"}, "height")])
def test_what_is_seldom_so_is_kept_and_looked_at_twice(panel, what):
    bare = {"hardware": [], "stile_kg_per_m": 0, "rail_kg_per_m": 0, "glass_inset": 0}
    assert what in {look["what"] for look in judge(panels={"panel": "A", **panel}, **bare).second_look}


@pytest.mark.parametrize(("more", "field"), [
    ({"panels": []}, "panels"), ({"panels": None}, "panels"),
    ({"panels": {"panel": "A", "width": 0, "height": 1}}, "panels.width"),
    ({"panels": [{"panel": "A", "width": 1, "height": -1}]}, "panels[0].height"),
    ({"panels": [{"panel": "A", "width": 900, "height": 900}] * 2}, "panels[1].panel"),
    ({"panels": {"panel": "A", "width": 900, "height": 900, "weighed": 15000}}, "panels.weighed"),
    ({"panels": {"panel": "A", "width": 900, "height": 900, "weighed": 0}}, "panels.weighed"),
    ({"panels": {"panel": "A", "width": 900, "height": 900, "weighed": "-5"}}, "panels.weighed"),
    ({"panels": {"panel": "A", "width": 20000, "height": 20000}}, "panels"),
    ({"glass": []}, "glass"), ({"glass": [{"kind": "space", "width": 12}]}, "glass"),
    ({"glass": [{"kind": "pane", "nominal": 7}]}, "glass[0].nominal"),
    ({"glass": [{"kind": "pane", "nominal": "7/16 in"}]}, "glass[0].nominal"),
    ({"glass": [{"kind": "pane", "nominal": 0}]}, "glass[0].nominal"),
    ({"glass": [{"kind": "pane"}]}, "glass[0].nominal"),
    ({"glass": [{"kind": "foil"}]}, "glass[0].kind"), ({"glass": ["pane"]}, "glass[0]"),
    ({"glass": [{"kind": "laminate", "plies": [6], "interlayer": 0.76}]}, "glass[0].plies"),
    ({"glass": [{"kind": "laminate", "plies": [6, 5.9], "interlayer": 0.76}]}, "glass[0].plies[1]"),
    ({"glass": [{"kind": "laminate", "plies": [6, 6], "interlayer": 0}]}, "glass[0].interlayer"),
    ({"glass": [{"kind": "laminate", "plies": [6, 6], "interlayer": 11}]}, "glass[0].interlayer"),
    ({"glass_inset": 750}, "glass_inset"), ({"glass_inset": {"side": 50}}, "glass_inset.side"),
    ({"stile_kg_per_m": -1}, "stile_kg_per_m"), ({"stile_kg_per_m": 201}, "stile_kg_per_m"),
    ({"stile_kg_per_m": {"lead": 1}}, "stile_kg_per_m.tail"), ({"rail_kg_per_m": {"side": 1}}, "rail_kg_per_m.side"),
    ({"rail_kg_per_m": "2 lb"}, "rail_kg_per_m"), ({"stile_face": 750}, "stile_face"),
    ({"rail_face": 1500}, "rail_face"), ({"hardware": [{"what": "lock", "kg": 1001}]}, "hardware[0].kg"),
    ({"hardware": [{"what": "lock"}]}, "hardware[0].kg"),
    ({"hardware": [{"what": "", "kg": 1}]}, "hardware[0].what"),
    ({"hardware": [{"what": "lock", "kg": 1, "count": 0}]}, "hardware[0].count"),
    ({"hardware": [{"what": "lock", "kg": 1, "at": [1600, 10]}]}, "hardware[0].at"),
    ({"hardware": [{"what": "lock", "kg": 1, "at": [10]}]}, "hardware[0].at"),
    ({"hardware": [{"what": "lock", "kg": 1, "at": {"x": 5, "y": -5}}]}, "hardware[0].at.y"),
    ({"hardware": [{"what": "lock", "kg": 1, "panels": ["C"]}]}, "hardware[0].panels[0]")])
def test_what_cannot_be_is_refused_by_its_field(more, field):
    with pytest.raises(BadInput) as refused:
        judge(**more)
    assert refused.value.field == field
    assert refused.value.right


def test_glass_nobody_makes_is_told_which_thicknesses_are_made():
    with pytest.raises(BadInput, match=r"10, 12, 16, 19, 22, 25 mm.*ASTM E1300\); or 15 mm, of the European series"):
        judge(glass=[{"kind": "pane", "nominal": 11}])
