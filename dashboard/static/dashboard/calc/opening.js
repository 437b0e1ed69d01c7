/* rough-opening: as inspections/calc/opening.py, which says how each is judged and why. */

import { absolute, asWritten, compare, leastBy, less, most, mostBy, negative, over, plus, ratio, times, toward }
  from "./exact.js";
import { isEmpty, isThere, length, mapping, need, number, onlyKnown, unitOf } from "./inputs.js";
import * as quadrilateral from "./quadrilateral.js";
import { BadInput, NOT_ENOUGH_DATA, NOT_ENOUGH_READINGS, TAPE_AGAIN, atLeast, atMost, finding, overall, verdict }
  from "./verdict.js";

/** @import { Exact } from "./exact.js" */
/** @import { Finding, Limit, Limits, Verdict } from "./verdict.js" */
/** @typedef {Record<string, bigint>} Sizes nm by the place where it was taped; what was not taped is not there */
/** @typedef {{over: bigint, edge?: bigint, face?: bigint}} Plumb top leans right (edge), out (face), over so much */
/** @typedef {{fixed: bigint, share: Exact}} Tape one standard deviation of a length: nm, and a share of the length */
/** @typedef {{slid: Exact, judgedFrom: string, deviation: bigint | null}} Rack how far the head slid to the right */
/**
 * @typedef {object} Opening
 * @property {Sizes} widths @property {Sizes} heights @property {Sizes} diagonals
 * @property {Record<string, Plumb>} plumb @property {Sizes} required @property {Sizes} drawing
 */
/**
 * @typedef {object} Tapes what the six tapes say together
 * @property {Sizes} six
 * @property {Record<string, Exact> | null} deviations null: nobody has said how good the tape is
 * @property {string[] | null} impossible @property {bigint | null} implied @property {bigint | null} deviation
 * @property {bigint | null} misclosure @property {boolean} disagree
 */

export const NAME = "rough-opening";
export const LIMITS = {
  clearance_least: "mm", clearance_most: "mm", rack: "mm", out_of_plumb: "mm", twist: "mm",
  tape_deviation: "mm", // one standard deviation of a tape: this much ...
  tape_deviation_per_m: "number", // ... and so many millimetres more for each metre
};
const TAPES = {
  widths: ["top", "middle", "bottom"], heights: ["left", "middle", "right"], diagonals: ["rising", "falling"],
};
const SIZES = { width: "widths", height: "heights" };
const JAMBS = ["left", "right"], WAYS = ["edge", "face"];

const TOO_MANY_DEVIATIONS = ratio(329n, 100n);
const SELDOM = "3.29 standard deviations, which chance exceeds once in a thousand";
const UNLIKELY = 3n * 25_400_000n; // nm; a foot misread or two digits swapped is more than this, few openings are
const EQUAL = Object.fromEntries(quadrilateral.SIX.map(name => [name, 1n])); // nobody has said how good the tape is
const TOUCHES_WHAT_CARRIES = ["tightest_width", "tightest_height", "rack"];

/** @param {object} payload @param {Limits} limits @returns {Verdict} */
export function judge(payload, limits) {
  return judged(read(payload), limits, tapeOf(payload, limits));
}

// ---- reading what was sent

/** @returns {Opening} */
function read(payload) {
  const unit = unitOf(payload);
  const taped = Object.entries(TAPES).map(([group, places]) => [group, sizes(payload, group, places, unit)]);
  return {
    ...Object.fromEntries(taped),
    plumb: plumbOf(payload.plumb, unit),
    required: sizes(payload, "required", Object.keys(SIZES), unit),
    drawing: sizes(payload, "drawing", Object.keys(SIZES), unit),
  };
}

/**
 * The tape that was used: its own deviation `{a, b}` where it came with the readings, else the one that is set.
 * @returns {Tape | null}
 */
