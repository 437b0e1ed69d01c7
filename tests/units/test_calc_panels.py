"""Panels: that they fill the clear width at every rounding, where each stands, and what cannot be built.

The formula is plain geometry with no published source: it is held here to walking along the opening panel by panel.
"""

import cmath
import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from jobs.calc.verdict import RESULTS, BadInput, Limit
from tests.verdicts import limits_of, unlike, vectors
from units.calc import panels
from units.calc.layout import (
    OTHER_HAND,
    Door,
    Shop,
    clear_width_for,
    cut,
    depth_taken,
    exact_widths,
    gap_when_closed,
    lay_out,
)
from units.calc.panels_sent import impossible
from units.calc.pocket import lean_in

MM = 1_000_000
SIXTEENTH = 1_587_500
JUDGED = [row for row in vectors("panels") if "expect" in row]
REFUSED = [row for row in vectors("panels") if "error" in row]
ASKED = {
    "clear_width": 6000, "clear_height": 3000, "panels": 4, "ways": "one-way", "pocket_side": "right",
    "meeting_lap": 60, "interlock_lap": 60, "jamb_engagement": 20, "height_deductions": {"rollers": 12, "head": 28},
    "pull": 50, "stop": 20, "pocket_clearance": 25, "pocket_depth": 1700, "track_pitch": 60, "covers": 30,
    "wall_clear": 300, "panel_thickness": 50,
}
TWO_WAY = {"ways": "two-way", "pocket_side": "both", "middle_lap": -4, "jamb_engagement": None}
LIMITS = {name: Limit(value) for name, value in {
    "panel_width_least": 600 * MM, "panel_width_most": 2000 * MM, "panel_height_least": 1000 * MM,
    "panel_height_most": 3200 * MM, "panel_area_most_m2": 6, "remainder_most": 3 * MM, "last_panel_gap": 457_200_000,
}.items()}


def judge(limits=LIMITS, **more):
    return panels.judge({**ASKED, **more}, limits)


def failed(verdict, quantity):
    return next(f for f in verdict.findings if f.within is False and f.quantity == quantity)


lengths = st.integers(0, 60 * MM)


@st.composite
def doors(draw):
    ways = draw(st.sampled_from(["one-way", "two-way"]))
    two = ways == "two-way"
    door = Door(draw(st.integers(1800 * MM, 18_288 * MM)), draw(st.integers(2 if two else 1, 8)), ways,
                "both" if two else draw(st.sampled_from(["left", "right"])), draw(lengths), draw(lengths),
                0 if two else draw(lengths), draw(st.integers(-12 * MM, 60 * MM)) if two else 0,
                draw(st.integers(-100 * MM, 100 * MM)), draw(st.sampled_from(["left", "right"])),
                draw(st.sampled_from(["outermost", "innermost"])), draw(lengths))
    assume(impossible(door, Shop()) is None)
    return door


shops = st.builds(Shop, st.sampled_from([1, MM, SIXTEENTH, 2 * SIXTEENTH, 5 * MM, 12_700_000]),
                  st.sampled_from(["down", "nearest", "up"]))


# ---- vectors --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", JUDGED, ids=lambda row: row["name"])
def test_each_vector_gets_the_verdict_it_expects(row):
    actual = panels.judge(row["given"], limits_of(row, panels.LIMITS)).as_dict()
    assert unlike(row["expect"], actual) == []
    assert actual["result"] in RESULTS


@pytest.mark.parametrize("row", REFUSED, ids=lambda row: row["name"])
def test_each_vector_that_cannot_be_is_refused_by_the_field_it_names(row):
    with pytest.raises(BadInput) as refused:
        panels.judge(row["given"], limits_of(row, panels.LIMITS))
    assert refused.value.field == row["error"]["field"]


# ---- widths ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("n", "clear", "lap", "width"), [
    (2, 3000, 50, Fraction(1525)), (3, 4500, 50, Fraction(4600, 3)), (4, 6000, 60, Fraction(1545))])
def test_meetings_alone_give_the_widths_computed_by_hand(n, clear, lap, width):
    """W = n p - m o with m = n - 1: computed by hand and back-checked; no published relation."""
    door = Door(clear * MM, n, "one-way", "right", lap * MM)
    assert exact_widths(door) == (width * MM, width * MM)


