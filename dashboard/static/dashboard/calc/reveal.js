/* The reveal: is the gap beside a panel's edge even and wide enough, and which roller goes how far which way.

   taper = top - bottom, over the height between those two readings
   bow   = middle - the chord from bottom to top, at the height of the middle reading: no roller removes it

   Whole nanometres; the bow stays a fraction until it is compared. What the rollers do is in rollers.js. */

import { absolute, asStored, compare, halfAway, leastBy, less, most, mostBy, over, plus, ratio, sign, times, toNumber }
  from "./exact.js";
import { isEmpty, isThere, length, mapping, need, onlyKnown, unitOf } from "./inputs.js";
import * as rollers from "./rollers.js";
import { BadInput, NO_LIMIT, atLeast, atMost, overall, verdict } from "./verdict.js";

/** @import { Gap, Hanging, Setting } from "./rollers.js" */
/** @import { Finding, Limits, Verdict } from "./verdict.js" */
/**
 * @typedef {object} Edge what was read at one edge of one panel
 * @property {Record<string, Gap>} gaps by place, top to bottom; any may be lacking
 * @property {Hanging | null} hanging without it the gap is judged, but no setting is worked out
 * @property {object[]} lacking
 */

export const NAME = "reveal";
export const LIMITS = { taper: "mm", gap_least: "mm", gap_most: "mm", bow: "mm" };

const PLACES = ["top", "middle", "bottom"], ROLLERS = ["near", "far"], SCREW = ["now", "preset", "lowest", "highest"];
const NEEDED = ["roller_spacing", "from_edge", "thread_pitch"];
const WIDE_GAP = 50_000_000n; // nm: nobody leaves two inches beside a panel on purpose

/** @param {object} payload @param {Limits} limits @returns {Verdict} */
export function judge(payload, limits) {
  return judgeEdge(readEdge(payload),
    Object.fromEntries(Object.keys(LIMITS).map(name => [name, limits[name] ?? NO_LIMIT])));
}

// ---- the judgement

/** @param {Edge} edge @param {Limits} limits @returns {Verdict} */
function judgeEdge(edge, limits) {
  const turns = hasTaper(edge) && edge.hanging !== null
    ? rollers.setting(edge.gaps, edge.hanging, limits.taper.value) : null;
  const findings = [...findingsOf(edge, turns, limits)];
  const uneven = findings.some(({ quantity, within }) => quantity === "taper" && within === false);
  const missing = [...PLACES.filter(place => !(place in edge.gaps)).map(where => ({ what: "gap", where })),
    ...(uneven ? edge.lacking : [])];
  const noHead = edge.hanging !== null && edge.hanging.headClearance === null;
  return verdict(overall(findings, missing), { findings, computed: computed(edge, turns, limits.taper.value), missing,
    secondLook: [...secondLook(edge)], caution: noHead ? "head_clearance_not_read" : null });
}

function hasTaper({ gaps }) {
  return "top" in gaps && "bottom" in gaps;
}

/** @returns {Generator<Finding>} */
function* findingsOf(edge, turns, limits) {
  if (hasTaper(edge)) yield judgeTaper(edge, turns, limits.taper);
  if (Object.keys(edge.gaps).length === PLACES.length) yield judgeBow(edge, limits.bow);
  if (Object.keys(edge.gaps).length > 0) yield* judgeWidth(edge, turns, limits);
}

function judgeTaper({ gaps, hanging }, turns, limit) {
  const read = rollers.taper(gaps);
  const where = { from_mm: gaps.bottom.height, to_mm: gaps.top.height,
    wide_at: read > 0n ? "top" : read < 0n ? "bottom" : null };
  const closes = turns !== null && compare(absolute(rollers.taperLeft(turns.gaps)), limit.value ?? 0n) <= 0;
  const remedy = hanging === null ? { code: "read_the_rollers" }
    : closes ? { code: "turn_rollers", values: { rollers: moves(turns) } } : { code: "rollers_cannot_close" };
  return atMost("taper", absolute(read), limit, { where, remedy });
}

function bow({ top, middle, bottom }) {
  const along = ratio(middle.height - bottom.height, top.height - bottom.height);
  return less(middle.gap, plus(bottom.gap, times(top.gap - bottom.gap, along)));
}

function judgeBow({ gaps }, limit) {
  const read = bow(gaps);
  const usual = sign(read) > 0 ? ["jamb_bowed_away_from_panel", "stile_bowed_away_from_jamb"]
    : ["jamb_bowed_towards_panel", "stile_bowed_towards_jamb"];
  return atMost("bow", absolute(read), limit, { where: { at_mm: gaps.middle.height },
    remedy: { code: "rollers_cannot_remove_bow", values: { usual } } });
}