function tapeOf(payload, limits) {
  let fixed = limits.tape_deviation.value, share = limits.tape_deviation_per_m.value;
  if (isThere(payload.tape_deviation)) {
    const sent = mapping(payload.tape_deviation, "tape_deviation");
    onlyKnown(sent, ["a", "b"], "tape_deviation");
    fixed = size(need(sent, "a", "tape_deviation."), "tape_deviation.a", unitOf(payload));
    share = number(sent.b === undefined ? 0 : sent.b, "tape_deviation.b", { least: 0 });
  }
  if (fixed === null) return null;
  share = number(share ?? 0, "limits.tape_deviation_per_m", { least: 0 });
  if (fixed <= 0n) {
    throw new BadInput("limits.tape_deviation", String(fixed), "no tape is without deviation: it is more than 0");
  }
  return { fixed, share: over(asWritten(share), 1000n) };
}

/** @returns {Sizes} */
function sizes(payload, group, names, unit) {
  const sent = mapping(isEmpty(payload[group]) ? {} : payload[group], group);
  onlyKnown(sent, names, group);
  return Object.fromEntries(names.filter(name => isThere(sent[name]))
    .map(name => [name, size(sent[name], `${group}.${name}`, unit)]));
}

function size(value, name, unit) {
  const nm = length(value, name, { unit });
  if (nm === 0n) throw new BadInput(name, value, "a size is more than nothing; leave it out where it was not read");
  return nm;
}

function plumbOf(given, unit) {
  const sent = mapping(isEmpty(given) ? {} : given, "plumb");
  onlyKnown(sent, [...JAMBS, "over"], "plumb");
  return Object.fromEntries(JAMBS.filter(jamb => isThere(sent[jamb]))
    .map(jamb => [jamb, jambOf(sent[jamb], `plumb.${jamb}`, sent.over, unit)]));
}

/** @returns {Plumb} */
function jambOf(given, name, overBoth, unit) {
  const sent = mapping(given, name);
  onlyKnown(sent, [...WAYS, "over"], name);
  const height = sent.over ?? overBoth ?? null;
  if (height === null) throw new BadInput(`${name}.over`, null, "say over what height the jamb was read");
  const offsets = WAYS.filter(way => isThere(sent[way]))
    .map(way => [way, length(sent[way], `${name}.${way}`, { unit, signed: true })]);
  return { over: size(height, `${name}.over`, unit), ...Object.fromEntries(offsets) };
}

// ---- judging

/** @param {Opening} opening @param {Limits} limits @param {Tape | null} tape @returns {Verdict} */
function judged(opening, limits, tape) {
  const tapes = readTogether(sixOf(opening), tape), disagree = tapes !== null && tapes.disagree;
  // Of six lengths that contradict each other none can be trusted, so nothing is judged by them.
  const trusted = disagree ? { ...opening, widths: {}, diagonals: {} } : opening;
  const racks = { plumb: rackByLevel(trusted), tapes: rackByTapes(trusted, tape) };
  const rack = racks.plumb ?? racks.tapes;
  const figure = tapes === null || disagree ? null : quadrilateral.adjusted(tapes.six, tapes.deviations ?? EQUAL);
  const moves = movesOf(topCorners(trusted, figure));
  const findings = [
    ...(disagree ? [] : sizeFindings(opening, limits)),
    ...misclosureFinding(tapes),
    ...rackFinding(rack, moves, limits),
    ...plumbFindings(opening, limits),
    ...twistFinding(opening, limits),
  ];
  const missing = [...missingFrom(opening, disagree)];
  const secondLook = [...unlikely(opening), ...whatTapesLeaveOpen(trusted, rack, tape, limits.rack.value)];
  const computed = { ...racksShown(racks, rack), moves, ...twistShown(opening), ...closure(tapes, figure) };
  return verdict(disagree ? TAPE_AGAIN : resultOf(findings, missing),
    { findings, computed, missing, secondLook, caution: cautionOf(findings) });
}

