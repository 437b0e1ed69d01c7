"""What each calculation takes, field by field, with an example that can be sent as it is.

The API shows this, and refuses a field that is not here: a slip in a name would otherwise be judged as if nothing had
been said.
"""

from __future__ import annotations

from jobs.calc import convert
from jobs.calc.kind import UNIT, Inputs

LINE = "`[{at, reading}]`, `at` increasing along the sill"
READ_AS = "`height`, up from a datum, or `down_from_level`, off a rod under a laser"

INPUTS: dict[str, Inputs] = {
    convert.NAME: Inputs(
        "Reads a length as people and phones write it, and says it again in every way.",
        {**UNIT, "text": "the length as written; or", "value": "a number of millimetres",
         "parts": "the parts of an inch to round to: 1, 2, 4, 8, 16, 32 or 64; 16 where it is left out"},
        {"text": "8' 0-1/2\"", "parts": 32},
    ),
    "floor-profile": Inputs(
        "The floor under a sill: rise in a foot, range, across, bed; where it fails, the cheapest correction.",
        {**UNIT, "stations": f"the outer line, or the only one: {LINE}", "inner": f"the inner line: {LINE}",
         "read_as": READ_AS, "benchmark_reading": "the benchmark off the same laser or datum",
         "sill_from": "where the sill starts", "sill_to": "where it ends, in the pocket",
         "tracks": "how many tracks the sill has: with more than one the inner line is asked for"},
        {"read_as": "down_from_level", "benchmark_reading": "40", "sill_from": "0", "sill_to": "3'",
         "stations": [{"at": "0", "reading": "48 1/16"}, {"at": "1'", "reading": "48"}, {"at": "2'", "reading": "48"},
                      {"at": "3'", "reading": "48 1/16"}]},
    ),
    "rough-opening": Inputs(
        "The rough opening: size, six tapes against each other, rack, plumb, twist.",
        {**UNIT, "widths": "`{top, middle, bottom}`", "heights": "`{left, middle, right}`, seen from outside",
         "diagonals": "`{rising, falling}`; rising goes from bottom left to top right",
         "plumb": "`{over, left: {edge, face}, right: {edge, face}}`: over what height each jamb was read (also "
                  "jamb by jamb); `edge` is positive where the top leans right, `face` where it leans out",
         "required": "`{width, height}`, the outside of the unit's frame",
         "drawing": "`{width, height}`, as drawn, to tell a slip",
         "tape_deviation": "`{a, b}`, one standard deviation of this tape: a length, and millimetres more a metre"},
        {"widths": {"top": "12'", "middle": "12'", "bottom": "12'"},
         "heights": {"left": "9'", "middle": "9'", "right": "9'"},
         "diagonals": {"rising": "15'", "falling": "15'"},
         "plumb": {"over": "6'", "left": {"edge": "1/32", "face": "0"}, "right": {"edge": "1/32", "face": "-1/32"}},
         "required": {"width": "11' 11 1/4\"", "height": "8' 11 1/4\""}},
    ),
    "frame": Inputs(
        "The set frame: sill, head, members, end gaps, what the rollers must give; the head watched under its load.",
        {**UNIT, "read_as": READ_AS, "parts": "what is asked for, of `sill`, `head`, `members`, `end_gaps`, "
         "`head_over_sill`, `rollers`, `watch`; all but `watch` where it is left out",
         "sill": f"`{{stations, inner, read_as}}`, or one line: {LINE}", "head": "likewise",
         "gaps": "head less sill, taped between them, likewise",
         "members": "`lock_jamb` and `interlock`, or `interlock_left` and `interlock_right`: each "
                    "`{height, edge, face, bow, twist, at}`",
         "end_gaps": "`{left, right}`: the gap at each end of the sill",
         "head_over_sill": "`{left, right}`: how far the head stands out of plumb above the sill, positive outwards",
         "sill_from": "where the sill starts", "sill_to": "where it ends", "tracks": "how many tracks the sill has",
         "roller_spacing": "from roller to roller of a panel",
         "watch": "`{readings: [{when, gaps}], panel_clearance, planned_raise, deflection_allowed, "
                  "reading_deviation}`; a reading may bring `head` and `sill` instead of `gaps`; `deflection_allowed` "
                  "is a length or `{span, divided_by}`"},
        {"parts": ["end_gaps", "watch"], "end_gaps": {"left": "3/8", "right": "7/16"},
         "watch": {"readings": [{"when": "frame_set", "gaps": [{"at": "0", "reading": "9'"}]},
                                {"when": "weight_on", "gaps": [{"at": "0", "reading": "8' 11 7/8\""}]}],
                   "panel_clearance": "1", "planned_raise": "1/8", "reading_deviation": "1/32",
                   "deflection_allowed": {"span": "20'", "divided_by": 720}}},
    ),
    "reveal": Inputs(
        "The gap beside a panel's edge: taper, bow, width, and which roller goes how far which way.",
        {**UNIT, "gaps": "`{top, middle, bottom}` between the edge and the jamb or interlock",
         "heights": "`{top, middle, bottom}` of those readings above the roller line",
         "roller_spacing": "from roller to roller", "from_edge": "from the edge to the nearer roller",
         "thread_pitch": "what one turn of a screw moves; text without a unit is in millimetres",
         "rollers": "`{near, far}`, near being nearer the edge: each `{now, preset, lowest, highest}`, from one mark",
         "lock_height": "the lock's height above the roller line", "head_clearance": "what is left above the panel",
         "head_clearance_least": "what must be left of it"},
        {"gaps": {"top": "7/16", "middle": "3/8", "bottom": "5/16"},
         "heights": {"top": "9'", "middle": "4' 6\"", "bottom": "2"}, "roller_spacing": "50", "from_edge": "4",
         "thread_pitch": 1.25, "head_clearance": "3/4", "head_clearance_least": "1/8",
         "rollers": {"near": {"now": "3/8", "preset": "3/8", "lowest": "1/8", "highest": "5/8"},
                     "far": {"now": "3/8", "preset": "3/8", "lowest": "1/8", "highest": "5/8"}}},
    ),
    "force": Inputs(
        "The force to start a panel and to keep it moving, each way; what friction and what slope that is.",
        {"panels": "`[{panel, mass, opening, closing, as_left}]`: `panel` its letter; `mass` in kilograms or text such "
                   "as `420 lb`; `opening` and `closing` each `{start, keep_moving}` in newtons or text such as "
                   "`20 lbf`; `as_left` the same two as the door was left",
         "train": "the same of all the panels together, without `panel`",
         "letters": "the panels there are: each is asked for"},
        {"panels": [{"panel": "A", "mass": "440 lb", "opening": {"start": "16 lbf", "keep_moving": "11 lbf"},
                     "closing": {"start": "14 lbf", "keep_moving": "9 lbf"},
                     "as_left": {"opening": {"keep_moving": 40}}}]},
    ),
    "sealing-conditions": Inputs(
        "May this joint be sealed now, and do the hours after let it skin.",
        {**UNIT, "air_c": "°C, or text such as `68 F`", "surface_c": "likewise", "humidity_pct": "1 to 100",
         "surface_dry": "`true` or `false`", "at": "when it was read, with its offset",
         "product": "`{name, source, air_least_c, air_most_c, surface_least_c, surface_most_c, humidity_least_pct, "
                    "humidity_most_pct, skin_minutes, cure_mm_per_sqrt_day, bead_depth, water_test_after_days, "
                    "load_after_days}`, as far as its sheet says",
         "bead_depth": "of this joint, over the product's own", "days_since": "to tell how deep it has cured",
         "forecast": "hour by hour `[{at, air_c, humidity_pct, rain_mm}]`"},
        {"air_c": "68 F", "surface_c": "64 F", "humidity_pct": 60, "surface_dry": True,
         "at": "2031-03-04T12:00:00-05:00",
         "product": {"name": "Joint sealant A", "source": "its data sheet", "air_least_c": 5, "surface_least_c": 5,
                     "skin_minutes": 60, "cure_mm_per_sqrt_day": 2.5, "bead_depth": "1/2"},
         "forecast": [{"at": "2031-03-04T12:00:00-05:00", "air_c": 20, "humidity_pct": 60, "rain_mm": 0}]},
    ),
    "last-panel-gap": Inputs("The gap left for the last panel.",
                             {**UNIT, "gap": "between the panel hung before it and the pocket"}, {"gap": "18 1/4"}),
    "roller-preset": Inputs(
        "The rollers as they are set before the panels are evened.",
        {**UNIT, "rollers": "`[{panel, roller, reading}]`: from the stile's bottom to the sill's top",
         "panels": "the letters to be read"},
        {"panels": ["A"], "rollers": [{"panel": "A", "roller": "1", "reading": "3/8"},
                                      {"panel": "A", "roller": "2", "reading": "7/16"}]},
    ),
    "pocket": Inputs("The pocket: the tightest reading counts.",
                     {**UNIT, "depth": "along the wall: a length, or a list of them",
                      "thickness": "clear across it, likewise"},
                     {"depth": "8' 6\"", "thickness": ["6 1/8", "6"]}),
    "fastener": Inputs("The longest fastener into the pocket wall.",
                       {**UNIT, "longest": "the fastener", "board": "the thickness of the board",
                        "stud": "of the flat stud"}, {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"}),
    "benchmark": Inputs("The benchmark and the finish floors, up from one datum.",
                        {**UNIT, "benchmark_height": "any sign", "finish_floor_inside": "likewise",
                         "finish_floor_outside": "likewise"},
                        {"benchmark_height": "40", "finish_floor_inside": "0", "finish_floor_outside": "-1/2"}),
}