def test_the_lap_at_the_interlock_makes_each_of_four_panels_of_a_40_ft_door_10_mm_wider():
    door = Door(12_192 * MM, 4, "one-way", "right", 40 * MM)
    with_interlock = replace(door, interlock_lap=40 * MM)
    assert exact_widths(with_interlock)[0] - exact_widths(door)[0] == 10 * MM


@given(doors())
def test_the_exact_width_is_the_one_that_walking_along_the_opening_arrives_at(door):
    """Panel by panel from the first face; where it ends depends on the width in a straight line, so two walks tell."""
    def end(width):
        x = -door.interlock_lap if door.ways == "two-way" else -door.jamb_engagement
        counts = list(door.sides.values())
        for group, count in enumerate(counts):
            x -= door.middle_lap if group else 0
            for rank in range(count):
                x += width + (door.lead_wider_by if rank == (count - 1 if group == 0 else 0) else 0)
                x -= door.meeting_lap if rank < count - 1 else 0
        return x

    goal = door.clear_width + door.interlock_lap
    width = Fraction(goal - end(0), end(1) - end(0))
    assert exact_widths(door)[1] == width + door.lead_wider_by
    assert clear_width_for(door, width) == door.clear_width


@given(doors(), shops, st.booleans())
def test_panels_less_laps_fill_the_clear_width_at_every_rounding(door, shop, elsewhere):
    if elsewhere:
        shop = replace(shop, remainder_to="middle" if door.ways == "two-way" else "jamb")
    layout = lay_out(door, shop)
    spans = [panel.closed for panel in layout.panels]
    laps = [-spans[0][0], *(one[1] - other[0] for one, other in zip(spans, spans[1:], strict=False)),
            spans[-1][1] - door.clear_width]
    assert laps == [joint.lap for joint in layout.joints]
    assert sum(panel.width for panel in layout.panels) - sum(laps) == door.clear_width
    assert sum(joint.lap - joint.nominal for joint in layout.joints) == layout.cut.remainder
    assert all(joint.lap == joint.nominal for joint in layout.joints if joint.kind == "meeting")
    assert all(panel.closed[1] - panel.closed[0] == panel.width == panel.stacked[1] - panel.stacked[0]
               for panel in layout.panels)


@given(doors(), shops)
def test_every_panel_is_cut_to_a_whole_increment_and_no_further_off_than_one(door, shop):
    made, exact = cut(door, shop), exact_widths(door)
    for width, wanted in zip((made.width, made.lead_width), exact, strict=True):
        off = width - wanted
        assert width % shop.increment == 0
        assert {"down": -shop.increment < off <= 0, "up": 0 <= off < shop.increment,
                "nearest": abs(2 * off) <= shop.increment}[shop.rounding]


@given(doors(), shops, st.integers(0, 500 * MM))
def test_a_wider_opening_never_needs_a_narrower_panel(door, shop, more):
    one, other = cut(door, shop), cut(replace(door, clear_width=door.clear_width + more), shop)
    assert other.width >= one.width
    assert other.lead_width >= one.lead_width


@given(doors(), st.integers(1, 60 * MM))
def test_a_deeper_lap_never_needs_a_narrower_panel(door, more):
    for name in ("meeting_lap", "interlock_lap"):
        assert min(exact_widths(replace(door, **{name: getattr(door, name) + more}))) >= min(exact_widths(door))


# ---- where each stands ----------------------------------------------------------------------------------


@given(doors(), shops)
def test_the_other_hand_is_the_mirrored_layout(door, shop):
    def turned(span):
        return door.clear_width - span[1], door.clear_width - span[0]

    one, other = lay_out(door, shop), lay_out(door.mirrored(), shop)
    by_seat = {(panel.side, panel.rank): panel for panel in other.panels}
    for panel in one.panels:
        across = by_seat[OTHER_HAND[panel.side], panel.rank]
        assert (across.closed, across.stacked) == (turned(panel.closed), turned(panel.stacked))
        assert (across.width, across.track, across.position) == (panel.width, panel.track, panel.position)
        if door.ways == "one-way" or door.panels % 2:
            assert (across.letter, across.order) == (panel.letter, panel.order)
    assert [joint.lap for joint in one.joints] == [joint.lap for joint in reversed(other.joints)]


