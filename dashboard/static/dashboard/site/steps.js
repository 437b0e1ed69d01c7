/* A sheet of readings as steps, one after the other: what is asked, in which way it is answered, where it stands. */

import { say } from "./says.js";

/**
 * @typedef {object} Step
 * @property {string} name as the sheet's field is called
 * @property {string} group
 * @property {string} label
 * @property {"length"|"number"|"choice"|"clock"} how
 * @property {boolean} [signed] may be less than nothing
 * @property {string} [start] what stands there to begin with
 * @property {string} [hint]
 * @property {string[][]} [choices]
 * @property {{into: string, at: string}} [station] of a line of stations: which line, and where along it
 */

/** @returns {Step[]} */
export function stepsOf(sheet) {
  return sheet.groups.flatMap(group => [
    ...(group.fields ?? []).map(field => ofField(group, field)),
    ...(group.rows ?? []).flatMap(([, fields]) => fields.map(field => ofField(group, field))),
    ...(group.stations ? ofStations(group) : []),
  ]);
}

function ofField(group, field) {
  const { name, label, how, signed, value, hint, choices } = field;
  return { name, group: group.title, label, how, signed, start: value, hint, choices };
}

/** Line by line, each from one end to the other: one walks along a sill with the rod once for each. */
function ofStations(group) {
  const { table, lines, at, known } = group.stations;
  return lines.flatMap(line => at.map((place, n) => ({
    name: `${table}[${n}].${line.column}`, group: group.title, label: say("line at", { line: line.label, at: place }),
    how: line.how, signed: line.signed, start: known[place]?.[line.column],
    station: { into: line.into, at: place } })));
}
