/* The rollers: what a turn of the screw does to the gap beside a panel's edge, and which turns make it even.

   turn   : sin(phi) = d / S when one roller, S from the other, is raised over it by d
   lean   : a gap read level, at height h above the roller line, grows by h * sin(phi) = h * d / S
   close  : d = -S * c / H takes a taper c, read over the height H, off the gap

   d counts the roller nearer the edge over the far one: raising it tips the top of the panel away from that jamb, so a
   positive d opens the gap. Whole nanometres, fractions until they are compared. Only a cosine needs a root. */

import { absolute, asStored, compare, halfAway, least, less, most, negative, over, plus, ratio, sign, times, toNumber }
  from "./exact.js";

/** @import { Exact } from "./exact.js" */
/** @typedef {{gap: bigint, height: bigint}} Gap `height` above the roller line */
/** @typedef {Record<"now" | "preset" | "lowest" | "highest", bigint>} Roller the panel's height over it; larger is
    higher */
/**
 * @typedef {object} Hanging how the panel stands on its two rollers
 * @property {bigint} spacing @property {bigint} fromEdge @property {bigint} pitch
 * @property {Roller} near @property {Roller} far
 * @property {bigint | null} lockHeight @property {bigint | null} headClearance read now, over the whole panel
 * @property {bigint} headLeast
 */
/** @typedef {{code: string, near: Exact, far: Exact, most: Exact}} Bound near * near roller + far * far roller <=
    most */
/** @typedef {[Exact, Exact]} Spot where the near and the far roller stand */
/**
 * @typedef {object} Setting where both rollers go
 * @property {Hanging} hanging @property {[bigint, bigint]} eighths of a turn, near and far; positive raises the panel
 * @property {Spot} exact before the eighths @property {Record<string, bigint>} gaps after them
 * @property {string[]} stoppedBy the bounds that keep the taper from closing; none when only the eighths do
 */

const MICROMETRE = 1_000n;

/** @param {Hanging} hanging */
export function spread({ near, far }) {
  return near.now - far.now;
}

/** From the lowest either roller stands or goes to the highest. @param {Hanging} hanging */
export function travel({ near, far }) {
  const heights = [near, far].flatMap(({ now, lowest, highest }) => [now, lowest, highest]);
  return most(heights) - least(heights);
}

/** @param {Record<string, Gap>} gaps */
export function taper({ top, bottom }) {
  return top.gap - bottom.gap;
}

/** @param {Record<string, Gap>} gaps */
export function heightRead({ top, bottom }) {
  return top.height - bottom.height;
}

/** How far the near roller must rise over the far one to take `closed` off the taper read over `height`. */
export function liftToClose(spacing, closed, height) {
  return ratio(-spacing * closed, height);
}

/** The travel of both rollers, and the head: no corner of the panel may rise by more than is left above it.
    @returns {Bound[]} */
function bounds({ near, far, spacing, fromEdge, headClearance, headLeast }) {
  const travels = [
    { code: "near_roller_lowest", near: -1n, far: 0n, most: -near.lowest },
    { code: "near_roller_highest", near: 1n, far: 0n, most: near.highest },
    { code: "far_roller_lowest", near: 0n, far: -1n, most: -far.lowest },
    { code: "far_roller_highest", near: 0n, far: 1n, most: far.highest },
  ];
  if (headClearance === null) return travels;
  const beyond = ratio(fromEdge, spacing), one = plus(1n, beyond), room = headClearance - headLeast;
  const rise = (own, other) => plus(room, less(times(one, own.now), times(beyond, other.now)));
  return [...travels,
    { code: "head_clearance", near: one, far: negative(beyond), most: rise(near, far) },
    { code: "head_clearance", near: negative(beyond), far: one, most: rise(far, near) }];
}

/** @param {Bound} bound @param {Spot} at @returns {-1 | 0 | 1} 0 where it is tight, 1 where it does not hold */
function beyond(bound, [near, far]) {
  return compare(plus(times(bound.near, near), times(bound.far, far)), bound.most);
}

/** The corners of all settings that the bounds allow; none when they allow nothing. @returns {Spot[]} */
function corners(limits) {
  return limits.flatMap((one, n) => limits.slice(n + 1).flatMap(other => {
    const det = less(times(one.near, other.far), times(one.far, other.near));
    if (sign(det) === 0) return [];
    const at = [over(less(times(one.most, other.far), times(one.far, other.most)), det),
      over(less(times(one.near, other.most), times(one.most, other.near)), det)];
    return limits.every(limit => beyond(limit, at) <= 0) ? [at] : [];
  }));
}

/** The spread as near to `wanted` as the bounds allow; of those, the least sum of squares from the presets.
    @returns {Spot | null} */
