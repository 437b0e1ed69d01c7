/* Head watch, how far the head has come down and what that leaves above the panels: as inspections/calc/head.py. What
   carries the wall is referred to whoever answers for it, never judged here. */

import { absolute, asWritten, compare, halfAway, less, mostBy, over, ratio, root } from "./exact.js";
import { choice, isMapping, isThere, length, mapping, need, number, onlyKnown, sequence } from "./inputs.js";
import { HEIGHT, OUTER, heights } from "./stations.js";
import { BadInput, atLeast, printed } from "./verdict.js";

/** @import { Exact } from "./exact.js" */
/** @import { Finding, Limits } from "./verdict.js" */
/** @typedef {[bigint, bigint][]} Gaps [at, head less sill], nm */
/** @typedef {{when: string, gaps: Gaps, readingsEach: bigint}} Visit what was read that day, out of how many */
/**
 * @typedef {object} Watch nm; null where nobody said. What is of the design is named as it is sent.
 * @property {Visit[]} visits
 * @property {bigint | null} panel_clearance @property {bigint | null} planned_raise
 * @property {Exact | null} deflection_allowed @property {bigint | null} reading_deviation
 */

export const CAUTION = "structure_is_referred";
export const DESIGN = ["panel_clearance", "planned_raise", "deflection_allowed", "reading_deviation"];
const WHEN = ["frame_set", "weight_on", "panels_hung", "acceptance", "callback"];
// Where nobody asked for more: with less than nothing left a panel does not go in, whoever sets the limits.
const NOTHING_LESS = { value: 0n, source: "a panel taller than its opening does not go in" };
const MICROMETRE = 1000n;

/** Positive where the head has come down. @param {Watch} watch @returns {Gaps} */
function drops({ visits }) {
  return visits.length < 2 ? [] : dropsBetween(visits[0], visits.at(-1));
}

function dropsBetween(first, now) {
  return first.gaps.map(([at, before], i) => [at, before - now.gaps[i][1]]);
}

/** One standard deviation, nm, to the micrometre. @param {Watch} watch @returns {bigint | null} */
function dropDeviation({ visits, reading_deviation: deviation }) {
  if (deviation === null || visits.length < 2) return null;
  const square = (visits[0].readingsEach + visits.at(-1).readingsEach) * deviation ** 2n;
  return MICROMETRE * halfAway(ratio(root(square * 10n ** 12n), 10n ** 6n * MICROMETRE));
}

/** @param {Watch} watch @param {bigint} drop @param {Exact} deflection @returns {Exact} */
function left(watch, drop, deflection = 0n) {
  return less(watch.panel_clearance - drop - (watch.planned_raise ?? 0n), deflection);
}

// ---- reading what was sent

/**
 * @param {bigint | null} readingDeviation used where the readings do not bring their own
 * @returns {Watch}
 */
export function read(given, unit, readAs, readingDeviation) {
  const sent = mapping(given, "watch");
  onlyKnown(sent, ["readings", ...DESIGN], "watch");
  const visits = sequence(need(sent, "readings", "watch."), "watch.readings", { most: 100 })
    .map((day, i) => visitOf(day, `watch.readings[${i}]`, unit, readAs));
  inOrderAtTheSameStations(visits);
  const design = name => (isThere(sent[name]) ? length(sent[name], `watch.${name}`, { unit }) : null);
  return {
    visits,
    panel_clearance: design("panel_clearance"),
    planned_raise: design("planned_raise"),
    reading_deviation: design("reading_deviation") ?? readingDeviation,
    deflection_allowed: deflectionOf(sent.deflection_allowed, unit),
  };
}

/** @returns {Visit} */
function visitOf(given, name, unit, readAs) {
  const sent = mapping(given, name);
  onlyKnown(sent, ["when", "gaps", "head", "sill"], name);
  const when = choice(need(sent, "when", `${name}.`), `${name}.when`, WHEN);
  if (isThere(sent.gaps)) {
    return { when, gaps: lineOf(sent.gaps, `${name}.gaps`, unit, HEIGHT), readingsEach: 1n };
  }
  const [head, sill] = ["head", "sill"].map(key => lineOf(need(sent, key, `${name}.`), `${name}.${key}`, unit, readAs));
  if (!sameStations(head, sill)) {
    const at = sill.map(([place]) => printed(place, "mm"));
    throw new BadInput(`${name}.sill`, at, "read head and sill at the same stations");
  }
  return { when, gaps: head.map(([at, up], i) => [at, up - sill[i][1]]), readingsEach: 2n };
}

