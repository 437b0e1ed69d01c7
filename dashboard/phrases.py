"""The words for every code: what a tradesperson would say. Short, plain, to be translated; no code is decided here."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

STAGES = {
    "to be measured": _("To be measured"),
    "opening verified": _("Opening verified"),
    "frame set": _("Frame set"),
    "panels hung": _("Panels hung"),
    "adjusted": _("Adjusted"),
    "sealed": _("Sealed"),
    "punch list": _("Punch list"),
    "accepted": _("Accepted"),
    "the pocket closes": _("The pocket closes"),
}

# What is done next, where the opening stands at this stage.
NEXT = {
    "to be measured": _("Measure it"),
    "opening verified": _("Set the frame"),
    "frame set": _("Close the pocket, hang the panels"),
    "panels hung": _("Adjust the reveals"),
    "adjusted": _("Seal it"),
    "sealed": _("Walk it, list what is left"),
    "punch list": _("Put right what is listed, hand it over"),
    "accepted": _("Done"),
}

KINDS = {
    "rough-opening": _("Rough opening"),
    "floor-profile": _("Floor"),
    "frame": _("Frame"),
    "reveal": _("Reveal"),
    "force": _("Force"),
    "sealing-conditions": _("Sealing conditions"),
    "pocket": _("Pocket"),
    "fastener": _("Longest fastener"),
    "benchmark": _("Benchmark and finish floors"),
    "last-panel-gap": _("Gap for the last panel"),
    "roller-preset": _("Rollers at preset"),
}

OCCASIONS = {
    "frame-set": _("as set"),
    "under-load": _("head under its load"),
    "adjusted": _("after adjusting"),
    "as-left": _("as left"),
}

RESULTS = {  # of a set of readings
    "pass": _("Within every limit"),
    "fail": _("Not within its limits"),
    "not_enough_readings": _("Not enough read yet"),
    "not_enough_data": _("The office has to enter something first"),
    "tape_again": _("Tape all six again"),
    "no_limit_set": _("No limit set"),
    "does_not_apply": _("Does not apply here"),
}

OUTCOMES = {  # of a check at the gate
    "passes": _("stands"),
    "missing": _("not done yet"),
    "stale": _("too old"),
    "ended": _("no longer counts"),
    "failed": _("fails"),
    "no limit set": _("no limit set"),
    "not enough read": _("not enough read"),
    "photo missing": _("photo missing"),
}

ENDINGS = {
    "re-pour": _("the floor was poured again"),
    "structure": _("work was done on the structure"),
    "other-trades": _("other trades were in the opening"),
    "step-back": _("the opening went back a stage"),
}

GUARDS = {
    "water": _("keeps water out: nobody passes it over"),
    "structure": _("carries the wall: nobody passes it over"),
    "lifting": _("about lifting: nobody passes it over"),
    "pocket": _("hidden in the pocket: nobody passes it over"),
}

PARTIES = {
    "builder": _("the builder"),
    "owner": _("the owner"),
    "architect": _("the architect"),
    "supplier": _("the supplier"),
    "trade": _("another trade"),
    "office": _("our office"),
}

CAUSES = {  # of a punch item
    "ours": _("Our work"), "maker": _("The maker"), "builder": _("The builder"), "trade": _("Another trade"),
    "transport": _("Transport"), "owner": _("The owner"), "": _("Not said"),
}

PLACES = {
    "lock-jamb": _("lock jamb"), "lock_jamb": _("lock jamb"),
    "interlock": _("pocket interlock"), "interlock_left": _("left interlock"),
    "interlock_right": _("right interlock"), "interlock-left": _("left interlock"),
    "interlock-right": _("right interlock"),
    "head": _("head"), "sill": _("sill"), "jamb": _("jamb"),
    "outer": _("outer line"), "inner": _("inner line"),
    "top": _("top"), "middle": _("middle"), "bottom": _("bottom"), "left": _("left"), "right": _("right"),
    "stacked": _("panels stacked"), "spread": _("panels spread"),
    "edge": _("along the wall"), "face": _("across the wall"), "out": _("out"), "in": _("in"),
    "outside": _("outside"), "inside": _("inside"),
    "near": _("near roller"), "far": _("far roller"),
    "opening": _("opening"), "closing": _("closing"), "train": _("the train"),
    "top_left": _("top left"), "top_right": _("top right"),
    "rising": _("rising"), "falling": _("falling"),
    "panel": _("panel"), "pocket": _("pocket"),
    # what is read there, and which way something is turned
    "width": _("width"), "height": _("height"), "diagonal": _("diagonal"), "bow": _("bow"),
    "up": _("up"), "down": _("down"),
}

# What is read, where it is neither a place nor judged under the same name; with the places put together to a name.
READ = {
    "air": _("air"), "surface": _("surface"), "humidity": _("humidity"),
    "benchmark": _("benchmark"), "benchmark_height": _("height of the benchmark"), "finish_floor": _("finish floor"),
    "board": _("board it goes through"), "stud": _("flat stud behind it"), "longest": _("longest fastener used"),
    "pocket_depth": _("pocket depth"), "pocket_thickness": _("clear thickness of the pocket"),
    "plumb": _("jamb out of plumb"),
    "end_gaps": _("gap at the end"), "head_over_sill": _("head over sill"), "head_less_sill": _("head less sill"),
    "gaps": _("head less sill"), "frame_set": _("frame set"), "weight_on": _("panels' weight on"),
    "panels_hung": _("panels hung"), "acceptance": _("at acceptance"), "callback": _("at a callback"),
    "gap": _("gap"), "head_clearance": _("clearance above the panel"),
    "roller": _("roller"), "lead": _("lead end"), "tail": _("tail end"),
    "roller_near": _("near roller"), "roller_far": _("far roller"),
    "start": _("to start"), "keep_moving": _("to keep moving"),
}

POSITIONS = {"lead": _("Lead"), "intermediate": _("Intermediate"), "pocket": _("Pocket")}  # of a panel

POCKETS = {"left": _("pocket left"), "right": _("pocket right"), "both": _("a pocket on both sides")}

QUANTITIES = {
    "worst_rise_in_a_foot": _("Rise in a foot"),
    "total_range": _("Range of the whole floor"),
    "cross_fall": _("Fall across the sill"),
    "wind": _("Wind"),
    "squeeze": _("Squeeze of the bead"),
    "widest_spacing": _("Widest spacing of stations"),
    "tightest_width": _("Tightest width"), "loosest_width": _("Loosest width"),
    "tightest_height": _("Tightest height"), "loosest_height": _("Loosest height"),
    "misclosure": _("The six tapes against each other"),
    "rack": _("Rack"),
    "jamb_plumb_left": _("Left jamb out of plumb"), "jamb_plumb_right": _("Right jamb out of plumb"),
    "twist": _("Jambs twisted against each other"),
    "depth": _("Pocket depth"), "thickness": _("Clear thickness of the pocket"),
    "sill_level": _("Sill, highest over lowest"),
    "sill_rise_in_a_foot": _("Sill, rise in a foot"),
    "sill_across": _("Sill across"),
    "end_gaps": _("Gap at one end of the sill against the other"),
    "head_level": _("Head, highest over lowest"),
    "head_flat": _("Head out of straight"),
    "head_parallel": _("Head against sill"),
    "head_over_sill": _("Head out of plumb over the sill"),
    "members_apart": _("Jamb and interlock against each other"),
    "member_plumb": _("Out of plumb"),
    "member_bow": _("Bow"),
    "member_twist": _("Twist"),
    "roller_use": _("Roller travel this frame takes"),
    "left_above_panels": _("Left above the panels"),
    "taper": _("Taper"),
    "bow": _("Bow"),
    "gap_least": _("Narrowest gap"), "gap_most": _("Widest gap"),
    "gap": _("Gap for the last panel"),
    "roller_preset": _("Roller off its preset"),
    "longest_fastener": _("Longest fastener"),
    "force_to_start": _("Force to start"), "force_to_keep_moving": _("Force to keep moving"),
    "dew_margin": _("Surface above the dew point"),
    "air_least": _("Air"), "air_most": _("Air"),
    "surface_least": _("Surface"), "surface_most": _("Surface"),
    "humidity_least": _("Humidity"), "humidity_most": _("Humidity"),
    "surface_dry": _("Surface dry"),
    "tonights_low_air": _("Tonight's low, air"), "tonights_low_surface": _("Tonight's low, surface"),
    "rain_before_skin": _("Rain before it skins"),
    # of a unit
    "joint_width": _("Width of the joint"), "joint_width_for_movement": _("Width of the joint, so that it can move"),
    "joint_depth_least": _("Depth of the sealant, least"), "joint_depth_most": _("Depth of the sealant, most"),
    "shortest_fastener_at_hand": _("Shortest fastener at hand"),
    "panel_width_least": _("Width of a panel, least"), "panel_width_most": _("Width of a panel, most"),
    "panel_height_least": _("Height of a panel, least"), "panel_height_most": _("Height of a panel, most"),
    "panel_area": _("Area of a panel"),
    "remainder": _("What cutting changes of the lap"),
    "lap_left": _("What is left of the lap"),
    "pocket_depth_spare": _("Depth to spare in the pocket"),
    "wall_spare": _("Thickness to spare in the wall"),
    "lean_in_room": _("Room taken to lean a panel in"),
    "panel_mass": _("Weight of a panel"),
}

REMEDIES = {
    "widen_the_joint": _("Make the joint %(width)s wide."),
    "fill_the_joint_deeper": _("Fill it %(depth)s deep."),
    "back_the_joint_up": _("Put backing in, so that the sealant is %(depth)s deep."),
    "grind_or_fill_between": _("Grind the high end or fill the low end of it."),
    "grind_high_or_fill_low": _("Grind the high place or fill the low one."),
    "level_across_at": _("Bring inner and outer line level there."),
    "take_out_wind_between": _("Take the wind out between those places."),
    "fill_or_thicker_bead": _("Fill the low place, or use a thicker bead."),
    "tape_all_six_again": _("Tape all six again: six lengths cannot tell which one is wrong."),
    "builder_to_enlarge": _("The builder makes it larger by %(by)s."),
    "builder_to_pack_out": _("The builder packs it out by %(by)s."),
    "move_corner": _("Move the %(corner)s corner %(by)s to the %(towards)s."),
    "plumb_the_jamb": _("Plumb the %(jamb)s jamb: its top leans %(top_leans)s by %(by)s."),
    "jambs_lean_apart_across_wall": _("The jambs lean in opposite directions across the wall: bring them into line."),
    "pocket_depth_to_be_enlarged": _("The pocket has to be made deeper."),
    "pocket_thickness_to_be_enlarged": _("The pocket has to be made clearer across."),
    "shim_low_or_let_down_high": _("Shim the low place or let the high one down."),
    "shim_between": _("Shim between those places."),
    "move_sill_towards": _("Move the sill %(by)s to the %(towards)s."),
    "level_the_head": _("Level the head."),
    "straighten_the_head": _("Straighten the head; in the middle it hangs %(sag)s below its ends."),
    "bring_head_parallel": _("Bring the head parallel with the sill."),
    "move_the_head": _("Move the head %(by)s at that end: it stands too far %(head_stands)s."),
    "plumb_the_member": _("Plumb the %(member)s."),
    "bring_members_parallel": _("Bring the two parallel."),
    "straighten_member": _("Straighten it by %(by)s."),
    "untwist_member": _("Take the twist out of it, %(by)s."),
    "do_not_hang": _("Do not hang the panels. Report the head to the builder."),
    "read_the_rollers": _("Read both rollers: then the turns can be worked out."),
    "rollers_cannot_close": _("The rollers cannot close it. Read jamb, panel diagonals and sill."),
    "turn_rollers": _("Turn the rollers: %(rollers)s."),
    "rollers_cannot_remove_bow": _("Rollers do not take out a bow. Look at jamb and stile."),
    "close_the_taper_first": _("Close the taper first; then this comes right."),
    "too_narrow_not_a_roller_matter": _("Even, but too narrow: not a matter of rollers. Move the strike or the jamb."),
    "too_wide_not_a_roller_matter": _("Even, but too wide: not a matter of rollers. Move the strike or the jamb."),
    "roll_the_panel_before_it_away": _("Roll the panel before it on by %(by)s."),
    "turn_roller": _("Turn it %(way)s by %(move)s."),
    "use_a_shorter_fastener": _("Use a shorter fastener."),
    "free_what_holds_it_at_rest": _("Free what holds it at rest: seals, strike, a flat on a roller."),
    "level_the_track": _("The track runs uphill %(uphill)s: level it."),
    "free_the_rollers": _("Free the rollers: look for debris in the track, seals, a panel that rubs."),
    "wait_for_the_surface_to_warm": _("Wait for the surface to warm."),
    "air_too_cold": _("The air is too cold for this product."),
    "air_too_hot": _("The air is too hot for this product."),
    "surface_too_cold": _("The surface is too cold for this product."),
    "surface_too_hot": _("The surface is too hot for this product."),
    "air_too_dry": _("The air is too dry for this product."),
    "air_too_damp": _("The air is too damp for this product."),
    "dry_the_surface": _("Dry the surface first."),
    "wait_for_a_milder_night": _("Wait for a milder night."),
    "cover_it_or_wait": _("Cover it, or wait until the rain is over."),
    # of a unit; what is nearest that can be built is said after it
    "deepen_the_pocket": _("The builder makes the pocket %(by)s deeper."),
    "widen_the_wall": _("The builder makes the wall %(by)s thicker inside."),
    "make_room_or_lean_less": _("Make %(by)s more room inside, or lean the panel less where the maker allows it."),
    "cut_nearer_to_the_exact_width": _("Cut the panels nearer to %(exact_width)s, the width that fills the opening."),
    "change_the_height": _("Take a frame of another height: the panels have to be %(by)s %(way)s."),
    "change_the_number_of_panels": _("Take another number of panels."),
    "no_number_of_panels_fits": _("No number of panels helps here: take another frame or door system."),
    "narrower_panels_or_lighter_glass": _("It is %(over)s too heavy: take narrower panels or lighter glass."),
}

# Said after a remedy, where the value is known.
NEAREST = {
    "or_movement_pct": _("Or take a sealant that moves %(or_movement_pct)s %% of its width."),
    "panels": _("The nearest number that fits is %(panels)s: panels %(width)s wide, tracks %(tracks)s."),
    "then_failing": _("But that number fails by: %(then_failing)s."),
    "clear_width_mm": _("As many panels would fill a clear width of %(clear_width)s."),
    "width_at_most_mm": _("Of this height and glass, no wider than %(width_at_most)s."),
}

# What a unit is worked out of: what it is called where it is lacking, or cannot be.
UNIT_FIELDS = {
    "frame_width": _("frame width"), "frame_height": _("frame height"), "clear_width": _("clear width"),
    "clear_height": _("clear height"), "panels": _("number of panels"), "ways": _("one way or two ways"),
    "pocket_side": _("side of the pocket"), "more_on": _("side with more panels"), "glass": _("glass"),
    "frame_deductions": _("what the frame takes"),
    "frame_deductions.lock_jamb": _("what the lock jamb takes"),
    "frame_deductions.interlock": _("what the pocket interlock takes"),
    "frame_deductions.head": _("what the head takes"), "frame_deductions.sill": _("what the sill takes"),
    "height_deductions": _("what comes off the height for rollers and head"),
    "meeting_lap": _("meeting lap"), "middle_lap": _("lap in the middle"), "interlock_lap": _("interlock lap"),
    "jamb_engagement": _("engagement in the lock jamb"), "lead_wider_by": _("by how much a lead panel is wider"),
    "increment": _("what the shop cuts to"), "panel_thickness": _("panel thickness"),
    "track_pitch": _("track to track"), "covers": _("track covers"), "pull": _("room for the pull"),
    "stop": _("stop in the pocket"), "pocket_clearance": _("clearance in the pocket"),
    "lean_in_angle": _("angle to lean a panel in"),
    "stile_kg_per_m": _("weight of a stile, by its length"), "rail_kg_per_m": _("weight of a rail, by its length"),
    "stile_face": _("face of a stile"), "rail_face": _("face of a rail"), "glass_inset": _("inset of the glass"),
    "hardware": _("hardware of a panel and its weight"),
    "interlayer_density": _("density of the glass's interlayer"),
    "pocket_depth": _("depth of the pocket"), "wall_clear": _("clear thickness of the wall"),
    "width": _("width of a panel"), "height": _("height of a panel"), "weighed": _("weight on the scale"),
}
# What a door system says, as its pages name it; what a unit is worked out of is named above.
SYSTEM_FIELDS = {
    "name": _("Name"), "code": _("Code"), "edition": _("Edition"), "material": _("Material"),
    "lock_jamb": _("Lock jamb, taken off the frame"), "interlock": _("Pocket interlock, taken off the frame"),
    "head": _("Head, taken off the frame"), "sill": _("Sill, taken off the frame"),
    "height_deduction": _("Off the height for rollers and head"),
    "stile_grams_per_m": _("Stile, weight by its length"), "rail_grams_per_m": _("Rail, weight by its length"),
    "covers": _("Track covers, both together"), "lean_in_angle": _("Angle a panel leans in at, degrees"),
    "roller_preset": _("Roller preset"), "roller_lowest": _("Roller, lowest"), "roller_highest": _("Roller, highest"),
    "thread_pitch": _("Thread pitch, a turn"), "roller_from_edge": _("Roller from the panel's edge"),
    "head_clearance": _("Clearance above the panels"), "head_clearance_least": _("Clearance above the panels, least"),
    "longest_piece": _("Longest piece; longer ones come spliced"),
    "pan_test_allowed": _("Sill pan may be tested with water"), "finishing_steps": _("Finishing steps"),
    "hardware": _("Hardware of a panel"), "glasses": _("Glass allowed"), "joints": _("Joints"),
    "products": _("Sealant products"), "fasteners": _("Fasteners by member"),
    "what": _("What"), "kg": _("Weight"), "count": _("How many"), "layers": _("Layers"),
    "place": _("Place"), "side": _("Side"), "rule": _("Rule"), "width": _("Width"), "depth": _("Depth"),
    "leg": _("Leg"), "product": _("Product"),
    "movement.expansion_per_c": _("Expansion, millionths a °C"), "movement.range_c": _("Range of temperature"),
    "movement.length": _("Length that moves"), "movement.tolerance": _("Tolerance"),
    "movement.source": _("Where its movement stands"),
    "air_least_c": _("Air, coldest"), "air_most_c": _("Air, hottest"),
    "surface_least_c": _("Surface, coldest"), "surface_most_c": _("Surface, hottest"),
    "humidity_least_pct": _("Humidity, least, per cent"), "humidity_most_pct": _("Humidity, most, per cent"),
    "skin_minutes": _("Skins in, minutes"),
    "cure_mm_per_sqrt_day": _("Cures the first day, mm"), "bead_depth": _("Depth of the bead"),
    "water_test_after_days": _("Water test after, days"), "load_after_days": _("Load after, days"),
    "cartridge_ml": _("Cartridge, millilitres"), "waste_pct": _("Waste, per cent"),
    "movement_pct": _("Movement capability, per cent"), "source": _("Where it stands"),
    "member": _("Member"), "spacing_most": _("Spacing, most"), "edge_least": _("From the end, least"),
    "fastener": _("Fastener"),
    "panel_area_most_m2": _("Area of a panel, most, m²"), "panel_mass_most": _("Weight of a panel, most"),
    "remainder_most": _("What cutting may change of a lap"), "last_panel_gap": _("Gap before the last panel"),
    "weighed_apart": _("Weighed and computed apart, per cent"), "interlayer_density": _("Interlayer density, kg/m³"),
    "one_person": _("What one person lifts"), "team_of_four": _("Share of a team of four"),
    "wind_speed": _("Wind that stops a lift, m/s"), "mass_apart": _("Weights apart, per cent"),
    "joint_width_least": _("Joint width, least"), "joint_depth_least": _("Joint depth, least"),
    "joint_depth_most": _("Joint depth, most"), "joint_depth_of_width": _("Joint depth, per cent of its width"),
    "temperature_range": _("Range of temperature"), "waste": _("Waste, per cent"),
    "anchor_spacing": _("Anchor spacing"),
    "anchor_edge": _("Anchor from the end"), "clearance": _("Clearance behind the pocket wall"),
}
JOINT_RULES = {"seal": _("seal"), "never-seal": _("never seal: water leaves here")}
SYSTEM_GROUPS = {
    "frame": _("Frame and tracks"), "laps": _("Laps"), "pocket": _("Pocket and covers"),
    "make": _("Stiles, rails and glass edges"), "rollers": _("Rollers"), "head": _("Head clearance"),
    "pieces": _("Lengths"),
}
# What a limit of a check is called where it has another name than the quantity it is set for.
CHECK_LIMITS = {
    "bead": _("Bead under the sill"), "bed_least": _("Bed, least"),
    "clearance": _("Clearance behind the pocket wall"), "clearance_least": _("Clearance, least"),
    "clearance_most": _("Clearance, most"), "depth_least": _("Depth, least"),
    "fill_cost": _("Cost of filling"), "grind_cost": _("Cost of grinding"), "grind_most": _("Ground off, most"),
    "gap_least": _("Gap, least"), "gap_most": _("Gap, most"),
    "more_than_as_left": _("Over the force as left"), "more_than_neighbours": _("Over that of the other panels"),
    "out_of_plumb": _("Out of plumb"), "preset": _("Preset"), "reading_deviation": _("How close readings come"),
    "rise_in_a_foot": _("Rise in a foot"), "roller_spacing": _("Rollers apart"), "roller_travel": _("Roller travel"),
    "squeeze_least": _("Bead squeezed, least"), "tape_deviation": _("Tapes apart"),
    "tape_deviation_per_m": _("Tapes apart, a metre"), "thickness_least": _("Clear thickness, least"),
    "window": _("Looked at over"), "within": _("Give or take"),
}

SYSTEM_LIMITS = {
    "panels": _("Limits of panels"), "weights": _("Limits of weight"), "lifting": _("Limits of lifting"),
    "take-off": _("Limits of joints and anchors"),
}
SYSTEM_LACKS = {"panels": _("panels"), "weights": _("weights"), "take-off": _("take-off")}

OF_SYSTEM = _("Not entered in the door system: %(thing)s. The office enters it.")
_OF_UNIT = _("Not entered for this unit: %(thing)s. The office enters it.")

MISSING = {
    **dict.fromkeys(("frame_deductions.lock_jamb", "frame_deductions.interlock", "frame_deductions.head",
                     "frame_deductions.sill", "height_deductions", "meeting_lap", "middle_lap", "interlock_lap",
                     "jamb_engagement", "track_pitch", "covers", "pull", "stop", "pocket_clearance",
                     "stile_kg_per_m", "rail_kg_per_m", "hardware", "interlayer_density"), OF_SYSTEM),
    **dict.fromkeys(("frame_width", "frame_height", "clear_width", "clear_height", "panels", "ways", "pocket_side",
                     "more_on", "glass"), _OF_UNIT),
    "pocket_depth": _("The pocket's depth is not measured yet."),
    "wall_clear": _("The wall's clear thickness is not measured yet."),
    "three_stations": _("Read at least three stations on the %(line)s."),
    "inner_line": _("Read the inner line too: this sill has more than one track."),
    "sill_end": _("Read the end of the sill at %(at)s, %(line)s."),
    "stations_between": _("Read between %(from)s and %(to)s, %(line)s."),
    "plumb": _("Read the %(at)s jamb for plumb %(along)s."),
    "diagonal": _("Tape the %(at)s diagonal."),
    "width": _("Tape the width at the %(at)s."),
    "height": _("Tape the height at the %(at)s."),
    "required_width": _("The unit's frame width is not entered: the office enters it."),
    "required_height": _("The unit's frame height is not entered: the office enters it."),
    "all_six_tapes_again": _("Tape all six lengths again."),
    "depth": _("Measure the pocket's depth."),
    "thickness": _("Measure the pocket's clear thickness."),
    "longest": _("Measure the longest fastener."),
    "board": _("Measure the board it goes through."),
    "stud": _("Measure the flat stud behind it."),
    "benchmark_height": _("Give the height of the benchmark."),
    "finish_floor_inside": _("Give the finish floor inside."),
    "finish_floor_outside": _("Give the finish floor outside."),
    "sill": _("Read the sill, %(line)s."),
    "head": _("Read the head, %(line)s."),
    "gaps": _("Read the gaps between head and sill, %(line)s."),
    "member": _("Read the %(member)s: %(read)s."),
    "end_gaps": _("Measure the gap at the %(at)s end of the sill."),
    "head_over_sill": _("Plumb the head over the sill at the %(at)s end."),
    "roller_spacing": _("How far the rollers stand apart is not entered."),
    "head_watch": _("Read the head again under its load."),
    "product": _("Which sealant goes into this joint is not entered: %(place)s %(side)s."),
    "movement_expansion": _("How much warmth lengthens what moves at this joint is not entered: %(place)s %(side)s."),
    "movement_length": _("How long that is which moves at this joint is not entered: %(place)s %(side)s."),
    "movement_range": _("Through what temperatures this joint moves is not entered: %(place)s %(side)s."),
    "movement_tolerance": _("How far off this joint may be built is not entered: %(place)s %(side)s."),
    "cartridge_ml": _("%(product)s: what a cartridge holds is not entered."),
    "waste_pct": _("%(product)s: how much of it is wasted is not entered."),
    "movement_pct": _("%(product)s: how much of its width it can move is not entered."),
    "anchor_spacing": _("How far apart anchors may stand is not entered: %(member)s."),
    "anchor_edge": _("How near its end the first anchor stands is not entered: %(member)s."),
    "shims": _("Which shims there are is not entered: the office enters it."),
    "clearance": _("How far fasteners must stay from the panels is not entered."),
    "head_reading": _("Read the head: %(when)s."),
    "panel_clearance": _("The clearance above the panels is not entered."),
    "planned_raise": _("How far the rollers will be raised is not entered."),
    "deflection_allowed": _("What further deflection the engineer allows for is not entered."),
    "reading_deviation": _("How close the readings come is not entered."),
    "gap": _("Measure the gap at the %(where)s."),
    "roller_now": _("Read the %(where)s as it stands."),
    "roller_preset": _("The preset of the %(where)s is not entered."),
    "roller_lowest": _("The lowest the %(where)s goes is not entered."),
    "roller_highest": _("The highest the %(where)s goes is not entered."),
    "from_edge": _("How far the roller stands from the edge is not entered."),
    "thread_pitch": _("What one turn of the roller raises is not entered."),
    "roller": _("Read both rollers of panel %(panel)s."),
    "force_to_start": _("Read the force to start, %(way)s."),
    "force_to_keep_moving": _("Read the force to keep moving, %(way)s."),
    "train": _("Read the force of the whole train as well."),
    "surface_dry": _("Say whether the surface is dry."),
    "panel": _("Panel %(letter)s is %(state)s."),
    "unit": _("There is no unit in this opening yet: the office enters it."),
    "punch_item": _("No. %(number)s is open: %(item)s (%(owner)s, by %(due_day)s)."),
    "set_aside_part": _("Set aside and not back yet: %(part)s."),
    "acceptance": _("Say who accepts it, and how."),
    "joint": _("This joint is not done yet."),
    "open_the_joint": _("This joint must never be sealed: open it."),
    "sealing_conditions": _("Say in what conditions it was sealed."),
    "no_limit_set": _("No limit is set."),
    "not_enough_readings": _("Not enough was read."),
    "not_enough_data": _("The office has to enter something first."),
}

WHEN = {
    "frame_set": _("as the frame is set"), "weight_on": _("with the weight above on it"),
    "panels_hung": _("with the panels hung"), "acceptance": _("at acceptance"), "callback": _("at a callback"),
}

PANEL_STATES = {
    "expected": _("not here yet"), "received": _("here, not hung"), "hung": _("hung"), "adjusted": _("adjusted"),
}

PANEL_ACTS = {
    "receive": _("Received"), "hang": _("Hung"), "adjust": _("Adjusted"), "take-out": _("Taken out"),
    "damage": _("Damaged"), "replace": _("Replaced"),
}

SECOND_LOOKS = {
    "listed_twice": _("This joint is listed twice: %(place)s %(side)s."),
    "deeper_than_wide": _("This joint is deeper than it is wide: %(place)s %(side)s."),
    "more_than_half_wasted": _("%(product)s: as waste is counted more than half of what it fills."),
    "one_anchor_only": _("There is room for one anchor only: %(member)s."),
    "very_thick": _("The packing is very thick at %(at)s."),
    "stands_out_from_its_neighbours": _("The station at %(at)s stands out from its neighbours by %(by)s."),
    "unlike_the_drawing": _("This %(reading)s is far from the drawing: %(value)s at the %(at)s."),
    "unlike_the_others": _("This %(reading)s is unlike the other two: %(value)s at the %(at)s."),
    "plumb_over_more_than_the_jamb": _("The %(at)s jamb was read over more than its height."),
    "tapes_cannot_tell_square": _("Tapes cannot tell square to that limit here: read the jambs with a level."),
    "equal_diagonals_but_not_square": _("The diagonals are equal, but top and bottom are not: it is not square."),
    "head_has_risen": _("The head reads higher than before at %(at)s, by %(by)s."),
    "left_is_within_the_readings": _("What is left is less than the readings can tell."),
    "gap": _("The gap at the %(where)s is improbably wide."),
    "roller_now": _("The %(where)s stands outside its travel."),
    "force_to_start": _("%(of)s: look again at the force to start, %(way)s."),
    "force_to_keep_moving": _("%(of)s: look again at the force to keep moving, %(way)s."),
    "friction": _("%(of)s runs harder than the panels beside it."),
    "surface_c": _("Air and surface are improbably far apart."),
    # of a unit, by why
    "seldom_so_wide_or_narrow": _("A clear width of %(read)s is seldom: check the frame width."),
    "seldom_so_high_or_low": _("A clear height of %(read)s is seldom: check the frame height."),
    "more_than_a_quarter_of_a_panel": _("In the door system, more than a quarter of a panel: %(thing)s, %(read)s."),
    "coarser_than_a_quarter_inch": _("The shop cuts to %(read)s, coarser than a quarter inch: check the door system."),
    "more_than_a_quarter_of_the_height": _("%(read)s comes off the height, more than a quarter of it: check the "
                                           "door system."),
    "weighed_apart_from_computed": _("Panel %(panel)s: the scale says %(weighed)s, its parts add up to "
                                     "%(computed)s. Weigh it again, check glass and door system."),
    "seldom_so_heavy_or_light": _("Panel %(panel)s: %(read)s is seldom. Check size, glass and door system."),
    "seldom_so_large": _("Panel %(panel)s: %(read)s is seldom for the %(thing)s."),
}

CAUTIONS = {
    "nothing_longer_into_the_pocket_wall": _("Nothing longer than the wall sheet says goes into the wall that hides "
                                             "the panels, trim, rails and towel bars included. The drawings and the "
                                             "trades concerned decide."),
    "panels_are_heavy": _("Panels are heavy glass: sizes and weights here are for planning. The maker's "
                          "instructions, the lifting equipment's manual, site rules and local law decide."),
    "structure_is_referred": _("What carries the wall is for the engineer of record and the builder to judge, "
                               "not for us. Their drawings and local code decide."),
    "grinding_dust_and_what_lies_below": _("Grinding raises silica dust, and bars or heating pipes may lie below. "
                                           "The tool's and the floor's makers, site rules and local law decide."),
    "levelling_compound_is_for_its_maker": _("Levelling compound burns skin and eyes while wet and raises dust when "
                                             "mixed or sanded. Its maker and site rules decide how it is handled, on "
                                             "what, how thick, how long it cures."),
    "head_clearance_not_read": _("The clearance at the head was not read: turning rollers up may bring the panel "
                                 "against it. The maker's instructions decide."),
    "no_forecast": _("No forecast was given: nothing is said of the hours after. The product's data sheet decides."),
    "forecast_ends_before_skin": _("The forecast ends before the sealant has skinned. The product's data sheet "
                                   "decides."),
    "forecast_ends_before_morning": _("The forecast ends before morning. The product's data sheet decides."),
    "below_freezing_constants": _("Below freezing the dew point is less certain. The product's data sheet decides."),
}
LIFTING_CAUTION = _("Weights are for planning. The lifting equipment's manual, site rules and local law decide.")
GLASS_CAUTION = _("The maker's instructions decide how a panel is handled and hung.")

_LADDERS = _("Ladders and platforms: their makers, site rules and local law decide.")
_LASER = _("Nobody looks into a laser: its maker's instructions decide.")
_HIDDEN = _("Wires, pipes and what carries may lie in this wall. The drawings, the trades concerned and local code "
            "decide what may be cut, drilled or driven in.")
_LONG = _("Sill, head and jambs are long and heavy. The maker's instructions, the lifting equipment's manual and site "
          "rules decide how they are lifted and held.")
_ROLLS = _("A panel is heavy glass on rollers: hands stay out of its path and of the pocket. The maker's instructions "
           "decide how it is moved, held and turned up.")
_SEALANTS = _("Sealants and what cleans before them act on skin, breath and fire: their data sheets decide.")

# On every sheet whose readings are taken where somebody can be hurt; what a verdict adds comes with the verdict.
SHEET_CAUTIONS = {
    "rough-opening": (_LADDERS, CAUTIONS["structure_is_referred"]),
    "floor-profile": (_LASER,),
    "pocket": (_HIDDEN,),
    "benchmark": (_LASER,),
    "frame": (_LONG, _LADDERS),
    "fastener": (_HIDDEN,),
    "head-under-load": (_LADDERS, CAUTIONS["structure_is_referred"]),
    "last-panel-gap": (_ROLLS,),
    "roller-preset": (_ROLLS,),
    "reveal": (_ROLLS,),
    "force": (_ROLLS,),
    "sill-again": (_ROLLS,),
    "sealing-conditions": (_SEALANTS, _LADDERS),
}
SILL_CAUTION = _("Where a joint is sealed and where it must stay open the maker's instructions decide.")
# The same, where somebody looks and says what they saw.
CHECK_CAUTIONS = {
    "header-in": CAUTIONS["structure_is_referred"],
    "pan-tested": _("Water only where the maker allows a test and what lies below is protected. The maker's "
                    "instructions decide."),
    "studs-clear": _HIDDEN,
    "pocket-open": _HIDDEN,
    "lifting-fits": LIFTING_CAUTION,
    "panels-in-order": GLASS_CAUTION,
    "rolls-freely": _ROLLS,
    "lock-engages": _ROLLS,
}

ANSWERS = {
    "yes": _("yes"), "no": _("no"), "maker-forbids": _("the maker does not allow it"),
    "other-evidence": _("other evidence"),
}

TAKEN_IN = {  # of an entry from a telephone
    "stored": _("recorded"), "had already": _("was there already"), "refused": _("not taken in"),
    "recorded, not advanced": _("recorded, not advanced"),
}

SETTLED = {
    "advanced": _("Advanced since"), "put-right": _("Put right on site"), "stands": _("Stands as it is"),
    "mistaken": _("Entered by mistake"),
}

SOURCES = {
    "common practice, no published source": _("Common practice, no published source."),
    "a starting value of our own, to be replaced": _("A starting value of our own, to be replaced."),
    "must be set by the office or the door system": _("The office or the door system has to set it."),
    "must be set by the door system or the office": _("The office or the door system has to set it."),
    "no limit set": _("The office or the door system has to set it."),
    "must be set by the door system": _("The door system has to set it."),
    "a common value for PVB, no published source": _("A common value for PVB, no published source."),
    "plain geometry": _("Plain geometry."),
    "as given": _("As entered."), "as sent": _("As entered."),
    "3.29 standard deviations, which chance exceeds once in a thousand": _(
        "More than good taping is off by, but once in a thousand times."),
}

# Lines of the feed, as they are noted by the acts; what is not here is shown as it was noted.
HAPPENED = {
    "copy taken in": _("A telephone's copy taken in"),
    "opening advanced": _("Advanced to %(to_stage)s"),
    "opening passed over": _("Gate passed over, to %(to_stage)s"),
    "opening stepped back": _("Stepped back to %(to_stage)s"),
    "opening put back": _("Put back to %(to_stage)s"),
    "recorded, not advanced": _("Recorded, not advanced: %(about)s"),
    "readings recorded": _("Readings recorded: %(kind)s, %(result)s"),
    "confirmed": _("Looked at: %(check)s, %(answer)s"),
    "wait raised": _("Wait raised, %(owed_by)s owes it: %(what_for)s"),
    "wait cleared": _("Wait cleared: %(what_for)s"),
    "punch item raised": _("Punch item no. %(number)s raised"),
    "punch item closed": _("Punch item no. %(number)s closed"),
    "punch item changed": _("Punch item changed"),
    "part set aside": _("Part set aside: %(part)s"),
    "part put back": _("Part put back: %(part)s"),
    "hold point released": _("The pocket closes: released"),
    "countersignature given": _("Countersigned by the office"),
    "countersignature refused": _("Countersignature refused"),
    "settled": _("Settled: %(how)s"),
    "joint done": _("Joint done: %(place)s %(side)s"),
    "photo added": _("Photo added: %(check)s"),
    "hours reported": _("Hours reported: %(hours)s"),
    "event noted": _("%(event)s"),
    "work given": _("Work given to %(crew)s: %(stage)s, %(days)s"),
    "work taken back": _("Work taken back from %(crew)s: %(stage)s, %(days)s"),
    "assignment changed": _("Assignment changed: %(crew)s, %(stage)s, %(days)s"),
    "told": _("Told of the days: %(crew)s, %(stage)s, %(days)s"),
    "callback logged": _("Callback logged: %(number)s, %(severity)s"),
    "callback closed": _("Callback closed: %(number)s, %(whose)s"),
    "return trip booked": _("Return trip booked: %(number)s, %(day)s, %(crew)s"),
    "return trip changed": _("Return trip changed: %(number)s, %(day)s, %(crew)s"),
    "return trip made": _("Return trip made: %(number)s, %(day)s, %(crew)s"),
    "adjustment logged": _("Adjusted: %(adjusted)s"),
    "delivery received": _("Delivery received"),
    "delivery looked through": _("Delivery looked through"),
    "parts listed": _("Parts listed"),
    "part came": _("%(part)s: %(whole)s whole, %(short)s short, %(damaged)s damaged"),
    "handed over": _("Handed over to %(holder)s"),
    "wall countersigned": _("Pocket wall countersigned by %(name)s, %(trade)s"),
    "builder's link made": _("Builder's link made"),
    "builder's link revoked": _("Builder's link revoked"),
    "builder reports it corrected": _("The builder reports it corrected"),
    "correction taken note of": _("Builder's report taken note of"),
}
HOLDERS = {
    "crew": _("our crew"), "builder": _("the builder"), "other-trades": _("other trades"), "owner": _("the owner"),
}
PARTS_TOGETHER = {
    "frame": _("sills, heads, jambs and interlocks"), "panels": _("panels"), "covers": _("track covers"),
    "cartridges": _("sealant"), "others": _("other parts"),
}
# What a rating may have in it already, or what its manual takes off besides.
RATING_LINES = {
    "safety_factor": _("Design factor"), "surface": _("Surface that is wet, dirty or coated"),
    "temperature": _("Cold and heat"), "angle": _("Panel held upright"), "overhang": _("Panel larger than the pads"),
    "pads": _("Pads worn or taken off"), "elevation": _("Height above the sea"),
    "one_circuit_lost": _("One circuit lost"),
}
RATING_LACKS = {
    "capacity": _("what it is rated for"), "circuits": _("how many vacuum circuits it has"),
    "people_to_steer": _("how many steer it"),
}
RATING_CAUTION = _("For planning. The equipment's maker, its nameplate and manual, site rules and local law decide "
                   "what it lifts, who works it and when it is inspected.")
LIMITS_CAUTION = _("The maker's instructions, the drawings, the engineer of record and local code go before any limit "
                   "set here.")
FIRMNESS = {"pencilled": _("pencilled"), "inked": _("inked")}
# Why nobody of a crew works on a day they would work.
CLOSED = {"holiday": _("public holiday"), "crew_off": _("day off"), "not_a_working_day": _("not a working day")}
# What speaks for and against giving work to a crew in a week, besides what stands against the work itself.
PLACED = {
    "late": _("All of it would be done on %(ends)s: %(in_days)s after the promised date."),
    "meets_inked": _("Meets what is inked: %(opening)s, %(when)s."),
    "pushes": _("Pushes what is pencilled: %(opening)s, %(when)s."),
    "shares": _("Shares its days with %(opening)s, %(when)s; there are hours for both."),
    "trip": _("A return trip is agreed for %(when)s: %(opening)s."),
    "own_later": _("%(what)s is given already, from %(start_day)s on: before this would be done."),
    "far": _("A long drive: about %(minutes)s minutes one way, estimated."),
    "keeps_promise": _("Keeps the promised date: all of it done on %(ends)s, %(in_days)s in hand."),
    "skills_there": _("Has the skills: %(skills)s."),
    "hands_there": _("Hands: %(there)s there, %(needed)s needed."),
    "lifter_free": _("%(equipment)s is free and holds %(left_grams)s."),
    "nothing_else": _("Nothing else stands on these days."),
    "same_job": _("Is on this job in that week: %(opening)s."),
    "gets_in": _("On %(equipment)s every panel gets past every leg of the way in."),
}
# In what a week comes after the one above it: the first cause in which the two differ.
AFTER = {
    "missing_skill": _("a skill is missing"), "late": _("it ends later after the promised date"),
    "too_few_hands": _("hands are short"), "lifting_short": _("what lifts is too weak"),
    "cart_short": _("what carries is too weak"), "way_in_stops": _("its cart does not get every panel in"),
    "way_in_unknown": _("whether its cart gets the panels in is not known"),
    "equipment_unknown": _("the manual of what goes along is still to be asked"),
    "meets_inked": _("it meets more that is inked"), "own_later": _("later work of this opening is given before"),
    "equipment_booked": _("its lifter or cart is given elsewhere"),
    "equipment_off": _("its lifter or cart is out of use"),
    "inspection_over": _("an inspection of what goes along is over"), "day_off": _("a day off lies in it"),
    "pushes": _("it pushes more that is pencilled"), "shares": _("it shares its days with more"),
    "trip": _("a return trip lies in it"),
    "far": _("the drive is long"), "week": _("it begins in a later week"),
    "drive": _("the drive is longer, or not known"), "ends": _("it is done later"),
}
# Why work cannot begin before a day.
NOT_BEFORE = {
    "cured": _("what was done before has cured by then"), "earliest": _("the earliest day the office set"),
    "expected": _("expected then: %(what)s"), "given_before": _("%(what)s is given until then"),
    "curing": _("%(what)s is given before, and has to cure until then"),
}
# What stands against giving work to a crew, as it stands now.
OBJECTIONS = {
    "before_earliest": _("It may not begin before %(earliest_day)s."),
    "day_off": _("The crew does not work on all of its days (%(days)s)."),
    "overlap": _("The crew is at %(opening)s, %(days)s."),
    "too_few_hands": _("Too few hands on %(day)s: %(needed)s are needed, %(there)s are there."),
    "missing_skill": _("Nobody on %(day)s has the skill: %(skill)s."),
    "equipment_booked": _("%(equipment)s is given to %(opening)s, %(days)s."),
    "equipment_off": _("%(equipment)s is out of use on these days."),
    "inspection_over": _("%(equipment)s: its inspection holds until %(until)s only."),
    "equipment_unknown": _("%(equipment)s: its maker's manual is still to be asked what it holds."),
    "cart_short": _("%(equipment)s carries %(left_grams)s; the heaviest panel weighs %(needed_grams)s."),
    "lifting_short": _("What lifts holds %(left_grams)s; the heaviest panel weighs %(needed_grams)s."),
    "way_in_stops": _("%(equipment)s: %(stops)s."),
    "way_in_unknown": _("Whether the panels get in on %(equipment)s, nobody can tell: %(doubt)s."),
}
EVENTS = {
    "re-pour": _("Floor poured again"), "structure": _("Work on the structure"),
    "other-trades": _("Other trades in the opening"),
}

# What follows from readings, by where it stands in what was computed.
COMPUTED = {
    "bed.packing_least_mm": _("Least packing under a level sill"),
    "bed.packing_greatest_mm": _("Most packing under a level sill"),
    "bed.bed_greatest_mm": _("Thickest bed that still presses the bead"),
    "slope_mm_per_m": _("Slope, end to end"),
    "high_end": _("High end"),
    "rack_by_plumb_mm": _("Rack, by plumb"),
    "rack_mm": _("Rack, by tapes"),
    "misclosure_mm": _("Falling diagonal, taped less implied"),
    "twist_mm": _("Twist"),
    "longest_allowed_mm": _("Longest fastener allowed"),
    "inside_above_outside_mm": _("Finish floor inside over outside"),
    "taper_mm": _("Taper, top less bottom"),
    "bow_mm": _("Bow at the middle"),
    "setting.taper_after_mm": _("Taper left after those turns"),
    "dew_point_c": _("Dew point"),
    "opens_at": _("Fit to seal from"),
    "cure_days": _("Cures through in"),
    "water_test_after_days": _("Water test not before"),
    "load_after_days": _("Load not before"),
    "roller_use.worst_mm": _("Roller travel the frame takes"),
}
ENDS = {"level": _("level"), "from": _("where the sill starts"), "to": _("where the sill ends")}

# Of a unit: what the verdicts come to.
UNIT_RESULTS = {
    "pass": _("It can be built"),
    "fail": _("It cannot be built so"),
    "not_enough_readings": _("Not enough is known yet"),
    "not_enough_data": _("Not enough is known yet"),
    "no_limit_set": _("Nothing speaks against it, but limits are not set"),
}
LAPS = {
    "jamb": _("at the lock jamb"), "meeting": _("where panels meet"), "middle": _("in the middle"),
    "interlock": _("at the pocket interlock"),
}
SIDES = {"left": _("left pocket"), "right": _("right pocket")}
HANDLED_BY = {"weighed": _("as weighed"), "computed": _("as computed")}

# ---- on the telephone, after acceptance: worst first ------------------------------------------------------

SEVERITIES = {
    "cannot-be-secured": _("Cannot be secured"), "broken-glass": _("Broken glass"), "water": _("Water in"),
    "drags": _("Drags"), "looks": _("Looks"),
}
SEVERITIES_MEAN = {
    "cannot-be-secured": _("It does not shut or does not lock."),
    "broken-glass": _("A pane is cracked, or glass is on the floor."),
    "water": _("Water comes in, or stands where it should not."),
    "drags": _("It moves, but hard, with noise, or not all the way."),
    "looks": _("It works. Something about it does not look right."),
}
HOW_SOON = {
    "cannot-be-secured": _("Somebody goes today."), "broken-glass": _("Somebody goes today."),
    "water": _("Somebody goes before the next rain."), "drags": _("Within the week."),
    "looks": _("With the next trip."),
}
# What to tell the owner until somebody comes.
TONIGHT = {
    "cannot-be-secured": (
        _("If anybody is trying to get in: leave the room and call the emergency number."),
        _("Close the panels as far as they go by hand. Do not force them, do not lift one, take nothing off."),
        _("Lock the inner doors to this room, leave a light on, and do not leave the house empty if you can help it."),
        _("Put nothing in front of a door that somebody needs to get out by."),
    ),
    "broken-glass": (
        _("Keep people and animals away from it, on both sides. Shoes on, all over the room."),
        _("Do not touch the panel, do not slide it, tape it or lean anything against it: what is cracked may still "
          "come down."),
        _("If anybody is cut: the emergency number first, then us."),
        _("Boarding it up is for people whose work that is. In wind stay out of the room."),
    ),
    "water": (
        _("Stay out of water that a socket, a cable or a lamp is near; have its circuit switched off by somebody who "
          "stands dry."),
        _("Take up rugs and lay towels in the room, not in the track: the track must drain to the outside."),
        _("Do not seal or tape anything, and put nothing into the small openings outside: water leaves by them."),
        _("Mind the wet floor. Note when it began, and how hard it rains and blows."),
    ),
    "drags": (
        _("Leave it where it stands, closed if it closes lightly. Do not force it and do not lift it."),
        _("Keep fingers out from between the panels, and children away from them."),
        _("If it stands open and does not close: take it as one that cannot be secured."),
    ),
    "looks": (
        _("Nothing has to be done tonight. Use it as always."),
        _("Turn no screws, and use nothing on glass or finish that its maker does not name."),
    ),
}
# What the owner can look at meanwhile, read out on the telephone.
MEANWHILE = {
    "cannot-be-secured": (
        _("Does anything lie in the track: a stone, a toy, the edge of a mat?"),
        _("Are all the panels out of the pocket as far as they go, the last one too?"),
        _("Is the lock turned out already while the panel is not quite shut? Turn it back, close, turn again."),
    ),
    "broken-glass": (
        _("From where you stand: which panel, the pane inside or outside?"),
        _("Long cracks, or all of it in small crumbs? Did anything hit it?"),
    ),
    "water": (
        _("At which end, and how far in? At the sill, at a jamb, or from above?"),
        _("Does water stand in the track? Are leaves, soil, snow or a stone against the sill outside?"),
        _("Rain with wind, or a hose or a sprinkler?"),
    ),
    "drags": (
        _("Does anything lie in the track? At the same place each time, and both ways?"),
        _("Only in sun or heat, or only after rain?"),
        _("Has anybody hung or screwed something to the wall that hides the panels, or laid paving against the sill?"),
    ),
    "looks": (
        _("Which panel, how high up? Seen from inside or from outside, in what light?"),
        _("Since when? Does it still move and lock as before?"),
    ),
}
MEANWHILE_CAUTION = _(
    "Only what can be seen from the floor, without ladder or tools, while the panels stand still. Nobody lifts a "
    "panel, reaches into the pocket or takes a cover off: a panel weighs more than people can hold, and crushes "
    "fingers. The maker's instructions go before this; whoever is in doubt leaves it and waits for us.")
WHOSE = {  # a callback, when it is closed
    "ours": _("Our work"), "maker": _("The maker"), "builder": _("The builder"), "wear": _("Wear and use"),
    "none": _("Nothing found"), "": _("Not yet known"),
}
# What an adjustment was read by, before and after.
ADJUSTED_BY = {
    "gaps": _("reveal"), "end_gap_mm": _("end gap"), "weeps_running": _("weeps running"),
    "drain_seconds": _("seconds to drain"), "start_n": _("force to start"), "keep_moving_n": _("force to keep moving"),
}

# ---- what needs somebody ---------------------------------------------------------------------------------

NEEDS = {
    "failed": _("Checks that fail"), "wait": _("Waits past their day"), "kept": _("Recorded, not advanced"),
    "countersignature": _("Countersignatures owed"), "unfit": _("Work given that no longer fits"),
    "unassigned": _("Ready, with nobody given to it"), "promise": _("Promised days in danger"),
    "item": _("Punch items overdue"), "aside": _("Set-aside parts not back"),
    "callback": _("Callbacks with nobody going"), "corrected": _("Reported put right"),
    "delivery": _("Deliveries past their day"), "short": _("Parts short, and none to come"),
}
NEEDS_ONE = {
    "failed": _("Check fails"), "wait": _("Wait past its day"), "kept": _("Recorded, not advanced"),
    "countersignature": _("Countersignature owed"), "unfit": _("Given, and no longer fits"),
    "unassigned": _("Ready, nobody given to it"), "promise": _("Promised day in danger"),
    "item": _("Punch item overdue"), "aside": _("Set-aside part not back"),
    "callback": _("Callback, nobody going"), "corrected": _("Reported put right"),
    "delivery": _("Delivery past its day"), "short": _("Parts short, none to come"),
}
NEED_LEVELS = {
    1: _("Somebody stands before it, today or tomorrow"),
    2: _("Work went on over a gate, or nobody can pass it over"),
    3: _("A promised day is lost or in danger"),
    4: _("Past the day that was said"),
    5: _("Given for the coming weeks, and does not fit"),
    6: _("Stands still until somebody does something"),
    7: _("Asked for; its day is still to come"),
}
NEEDS_WHY = {
    "kept": _("Done on site; the record stands still, %(days)s."),
    "countersignature": _("It went on; the office has not said yes or no, %(days)s."),
    "unassigned": _("It could go on: %(days)s."), "failed": _("The opening does not go on: %(days)s."),
    "corrected": _("To be read again: %(days)s."), "aside": _("The work it was taken off for is over, %(days)s."),
    "callback": _("No crew is booked to go: %(days)s."), "short": _("No delivery brings it: %(days)s."),
}
NEEDS_ACT = {
    "wait": _("Clear it, ask again"), "kept": _("Settle it"), "countersignature": _("Sign, or refuse"),
    "unfit": _("Give it otherwise"), "unassigned": _("Give it to a crew"), "promise": _("Look at the job"),
    "item": _("Close it"), "aside": _("Put it back"), "callback": _("Book a return trip"),
    "corrected": _("Take note of it"), "delivery": _("Receive or put off"), "short": _("Order it anew"),
}
PROMISES = {
    "late": _("%(tag)s is not done; not before %(ends)s, as things stand."),
    "given-after": _("%(tag)s is given to a crew until %(ends)s."),
    "too-much": _("%(tag)s ends not before %(ends)s, as things stand."),
}