/** The narrowest and the widest gap read. Rollers help only where the gap is uneven. */
function judgeWidth(edge, turns, limits) {
  const places = Object.keys(edge.gaps), gapAt = place => edge.gaps[place].gap;
  const narrow = leastBy(places, gapAt), wide = mostBy(places, gapAt);
  const after = turns === null || isEven(edge, limits.taper) ? [] : Object.values(turns.gaps);
  const comesRight = (limit, holds) => after.length > 0 && limit.value !== null
    && after.every(gap => holds(compare(gap, limit.value)));
  const remedy = (right, otherwise) => ({ code: right ? "close_the_taper_first" : otherwise });
  return [
    atLeast("gap_least", gapAt(narrow), limits.gap_least, { where: placed(edge, narrow),
      remedy: remedy(comesRight(limits.gap_least, by => by >= 0), "too_narrow_not_a_roller_matter") }),
    atMost("gap_most", gapAt(wide), limits.gap_most, { where: placed(edge, wide),
      remedy: remedy(comesRight(limits.gap_most, by => by <= 0), "too_wide_not_a_roller_matter") }),
  ];
}

function isEven({ gaps }, limit) {
  return hasTaper({ gaps }) && compare(absolute(rollers.taper(gaps)), limit.value ?? 0n) <= 0;
}

function placed({ gaps }, place) {
  return { place, at_mm: gaps[place].height };
}

// ---- what follows

function computed(edge, turns, limit) {
  if (!hasTaper(edge)) return {};
  const { gaps, hanging } = edge, read = rollers.taper(gaps), height = rollers.heightRead(gaps);
  return {
    taper_mm: read, over_mm: height,
    ...("middle" in gaps ? { bow_mm: bow(gaps) } : {}),
    ...(hanging === null ? {} : { lift_to_close_mm: rollers.liftToClose(hanging.spacing, read, height) }),
    setting: turns === null ? null : { rollers: moves(turns), ...after(edge, turns) },
    unreachable: hanging === null ? null : unreachable(edge, turns, limit),
  };
}

/** Each roller's move after the rounding to an eighth of a turn; `unrounded_mm` is what it was before. */
function moves({ hanging, eighths, exact }) {
  return [hanging.near, hanging.far].map(({ now }, n) => {
    const move = ratio(hanging.pitch * eighths[n], 8n);
    return {
      roller: ROLLERS[n], way: eighths[n] > 0n ? "up" : eighths[n] < 0n ? "down" : "leave",
      turns: turnsText(eighths[n]),
      turns_eighths: Number(absolute(eighths[n])), move_mm: move, unrounded_mm: less(exact[n], now),
      from_mm: now, to_mm: plus(now, move),
    };
  });
}

/** `1 3/8`, `1/2`, `2`, `0`: how many turns, whichever way. */
function turnsText(eighths) {
  const count = absolute(eighths), whole = count / 8n, part = ratio(count % 8n, 8n);
  return [whole > 0n || part === 0n ? `${whole}` : "", part === 0n ? ""
    : `${part.top}/${part.under}`].filter(Boolean).join(" ");
}

/** What the rounded turns leave. Shifts are away from the jamb; the edge's is taken half-way up the readings. */
function after({ gaps }, turns) {
  const { hanging } = turns, at = rollers.turned(hanging, turns.eighths);
  const grows = rollers.lean(hanging, at), drawn = rollers.drawnTogether(hanging, at);
  const halfWay = ratio(gaps.top.height + gaps.bottom.height, 2n), reach = times(grows, hanging.fromEdge);
  const rise = plus(less(at[0], hanging.near.now), reach), otherRise = less(less(at[1], hanging.far.now), reach);
  const { lockHeight: lock, headClearance: head } = hanging;
  return {
    gaps_after: Object.fromEntries(Object.entries(turns.gaps).map(([place, gap]) => [`${place}_mm`, gap])),
    taper_after_mm: rollers.taperLeft(turns.gaps),
    meets_jamb: Object.values(turns.gaps).some(gap => gap < 0n),
    lean_change_deg: less(degrees(less(...at), hanging), degrees(rollers.spread(hanging), hanging)),
    edge_shift_mm: plus(times(halfWay, grows), drawn),
    edge_rise_mm: rise,
    lock_shift: lock === null ? null : { away_mm: plus(times(lock, grows), drawn), up_mm: rise },
    head_clearance_after_mm: head === null ? null : less(head, most([rise, otherRise])),
  };
}

/** To a thousandth. */
function degrees(spread, { spacing }) {
  const degree = Math.asin(toNumber(over(spread, spacing))) * (180 / Math.PI);
  return ratio(halfAway(times(asStored(degree), 1000n)), 1000n);
}

/** What is left of the taper at best, and what that usually means; null where the rollers can close it. With no limit
    set, a taper counts as closed when nothing but an eighth of a turn stands between it and nought. */