@given(doors())
def test_on_each_side_the_lead_panel_is_hung_first_and_the_pockets_own_last(door):
    layout = lay_out(door)
    assert [panel.letter for panel in layout.in_hanging_order] == list("ABCDEFGH"[:door.panels])
    assert [panel.order for panel in layout.in_hanging_order] == list(range(1, door.panels + 1))
    for side, count in door.sides.items():
        on = layout.on(side)
        assert [panel.order for panel in on] == sorted(panel.order for panel in on)
        assert [panel.position for panel in on] == ["lead", *["intermediate"] * (count - 2), "pocket"][:count]
    positions = [panel.position for panel in layout.in_hanging_order]
    assert "pocket" not in positions[:-positions.count("pocket") or None]


@given(doors())
def test_panels_stacked_in_one_pocket_run_on_tracks_of_their_own_and_the_leads_on_the_same(door):
    layout = lay_out(door)
    for side, count in door.sides.items():
        assert len({panel.track for panel in layout.on(side)}) == count
    leads = {panel.track for panel in layout.panels if panel.rank == 0}
    assert leads == {1 if door.lead_on == "outermost" else door.tracks}
    assert {panel.track for panel in layout.panels} == set(range(1, door.tracks + 1))


@given(doors())
def test_stacked_only_the_lead_panel_stays_out_and_by_as_much_as_it_is_to(door):
    layout = lay_out(door)
    for panel in layout.panels:
        out = door.clear_width - panel.stacked[0] if panel.side == "right" else panel.stacked[1]
        assert out == (0 if panel.rank else door.lead_stays_out)
    assert door.net_clear == door.clear_width - door.leads * door.lead_stays_out


def test_five_panels_two_ways_have_three_on_the_side_that_is_said_to_have_more():
    layout = lay_out(Door(9000 * MM, 5, "two-way", "both", 40 * MM, 40 * MM, 0, 0, more_on="right"))
    assert [(panel.letter, panel.side, panel.track) for panel in layout.panels] == [
        ("D", "left", 2), ("B", "left", 1), ("A", "right", 1), ("C", "right", 2), ("E", "right", 3)]


def test_a_gap_in_the_middle_is_left_open_between_the_two_lead_panels():
    layout = lay_out(Door(4000 * MM, 2, "two-way", "both", 0, 30 * MM, 0, -4 * MM))
    assert [panel.closed for panel in layout.panels] == [
        (-30 * MM, 1998 * MM), (2002 * MM, 4030 * MM)]


def test_the_gap_before_the_last_panel_is_from_the_panel_before_it_to_the_pocket():
    door = Door(6000 * MM, 4, "one-way", "left", 60 * MM, 60 * MM, 20 * MM)
    assert gap_when_closed(lay_out(door), "left") == 1565 * MM - 60 * MM - 60 * MM
    assert gap_when_closed(lay_out(replace(door, panels=1)), "left") is None


def test_a_panel_that_closes_nearer_to_the_pocket_than_the_gap_is_to_be_rolled_away():
    last = judge(panels=8, clear_width=3600, limits=LIMITS).computed["last_panels"][0]
    assert last["gap_when_closed_mm"] + last["roll_away_by_mm"] == last["gap_mm"] == 457_200_000
    assert (last["before"], last["panel"]) == ("G", "H")


@given(doors())
def test_the_pocket_takes_the_panel_that_reaches_deepest(door):
    layout = lay_out(door)
    for side in door.sides:
        widths = [panel.width - (0 if panel.rank else door.lead_stays_out) for panel in layout.on(side)]
        assert depth_taken(layout, side) == max(widths)


