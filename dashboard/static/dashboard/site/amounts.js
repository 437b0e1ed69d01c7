/* What is typed beside an adjustment, as the record has it: turns in eighths, a reveal with its unit, newtons. */

import { parse } from "../calc/lengths.js";

const HAS_UNIT = /[a-z"'\u2032\u2033]/i;
const TURNS = /^([-+\u2212]?)\s*(?:(\d+)(?:\s+(\d+)\/(\d+))?|(\d+)\/(\d+))$/;
const FORCE = /^(\d+(?:[.,]\d+)?)\s*(lbf?|n)?$/i;
const POUND_FORCE = 4.4482216152605; // N
const MOST_TURNS = 64; // eighths, more than any roller has

/** @returns {number | null} eighths of a turn, up is positive; null where it is nothing that can be turned */
export function eighths(text) {
  const read = TURNS.exec(text.trim());
  if (read === null) return null;
  const [, sign, whole = 0, top = read[5] ?? 0, bottom = read[6] ?? 1] = read;
  const turned = Number(whole) * 8 + 8 * Number(top) / Number(bottom);
  if (!Number.isInteger(turned) || turned <= 0 || turned > MOST_TURNS) return null;
  return sign === "" || sign === "+" ? turned : -turned;
}

/** @returns {string | null} the length with its unit; null where it is none */
export function withUnit(text, unit) {
  try {
    parse(text, unit);
  } catch {
    return null;
  }
  return HAS_UNIT.test(text) ? text : `${text} ${unit}`;
}

/** @returns {string | null} newtons; a bare number is in pounds where one works in inches */
export function newtons(text, unit) {
  const read = FORCE.exec(text.trim());
  if (read === null) return null;
  const inPounds = read[2] === undefined ? unit === "in" : /^l/i.test(read[2]);
  return (Number(read[1].replace(",", ".")) * (inPounds ? POUND_FORCE : 1)).toFixed(1);
}
