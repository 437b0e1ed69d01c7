/* The readings with what the record knows beside them, one laid over the other: as the office fills them in. */

import { length, unitOf } from "../calc/inputs.js";
import { printed } from "../calc/verdict.js";

/**
 * @param {string} kind
 * @param {object} given what was entered
 * @param {{known: object, over: "record" | "given"}} told what the record knows, and which of the two stands over the
 *   other
 */
export function filled(kind, given, { known, over }) {
  const record = { ...known };
  if (given.watch === undefined) delete record.watch; // what a head watch needs is no head watch by itself
  if (kind === "floor-profile") return withItsWholeSill(given, record);
  return over === "record" ? laidOver(given, record) : laidOver(record, given);
}

/** Stations may be counted from anywhere, but the sill is as long as the unit's at least. */
function withItsWholeSill(given, known) {
  const [from, to] = ["sill_from", "sill_to"].map(name => given[name] || known[name]);
  const payload = { ...laidOver(given, known), ...(from === undefined ? {} : { sill_from: from }),
    ...(to === undefined ? {} : { sill_to: to }) };
  if (known.sill_to === undefined) return payload;
  const read = (value, name) => length(value, name, { unit: unitOf(payload), signed: true });
  const start = read(payload.sill_from, "sill_from"), end = read(payload.sill_to, "sill_to"),
    whole = read(known.sill_to, "sill_to");
  if (start < end && end - start < whole) payload.sill_to = `${printed(start + whole, "mm")} mm`;
  return payload;
}

function laidOver(under, over) {
  const merged = Object.fromEntries(Object.entries(under).filter(([, value]) => value !== null));
  for (const [name, value] of Object.entries(over)) {
    merged[name] = isObject(value) && isObject(merged[name]) ? laidOver(merged[name], value) : value;
  }
  return merged;
}

function isObject(value) {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
