/* The floor under a sill as a continuous profile: as inspections/calc/profile.py, which says why finitely many pairs
   are enough. Whole numbers throughout: heights are kept in 1/scale nm, scale being what makes all of them whole. */

import { absolute, ascending, least, leastBy, most, mostBy, ratio, whole } from "./exact.js";
import { between } from "./stations.js";

/** @import { Exact } from "./exact.js" */
/** @import { Lines } from "./stations.js" */
/** @typedef {{name: string, at: bigint[], heights: bigint[]}} Line inside the sill; its ends count as stations */
/** @typedef {{lines: Line[], scale: bigint}} Profile heights in 1/scale nm */
/** @typedef {[number, bigint, bigint]} Spot [i, step, span]: step/span of the way from station i to the next */
/** @typedef {{least: Exact, leastAt: bigint, greatest: Exact, greatestAt: bigint}} Spread nm, and where */

/**
 * The lines cut off at the sill's ends. A line that was read nowhere on the sill is left out.
 * @param {Lines} read @param {bigint} start @param {bigint} end @returns {Profile}
 */
export function withinSill(read, start, end) {
  const cut = Object.entries(read).map(([name, points]) => [name, between(points, start, end)])
    .filter(([, points]) => points.length > 0);
  const [heights, scale] = whole(cut.flatMap(([, points]) => points.map(([, height]) => height)));
  const lines = cut.map(([name, points]) => (
    { name, at: points.map(([at]) => at), heights: heights.splice(0, points.length) }));
  return { lines, scale };
}

// ---- places and pairs: they follow from the stations alone, whatever the heights

/** @param {bigint[]} at @param {bigint} x @returns {Spot} */
function spot(at, x) {
  const i = at.findLastIndex(place => place <= x);
  return at[i] === x ? [i, 0n, 1n] : [i, x - at[i], at[i + 1] - at[i]];
}

/** Each station with every station up to one window on, and with the points exactly one window on and back. */
function* extremePairs(at, window) {
  const last = at.length - 1;
  let on = 0, back = 0;
  for (const [i, x] of at.entries()) {
    while (on < last && at[on + 1] <= x + window) on++;
    for (let j = i + 1; j <= on; j++) yield [i, [j, 0n, 1n]];
    if (on < last && at[on] < x + window) yield [i, [on, x + window - at[on], at[on + 1] - at[on]]];
    while (back < last && at[back + 1] <= x - window) back++;
    if (at[back] < x - window) yield [i, [back, x - window - at[back], at[back + 1] - at[back]]];
  }
}

/** Every place where either line has a station and both were read. */
function placesAcross(outer, inner) {
  const start = most([outer[0], inner[0]]), end = least([outer.at(-1), inner.at(-1)]);
  return ascending([...outer, ...inner]).filter(x => start <= x && x <= end);
}

// ---- what is measured

/**
 * The greatest |z(a) - z(b)| with |a - b| <= window; among equals the one that starts first, then ends first.
 * @param {Line} line @param {bigint} window @param {bigint} scale @returns {{by: Exact, start: bigint, end: bigint}}
 */
export function worstRise({ at, heights }, window, scale) {
  let greatest = 0n, under = 1n, start = at[0], end = null;
  for (const [i, to] of extremePairs(at, window)) {
    const [there, span] = heightAt(heights, to), x = at[to[0]] + to[1];
    const rise = absolute(heights[i] * span - there);
    const by = rise * under - greatest * span;
    const [from, until] = at[i] < x ? [at[i], x] : [x, at[i]];
    const first = end === null || from < start || (from === start && until < end);
    if (by > 0n || (by === 0n && first)) [greatest, under, start, end] = [rise, span, from, until];
  }
  return { by: ratio(greatest, under * scale), start, end: end ?? start };
}

/**
 * The lowest and the highest place of all lines together: the first of equals, the outer line first.
 * @param {Profile} profile @returns {Spread & {leastLine: string, greatestLine: string}}
 */
export function heightsBetween({ lines, scale }) {
  const places = lines.flatMap(({ name, at, heights }) => heights.map((height, i) => [height, at[i], name]));
  const low = leastBy(places, ([height]) => height), high = mostBy(places, ([height]) => height);
  return {
    least: ratio(low[0], scale), leastAt: low[1], leastLine: low[2],
    greatest: ratio(high[0], scale), greatestAt: high[1], greatestLine: high[2],
  };
}

/**
 * The least and the greatest of inner less outer; null where the two lines share no place.
 * @param {Line} outer @param {Line} inner @param {bigint} scale @returns {Spread | null}
 */
export function across(outer, inner, scale) {
  const falls = placesAcross(outer.at, inner.at).map(x => {
    const [up, over] = heightAt(inner.heights, spot(inner.at, x));
    const [down, under] = heightAt(outer.heights, spot(outer.at, x));
    return [x, ratio(up * under - down * over, over * under * scale)];
  });
  if (falls.length === 0) return null;
  const [leastAt, lowest] = leastBy(falls, ([, fall]) => fall);
  const [greatestAt, greatest] = mostBy(falls, ([, fall]) => fall);
  return { least: lowest, leastAt, greatest, greatestAt };
}

/** Of a spot, as [top, under]. */
function heightAt(heights, [i, step, span]) {
  return step === 0n ? [heights[i], 1n] : [heights[i] * span + (heights[i + 1] - heights[i]) * step, span];
}
