/* The floor as it is read, drawn while one walks along it; the spot that fails is marked, the next one ringed. */

import { inchesRead } from "./pad.js";
import { draw } from "./dom.js";
import { say } from "./says.js";

const WIDE = 370, HIGH = 118, TOP = 14, GROUND = 96, EDGE = 20;

export function profile(sheet, typed, step, answer) {
  const group = sheet.groups.find(one => one.stations);
  if (sheet.kind !== "floor-profile" || group === undefined) return null;
  const { at, table, lines } = group.stations;
  const line = lines.find(one => one.into === step?.station?.into) ?? lines[0];
  const read = at.map((_, n) => heightOf(typed[`${table}[${n}].${line.column}`] || undefined));
  const known = read.filter(one => one !== null);
  if (known.length === 0) return null;
  const down = typed.read_as === "down_from_level";
  const least = Math.min(...known), most = Math.max(...known);
  const x = n => EDGE + n * (WIDE - 2 * EDGE) / Math.max(1, at.length - 1);
  const y = value => TOP + (GROUND - TOP - 14) * (most === least ? 0.5 : (down ? value - least : most - value) / (most - least));
  const points = read.flatMap((value, n) => (value === null ? [] : [[x(n), y(value)]]));
  const path = points.map(([px, py], n) => `${n === 0 ? "M" : "L"}${px.toFixed(1)} ${py.toFixed(1)}`).join("");
  const nth = step?.station?.into === line.into ? at.indexOf(step.station.at) : -1;
  return draw("svg", { class: "profile", viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": say("floor so far", { n: known.length }) },
    draw("path", { class: "ground", d: `${path}L${points.at(-1)[0].toFixed(1)} ${GROUND}L${points[0][0].toFixed(1)} ${GROUND}Z` }),
    draw("path", { class: "floorline", d: path }),
    spots(answer, at).filter(([a, b]) => read[a] !== null && read[b] !== null)
      .map(([a, b]) => draw("path", { class: "bad", d: `M${x(a)} ${y(read[a])}L${x(b)} ${y(read[b])}` })),
    nth >= 0 && draw("circle", { class: "balloon", cx: x(nth), cy: (TOP + GROUND) / 2, r: 11 }),
    at.map((place, n) => (n % Math.ceil(at.length / 6) === 0 ? draw("text", { class: "axis", x: x(n), y: HIGH - 4, "text-anchor": "middle" }, place) : null)).filter(Boolean));
}

/** Sixty-fourths or millimetres: what matters is how they lie to each other. */
function heightOf(text) {
  return text === undefined ? null : inchesRead(text) ?? (Number.isNaN(Number.parseFloat(text)) ? null : Number.parseFloat(text));
}

/** Where a rise in a foot is too much: the stations on both sides of it. */
function spots(answer, at) {
  return (answer?.marked ?? []).map(([from, to]) => [at.indexOf(from), at.indexOf(to)]).filter(([a, b]) => a >= 0 && b >= 0);
}
