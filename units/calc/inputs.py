"""What each sum about the unit takes, field by field, with an example that can be sent as it is."""

from __future__ import annotations

from jobs.calc import route
from jobs.calc.kind import UNIT, Inputs
from units.calc import lifting, panels, takeoff, weights

INPUTS: dict[str, Inputs] = {
    panels.NAME: Inputs(
        "The panels of a door: widths, tracks, pocket, wall, order of hanging; what cannot be built, and the nearest "
        "that can.",
        {**UNIT, "clear_width": "between the faces of lock jamb and interlock, or of two interlocks; or",
         "frame_width": "the frame's outside, with `frame_deductions`",
         "frame_deductions": "`{lock_jamb, interlock, head, sill}`: what each member takes",
         "clear_height": "between sill and head; or `frame_height`", "frame_height": "the frame's outside",
         "height_deductions": "off the clear height, a length or several by name; less than nothing where a panel "
                              "runs up into the head",
         "panels": "how many", "ways": "`one-way` or `two-way`",
         "pocket_side": "`left`, `right` or `both`, seen from outside",
         "more_on": "of an odd number two ways, the side that has more",
         "meeting_lap": "at each meeting of two panels", "middle_lap": "where a two-way door meets in the middle; less "
         "than nothing where a gap is left", "interlock_lap": "at each pocket interlock",
         "jamb_engagement": "into the lock jamb", "lead_wider_by": "than the others; less than nothing if narrower",
         "lead_on": "the track the lead panel runs on: `outermost` or `innermost`",
         "lead_stays_out": "how much of the lead panel stays in the opening when all is open",
         "increment": "what the shop cuts to", "rounding": "`nearest`, `down` or `up`",
         "remainder_to": "the lap that takes what cutting leaves: `interlock`, `jamb` or `middle`",
         "panel_width": "as cut already, to see what it leaves", "panel_thickness": "of one panel",
         "track_pitch": "from track to track", "covers": "both faces of the pocket wall together",
         "pocket_depth": "there is, a length or `{left, right}`", "wall_clear": "clear thickness there is, likewise",
         "pull": "taken in the pocket by the pull", "stop": "by the stop", "pocket_clearance": "left free",
         "lean_in_angle": "degrees from upright at which a panel is leaned in", "lean_in_room": "the room there is"},
        {"clear_width": "39' 6\"", "clear_height": "9' 10\"", "height_deductions": "1 1/2", "panels": 6,
         "ways": "one-way", "pocket_side": "right", "meeting_lap": "2", "interlock_lap": "2", "jamb_engagement": "3/4",
         "increment": "1/16", "panel_thickness": "2 1/4", "track_pitch": "2 3/4", "covers": "1 1/4", "pull": "2",
         "stop": "1", "pocket_clearance": "1", "pocket_depth": "7' 4\"", "wall_clear": "18 1/2"},
    ),
    weights.NAME: Inputs(
        "What each panel weighs, part by part, and where its centre of mass lies; computed and weighed side by side.",
        {**UNIT, "panels": "one, or `[{panel, width, height, weighed}]`: `panel` its letter",
         "glass": "layer by layer: `{kind: pane, nominal}`, `{kind: laminate, plies, interlayer}`, "
                  "`{kind: space, width}`",
         "glass_inset": "how much of each edge the glass leaves free, a length or `{lead, tail, bottom, top}`",
         "stile_kg_per_m": "a linear mass, or `{lead, tail}`", "rail_kg_per_m": "likewise, `{bottom, top}`",
         "stile_face": "how wide a stile is", "rail_face": "how high a rail is",
         "hardware": "`[{what, kg, count, at, panels}]`: `at` from the lead edge and the bottom"},
        {"panels": [{"panel": "A", "width": "2090 mm", "height": "3050 mm"}],
         "glass": [{"kind": "pane", "nominal": "6 mm"}, {"kind": "space", "width": "12 mm"},
                   {"kind": "pane", "nominal": "6 mm"}],
         "glass_inset": "40 mm", "stile_kg_per_m": 3.2, "rail_kg_per_m": 3.6, "stile_face": "60 mm",
         "rail_face": "60 mm", "hardware": [{"what": "rollers", "kg": 1.4, "count": 2}]},
    ),
    lifting.NAME: Inputs(
        "Whether this equipment and these hands can lift the panel: what is left of the rating, who steers it, wind.",
        {**UNIT, "mass": "kilograms, or text such as `420 lb`; or", "computed_mass": "likewise",
         "weighed_mass": "likewise; the heavier counts", "width": "of the panel", "height": "of the panel",
         "hands": "how many people, or what each of them can lift alone",
         "equipment": "`[{name, kind, capacity, includes, reductions: [{why, factor, source}], circuits, "
                      "left_with_one_circuit_lost, people_to_steer, stop_wind, source}]`: `includes` what its rating "
                      "takes into account already, as its manual says",
         "ceiling_clearance": "above the panel", "needs_above": "what the equipment needs there",
         "wind": "`{speed, air_density, drag, area}`: metres a second, or text such as `20 mph`",
         "lift": "a lift by hand, after NIOSH: `{horizontal, vertical, travel, end, asymmetry_deg, lifts_a_minute, "
                 "hours, coupling, held_at_the_end, …}`", "carry": "`{steps}`"},
        {"mass": 191, "width": "2090 mm", "height": "3050 mm", "hands": 3,
         "equipment": [{"name": "Vacuum lifter 1", "kind": "vacuum lifter", "capacity": 400,
                        "includes": ["design factor", "vertical"], "circuits": 2, "left_with_one_circuit_lost": 0.5,
                        "people_to_steer": 2, "stop_wind": "10 m/s", "source": "its manual",
                        "reductions": [{"why": "wet glass", "factor": 0.75, "source": "its manual"}]}]},
    ),
    route.NAME: Inputs(
        "Whether each panel gets there, leg by leg; where not, by how much and what would let it pass.",
        {**UNIT, "load": "what all panels have alike: `{length, height, thickness, cart_height, bare_thickness, mass, "
                         "cart_mass}`, upright on the cart", "panels": "each its own over it: `[{panel, length, …}]`",
         "legs": "`[{name, kind, sizes}]`; a corridor has `width` (and `height`), a corner `in_width` and `out_width`, "
                 "a doorway `width`, `height`, `room_before`, `room_after`, stairs `width`, `headroom`, `pitch_deg`, "
                 "`landing`, a lift `door_width`, `door_height`, `width`, `depth`, `height`, `capacity`, a ceiling "
                 "`height`"},
        {"load": {"length": "2090 mm", "height": "3050 mm", "thickness": "600 mm", "cart_height": "200 mm"},
         "legs": [{"name": "drive", "kind": "corridor", "sizes": {"width": "1500 mm"}},
                  {"name": "hall corner", "kind": "corner", "sizes": {"in_width": "1200 mm", "out_width": "1200 mm"}}]},
    ),
    takeoff.NAME: Inputs(
        "What the unit takes: each joint and its sealant, anchors, shim packs, the longest fastener into the pocket "
        "wall.",
        {**UNIT, "joints": "`[{place, side, rule, length, width, depth, leg, product, movement}]`: `rule` is `seal` or "
                           "`never-seal`; a bead has `width` and `depth`, a fillet its `leg`",
         "products": "by name `{cartridge_ml, waste_pct, movement_pct, source}`; `10.1 fl oz` is read too",
         "movement": "what joints move by: `{length, expansion_per_c, range_c, other, other_share, tolerance, source}`",
         "members": "`[{name, length, spacing_most, edge_least, fastener}]`",
         "anchors": "for all members: `{spacing_most, edge_least, fastener}`",
         "stations": "`[{at, packing, line}]`, as the floor says", "shims": "thicknesses at hand",
         "wall": "`{board, stud, clearance, fasteners, longest}`: the wall that hides the panels"},
        {"joints": [{"place": "head", "side": "outside", "length": "40'", "width": "3/8", "depth": "1/4",
                     "product": "Joint sealant A"},
                    {"place": "sill", "side": "outside", "rule": "never-seal", "length": "40'"}],
         "products": {"Joint sealant A": {"cartridge_ml": "10.1 fl oz", "waste_pct": 10}},
         "members": [{"name": "head", "length": "40'"}], "anchors": {"spacing_most": "16", "edge_least": "6"},
         "stations": [{"at": "0", "packing": "3/16"}, {"at": "1'", "packing": "1/16"}],
         "shims": ["1/16", "1/8"], "wall": {"board": "5/8", "stud": "1 1/2", "clearance": "1/4"}},
    ),
}