/** The six lengths round and across the opening, once all are taped. @returns {Sizes | null} */
function sixOf(opening) {
  const { left, right } = opening.heights;
  const six = Object.entries({ ...acrossOf(opening), left, right }).filter(([, nm]) => nm !== undefined);
  return six.length === 6 ? Object.fromEntries(six) : null;
}

/** What rack is reckoned from, as far as it was taped. @returns {Sizes} */
function acrossOf({ widths: { middle, ...ends }, diagonals }) {
  return { ...ends, ...diagonals };
}

/** @param {Sizes | null} six @param {Tape | null} tape @returns {Tapes | null} */
function readTogether(six, tape) {
  if (six === null) return null;
  const deviations = tape && deviationsOf(six, tape), impossible = quadrilateral.cannotBe(six);
  if (impossible) {
    return { six, deviations, impossible, implied: null, deviation: null, misclosure: null, disagree: true };
  }
  const deviation = deviations && quadrilateral.misclosureDeviation(six, deviations);
  const implied = quadrilateral.impliedFalling(six), misclosure = six.falling - implied;
  const disagree = deviation !== null && compare(absolute(misclosure), times(TOO_MANY_DEVIATIONS, deviation)) > 0;
  return { six, deviations, impossible, implied, deviation, misclosure, disagree };
}

function deviationsOf(lengths, tape) {
  return Object.fromEntries(Object.entries(lengths).map(([name, nm]) => [name, deviationOf(nm, tape)]));
}

/** @param {bigint} length @param {Tape} tape @returns {Exact} */
function deviationOf(length, tape) {
  return plus(tape.fixed, times(tape.share, length));
}

/** Where only what the office must enter is lacking, more readings would not help. */
function resultOf(findings, missing) {
  const result = overall(findings, missing);
  const onlyData = missing.every(({ what }) => what.startsWith("required"));
  return result === NOT_ENOUGH_READINGS && onlyData ? NOT_ENOUGH_DATA : result;
}

/** @returns {Finding[]} */
function sizeFindings(opening, limits) {
  return Object.entries(SIZES).flatMap(([name, group]) => {
    const taped = Object.entries(opening[group]), required = opening.required[name];
    if (taped.length === 0 || required === undefined) return [];
    const [least, greatest] = ["clearance_least", "clearance_most"].map(each => added(required, limits[each]));
    return [
      sizeFinding(`tightest_${name}`, leastBy(taped, nmOf), least, atLeast, "builder_to_enlarge"),
      sizeFinding(`loosest_${name}`, mostBy(taped, nmOf), greatest, atMost, "builder_to_pack_out"),
    ];
  });
}

function sizeFinding(quantity, [at, nm], limit, judgeBy, code) {
  const by = limit.value === null ? 0n : absolute(limit.value - nm);
  return judgeBy(quantity, nm, limit, { where: { at }, remedy: { code, values: { at, by_mm: by } } });
}

function nmOf([, nm]) {
  return nm;
}

/** @param {bigint} required @param {Limit} clearance @returns {Limit} */
function added(required, { value, source }) {
  return { value: value === null ? null : required + value, source };
}

/** @param {Tapes | null} tapes @returns {Finding[]} */
function misclosureFinding(tapes) {
  if (tapes === null) return [];
  const remedy = { code: "tape_all_six_again", values: {} };
  if (tapes.impossible) {
    return [finding({ quantity: "misclosure", value: null, limit: null, within: false, source: SELDOM,
      where: { cannot_be: tapes.impossible }, remedy })];
  }
  const value = tapes.deviation === null ? null : times(TOO_MANY_DEVIATIONS, tapes.deviation);
  return [atMost("misclosure", absolute(tapes.misclosure), { value, source: SELDOM }, { remedy })];
}

/** @returns {Finding[]} */
function rackFinding(rack, moves, limits) {
  if (rack === null) return [];
  const where = { judged_from: rack.judgedFrom, head_slid: sideOf(rack.slid) };
  return [atMost("rack", absolute(rack.slid), limits.rack,
    { where, remedy: { code: "move_corner", values: moves[0] ?? {} } })];
}