function lineOf(sent, name, unit, readAs) {
  const points = heights(sent, name, unit, readAs)[OUTER] ?? [];
  if (points.length === 0) throw new BadInput(name, sent, "a reading has at least one station");
  return points;
}

function inOrderAtTheSameStations(visits) {
  for (const [i, after] of visits.entries()) {
    const before = visits[Math.max(0, i - 1)];
    if (WHEN.indexOf(after.when) < WHEN.indexOf(before.when)) {
      throw new BadInput(`watch.readings[${i}].when`, after.when, `in order: ${WHEN.join(", ")}`);
    }
    if (!sameStations(before.gaps, after.gaps)) {
      throw new BadInput(`watch.readings[${i}]`, after.when, "read the same stations every time");
    }
  }
}

function sameStations(one, other) {
  return one.length === other.length && one.every(([at], i) => at === other[i][0]);
}

/** @returns {Exact | null} */
function deflectionOf(sent, unit) {
  if (!isThere(sent)) return null;
  const name = "watch.deflection_allowed";
  if (!isMapping(sent)) return length(sent, name, { unit });
  const span = length(need(sent, "span", `${name}.`), `${name}.span`, { unit });
  const by = number(need(sent, "divided_by", `${name}.`), `${name}.divided_by`, { least: 1 });
  return over(span, asWritten(by));
}

// ---- judging

/**
 * What is left above the panels where the head came down most. Less than the limit: they are not hung.
 * @param {Watch} watch @param {Limits} limits @returns {Finding[]}
 */
export function findings(watch, limits) {
  const came = drops(watch);
  if (came.length === 0 || watch.panel_clearance === null) return [];
  const [at, drop] = mostBy(came, ([, by]) => by), rest = left(watch, drop, watch.deflection_allowed ?? 0n);
  const limit = limits.left_above_panels;
  const values = { at_mm: at, left_mm: rest, report_to: "builder" };
  return [atLeast("left_above_panels", rest, limit.value === null ? NOTHING_LESS : limit, {
    where: { at_mm: at, when: watch.visits.at(-1).when, drop_mm: drop }, remedy: { code: "do_not_hang", values } })];
}

/** @param {Watch | null} watch */
export function missing(watch) {
  if (watch === null) return [{ what: "head_watch" }];
  return [
    ...(watch.visits[0]?.when === "frame_set" ? [] : [{ what: "head_reading", when: "frame_set" }]),
    ...(watch.visits.length < 2 ? [{ what: "head_reading", when: "weight_on" }] : []),
    ...DESIGN.filter(name => watch[name] === null).map(what => ({ what })),
  ];
}

/** A head that rose, and a rest that the readings are too coarse to be sure of. @param {Watch} watch */
export function unlikely(watch) {
  const deviation = dropDeviation(watch), came = drops(watch);
  if (deviation === null) return [];
  const risen = came.filter(([, drop]) => drop < -3n * deviation)
    .map(([at, drop]) => ({ what: "head_has_risen", at_mm: at, by_mm: -drop }));
  if (watch.panel_clearance === null) return risen;
  const [, drop] = mostBy(came, ([, by]) => by), rest = left(watch, drop, watch.deflection_allowed ?? 0n);
  const unsure = compare(absolute(rest), 2n * deviation) <= 0;
  return unsure ? [...risen, { what: "left_is_within_the_readings", left_mm: rest, deviation_mm: deviation }] : risen;
}

/** @param {Watch} watch */
export function computed(watch) {
  const [first, ...later] = watch.visits;
  if (first === undefined) return {};
  return {
    first: first.when,
    now: watch.visits.at(-1).when,
    drop_deviation_mm: dropDeviation(watch),
    worst_drops: later.map(visit => {
      const [at, drop] = mostBy(dropsBetween(first, visit), ([, by]) => by);
      return { when: visit.when, at_mm: at, drop_mm: drop };
    }),
    profile: drops(watch).map(([at, drop]) => ({ at_mm: at, drop_mm: drop, ...leftShown(watch, drop) })),
  };
}

function leftShown(watch, drop) {
  if (watch.panel_clearance === null) return {};
  const allowed = watch.deflection_allowed;
  return { left_after_raise_mm: left(watch, drop),
    left_after_deflection_mm: allowed === null ? null : left(watch, drop, allowed) };
}
