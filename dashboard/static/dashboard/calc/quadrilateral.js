/* Six tapes on an opening, do they fit together, which figure fits them best: as inspections/calc/quadrilateral.py,
   which has the formulas. Lengths are whole nanometres; inside, whole numbers of 1/2^256 of one ("fine" ones), so that
   a root is good far below the micrometre that everything coming out of one is rounded to. */

import { absolute, halfAway, over, plus, ratio, root, times } from "./exact.js";

/** @import { Exact } from "./exact.js" */
/** @typedef {Record<string, Exact>} Lengths by the names in SIX */
/** @typedef {Record<string, bigint>} Fine the same, in fine numbers */

export const SIX = ["bottom", "right", "top", "left", "rising", "falling"];
const TRIANGLES = [
  ["bottom", "right", "rising"], ["left", "top", "rising"], ["bottom", "left", "falling"], ["right", "top", "falling"],
];
const CORNERS = {
  bottom_left: ["bottom", "left", "falling"],
  bottom_right: ["bottom", "right", "rising"],
  top_right: ["top", "right", "falling"],
  top_left: ["top", "left", "rising"],
};
const BITS = 256n, ONE = 1n << BITS;
const MICROMETRE = 1000n;
const SURE = 10n ** 9n; // of what comes out of a root, so many parts of a nanometre are beyond doubt
const ROUNDS = 12;
const SETTLED = ONE / 10n ** 12n; // what another round would still change shows nowhere

/** The first three lengths that no triangle can have; a flat one is no opening either. @returns {string[] | null} */
export function cannotBe(six) {
  return TRIANGLES.find(names => {
    const sides = names.map(name => six[name]), around = sides.reduce((sum, side) => sum + side);
    return sides.some(side => 2n * side >= around);
  }) ?? null;
}

/** The falling diagonal that the other five imply, nm, rounded to the micrometre. */
export function impliedFalling(six) {
  return toMicrometre(implied(fine(six)).falling);
}

/** One standard deviation of the misclosure, nm, rounded to the micrometre. @param {Lengths} deviations */
export function misclosureDeviation(six, deviations) {
  const slopes = slopesOf(fine(six)), each = fine(deviations);
  return toMicrometre(rootOf(sumOf(name => square(product(slopes[name], each[name])))));
}

/**
 * The six lengths nearest to those taped, each weighed by its deviation, that one quadrilateral can have.
 * Null where they lie so far apart, or the figure is so flat, that there is none near.
 * @param {Lengths} six @param {Lengths} deviations @returns {Fine | null}
 */
export function adjusted(six, deviations) {
  const taped = fine(six), variances = mapSix(fine(deviations), square);
  let figure = taped;
  for (let round = 0; round < ROUNDS; round++) {
    const slopes = slopesOf(figure);
    const openBy = figure.falling - implied(figure).falling
      + sumOf(name => product(slopes[name], taped[name] - figure[name]));
    const share = quotient(openBy, sumOf(name => product(square(slopes[name]), variances[name])));
    const before = figure;
    figure = mapSix(taped, (length, name) => length - product(product(variances[name], slopes[name]), share));
    if (SIX.some(name => figure[name] <= 0n) || cannotBe(figure)) return null;
    if (SIX.every(name => absolute(figure[name] - before[name]) < SETTLED)) break;
  }
  return figure;
}

/** Degrees, rounded to 0.001, at each corner of a figure that closes. @param {Fine} figure */
export function cornerAngles(figure) {
  return Object.fromEntries(Object.entries(CORNERS).map(([corner, names]) => {
    const [a, b, c] = names.map(name => nearest(figure[name]));
    const cosine = (a * a + b * b - c * c) / (2 * a * b);
    const degrees = Math.acos(Math.max(-1, Math.min(1, cosine))) * (180 / Math.PI);
    return [corner, Math.round(degrees * 1000) / 1000];
  }));
}