@given(st.integers(1, 4000), st.integers(1, 100), st.integers(1, 89))
def test_the_room_to_lean_a_panel_in_is_that_of_its_turned_corners(height, thickness, degrees):
    """Its four corners turned as complex numbers, to the micrometre."""
    turn = cmath.exp(-1j * math.radians(degrees))
    corners = [complex(x, y) * turn for x in (0, thickness) for y in (0, height)]
    room, reach = lean_in(height * MM, thickness * MM, Fraction(degrees))
    assert room / MM == pytest.approx(max(c.real for c in corners) - min(c.real for c in corners), abs=0.0011)
    assert reach / MM == pytest.approx(max(c.imag for c in corners) - min(c.imag for c in corners), abs=0.0011)


# ---- what can and cannot be built -----------------------------------------------------------------------


def test_all_that_is_given_and_within_its_limits_passes():
    verdict = judge()
    assert verdict.result == "pass"
    assert verdict.caution == "panels_are_heavy"
    assert verdict.computed["width_mm"] == 1565 * MM
    assert verdict.computed["panel_height_mm"] == 2960 * MM
    assert verdict.computed["pockets"][0]["depth_needed_mm"] == (1565 + 95) * MM
    assert verdict.computed["pockets"][0]["wall_needed_mm"] == (4 * 60 + 30) * MM


def test_a_frame_less_its_members_is_the_clear_width_and_height():
    one = judge(clear_width=None, clear_height=None, frame_width=6100, frame_height=3100,
                frame_deductions={"lock_jamb": 60, "interlock": 40, "head": 70, "sill": 30})
    assert one.computed == judge().computed
    two = judge(**TWO_WAY, clear_width=None, frame_width=6080, frame_deductions={"interlock": 40})
    assert two.computed["clear_width_mm"] == 6000 * MM


@pytest.mark.parametrize(("quantity", "more"), [
    ("panel_width_most", {"clear_width": 9000}), ("panel_width_least", {"clear_width": 2000}),
    ("panel_area", {"clear_width": 7400, "clear_height": 3240, "pocket_depth": 3000}),
    ("pocket_depth_spare", {"pocket_depth": 1500}), ("wall_spare", {"wall_clear": 250}),
    ("panel_width_most", {**TWO_WAY, "clear_width": 9000, "pocket_depth": 3000}),
])
def test_the_number_of_panels_that_a_remedy_names_does_not_fail_the_same_thing(quantity, more):
    remedy = failed(judge(**more), quantity).remedy.values
    again = judge(**{**more, "panels": remedy["panels"], "more_on": "left"})
    assert quantity not in {f.quantity for f in again.findings if f.within is False}
    assert again.computed["width_mm"] == remedy["width_mm"]
    assert {f.quantity for f in again.findings if f.within is False} == set(remedy["then_failing"])


@settings(max_examples=25)
@given(clear=st.integers(1500, 20_000), n=st.integers(1, 8), wider=st.integers(-50, 50),
       rounding=st.sampled_from(["down", "nearest", "up"]), shop=st.sampled_from(["1/16 in", "1 mm", "5 mm"]))
def test_the_clear_width_that_a_remedy_names_is_just_one_that_can_be_built(clear, n, wider, rounding, shop):
    more = {"panels": n, "lead_wider_by": wider, "rounding": rounding, "increment": shop}
    verdict = judge(clear_width=clear, **more)
    for finding in verdict.findings:
        if finding.within is False and finding.quantity.startswith("panel_width"):
            clear_width = f"{finding.remedy.values['clear_width_mm'] / MM:.6f} mm"
            again = judge(**{**more, "clear_width": clear_width})
            assert all(f.within for f in again.findings
                       if (f.quantity, f.where.get("lead")) == (finding.quantity, finding.where["lead"]))


def test_a_pocket_too_shallow_says_how_much_deeper_and_that_is_just_enough():
    remedy = failed(judge(pocket_depth=1600), "pocket_depth_spare").remedy.values
    assert remedy["by_mm"] == 60 * MM
    assert judge(pocket_depth=1660).result == "pass"
    assert judge(pocket_depth="1659.999999 mm").result == "fail"


def test_what_must_be_left_over_in_pocket_and_wall_is_asked_for_where_somebody_set_it():
    limits = {**LIMITS, "pocket_depth_spare": Limit(10 * MM), "wall_spare": Limit(30 * MM)}
    assert judge(limits=limits, pocket_depth=1670, wall_clear=300).result == "pass"
    assert judge(limits=limits, pocket_depth=1669, wall_clear=300).result == "fail"
    assert judge(limits=limits, pocket_depth=1670, wall_clear=299).result == "fail"


