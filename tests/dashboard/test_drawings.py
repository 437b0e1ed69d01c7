"""The drawing is the status; it is read here as numbers, and once as the SVG that comes of them."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from django.template.loader import render_to_string
from django.utils import translation

from dashboard.drawings import profile
from dashboard.drawings.elevation import RING, SLIM, Built, BuiltPanel, large, slim, small
from dashboard.drawings.profile import plot
from dashboard.drawings.tape import tape
from dashboard.measures import Reader
from inspections.calc import floor as floor_calc
from jobs.calc.lengths import INCH
from jobs.calc.verdict import Limit
from jobs.stages import NUMBER, Stage
from tests.site import floor

READER = Reader("in")
PANELS = tuple(BuiltPanel(letter, "hung") for letter in "ABCD")
BUILT = Built(stage="accepted", width=6_000_000_000, height=2_700_000_000, pocket=1_600_000_000, panels=PANELS)


def at(stage, **over):
    return large(replace(BUILT, stage=stage.value, **over), READER)


def test_it_fills_in_as_the_work_is_done():
    for stage in Stage:
        drawn, n = at(stage), NUMBER[stage]
        assert drawn.dashed == (n < 2)
        assert bool(drawn.corners) == (n >= 1)
        assert bool(drawn.panels) == (n >= 2)
        assert bool(drawn.reveals) == (n >= 4)
        assert bool(drawn.weeps) == (n >= 5)
        assert bool(drawn.second_line) == (n >= 7)


def test_the_sill_is_never_drawn_sealed():
    drawn = at(Stage.SEALED)
    assert len(drawn.seals) == 3
    for path in drawn.seals:
        assert f"{drawn.opening.bottom}H" not in path


def test_a_joint_done_early_is_drawn_early():
    assert len(at(Stage.FRAME_SET, sealed=frozenset({"head"})).seals) == 1


@pytest.mark.parametrize(("side", "joint", "lines"), [
    ("left", "lock-jamb", ["right"]), ("left", "interlock", ["left"]), ("right", "Lock jamb", ["left"]),
    ("right", "interlock", ["right"]), ("both", "interlock-left", ["left"]), ("both", "Interlock right", ["right"]),
    ("both", "lock-jamb", []), ("none", "lock-jamb", ["left", "right"])])
def test_a_sealed_joint_is_drawn_at_the_end_where_it_is(side, joint, lines):
    drawn = at(Stage.FRAME_SET, pocket_side=side, sealed=frozenset({joint}))
    ends = {drawn.opening.x - 3: "left", drawn.opening.right + 3: "right"}
    assert [ends[round(float(path[1:].split(" ")[0]), 1)] for path in drawn.seals] == lines


@pytest.mark.parametrize(("side", "letters", "pockets"), [
    ("left", "DCBA", 1), ("right", "ABCD", 1), ("both", "ABCD", 2), ("none", "ABCD", 0)])
def test_the_lead_panel_closes_across_from_the_pocket(side, letters, pockets):
    drawn = at(Stage.PANELS_HUNG, pocket_side=side)
    assert "".join(p.letter for p in drawn.panels) == letters
    assert len(drawn.pockets) == pockets


@pytest.mark.parametrize(("tracks", "letters"), [
    ({"A": 3, "B": 2, "C": 1, "D": 1, "E": 2, "F": 3}, "ABCDEF"),  # letters run along the opening
    ({"A": 1, "B": 1, "C": 2, "D": 2, "E": 3, "F": 3}, "ECABDF"),  # letters run as they are hung: the leads meet
    ({"A": 1, "B": 1, "C": 2}, "CAB"),  # an odd number: one more to the left
    ({"A": 1, "B": 2, "C": 3, "D": 4}, "ABCD"),  # nothing says which belong together
])
def test_with_two_pockets_the_higher_the_track_the_nearer_to_a_pocket(tracks, letters):
    panels = tuple(BuiltPanel(letter, "hung", track=track) for letter, track in tracks.items())
    drawn = at(Stage.PANELS_HUNG, pocket_side="both", panels=panels)
    assert "".join(p.letter for p in drawn.panels) == letters


@pytest.mark.parametrize(("panels", "side", "other"), [(2, "left", "right"), (8, "left", "right"), (5, "both", "both"),
                                                      (8, "both", "both")])
def test_the_other_hand_is_drawn_mirrored(panels, side, other):
    hands = {"left": "right", "right": "left", "": ""}
    made = [BuiltPanel("ABCDEFGH"[n], "hung", track=1 + n // 2, side=("left", "right")[n % 2] if side == "both" else "")
            for n in range(panels)]
    here = at(Stage.ADJUSTED, pocket_side=side, panels=tuple(made))
    there = at(Stage.ADJUSTED, pocket_side=other, panels=tuple(replace(p, side=hands[p.side]) for p in made))
    assert [p.letter for p in here.panels] == [p.letter for p in reversed(there.panels)]
    left, right = (sorted(pocket.x - drawn.opening.middle for pocket in drawn.pockets) for drawn in (here, there))
    assert len(left) == len(right) and (side == "both" or left[0] < 0 < right[0])
    meet, mirrored = (float(drawn.reveals[0][1:].split(" ")[0]) - drawn.opening.middle for drawn in (here, there))
    assert meet == pytest.approx(-mirrored, abs=0.2)


def test_with_two_pockets_a_panel_is_drawn_on_the_side_of_its_pocket():
    sides = {"A": ("right", 1), "B": ("left", 1), "C": ("right", 2), "D": ("left", 2), "E": ("right", 3)}
    panels = tuple(BuiltPanel(letter, "hung", track=track, side=side) for letter, (side, track) in sides.items())
    drawn = at(Stage.PANELS_HUNG, pocket_side="both", panels=panels)
    assert "".join(p.letter for p in drawn.panels) == "DBACE"


@pytest.mark.parametrize(("sides", "share"), [
    ("RLRLL", 3 / 5), ("RLRLR", 2 / 5), ("RLR", 1 / 3), ("RL", 1 / 2), (" " * 5, 3 / 5), ("", 1 / 2)])
def test_with_two_pockets_the_lead_panels_are_seen_to_meet_where_they_do(sides, share):
    full = {"L": "left", "R": "right", " ": ""}
    panels = tuple(BuiltPanel("ABCDE"[n], "adjusted", track=n + 1, side=full[side]) for n, side in enumerate(sides))
    drawn = at(Stage.ADJUSTED, pocket_side="both", panels=panels)
    (path,) = drawn.reveals
    assert float(path[1:].split(" ")[0]) == pytest.approx(drawn.opening.x + share * drawn.opening.width, abs=0.2)


@pytest.mark.parametrize("side", ["left", "right", "both"])
@pytest.mark.parametrize("feet", [8, 20, 40])
def test_on_a_telephone_nothing_is_cut_off_and_no_two_dimensions_stand_on_each_other(side, feet):
    drawn = slim(replace(BUILT, stage="frame set", width=feet * 12 * INCH, pocket=5 * 12 * INCH + 3 * INCH // 16,
                         pocket_side=side), READER)
    assert drawn.width <= SLIM + 1 and drawn.share <= 100
    lying = [(d.y, d.x - 4 * len(d.text), d.x + 4 * len(d.text)) for d in drawn.dimensions if not d.upright]
    assert all(left >= 0 and right <= drawn.width and y < drawn.height for y, left, right in lying)
    assert all(a[2] <= b[1] or b[2] <= a[1] for a in lying for b in lying if a is not b and a[0] == b[0])


def test_the_next_panel_is_the_first_not_hung():
    panels = (BuiltPanel("A", "hung"), BuiltPanel("B", "received"), BuiltPanel("C", "expected"))
    drawn = at(Stage.FRAME_SET, panels=panels)
    assert [p.letter for p in drawn.panels if p.is_next] == ["B"]


def test_every_opening_of_a_list_has_the_same_scale():
    wide, narrow = replace(BUILT, width=12_000_000_000), BUILT
    drawn = [small(built, wide.whole_width) for built in (wide, narrow)]
    assert drawn[0].share == 100
    assert drawn[1].opening.width / drawn[0].opening.width == pytest.approx(0.5, abs=0.01)
    assert drawn[1].share / drawn[1].width == pytest.approx(drawn[0].share / drawn[0].width, rel=0.01)


def test_dimension_strings_say_the_sizes():
    assert [d.text for d in at(Stage.FRAME_SET).dimensions] == ["19' 8 1/4\"", "5' 3\"", "8' 10 5/16\""]


def test_punch_items_are_balloons_where_they_are():
    drawn = at(Stage.PUNCH_LIST, items=((1, "B"), (2, ""), (3, "B")))
    middle = next(p.box.middle for p in drawn.panels if p.letter == "B")
    assert [(b.text, b.x == middle) for b in drawn.balloons] == [("1", True), ("2", False), ("3", True)]
    assert len({(b.x, b.y) for b in drawn.balloons}) == 3


@pytest.mark.parametrize(("side", "where", "x", "y"), [
    ("left", "lock jamb", "right", "middle"), ("right", "Lock-jamb", "x", "middle"),
    ("left", "interlock", "x", "middle"),
    ("both", "right interlock", "right", "middle"), ("left", "Head, outside", "middle", "y"),
    ("left", "sill inside", "middle", "bottom")])
def test_an_item_at_a_jamb_head_or_sill_is_ringed_beside_it_with_a_leader_to_it(side, where, x, y):
    drawn = at(Stage.PUNCH_LIST, pocket_side=side, items=((1, where), (2, where)))
    first, second = drawn.balloons
    expected = {"x": {"x": drawn.opening.x, "right": drawn.opening.right, "middle": drawn.opening.middle}[x],
                "y": {"y": drawn.opening.y, "bottom": drawn.opening.bottom, "middle": drawn.opening.centre}[y]}
    assert first.to == pytest.approx((expected["x"], expected["y"]), abs=0.2)
    assert drawn.opening.x < first.x < drawn.opening.right and drawn.opening.y < first.y < drawn.opening.bottom
    fixed = 1 if x == "middle" else 0
    assert first.to[fixed] == second.to[fixed] and (first.x, first.y) != (second.x, second.y)
    assert first.leader and second.leader


@pytest.mark.parametrize("drawn_by", [large, slim])
@pytest.mark.parametrize("feet", [1, 2, 3, 4, 8])
def test_however_low_the_opening_no_ring_seems_to_be_of_something_else(drawn_by, feet):
    """It stands at its own member or has a leader there that runs through no other ring, or is in the list only."""
    where = dict(enumerate(["lock jamb"] * 3 + ["interlock"] * 3 + ["head", "sill", "A", "pocket"], start=1))
    built = replace(BUILT, stage="punch list", height=feet * 12 * INCH, width=72 * INCH, panels=PANELS[:2],
                    items=tuple(where.items()))
    drawn = drawn_by(built, READER)
    ends = {"lock jamb": drawn.opening.right, "interlock": drawn.opening.x}
    rings = {balloon: where[int(balloon.text)] for balloon in drawn.balloons}
    assert all(ring.to[0] == ends[of] for ring, of in rings.items() if of in ends)
    for ring in rings:
        for other in rings.keys() - {ring}:
            between = ring.to is not None and min(ring.x, ring.to[0]) <= other.x <= max(ring.x, ring.to[0])
            assert not (between and ring.to[1] == ring.y and abs(other.y - ring.y) < RING)
    assert feet < 8 or drawn_by is slim or len(rings) == len(where)


def test_what_has_no_room_under_a_low_head_stands_over_it_with_a_leader_from_there():
    built = replace(BUILT, stage="punch list", height=10 * 12 * INCH, width=30 * 12 * INCH, pocket=6 * 12 * INCH,
                    items=((1, "head"), (2, "lock jamb"), (3, "A"), (4, "")))
    drawn = slim(built, READER)
    assert [balloon.text for balloon in drawn.balloons] == ["1", "2", "3", "4"]
    [over] = [balloon for balloon in drawn.balloons if balloon.y + RING < drawn.opening.y]
    assert (over.text, over.to[0]) == ("2", drawn.opening.right) and over.y > RING and over.leader
    assert drawn.opening.y < over.to[1] < drawn.opening.centre, "in its upper half, clear of the head"
    assert slim(replace(built, items=((1, "head"),)), READER).opening.y < drawn.opening.y, "only where it is needed"


@pytest.mark.parametrize(("side", "where", "nth"), [("left", "pocket", 0), ("both", "left pocket", 0),
                                                   ("both", "right pocket", 1)])
def test_an_item_in_a_pocket_is_ringed_in_it(side, where, nth):
    (balloon,) = (drawn := at(Stage.PUNCH_LIST, pocket_side=side, items=((1, where),))).balloons
    assert balloon.x == drawn.pockets[nth].middle


def test_of_a_place_that_is_not_drawn_an_item_stands_along_the_opening():
    for side, where in (("both", "lock jamb"), ("none", "pocket"), ("left", "behind the curtain")):
        (balloon,) = (drawn := at(Stage.PUNCH_LIST, pocket_side=side, items=((1, where),))).balloons
        assert drawn.opening.x < balloon.x < drawn.opening.right and balloon.y < drawn.opening.centre


def test_an_opening_of_which_nothing_is_known_is_drawn_all_the_same():
    assert small(Built(stage="to be measured", pocket_side="none"), 0).width > 0


@pytest.mark.parametrize("language", ["en", "es", "de"])
def test_the_svg_is_well_formed_with_its_title_whatever_the_language(language):
    drawn = at(Stage.PANELS_HUNG, items=((1, "B"), (2, "sill")))
    with translation.override(language):
        svg = render_to_string("dashboard/_elevation.html", {
            "d": drawn, "key": "k", "title": "A <1>", "desc": "4 & 4", "lettered": 1})
    root = ET.fromstring(svg.strip())
    assert [root[0].text, root[1].text] == ["A <1>", "4 & 4"]
    assert len([e for e in root if e.get("class") == "panel"]) == 4
    assert [e.tag.rpartition("}")[2] for e in root if (e.get("class") or "").startswith("leader")] == ["path", "circle"]
    assert "," not in "".join(e.get(name, "") for e in root for name in ("d", "x", "cx", "cy"))


# ---- hours -----------------------------------------------------------------------------------------------


def test_a_tape_is_marked_in_hours_and_holds_everything_on_it():
    drawn = tape(61 * 60, 74 * 60, 66 * 60)
    assert [m.number for m in drawn.marks if m.number] == ["20", "40", "60"]
    assert drawn.earned < drawn.used < drawn.planned <= 290


@pytest.mark.parametrize("minutes", [(0, 0, 0), (-120, 0, 0), (10**7, 1, 1)])
def test_a_tape_is_drawn_for_any_hours(minutes):
    drawn = tape(*minutes)
    assert 0 <= drawn.earned <= 290
    assert len(drawn.marks) < 60


# ---- a floor ---------------------------------------------------------------------------------------------

LIMITS = {"rise_in_a_foot": Limit(INCH // 16), "total_range": Limit(INCH // 4), "window": Limit(12 * INCH),
          "widest_spacing": Limit(12 * INCH), "cross_fall": Limit(INCH // 16), "wind": Limit(INCH // 16),
          "bed_least": Limit(0), "bead": Limit(INCH // 2), "squeeze_least": Limit(25), "grind_cost": Limit(3),
          "fill_cost": Limit(1)}


def plotted(payload, reader=READER, sheet=profile.WIDE, limits=None):
    verdict = floor_calc.judge_with_correction(payload, {**LIMITS, **(limits or {})}).as_dict()
    return plot(payload, verdict, verdict["computed"].get("correction"), reader, sheet)


def test_each_failing_spot_is_marked_with_the_number_of_its_note():
    payload = floor([0, 0, 5, 0, 0])
    failing = [f for f in floor_calc.judge(payload, LIMITS).findings if f.within is False]
    drawn = plotted(payload)
    assert {spot.number for spot in drawn.spots} == set(range(1, len(failing) + 1))
    assert drawn.corrected


def test_no_two_numbers_stand_on_each_other():
    drawn = plotted(floor([0, 1, 2, 4, 7, 4], inner=floor([0] * 6)["stations"]))
    places = [(s.x, s.y) for s in drawn.spots]
    assert all(abs(a[0] - b[0]) >= 20 or abs(a[1] - b[1]) >= 20 for a in places for b in places if a is not b)


def test_how_many_times_over_heights_are_drawn_is_what_is_drawn():
    drawn = plotted(floor([0, 0, 2, 0, 0]))
    (x0, y0), (x1, y1) = drawn.lines[0].stations[1:3]
    assert (y0 - y1) / (x1 - x0) == pytest.approx(drawn.times * (2 / 16) / 12, rel=0.02)


def test_a_reading_off_a_rod_is_drawn_with_up_as_up():
    high = plotted({**floor([0, 0, 2, 0, 0]), "read_as": "down_from_level"})
    assert high.lines[0].stations[2][1] > high.lines[0].stations[1][1], "a larger reading is a lower floor"


def test_ticks_are_feet_or_metres():
    assert [t.text for t in plotted(floor([0] * 27)).ticks] == ["0′", "5′", "10′", "15′", "20′", "25′"]
    assert plotted(floor([0] * 27), Reader("mm")).ticks[-1].text == "7 m"


def test_a_floor_is_drawn_slim_for_a_telephone():
    drawn = plotted(floor([0, 0, 5] + [0] * 24), sheet=profile.SLIM)
    assert len(drawn.ticks) <= 7 and len(drawn.spots) == len(plotted(floor([0, 0, 5] + [0] * 24)).spots)
    assert all(0 <= x <= profile.SLIM.width for line in drawn.lines for x, _y in line.stations)


def test_a_level_sill_lies_on_its_bed_over_the_floor_packed_at_every_station():
    drawn = plotted(floor([0, 0, 2, 0, 0]), limits={"bed_least": Limit(INCH // 8)})
    assert drawn.sill < drawn.level, "an eighth over the highest place"
    assert len(drawn.packed) == 5 and drawn.bed.endswith("Z")
    unit = (drawn.level - drawn.sill) / (INCH // 8)
    (low, high) = (drawn.lines[0].stations[n][1] for n in (0, 2))
    assert (low - drawn.sill) / unit == pytest.approx(INCH // 4, rel=0.02), "2/16 lower, and the bed"
    assert high - drawn.sill == pytest.approx(drawn.level - drawn.sill)


def test_where_nobody_says_how_thick_the_bed_is_none_is_drawn():
    drawn = plotted(floor([0, 0, 2, 0, 0]), limits={"bed_least": Limit(None)})
    assert (drawn.sill, drawn.bed, drawn.packed) == (None, "", ())
