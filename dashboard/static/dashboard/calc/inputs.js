/* Reads what was sent into whole nanometres and plain numbers; refuses what cannot be, naming the field.

   A length is a number of millimetres, or text in any unit that lengths.js reads; text without a unit takes the
   payload's own `unit` ("in" when it has none). */

import { less, negative, over, ratio, times, toNumber } from "./exact.js";
import { fromMm, parse } from "./lengths.js";
import { BadInput, NO_LIMIT } from "./verdict.js";

/** @import { Limits } from "./verdict.js" */

const HUGE = 1e15; // nothing on a site is
const LENGTH = "a length is a number of millimetres or text such as 8' 0-1/2\" or 2451.1 mm";
const PLAIN_NUMBER = "write a plain number, with a point for decimals";

export function isThere(value) {
  return value !== null && value !== undefined;
}

export function isMapping(value) {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** What was not sent, or has nothing in it. */
export function isEmpty(value) {
  return !value || (typeof value === "object" && Object.keys(value).length === 0);
}

/** @returns {"in" | "mm"} */
export function unitOf({ unit = "in" }) {
  if (unit !== "in" && unit !== "mm") throw new BadInput("unit", unit, 'say "in" or "mm", or leave it out for inches');
  return unit;
}

/** Whole nanometres; a negative size is refused unless it is `signed`. @returns {bigint} */
export function length(value, field, { unit, signed = false }) {
  const nm = nanometres(value, field, unit);
  if (!signed && nm < 0n) throw new BadInput(field, value, "a size cannot be negative");
  return nm;
}

function nanometres(value, field, unit) {
  if (typeof value !== "number" && typeof value !== "string") throw new BadInput(field, value, LENGTH);
  try {
    return typeof value === "string" ? parse(value, unit) : fromMm(value);
  } catch (why) {
    if (why instanceof RangeError) throw new BadInput(field, value, why.message);
    throw why;
  }
}

/** @param {{least?: number, most?: number}} within @returns {number} */
export function number(sent, field, { least, most } = {}) {
  const plain = typeof sent === "string" && /^\s*[+\-\u2212]?[0-9]+(\.[0-9]+)?\s*$/.test(sent);
  const value = plain ? Number(sent.replace("\u2212", "-")) : sent;
  if (typeof value !== "number" || !(Math.abs(value) < HUGE)) throw new BadInput(field, value, PLAIN_NUMBER);
  if (value < least || value > most) {
    throw new BadInput(field, value, `it must lie within ${least ?? ""} to ${most ?? ""}`);
  }
  return value;
}

export function mapping(value, field) {
  if (!isMapping(value)) throw new BadInput(field, value, "send an object here");
  return value;
}

/** @returns {unknown[]} */
export function sequence(value, field, { most = 2000 } = {}) {
  if (!Array.isArray(value)) throw new BadInput(field, value, "send a list here");
  if (value.length > most) throw new BadInput(field, `${value.length} entries`, `at most ${most}`);
  return value;
}

/** @param {string[]} allowed @returns {string} */
export function choice(value, field, allowed) {
  if (!allowed.includes(value)) throw new BadInput(field, value, `one of: ${allowed.join(", ")}`);
  return value;
}

/** Every name in it is one of these. */
export function onlyKnown(sent, names, within) {
  for (const name of Object.keys(sent)) choice(name, `${within}.${name}`, names);
}

/** The value under `name`, or a refusal that says it is lacking. */
export function need(payload, name, within = "") {
  if (!isThere(payload[name])) throw new BadInput(`${within}${name}`, null, "this is needed");
  return payload[name];
}

/**
 * Limits to judge by, those sent (`{rack: "1/8"}` or `{rack: {value, source}}`), and every other one as not set.
 * @param {Record<string, string>} kinds each limit's unit @returns {Limits}
 */
export function limits(sent, kinds, unit = "in") {
  const chosen = Object.fromEntries(Object.keys(kinds).map(name => [name, NO_LIMIT]));
  for (const [name, given] of Object.entries(isThere(sent) ? mapping(sent, "limits") : {})) {
    if (!(name in kinds)) {
      const known = Object.keys(kinds).sort().join(", ");
      throw new BadInput(`limits.${name}`, given, `no such limit here; there are: ${known}`);
    }
    const { value, source } = isMapping(given) ? given : { value: given };
    chosen[name] = { value: limit(value, `limits.${name}`, kinds[name], unit), source: source || "as sent" };
  }
  return chosen;
}

function limit(sent, field, kind, unit) {
  if (!isThere(sent)) return null;
  const value = kind === "mm" ? length(sent, field, { unit, signed: true })
    : kind === "c_apart" ? warmer(sent, field) : number(sent, field);
  if (value < 0) throw new BadInput(field, sent, "nought or more");
  return value;
}

// ---- temperatures, words, yes and no

const COLDEST = -60, HOTTEST = 90; // °C, on any site
const DEGREES = /^\s*([+\-\u2212]?[0-9]{1,9}(?:\.[0-9]{1,20})?)\s*°?\s*([CcFf]?)\s*$/;

/** °C; text such as `50 F` is read too. @returns {number} */
export function temperature(sent, field) {
  const value = typeof sent === "string" ? celsius(sent, field, 32n) : sent;
  const exactly = typeof sent === "string" || (typeof sent === "number" && !Number.isInteger(sent));
  if (exactly && !(COLDEST <= value && value <= HOTTEST)) {
    throw new BadInput(field, value, "it must lie within -60 °C to 90 °C (-76 °F to 194 °F)");
  }
  return number(value, field, { least: COLDEST, most: HOTTEST });
}

/** °C between two temperatures: 5 °F more is 2.78 °C more, wherever the scale starts. @returns {number} */
export function warmer(sent, field) {
  return number(typeof sent === "string" ? celsius(sent, field, 0n) : sent, field,
    { least: 0, most: HOTTEST - COLDEST });
}

/** In fractions: 19.4 °F is -7 °C, not a hair below it. */
function celsius(sent, field, freezing) {
  const found = DEGREES.exec(sent);
  if (found === null) throw new BadInput(field, sent, "write it as 50 F or 10 C");
  const [, minus, before, after = ""] = /^[+]?([-\u2212]?)(\d+)(?:\.(\d+))?$/.exec(found[1]);
  const size = ratio(BigInt(before + after), 10n ** BigInt(after.length)),
    degrees = minus === "" ? size : negative(size);
  return toNumber(/f/i.test(found[2]) ? over(times(less(degrees, freezing), 5n), 9n) : degrees);
}

export function flag(value, field) {
  if (typeof value !== "boolean") throw new BadInput(field, value, "true or false");
  return value;
}

/** Text as it is, and none for what was not sent; a number or a list is no name and no source. */
export function text(value, field, { most = 200 } = {}) {
  if (!isThere(value)) return "";
  if (typeof value !== "string" || [...value].length > most) throw new BadInput(field, value,
    `text of at most ${most} characters`);
  return value;
}