/** How far that jamb's top leans over `height`, its own when none is given. @returns {Exact | null} */
function lean(opening, jamb, way, height = null) {
  const plumb = opening.plumb[jamb], offset = plumb?.[way];
  if (offset === undefined) return null;
  return ratio(offset * (height ?? opening.heights[jamb] ?? plumb.over), plumb.over);
}

/** The mean lean of the jambs. One jamb and the two widths give the other, good to the tapes of two widths only. */
function rackByLevel(opening) {
  let [left, right] = JAMBS.map(jamb => lean(opening, jamb, "edge"));
  if (left === null && right === null) return null;
  if (left === null || right === null) {
    const { top, bottom } = opening.widths;
    if (top === undefined || bottom === undefined) return null;
    left ??= less(right, top - bottom);
    right ??= plus(left, top - bottom);
  }
  return { slid: over(plus(left, right), 2n), judgedFrom: "plumb", deviation: null };
}

/** @returns {Rack | null} */
function rackByTapes(opening, tape) {
  const four = acrossOf(opening);
  if (Object.keys(four).length < 4) return null;
  const deviation = tape && quadrilateral.rackDeviation(four, deviationsOf(four, tape));
  return { slid: quadrilateral.rack(four), judgedFrom: "tapes", deviation };
}

/** How far each top corner has gone from square: off a level, or out of the adjusted figure. */
function topCorners(opening, figure) {
  const leans = JAMBS.map(jamb => [jamb, lean(opening, jamb, "edge")]).filter(([, each]) => each !== null);
  return leans.length > 0 || figure === null ? leans : Object.entries(quadrilateral.topCornersLean(figure));
}

/** Which top corner to move, which way and how far, the worst first; the sill stays where it is. */
function movesOf(leans) {
  return leans.map(([jamb, each]) => (
    { corner: `top_${jamb}`, towards: sideOf(negative(each)), by_mm: absolute(each) }))
    .filter(move => move.towards !== null)
    .sort((one, other) => compare(other.by_mm, one.by_mm));
}

function sideOf(slid) {
  return toward(slid, "right", "left");
}

/** @returns {Finding[]} */
function plumbFindings(opening, limits) {
  return JAMBS.flatMap(jamb => {
    const taken = WAYS.map(way => [way, lean(opening, jamb, way)]).filter(([, each]) => each !== null);
    if (taken.length === 0) return [];
    const [along, worst] = mostBy(taken, ([, each]) => absolute(each));
    const topLeans = along === "edge" ? sideOf(worst) : toward(worst, "out", "in");
    const values = { jamb, along, top_leans: topLeans, by_mm: absolute(worst) };
    return [atMost(`jamb_plumb_${jamb}`, absolute(worst), limits.out_of_plumb,
      { where: { along, top_leans: topLeans }, remedy: { code: "plumb_the_jamb", values } })];
  });
}

/** Left face less right face, both over the height of the taller jamb. @returns {Exact | null} */
function twist(opening) {
  const taped = JAMBS.map(jamb => opening.heights[jamb]).filter(isThere);
  const heights = taped.length > 0 ? taped : Object.values(opening.plumb).map(plumb => plumb.over);
  const [left, right] = JAMBS.map(jamb => lean(opening, jamb, "face", heights.length > 0 ? most(heights) : null));
  return left === null || right === null ? null : less(left, right);
}

/** @returns {Finding[]} */
function twistFinding(opening, limits) {
  const apart = twist(opening);
  return apart === null ? [] : [atMost("twist", absolute(apart), limits.twist,
    { remedy: { code: "jambs_lean_apart_across_wall", values: {} } })];
}

/** Making an opening larger or moving a corner touches what carries the wall: that is not ours to judge. */
function cautionOf(findings) {
  const touches = findings.some(each => each.within === false && TOUCHES_WHAT_CARRIES.includes(each.quantity));
  return touches ? "structure_is_referred" : null;
}