/** How far each top corner stands to the right of square over the sill, nm, rounded to the micrometre. */
export function topCornersLean({ bottom, right, left, rising, falling }) {
  return {
    left: toMicrometre(quotient(square(left) + square(bottom) - square(falling), 2n * bottom)),
    right: toMicrometre(quotient(square(rising) - square(right) - square(bottom), 2n * bottom)),
  };
}

/** How far the head has slid to the right over the sill: exact for parallel head and sill. @returns {Exact} nm */
export function rack({ bottom, top, rising, falling }) {
  return ratio(rising ** 2n - falling ** 2n, 2n * (bottom + top));
}

/** One standard deviation of the rack out of the four tapes it is made of, nm, rounded to the micrometre. */
export function rackDeviation(four, deviations) {
  const both = four.bottom + four.top, ofWidth = over(rack(four), both);
  const slopes = { bottom: ofWidth, top: ofWidth };
  for (const name of ["rising", "falling"]) slopes[name] = ratio(four[name], both);
  const parts = Object.entries(slopes).map(([name, slope]) => times(slope, deviations[name]));
  return toMicrometre(rootOf(toFine(parts.reduce((sum, part) => plus(sum, times(part, part)), 0n))));
}

// ---- the law of cosines, with its slopes

/** @param {Fine} six */
function implied({ bottom, right, top, left, rising }) {
  const b = cornerAt(bottom, right, rising), d = cornerAt(left, top, rising);
  return { falling: rootOf(square(b.along - d.along) + square(b.beside + d.beside)), b, d };
}

/** A corner beside the rising diagonal, and how it moves with the near side, the far side and the diagonal. */
function cornerAt(near, far, diagonal) {
  const along = quotient(square(near) - square(far) + square(diagonal), 2n * diagonal);
  const beside = rootOf(square(near) - square(along));
  const rest = ONE - quotient(along, diagonal);
  const byFar = quotient(far, diagonal);
  const moves = [
    [quotient(near, diagonal), quotient(product(near, rest), beside)],
    [-byFar, quotient(product(along, byFar), beside)],
    [rest, -quotient(product(along, rest), beside)],
  ];
  return { along, beside, moves };
}

/** How much the misclosure grows with each of the six. @param {Fine} six @returns {Fine} */
function slopesOf(six) {
  const { falling, b, d } = implied(six);
  const along = quotient(b.along - d.along, falling), beside = quotient(b.beside + d.beside, falling);
  const [bottom, right, lower] = b.moves.map(([x, y]) => product(along, x) + product(beside, y));
  const [left, top, upper] = d.moves.map(([x, y]) => product(beside, y) - product(along, x));
  return { bottom: -bottom, right: -right, top: -top, left: -left, rising: -lower - upper, falling: ONE };
}

// ---- fine numbers

/** @param {Lengths} lengths @returns {Fine} */
function fine(lengths) {
  return mapSix(lengths, toFine);
}

/** @param {Exact} value */
function toFine(value) {
  return typeof value === "bigint" ? value << BITS : (value.top << BITS) / value.under;
}

function mapSix(lengths, change) {
  return Object.fromEntries(SIX.map(name => [name, change(lengths[name], name)]));
}

function sumOf(each) {
  return SIX.reduce((sum, name) => sum + each(name), 0n);
}

function product(a, b) {
  return (a * b) >> BITS;
}

function square(a) {
  return product(a, a);
}

function quotient(a, b) {
  return (a << BITS) / b;
}

function rootOf(a) {
  return root(a << BITS);
}

/** The nearest binary number, of nanometres: by way of its decimal text, which is read to the nearest. */
function nearest(value) {
  return Number(`${(value * 10n ** 30n) >> BITS}e-30`);
}

/** What a root's last figures leave open never decides a half. */
function toMicrometre(value) {
  const sure = halfAway(ratio(value * SURE, ONE));
  return MICROMETRE * halfAway(ratio(sure, SURE * MICROMETRE));
}
