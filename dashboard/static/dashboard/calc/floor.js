/* floor-profile: as inspections/calc/floor.py, which says how and by whose limits. Nothing is sampled, nothing is
   rounded before it is compared. How to put a floor right for the least is worked out by the office. */

import { asWritten, ascending, compare, least, less, most, negative, over, plus, ratio, sign, times, toward }
  from "./exact.js";
import { choice, isEmpty, isThere, length, need, unitOf } from "./inputs.js";
import * as profile from "./profile.js";
import { DOWN_FROM_LEVEL, FEWEST, HEIGHT, INNER, MOST, OUTER, oneLine, spikes, tooFarApart, tracks }
  from "./stations.js";
import { BadInput, atLeast, atMost, overall, printed, unjudged, verdict } from "./verdict.js";

/** @import { Exact } from "./exact.js" */
/** @import { Profile, Spread } from "./profile.js" */
/** @import { Lines } from "./stations.js" */
/** @import { Finding, Limits, Verdict } from "./verdict.js" */
/**
 * @typedef {object} Floor what was read; heights against the benchmark where one was read, else the laser or datum
 * @property {Lines} read @property {bigint | null} from @property {bigint | null} to the sill's ends, as given
 * @property {boolean} onBenchmark @property {number | null} tracks
 */

export const NAME = "floor-profile";
export const LIMITS = {
  rise_in_a_foot: "mm", total_range: "mm", cross_fall: "mm", wind: "mm", window: "mm", widest_spacing: "mm",
  bed_least: "mm", bead: "mm", squeeze_least: "pct", grind_cost: "number", fill_cost: "number", grind_most: "mm",
};
const MUST_EXCEED_NOUGHT = ["window", "widest_spacing", "bead"];

/** @param {object} payload @param {Limits} limits @returns {Verdict} */
export function judge(payload, limits) {
  return judgeFloor(floorOf(payload), checked(limits));
}

// ---- what was sent

/** @returns {Floor} */
function floorOf(payload) {
  const unit = unitOf(payload);
  need(payload, "stations");
  const readAs = choice(payload.read_as === undefined ? HEIGHT : payload.read_as, "read_as", [HEIGHT, DOWN_FROM_LEVEL]);
  const [benchmark, from, to] = ["benchmark_reading", "sill_from", "sill_to"]
    .map(name => optional(payload, name, unit));
  if (from !== null && to !== null && from >= to) {
    throw new BadInput("sill_to", payload.sill_to, "the sill must end beyond where it starts");
  }
  const up = readAs === HEIGHT ? 1n : -1n, level = benchmark ?? 0n;
  const heights = name => oneLine(isEmpty(payload[name]) ? [] : payload[name], name, unit)
    .map(([at, value]) => [at, up * (value - level)]);
  const inner = isThere(payload.inner) ? heights("inner") : null;
  const outer = heights("stations");
  return { read: inner === null ? { [OUTER]: outer } : { [OUTER]: outer, [INNER]: inner }, from, to,
    onBenchmark: benchmark !== null, tracks: tracks(payload) };
}

function optional(payload, name, unit) {
  return isThere(payload[name]) ? length(payload[name], name, { unit, signed: true }) : null;
}

/** Every limit by name, exact; a negative one is no limit that could be meant. @returns {Limits} */
function checked(limits) {
  return Object.fromEntries(Object.keys(LIMITS).map(name => {
    const { value: sent, source } = limits[name];
    const value = typeof sent === "number" ? asWritten(sent) : sent;
    const refuse = right => { throw new BadInput(`limits.${name}`, printed(value, LIMITS[name]), right); };
    const positive = MUST_EXCEED_NOUGHT.includes(name);
    if (value !== null && (sign(value) < 0 || (sign(value) === 0 && positive))) {
      refuse(positive ? "more than nought" : "nought or more");
    }
    if (name === "squeeze_least" && value !== null && compare(value, 100n) > 0) refuse("a share of the bead, 0 to 100");
    return [name, { value, source }];
  }));
}

// ---- the judgement