function* missingFrom(opening, disagree) {
  if (disagree) yield { what: "all_six_tapes_again", which: quadrilateral.SIX };
  for (const [group, places] of Object.entries(TAPES)) {
    yield* places.filter(at => !(at in opening[group])).map(at => ({ what: group.slice(0, -1), at }));
  }
  for (const at of JAMBS) {
    yield* WAYS.filter(way => lean(opening, at, way) === null).map(along => ({ what: "plumb", at, along }));
  }
  yield* Object.keys(SIZES).filter(name => !(name in opening.required)).map(name => ({ what: `required_${name}` }));
}

function racksShown({ plumb, tapes }, judgedBy) {
  return {
    rack_judged_from: judgedBy && judgedBy.judgedFrom,
    ...(tapes && { rack_mm: tapes.slid, rack_deviation_mm: tapes.deviation }),
    ...(plumb && { rack_by_plumb_mm: plumb.slid }),
  };
}

function twistShown(opening) {
  const apart = twist(opening);
  return apart === null ? {} : { twist_mm: apart };
}

function closure(tapes, figure) {
  if (tapes === null) return {};
  const { six, misclosure, deviation, implied } = tapes;
  const corners = figure && Object.entries(quadrilateral.cornerAngles(figure)).map(([at, deg]) => [`${at}_deg`, deg]);
  return {
    misclosure_mm: misclosure,
    misclosure_deviation_mm: deviation,
    falling_implied_mm: implied,
    top_less_bottom_mm: six.top - six.bottom,
    right_less_left_mm: six.right - six.left,
    ...(corners && { corners: Object.fromEntries(corners) }),
  };
}

// ---- improbable, kept all the same

function* unlikely(opening) {
  for (const [name, group] of Object.entries(SIZES)) {
    const taped = Object.entries(opening[group]);
    yield* unlikeDrawing(name, taped, opening.drawing[name]);
    yield* unlikeTheOthers(name, taped);
  }
  for (const [at, plumb] of Object.entries(opening.plumb)) {
    const height = opening.heights[at] ?? plumb.over;
    if (plumb.over > height + UNLIKELY) {
      yield { what: "plumb_over_more_than_the_jamb", at, value_mm: plumb.over, jamb_mm: height };
    }
  }
}

function unlikeDrawing(reading, taped, drawn) {
  return taped.filter(([, nm]) => drawn !== undefined && farApart(nm, drawn))
    .map(([at, nm]) => ({ what: "unlike_the_drawing", reading, at, value_mm: nm, drawing_mm: drawn }));
}

function unlikeTheOthers(reading, taped) {
  if (taped.length < 3) return [];
  return taped.filter(([at, nm]) => {
    const [one, other] = taped.filter(([place]) => place !== at).map(nmOf);
    return !farApart(one, other) && farApart(nm, one) && farApart(nm, other);
  }).map(([at, nm]) => ({ what: "unlike_the_others", reading, at, value_mm: nm }));
}

function farApart(one, other) {
  return absolute(one - other) > UNLIKELY;
}

function* whatTapesLeaveOpen(opening, rack, tape, limit) {
  if (rack === null || rack.deviation === null || limit === null) return;
  const slid = absolute(rack.slid);
  if (compare(absolute(less(limit, slid)), 2n * rack.deviation) < 0) {
    yield { what: "tapes_cannot_tell_square", deviation_mm: rack.deviation, limit_mm: limit, read: "plumb" };
  }
  const { top, bottom } = opening.widths, wider = top - bottom;
  const [ofTop, ofBottom] = [top, bottom].map(width => times(TOO_MANY_DEVIATIONS, deviationOf(width, tape)));
  const chance = plus(times(ofTop, ofTop), times(ofBottom, ofBottom));
  // An isosceles trapezoid has equal diagonals and is not square.
  if (compare(slid, limit) <= 0 && compare(wider * wider, chance) > 0) {
    yield { what: "equal_diagonals_but_not_square", top_less_bottom_mm: wider };
  }
}
