/* A verdict: what was measured, the limit, whose limit, the margin, the result, the remedy as a code. The same value as
   the office's, printed to the same digit. Lengths are whole nanometres inside and decimal millimetres outside. */

import { asStored, compare, divided, halfAway, less, parts } from "./exact.js";

/** @import { Exact } from "./exact.js" */
/** @typedef {{value: Exact | number | null, source: string}} Limit `value` null: nobody has set it */
/** @typedef {Record<string, Limit>} Limits every one that a sum is judged by, as `limits` of inputs.js gives them */
/** @typedef {object} Finding as the office's API writes it */
/** @typedef {object} Verdict as the office's API writes it */

export const PASS = "pass", FAIL = "fail", NOT_ENOUGH_READINGS = "not_enough_readings",
  NOT_ENOUGH_DATA = "not_enough_data", TAPE_AGAIN = "tape_again", NO_LIMIT_SET = "no_limit_set";
export const COMMON_PRACTICE = "common practice, no published source",
  MUST_SET = "must be set by the office or the door system";
export const NO_LIMIT = { value: null, source: "no limit set" };

/** Input that cannot be: names the field, shows what was sent, says what would be right. Never a verdict. */
export class BadInput extends Error {
  constructor(field, sent, right) {
    super(`${field}: ${right}`);
    Object.assign(this, { field, sent, right });
  }
}

/**
 * In `computed`, `missing` and `secondLook`, numbers under names that end in a unit are printed in it.
 * @param {{findings?: Finding[], computed?: object, missing?: object[], secondLook?: object[], caution?: string}} of
 * @returns {Verdict}
 */
export function verdict(result, { findings = [], computed = {}, missing = [], secondLook = [], caution = null } = {}) {
  return { result, findings, computed: plain(computed), missing: missing.map(one => plain(one)),
    second_look: secondLook.map(one => plain(one)), caution };
}

/** A finding that fails is a fail all the same, whatever is missing; then what is missing; then unset limits. */
export function overall(findings, missing = []) {
  if (findings.some(finding => finding.within === false)) return FAIL;
  if (missing.length > 0) return NOT_ENOUGH_READINGS;
  return findings.some(finding => finding.within === null) ? NO_LIMIT_SET : PASS;
}

/**
 * On the limit is within it. The remedy is kept only where it failed.
 * @param {string} quantity @param {Exact | number} value @param {Limit} limit
 * @param {{unit?: string, where?: object, remedy?: {code: string, values?: object} | null}} [how]
 * @returns {Finding}
 */
export function atMost(quantity, value, limit, how = {}) {
  return judged(quantity, value, limit, how, limit.value === null ? null : order(value, limit.value) <= 0, false);
}

/** @returns {Finding} */
export function atLeast(quantity, value, limit, how = {}) {
  return judged(quantity, value, limit, how, limit.value === null ? null : order(value, limit.value) >= 0, true);
}

/** What cannot be worked out, because something it stands on is not set. @param {Limit} limit @returns {Finding} */
export function unjudged(quantity, { value }, how = {}) {
  return finding({ quantity, value: null, limit: value, within: null, source: NO_LIMIT.source, ...how });
}

function judged(quantity, value, limit, { unit = "mm", where = {}, remedy = null }, within, least) {
  return finding({ quantity, value, limit: limit.value, within, source: limit.source, unit, least, where,
    remedy: within === false ? remedy : null });
}

/** One thing judged, as the API writes it. `unit` is the suffix its numbers print under. @returns {Finding} */
export function finding(
  { quantity, value, limit, within, source, unit = "mm", least = false, where = {}, remedy = null },
) {
  const beyond = within === false;
  const margin = value === null || limit === null ? null : least ? apart(value, limit) : apart(limit, value);
  return {
    quantity,
    [`value_${unit}`]: printed(value, unit, limit, beyond),
    [`limit_${unit}`]: printed(limit, unit, value, beyond),
    [`margin_${unit}`]: printed(margin, unit, 0n, beyond),
    within,
    ...(least ? { limit_is: "least" } : {}),
    where: Object.fromEntries(Object.entries(where)
      .map(([name, at]) => [name, name.endsWith("_mm") ? printed(at, "mm") : at])),
    source,
    remedy: remedy === null ? null : { code: remedy.code, values: plain(remedy.values ?? {}) },
  };
}

// ---- printing

const PLACES = { mm: 6, c: 2, c_apart: 2, deg: 3, n: 1, kg: 3, pct: 1, mm_per_m: 6, days: 1, hours: 2 };
const SUFFIXES = ["mm_per_m", "mm", "c", "deg", "n", "kg", "pct", "days", "hours"];

/**
 * Decimal text; `mm` takes nanometres and prints millimetres exactly. What must be rounded is rounded to nearest,
 * halves away from nought; when it lies beyond `limit` it is rounded away from that limit, so that *over* never prints
 * as equal.
 * @param {Exact | number | null} value @returns {string | null}
 */
export function printed(value, unit, limit = null, beyond = false) {
  if (value === null || value === undefined) return null;
  const places = PLACES[unit] ?? 3;
  const [top, under] = parts(exact(value)), scaled = unit === "mm" ? top : top * 10n ** BigInt(places);
  const [floor, rest] = divided(scaled, under);
  const whole = rest === 0n ? floor : beyond && limit !== null ? floor + (order(value, limit) > 0 ? 1n : 0n)
    : halfAway({ top: scaled, under });
  const digits = String(whole < 0n ? -whole : whole).padStart(places + 1, "0");
  return `${whole < 0n ? "-" : ""}${digits.slice(0, -places)}.${digits.slice(-places)}`;
}

/** As JSON: a number under a name with a unit's suffix is printed in that unit. */
export function plain(value, name = "") {
  if (Array.isArray(value)) return value.map(one => plain(one, name));
  if (value === null || typeof value === "string" || typeof value === "boolean") return value;
  if (isExact(value)) {
    const unit = SUFFIXES.find(suffix => name.endsWith(`_${suffix}`));
    if (unit !== undefined) return printed(value, unit);
    const [top, under] = parts(exact(value));
    return typeof value === "number" ? value : Number(top) / Number(under);
  }
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, plain(one, key)]));
}

function isExact(value) {
  return typeof value === "number" || typeof value === "bigint" || typeof value.under === "bigint";
}

function exact(value) {
  return typeof value === "number" ? asStored(value) : value;
}

function order(a, b) {
  return compare(exact(a), exact(b));
}

/** Two binary numbers are taken apart as binary numbers are: the office does no other. */
function apart(a, b) {
  return typeof a === "number" && typeof b === "number" ? a - b : less(exact(a), exact(b));
}