/** @param {Floor} floor @param {Limits} limits @returns {Verdict} */
function judgeFloor(floor, limits) {
  const lines = Object.entries(floor.read);
  if (lines.every(([, points]) => points.length === 0) && (floor.from === null || floor.to === null)) {
    const missing = lines.map(([line]) => ({ what: "three_stations", line, have: 0, at_mm: [] }));
    return verdict(overall([], missing), { missing });
  }
  const [start, end] = sill(floor);
  const seen = profile.withinSill(floor.read, start, end);
  const missing = [...missingFrom(floor, start, end, limits.widest_spacing.value)];
  const findings = [...judgeProfile(seen, limits), ...spacingUnset(limits)];
  return verdict(overall(findings, missing),
    { findings, computed: computed(floor, seen, limits), missing, secondLook: secondLook(floor) });
}

/** @param {Profile} seen @param {Limits} limits @returns {Finding[]} */
function judgeProfile(seen, limits) {
  if (seen.lines.length === 0) return [];
  const heights = profile.heightsBetween(seen);
  return [
    ...seen.lines.map(line => rise(line, seen.scale, limits)),
    totalRange(heights, limits.total_range),
    ...across(seen, limits),
    squeeze(heights, limits),
  ];
}

function rise(line, scale, limits) {
  const limit = limits.rise_in_a_foot, window = limits.window.value;
  if (window === null) return unjudged("worst_rise_in_a_foot", limit, { where: { line: line.name } });
  const { by, start, end } = profile.worstRise(line, window, scale);
  const where = { line: line.name, from_mm: start, to_mm: end };
  return atMost("worst_rise_in_a_foot", by, limit, { where, remedy: { code: "grind_or_fill_between", values: where } });
}

function totalRange(heights, limit) {
  const where = {
    low_line: heights.leastLine, low_at_mm: heights.leastAt,
    high_line: heights.greatestLine, high_at_mm: heights.greatestAt,
  };
  return atMost("total_range", less(heights.greatest, heights.least), limit,
    { where, remedy: { code: "grind_high_or_fill_low", values: where } });
}

/** Nothing for a sill of one track. @returns {Finding[]} */
function across({ lines: [outer, inner], scale }, limits) {
  const falls = inner === undefined ? null : profile.across(outer, inner, scale);
  if (falls === null) return [];
  const inwards = negative(falls.least), more = compare(falls.greatest, inwards);
  // Where it falls as far either way, the place that comes first.
  const outwards = more > 0 || (more === 0 && falls.greatestAt <= falls.leastAt);
  const where = outwards ? { at_mm: falls.greatestAt, high_line: INNER } : { at_mm: falls.leastAt, high_line: OUTER };
  const places = [falls.leastAt, falls.greatestAt];
  const apart = { from_mm: least(places), to_mm: most(places) };
  return [
    atMost("cross_fall", outwards ? falls.greatest : inwards, limits.cross_fall,
      { where, remedy: { code: "level_across_at", values: where } }),
    atMost("wind", less(falls.greatest, falls.least), limits.wind,
      { where: apart, remedy: { code: "take_out_wind_between", values: apart } }),
  ];
}

/** Least where the floor is lowest: there the bed is thickest and the bead pressed least. */
function squeeze(heights, limits) {
  const where = { line: heights.leastLine, at_mm: heights.leastAt };
  const limit = limits.squeeze_least, bed = limits.bed_least.value, bead = limits.bead.value;
  if (bed === null || bead === null) return unjudged("squeeze", limit, { where, unit: "pct", least: true });
  const packing = less(plus(heights.greatest, bed), heights.least);
  const values = { ...where, packing_mm: packing, bead_mm: bead };
  return atLeast("squeeze", squeezePct(packing, bead), limit,
    { unit: "pct", where, remedy: { code: "fill_or_thicker_bead", values } });
}

function squeezePct(packing, bead) {
  return over(times(100n, less(bead, packing)), bead);
}

function spacingUnset(limits) {
  const limit = limits.widest_spacing;
  return limit.value === null ? [unjudged("widest_spacing", limit)] : [];
}

// ---- what is missing, what looks odd

/** The sill's ends as given, else the furthest stations. @param {Floor} floor @returns {[bigint, bigint]} */
function sill({ read, from, to }) {
  const places = Object.values(read).flat().map(([at]) => at);
  const start = from ?? least(places), end = to ?? most(places);
  return [start, end < start ? start : end];
}