def test_a_pocket_on_each_side_is_judged_by_itself():
    verdict = judge(**TWO_WAY, panels=5, more_on="left", pocket_depth={"left": 1700, "right": 1000},
                    wall_clear={"left": 209, "right": 150})
    assert {(f.quantity, f.where["side"]) for f in verdict.findings if f.within is False} == {
        ("pocket_depth_spare", "right"), ("wall_spare", "left")}


def test_it_names_every_number_of_panels_that_could_be_built():
    verdict = judge(clear_width=9000, pocket_depth=3000, wall_clear=400)
    assert verdict.computed["can_be_built_with_panels"] == [5, 6]
    assert failed(verdict, "panel_width_most").remedy.values["panels"] == 5


def test_a_number_of_panels_that_fails_nothing_else_is_named_before_a_nearer_one():
    """Five are narrow enough; but only six are small enough as well."""
    verdict = judge(clear_width=9000, pocket_depth=3000, wall_clear=400,
                    limits={**LIMITS, "panel_area_most_m2": Limit(5)})
    remedy = failed(verdict, "panel_width_most").remedy.values
    assert (remedy["panels"], remedy["then_failing"]) == (6, [])


@pytest.mark.parametrize(("wider", "rounding", "clear", "quantity"), [
    (1, "down", 1901, "panel_width_least"), (-1, "up", 9007, "panel_width_most")])
def test_lead_and_other_panels_cut_alike_are_all_within_in_the_opening_that_would_do(wider, rounding, clear, quantity):
    """Cut in fives, a lead panel that should be 1 mm wider comes out as wide as the others."""
    more = {"increment": 5, "lead_wider_by": wider, "rounding": rounding}
    finding = failed(judge(clear_width=clear, **more), quantity)
    assert len(finding.where["panels"]) == 4
    again = judge(clear_width=finding.remedy.values["clear_width_mm"] / MM, **more)
    assert quantity not in {f.quantity for f in again.findings if f.within is False}


def test_a_gap_that_grows_in_the_middle_is_no_lap_that_is_lost():
    verdict = judge(**TWO_WAY, increment=10, rounding="down", remainder_to="middle")
    assert failed(verdict, "remainder").where["joint"] == "middle"
    assert "lap_left" not in {f.quantity for f in verdict.findings}


def test_where_no_number_of_panels_will_do_it_says_so_and_which_opening_would():
    limits = {**LIMITS, "panel_width_least": Limit(1900 * MM), "panel_width_most": Limit(1901 * MM)}
    remedy = failed(judge(limits=limits, panels=2, clear_width=5000, pocket_depth=4000), "panel_width_most").remedy
    assert remedy.code == "no_number_of_panels_fits"
    assert remedy.values["clear_width_mm"] == (2 * 1901 - 60 - 60 - 20) * MM


def test_cutting_coarsely_is_shown_against_what_a_lap_may_take_and_what_is_left_of_it():
    verdict = judge(increment="1 in", rounding="up")
    assert failed(verdict, "remainder").value == verdict.computed["remainder"]["remainder_mm"]
    short = judge(increment="1 in", rounding="down", interlock_lap=20)
    assert failed(short, "lap_left").value < 0


def test_panels_cut_already_are_held_against_what_fills_the_opening():
    verdict = judge(panel_width=1564)
    assert verdict.computed["remainder"]["remainder_mm"] == -4 * MM
    assert failed(verdict, "remainder").remedy.values["exact_width_mm"] == 1565 * MM
    assert judge(panel_width=1565).result == "pass"


def test_limits_nobody_set_leave_it_unjudged():
    assert judge(limits={}).result == "no_limit_set"


@pytest.mark.parametrize("lacking", [
    "clear_width", "clear_height", "panels", "ways", "pocket_side", "meeting_lap", "interlock_lap", "jamb_engagement",
    "height_deductions", "pull", "stop", "pocket_clearance", "pocket_depth", "track_pitch", "covers", "wall_clear"])