function unreachable(edge, turns, limit) {
  const left = turns === null ? rollers.taper(edge.gaps) : rollers.taperLeft(turns.gaps);
  const stopped = turns === null ? ["travel_and_head_clearance"] : turns.stoppedBy;
  if (turns !== null && (compare(absolute(left), limit ?? 0n) <= 0
    || (limit === null && stopped.length === 0))) return null;
  return { left_mm: left, stopped_by: stopped.length > 0 ? stopped : ["thread_pitch"],
    usual: usual(edge, absolute(left)) };
}

/** What is usually behind a taper that the rollers cannot close: by how much, and what to read to know. */
function usual({ gaps, hanging }, left) {
  const height = rollers.heightRead(gaps), { spacing } = hanging;
  return [
    { cause: "jamb_out_of_plumb", read: "jamb_plumb", by_mm: left, over_mm: height },
    { cause: "panel_racked", read: "panel_diagonals", by_mm: left, over_mm: height },
    { cause: "sill_not_level", read: "sill_level", by_mm: ratio(left * spacing, height), over_mm: spacing },
  ];
}

function* secondLook({ gaps, hanging }) {
  for (const [place, { gap }] of Object.entries(gaps)) {
    if (gap > WIDE_GAP) yield { what: "gap", where: place, why: "improbably_wide", read_mm: gap };
  }
  for (const name of hanging === null ? [] : ROLLERS) {
    const { now, lowest, highest } = hanging[name];
    if (now < lowest || now > highest) yield { what: "roller_now", where: name,
      why: "outside_its_travel", read_mm: now };
  }
}

// ---- reading what was sent

/** @returns {Edge} */
function readEdge(payload) {
  const unit = unitOf(payload), gaps = gapsOf(payload, unit);
  return { gaps, ...hangingOf(payload, unit) };
}

function gapsOf(payload, unit) {
  const read = mapping(need(payload, "gaps"), "gaps"), heights = mapping(need(payload, "heights"), "heights");
  onlyNamed(read, PLACES, "gaps");
  const gaps = {};
  for (const place of PLACES.filter(name => isThere(read[name]))) {
    const at = need(heights, place, "heights.");
    gaps[place] = { gap: length(read[place], `gaps.${place}`, { unit }),
      height: length(at, `heights.${place}`, { unit, signed: true }) };
  }
  const there = Object.keys(gaps);
  for (const [n, lower] of there.slice(1).entries()) {
    if (gaps[lower].height >= gaps[there[n]].height) {
      throw new BadInput(`heights.${lower}`, heights[lower], `it must lie below the height of ${there[n]}`);
    }
  }
  return gaps;
}

/** @returns {{hanging: Hanging | null, lacking: object[]}} where something is lacking, no hanging but what is
    lacking */
function hangingOf(payload, unit) {
  const sent = mapping(isEmpty(payload.rollers) ? {} : payload.rollers, "rollers");
  onlyNamed(sent, ROLLERS, "rollers");
  const each = Object.fromEntries(ROLLERS.map(name => [name,
    mapping(isEmpty(sent[name]) ? {} : sent[name], `rollers.${name}`)]));
  const lacking = [...NEEDED.filter(name => !isThere(payload[name])).map(what => ({ what })),
    ...ROLLERS.flatMap(where => SCREW.filter(part => !isThere(each[where][part])).map(part =>
      ({ what: `roller_${part}`, where })))];
  if (lacking.length > 0) return { hanging: null, lacking };
  const hanging = {
    spacing: size(payload, "roller_spacing", unit), fromEdge: optional(payload, "from_edge", unit),
    pitch: size(payload, "thread_pitch", "mm"), near: roller(each, "near", unit), far: roller(each, "far", unit),
    lockHeight: optional(payload, "lock_height", unit), headClearance: optional(payload, "head_clearance", unit),
    headLeast: optional(payload, "head_clearance_least", unit) ?? 0n,
  };
  if (rollers.travel(hanging) >= hanging.spacing) {
    throw new BadInput("roller_spacing", payload.roller_spacing, "it must be more than the rollers can travel");
  }
  return { hanging, lacking };
}

function roller(each, name, unit) {
  const sent = each[name], field = `rollers.${name}`;
  onlyNamed(sent, SCREW, field);
  const read = Object.fromEntries(SCREW.map(part => [part,
    length(sent[part], `${field}.${part}`, { unit, signed: true })]));
  if (read.lowest > read.highest) throw new BadInput(`${field}.lowest`, sent.lowest, "it must not lie above highest");
  return read;
}

/** Shows what stands under a name that is not known here. */
function onlyNamed(sent, names, within) {
  for (const [name, value] of Object.entries(sent)) {
    if (!names.includes(name)) throw new BadInput(`${within}.${name}`, value, `one of: ${names.join(", ")}`);
  }
}

function size(payload, name, unit) {
  const nm = length(payload[name], name, { unit });
  if (nm === 0n) throw new BadInput(name, payload[name], "it must be more than nothing");
  return nm;
}

function optional(payload, name, unit) {
  return isThere(payload[name]) ? length(payload[name], name, { unit }) : null;
}
