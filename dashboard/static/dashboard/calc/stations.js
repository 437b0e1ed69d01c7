/* Stations along a member, read from what was sent, and which are lacking: as inspections/calc/stations.py. */

import { absolute, compare, least, less, sign, times } from "./exact.js";
import { choice, isMapping, isThere, length, mapping, need, number, onlyKnown, sequence } from "./inputs.js";
import { profileAt } from "./lines.js";
import { BadInput, printed } from "./verdict.js";

/** @import { Exact } from "./exact.js" */
/** @import { Point } from "./lines.js" */
/** @typedef {Record<string, Point[]>} Lines by the name of the line; one that was not read is not there */

export const OUTER = "outer", INNER = "inner";
export const HEIGHT = "height", DOWN_FROM_LEVEL = "down_from_level";
export const FEWEST = 3, MOST = 500;
const FIELDS = { [OUTER]: "stations", [INNER]: "inner" };
const SPIKE = 25_400_000n; // nm; a station an inch beyond both its neighbours is more often a slip than a frame

/** The lines as their readings were written down. @returns {Lines} */
export function asRead(sent, field, unit) {
  if (!isThere(sent)) return {};
  if (!isMapping(sent)) return { [OUTER]: oneLine(sent, field, unit) };
  onlyKnown(sent, [...Object.values(FIELDS), "read_as"], field);
  const there = Object.entries(FIELDS).filter(([, name]) => isThere(sent[name]));
  return Object.fromEntries(there.map(([line, name]) => [line, oneLine(sent[name], `${field}.${name}`, unit)]));
}

/** The lines with up as up, whichever way they were read. @returns {Lines} */
export function heights(sent, field, unit, readAs = HEIGHT) {
  if (isMapping(sent) && isThere(sent.read_as)) {
    readAs = choice(sent.read_as, `${field}.read_as`, [HEIGHT, DOWN_FROM_LEVEL]);
  }
  const up = readAs === HEIGHT ? 1n : -1n;
  return mapLines(asRead(sent, field, unit), points => points.map(([at, value]) => [at, up * value]));
}

/** @param {Lines} read @param {(points: Point[]) => Point[]} change @returns {Lines} */
export function mapLines(read, change) {
  return Object.fromEntries(Object.entries(read).map(([line, points]) => [line, change(points)]));
}

/** Each station's place and what was read there, `at` strictly increasing. @returns {[bigint, bigint][]} */
export function oneLine(sent, field, unit) {
  const points = [];
  for (const [i, one] of sequence(sent, field, { most: MOST }).entries()) {
    const name = `${field}[${i}]`, station = mapping(one, name);
    const at = length(need(station, "at", `${name}.`), `${name}.at`, { unit, signed: true });
    if (i > 0 && at <= points[i - 1][0]) {
      throw new BadInput(`${name}.at`, station.at, "stations run on along the sill: this one must lie beyond "
        + `${printed(points[i - 1][0], "mm")} mm`);
    }
    const value = need(station, "reading", `${name}.`);
    points.push([at, length(value, `${name}.reading`, { unit, signed: true })]);
  }
  return points;
}

/**
 * The line cut off at both ends, whose heights are read off it; nothing is extrapolated.
 * @param {Point[]} points @param {bigint} start @param {bigint} end @returns {Point[]}
 */
export function between(points, start, end) {
  if (points.length === 0 || points[0][0] > end || points.at(-1)[0] < start) return [];
  const inside = points.filter(([at]) => start <= at && at <= end);
  if (points[0][0] < start && inside[0]?.[0] !== start) inside.unshift([start, profileAt(points, start)]);
  if (points.at(-1)[0] > end && inside.at(-1)[0] !== end) inside.push([end, profileAt(points, end)]);
  return inside;
}

/**
 * Where to read, line by line: the ends, between stations too far apart, and three at the least.
 * @param {Lines} read @param {[bigint, bigint]} ends @param {bigint | null} widest
 */
export function missing(part, read, [start, end], widest) {
  return Object.entries(read).flatMap(([line, points]) => {
    const label = { part, line };
    const inside = points.filter(([at]) => start <= at && at <= end);
    return [
      ...[start, end].filter(place => points.length === 0 || place < points[0][0] || place > points.at(-1)[0])
        .map(place => ({ what: "sill_end", ...label, at_mm: place })),
      ...(inside.length < FEWEST ? [{ what: "three_stations", ...label, have: inside.length }] : []),
      ...tooFarApart(points.map(([at]) => at), start, end, widest)
        .map(([left, right]) => ({ what: "stations_between", ...label, from_mm: left, to_mm: right })),
    ];
  });
}

/**
 * Neighbours on the sill, at least in part, that lie further apart than `widest`; none where nobody set that.
 * @param {bigint[]} places @returns {[bigint, bigint][]}
 */
export function tooFarApart(places, start, end, widest) {
  if (widest === null) return [];
  return places.slice(1).map((right, i) => [places[i], right])
    .filter(([left, right]) => right - left > widest && right > start && left < end);
}

/** @param {Lines} read */
export function unlikely(part, read) {
  return Object.entries(read).flatMap(([line, points]) => spikes(points)
    .map(([at, by]) => ({ what: "stands_out_from_its_neighbours", part, line, at_mm: at, by_mm: by })));
}

/**
 * Where a station stands more than an inch above, or below, both its neighbours, and by how much at the least.
 * @param {Point[]} points @returns {Point[]}
 */
export function spikes(points) {
  return points.slice(1, -1).flatMap(([at, here], i) => {
    const rise = less(here, points[i][1]), fall = less(here, points[i + 2][1]);
    const by = least([absolute(rise), absolute(fall)]);
    return sign(times(rise, fall)) > 0 && compare(by, SPIKE) > 0 ? [[at, by]] : [];
  });
}

/** Where it is known that the sill has several tracks, its inner line is asked for. @returns {number | null} */
export function tracks(payload) {
  if (!isThere(payload.tracks)) return null;
  const count = number(payload.tracks, "tracks", { least: 1 });
  if (!Number.isInteger(count)) throw new BadInput("tracks", payload.tracks, "a whole number of tracks");
  return count;
}