/** Where to read, line by line: the ends, between stations too far apart, and three at the least. */
function* missingFrom(floor, start, end, widest) {
  if (!(INNER in floor.read) && (floor.tracks ?? 1) > 1) {
    yield { what: "inner_line", line: INNER, from_mm: start, to_mm: end };
  }
  for (const [line, points] of Object.entries(floor.read)) {
    const places = points.map(([at]) => at);
    const ends = ascending([start, end]).filter(x => places.length === 0 || x < places[0] || x > places.at(-1));
    yield* ends.map(x => ({ what: "sill_end", line, at_mm: x }));
    // An end that is still to be read counts as a station.
    if (places.length > 0) yield* gaps(line, ascending([...places, ...ends]), start, end, widest);
    const have = places.filter(x => start <= x && x <= end).length;
    if (have < FEWEST) {
      const middle = (start + end) >> 1n; // rounded down below nought too
      const at = ascending([start, middle, end]).filter(x => !places.includes(x) && !ends.includes(x));
      yield { what: "three_stations", line, have, at_mm: at };
    }
  }
}

/** Between neighbours too far apart, in equal steps. */
function gaps(line, stations, start, end, widest) {
  return tooFarApart(stations, start, end, widest).map(([left, right]) => {
    const apart = right - left;
    const asked = (apart + widest - 1n) / widest, steps = asked < MOST ? Number(asked) : MOST; // a list to be walked
    const at = Array.from({ length: steps - 1 }, (_, k) => left + apart * BigInt(k + 1) / BigInt(steps));
    return { what: "stations_between", line, from_mm: left, to_mm: right, at_mm: at };
  });
}

function secondLook(floor) {
  return Object.entries(floor.read).flatMap(([line, points]) => spikes(points)
    .map(([at, by]) => ({ what: "stands_out_from_its_neighbours", line, at_mm: at, by_mm: by })));
}

// ---- what follows from the readings

function computed(floor, seen, limits) {
  if (seen.lines.length === 0) return {};
  const shown = { heights_against: floor.onBenchmark ? "benchmark" : "datum" };
  if (!(INNER in floor.read)) shown.does_not_apply = ["cross_fall", "wind"];
  for (const line of seen.lines) {
    const before = line.name === OUTER ? "" : `${line.name}_`, slope = slopeOf(line, seen.scale);
    shown[`${before}slope_mm_per_m`] = times(slope, 1000n);
    shown[`${before}high_end`] = toward(slope, "to", "from") ?? "level";
  }
  shown.bed = bedOf(seen, limits);
  return shown;
}

/** End to end; positive where the floor rises along the sill. */
function slopeOf({ at, heights }, scale) {
  const run = at.at(-1) - at[0];
  return run === 0n ? 0n : ratio(heights.at(-1) - heights[0], run * scale);
}

/** A level sill on this floor; nothing before `bed_least` is set, no squeeze without a bead. */
function bedOf(seen, limits) {
  const bed = limits.bed_least.value, bead = limits.bead.value;
  if (bed === null) return null;
  const heights = profile.heightsBetween(seen), level = plus(heights.greatest, bed);
  return {
    sill_underside_mm: level,
    bed_least_mm: bed,
    bed_greatest_mm: bedGreatest(heights, limits),
    packing_least_mm: bed,
    packing_greatest_mm: less(level, heights.least),
    packing: seen.lines.flatMap(line => line.at.map((x, i) => {
      const packing = less(level, ratio(line.heights[i], seen.scale));
      return { line: line.name, at_mm: x, packing_mm: packing,
        squeeze_pct: bead === null ? null : squeezePct(packing, bead) };
    })),
  };
}

/** The thickest bed over the highest place that still presses the bead enough over the lowest. */
function bedGreatest(heights, limits) {
  const bead = limits.bead.value, pressed = limits.squeeze_least.value;
  if (bead === null || pressed === null) return null;
  const packingMost = over(times(bead, less(100n, pressed)), 100n);
  return less(packingMost, less(heights.greatest, heights.least));
}