function nearestToPresets({ near, far }, wanted, limits) {
  const reach = corners(limits).map(([a, b]) => less(a, b));
  if (reach.length === 0) return null;
  const apart = within(wanted, least(reach), most(reach));
  // On the line near = far + spread every bound is one on `far` alone; its factor is 1 or -1.
  const ends = limits.map(limit => [sign(plus(limit.near, limit.far)), less(limit.most, times(limit.near, apart))]);
  const lowest = most(ends.filter(([factor]) => factor < 0).map(([, end]) => negative(end)));
  const highest = least(ends.filter(([factor]) => factor > 0).map(([, end]) => end));
  const at = within(over(less(near.preset + far.preset, apart), 2n), lowest, highest);
  return [plus(at, apart), at];
}

/** @param {Exact} value @returns {Exact} */
function within(value, lowest, highest) {
  return least([most([value, lowest]), highest]);
}

/** @param {Hanging} hanging @param {[bigint, bigint]} eighths @returns {Spot} */
export function turned({ near, far, pitch }, eighths) {
  return [plus(near.now, ratio(eighths[0] * pitch, 8n)), plus(far.now, ratio(eighths[1] * pitch, 8n))];
}

/** By how much the gap grows for each unit of height above the roller line. @param {Hanging} hanging
    @param {Spot} at */
export function lean(hanging, [near, far]) {
  return over(less(less(near, far), spread(hanging)), hanging.spacing);
}

/** How far the edge moves from the jamb at the roller line because the near roller comes closer to the far one. A
    cosine: rounded to the micrometre. @param {Hanging} hanging @param {Spot} at @returns {bigint} */
export function drawnTogether(hanging, [near, far]) {
  const before = toNumber(ratio(spread(hanging), hanging.spacing)),
    after = toNumber(over(less(near, far), hanging.spacing));
  const arm = toNumber(ratio(hanging.spacing + hanging.fromEdge, MICROMETRE));
  return halfAway(asStored(arm * (Math.sqrt(1 - before * before) - Math.sqrt(1 - after * after)))) * MICROMETRE;
}

/** @param {Record<string, Gap>} gaps @returns {Record<string, bigint>} */
function gapsAfter(gaps, hanging, at) {
  const grows = lean(hanging, at), drawn = drawnTogether(hanging, at);
  return Object.fromEntries(Object.entries(gaps)
    .map(([place, { gap, height }]) => [place, halfAway(plus(gap, times(height, grows))) + drawn]));
}

/**
 * The setting that closes the taper, in eighths of a turn; null when no setting keeps within travel and head. Each
 * roller is rounded to its nearest eighth. Where that leaves the travel, the head clearance or the taper's limit, the
 * eighths around it are searched for a pair that does not.
 * @param {Record<string, Gap>} gaps @param {Hanging} hanging @param {Exact | null} limit @returns {Setting | null}
 */
export function setting(gaps, hanging, limit) {
  const limits = bounds(hanging);
  const wanted = plus(spread(hanging), liftToClose(hanging.spacing, taper(gaps), heightRead(gaps)));
  const exact = nearestToPresets(hanging, wanted, limits);
  const eighths = exact === null ? null : eighthsOf(gaps, hanging, exact, limits, limit);
  if (eighths === null) return null;
  const short = compare(less(...exact), wanted) !== 0;
  const stoppedBy = [...new Set(limits.filter(bound => short && beyond(bound, exact) === 0).map(({ code }) => code))];
  return { hanging, eighths, exact, gaps: gapsAfter(gaps, hanging, turned(hanging, eighths)), stoppedBy };
}

const AROUND = [-2n, -1n, 0n, 1n, 2n];

function eighthsOf(gaps, hanging, exact, limits, limit) {
  const isAllowed = ({ at }) => limits.every(bound => beyond(bound, at) <= 0);
  const left = ({ at }) => absolute(taperLeft(gapsAfter(gaps, hanging, at)));
  const pair = (...eighths) => ({ eighths, at: turned(hanging, eighths) });
  const [near, far] = [hanging.near, hanging.far]
    .map(({ now }, n) => halfAway(over(times(less(exact[n], now), 8n), hanging.pitch)));
  const nearest = pair(near, far);
  if (isAllowed(nearest) && (limit === null || compare(left(nearest), limit) <= 0)) return nearest.eighths;
  const best = AROUND.flatMap(one => AROUND.map(other => pair(near + one, far + other))).filter(isAllowed)
    .map(one => ({ ...one, left: left(one), off: offPreset(hanging, one.at) }))
    .reduce((found, one) => (found === null || inOrder(one, found) < 0 ? one : found), null);
  return best?.eighths ?? null;
}

/** The least taper left, then the nearest to the presets; the pairs come in their order. */
function inOrder(one, other) {
  return compare(one.left, other.left) || compare(one.off, other.off);
}

/** @param {Hanging} hanging @param {Spot} at @returns {Exact} */
function offPreset({ near, far }, at) {
  const [a, b] = [less(at[0], near.preset), less(at[1], far.preset)];
  return plus(times(a, a), times(b, b));
}

/** @param {Record<string, bigint>} gaps */
export function taperLeft({ top, bottom }) {
  return top - bottom;
}
