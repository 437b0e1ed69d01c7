/* Lock jamb and interlocks, and what the panels' rollers must give for them: as inspections/calc/members.py. */

import { absolute, less, most, mostBy, over, plus, ratio, times, toward } from "./exact.js";
import { isEmpty, isThere, length, mapping, need, onlyKnown } from "./inputs.js";
import { profileAt } from "./lines.js";
import { BadInput, atMost } from "./verdict.js";

/** @import { Exact } from "./exact.js" */
/** @import { Point } from "./lines.js" */
/** @import { Finding, Limit, Limits } from "./verdict.js" */
/**
 * @typedef {object} Member nm: offsets over `height` (bow at the middle of it); what was not read is not there
 * @property {bigint} height @property {bigint} [edge] @property {bigint} [face] @property {bigint} [bow]
 * @property {bigint} [twist] @property {bigint} [at] where along the sill it stands
 */
/** @typedef {Record<string, Member>} Members by name */

const ONE_WAY = ["lock_jamb", "interlock"], TWO_WAY = ["interlock_left", "interlock_right"];
const WAYS = ["edge", "face"], OFFSETS = [...WAYS, "bow", "twist"], ASKED = [...WAYS, "bow"];

/** @returns {Members} */
export function read(given, unit) {
  const sent = mapping(isEmpty(given) ? {} : given, "members"), known = [...ONE_WAY, ...TWO_WAY];
  onlyKnown(sent, known, "members");
  const members = Object.fromEntries(known.filter(name => isThere(sent[name]))
    .map(name => [name, memberOf(sent[name], `members.${name}`, unit)]));
  if (has(members, ONE_WAY) && has(members, TWO_WAY)) {
    throw new BadInput("members", Object.keys(members).sort(),
      "a door has lock_jamb and interlock, or interlock_left and _right");
  }
  return members;
}

function has(members, names) {
  return names.some(name => name in members);
}

/** @returns {Member} */
function memberOf(given, name, unit) {
  const sent = mapping(given, name);
  onlyKnown(sent, ["height", "at", ...OFFSETS], name);
  const height = length(need(sent, "height", `${name}.`), `${name}.height`, { unit });
  if (height === 0n) throw new BadInput(`${name}.height`, sent.height, "say over what height it was read");
  const lengths = ["at", ...OFFSETS].filter(key => isThere(sent[key]))
    .map(key => [key, length(sent[key], `${name}.${key}`, { unit, signed: true })]);
  return { height, ...Object.fromEntries(lengths) };
}

/** @param {Members} members */
export function missing(members) {
  return (has(members, TWO_WAY) ? TWO_WAY : ONE_WAY).flatMap(member => ASKED
    .filter(key => members[member]?.[key] === undefined).map(key => ({ what: "member", member, read: key })));
}

// ---- judging

/** @param {Members} members @param {Limits} limits @returns {Finding[]} */
export function findings(members, limits) {
  const each = Object.entries(members);
  return [
    ...each.flatMap(([name, member]) => plumb(name, member, limits)),
    ...apartFinding(members, limits),
    ...each.flatMap(([name, { bow, twist }]) => [
      ...one(`member_bow_${name}`, name, bow, limits.member_bow, "straighten_member"),
      ...one(`member_twist_${name}`, name, twist, limits.member_twist, "untwist_member"),
    ]),
  ];
}

function plumb(name, member, limits) {
  const taken = WAYS.map(way => [way, member[way]]).filter(([, offset]) => offset !== undefined);
  if (taken.length === 0) return [];
  const [along, offset] = mostBy(taken, ([, by]) => absolute(by));
  const where = { member: name, along, top_leans: leaning(along, offset) };
  return [atMost(`member_plumb_${name}`, absolute(offset), limits.member_plumb,
    { where, remedy: { code: "plumb_the_member", values: { ...where, by_mm: absolute(offset) } } })];
}

function leaning(way, offset) {
  return way === "edge" ? toward(offset, "right", "left") : toward(offset, "out", "in");
}

/**
 * The first of the two less the second, over the height of the taller, each way that was read at both.
 * @param {Members} members @returns {[string, Exact][]}
 */
export function apart(members) {
  const [first, second] = Object.values(members);
  if (second === undefined) return [];
  const height = most([first.height, second.height]);
  return WAYS.filter(way => first[way] !== undefined && second[way] !== undefined)
    .map(way => [way, less(ratio(first[way] * height, first.height), ratio(second[way] * height, second.height))]);
}

function apartFinding(members, limits) {
  const between = apart(members);
  if (between.length === 0) return [];
  const [along, by] = mostBy(between, ([, each]) => absolute(each));
  return [atMost("members_apart", absolute(by), limits.members_apart,
    { where: { along, members: Object.keys(members) }, remedy: { code: "bring_members_parallel", values: {} } })];
}

/** @param {bigint | undefined} offset @param {Limit} limit @returns {Finding[]} */
function one(quantity, member, offset, limit, code) {
  return offset === undefined ? [] : [atMost(quantity, absolute(offset), limit,
    { where: { member }, remedy: { code, values: { by_mm: absolute(offset) } } })];
}

// ---- what the rollers must give

/**
 * How far one roller must stand over the other beside each member; a sill that was not read is taken as level.
 * @param {Members} members @param {Point[]} sill @param {bigint} spacing @returns {[string, Exact][]} nm
 */
export function rollerUse(members, sill, spacing) {
  return Object.entries(members).filter(([, { edge }]) => edge !== undefined).map(([name, { edge, height, at }]) => (
    [name, times(spacing, absolute(plus(ratio(edge, height), slope(sill, at, spacing))))]));
}

/** Of the sill that the panel stands on beside the member, or end to end where nobody said where that is. */
function slope(sill, at, spacing) {
  if (sill.length < 2) return 0n;
  let start = sill[0][0], end = sill.at(-1)[0];
  if (at !== undefined && end - start > spacing) {
    [start, end] = 2n * at < start + end ? [start, start + spacing] : [end - spacing, end];
  }
  return over(less(profileAt(sill, end), profileAt(sill, start)), end - start);
}

/** @param {[string, Exact][]} use @param {Limit} limit @returns {Finding} */
export function rollerFinding(use, spacing, sillRead, limit) {
  const [member, worst] = mostBy(use, ([, by]) => by);
  const where = { member, roller_spacing_mm: spacing, sill: sillRead ? "as_read" : "taken_as_level" };
  return atMost("roller_use", worst, limit, { where, remedy: { code: "plumb_the_member", values: { member } } });
}
