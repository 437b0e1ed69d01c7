/* How straight and how level a line of readings is: as inspections/calc/lines.py, which says how each is measured.
   Range, least squares and minimum zone are three different numbers: name the one a limit is against. */

import { compare, least, less, most, negative, over, plus, ratio, times, whole } from "./exact.js";

/** @import { Exact } from "./exact.js" */
/** @typedef {[bigint, Exact]} Point nanometres along, nanometres up */

/**
 * Height at `x` of the line drawn straight from point to point; RangeError outside it, since nothing is extrapolated.
 * @param {Point[]} points @param {Exact} x @returns {Exact}
 */
export function profileAt(points, x) {
  const after = points.findIndex(([at]) => compare(at, x) >= 0);
  if (after < 0 || (after === 0 && compare(points[0][0], x) !== 0)) throw new RangeError("outside the readings");
  const [right, high] = points[after];
  if (compare(right, x) === 0) return high;
  const [left, low] = points[after - 1];
  return plus(low, over(times(less(high, low), less(x, left)), right - left));
}

/** @param {Point[]} points @returns {Exact} */
export function totalRange(points) {
  if (points.length === 0) return 0n;
  const heights = points.map(([, height]) => height);
  return less(most(heights), least(heights));
}

/** @param {Point[]} points @returns {Exact} */
export function minimumZone(points) {
  if (points.length < 3) return 0n;
  const upper = upperHull(points), lower = upperHull(points.map(turned)).map(turned);
  return most([...upper, ...lower].map(([x]) => less(profileAt(upper, x), profileAt(lower, x))));
}

function turned([x, height]) {
  return [x, negative(height)];
}

function upperHull(points) {
  const hull = [];
  for (const point of points) {
    while (hull.length > 1 && doesNotTurnDown(hull.at(-2), hull.at(-1), point)) hull.pop();
    hull.push(point);
  }
  return hull;
}

function doesNotTurnDown(a, b, c) {
  return compare(times(less(b[1], a[1]), c[0] - b[0]), times(less(c[1], b[1]), b[0] - a[0])) <= 0;
}

/**
 * In whole numbers: each place and height less its mean, times how many there are.
 * @param {Point[]} points @returns {Exact}
 */
export function leastSquaresWidth(points) {
  if (points.length < 3) return 0n;
  const count = BigInt(points.length);
  const [heights, scale] = whole(points.map(([, height]) => height));
  const x = fromMean(points.map(([at]) => at), count), z = fromMean(heights, count);
  const spread = sum(x.map(each => each * each)), together = sum(x.map((each, i) => each * z[i]));
  const leftOver = x.map((each, i) => z[i] * spread - each * together);
  return ratio(most(leftOver) - least(leftOver), spread * count * scale);
}

function fromMean(values, count) {
  const all = sum(values);
  return values.map(value => value * count - all);
}

function sum(values) {
  return values.reduce((all, value) => all + value, 0n);
}