def test_what_is_lacking_is_named_and_nothing_passes_without_it(lacking):
    verdict = judge(**{lacking: None})
    assert verdict.result == "not_enough_data"
    assert {"what": lacking} in verdict.missing


def test_one_panel_needs_no_meeting_lap_and_two_ways_need_no_jamb():
    one = judge(panels=1, clear_width=1500, meeting_lap=None)
    assert {"what": "meeting_lap"} not in one.missing
    two = judge(**TWO_WAY)
    assert two.missing == ()
    assert judge(**TWO_WAY, panels=3).missing == ({"what": "more_on"},)


def test_a_member_of_the_frame_whose_width_nobody_gave_is_named():
    verdict = judge(clear_width=None, frame_width=6100, frame_deductions={"lock_jamb": 60})
    assert verdict.missing == ({"what": "frame_deductions.interlock", "for": "clear_width"},)


def test_a_pocket_of_one_side_that_nobody_measured_is_named_by_its_side():
    assert {"what": "pocket_depth", "side": "right"} in judge(**TWO_WAY, pocket_depth={"left": 1700}).missing


@pytest.mark.parametrize(("more", "what"), [
    ({"clear_width": "62 ft", "panels": 10}, "clear_width"), ({"clear_height": "21 ft"}, "clear_height"),
    ({"meeting_lap": 600}, "meeting_lap"), ({"lead_wider_by": -500}, "lead_wider_by"),
    ({"increment": "1/2 in"}, "increment"), ({"height_deductions": 800}, "height_deductions")])
def test_what_is_seldom_so_is_kept_and_looked_at_twice(more, what):
    assert what in {look["what"] for look in judge(**more).second_look}


@pytest.mark.parametrize(("more", "field"), [
    ({"panels": 0}, "panels"), ({"panels": 2.5}, "panels"), ({"panels": 25}, "panels"), ({"panels": True}, "panels"),
    ({**TWO_WAY, "panels": 1}, "panels"), ({"panels": "four"}, "panels"), ({"ways": "three-way"}, "ways"),
    ({"pocket_side": "both"}, "pocket_side"), ({**TWO_WAY, "pocket_side": "left"}, "pocket_side"),
    ({"clear_width": 0}, "clear_width"), ({"clear_width": -1}, "clear_width"), ({"frame_width": 6100}, "clear_width"),
    ({"meeting_lap": 6100}, "meeting_lap"), ({"interlock_lap": 6100}, "interlock_lap"),
    ({"jamb_engagement": 6100}, "jamb_engagement"), ({**TWO_WAY, "middle_lap": -9000}, "middle_lap"),
    ({"lead_wider_by": 9000}, "lead_wider_by"), ({"lead_wider_by": -9000}, "lead_wider_by"),
    ({"increment": 0}, "increment"), ({"increment": 4000}, "increment"), ({"panel_width": 6200}, "panel_width"),
    ({"panel_width": 0}, "panel_width"), ({"panel_thickness": 60}, "panel_thickness"),
    ({"track_pitch": 0}, "track_pitch"), ({"height_deductions": 3000}, "height_deductions"),
    ({"lean_in_angle": 90}, "lean_in_angle"), ({"lean_in_angle": 0}, "lean_in_angle"),
    ({"remainder_to": "middle"}, "remainder_to"), ({**TWO_WAY, "remainder_to": "jamb"}, "remainder_to"),
    ({"clear_width": None, "frame_width": 90, "frame_deductions": {"lock_jamb": 60, "interlock": 40}},
     "frame_deductions"),
    ({"frame_deductions": {"transom": 60}, "clear_width": None, "frame_width": 6100}, "frame_deductions.transom"),
    ({"frame_deductions": {"lock_jamb": 19}}, "jamb_engagement"), ({"pocket_depth": {"top": 5}}, "pocket_depth.top"),
    ({"pocket_depth": {"left": -5}}, "pocket_depth.left"), ({"height_deductions": {"head": "x"}},
                                                            "height_deductions.head")])
def test_what_cannot_be_is_refused_by_its_field(more, field):
    with pytest.raises(BadInput) as refused:
        judge(**more)
    assert refused.value.field == field
    assert refused.value.right
