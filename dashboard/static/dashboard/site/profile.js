/* The floor as it is read, drawn while one walks along it; the spot that fails is marked, the next one ringed. */

import { parse } from "../calc/lengths.js";
import { draw } from "./dom.js";
import { say } from "./says.js";

const WIDE = 370, HIGH = 118, TOP = 14, GROUND = 96, EDGE = 20;

export function profile(sheet, typed, step, answer) {
  const group = sheet.groups.find(one => one.stations);
  if (sheet.kind !== "floor-profile" || group === undefined) return null;
  const { at, table, lines } = group.stations;
  const line = lines.find(one => one.into === step?.station?.into) ?? lines[0];
  const read = at.map((_, n) => heightOf(typed[`${table}[${n}].${line.column}`] || undefined, sheet.unit));
  const known = read.filter(one => one !== null);
  if (known.length === 0) return null;
  const down = typed.read_as === "down_from_level";
  const least = Math.min(...known), most = Math.max(...known);
  const places = at.map(place => Number(parse(place, sheet.unit))), [first, last] = [places[0], places.at(-1)];
  const x = place => EDGE + (WIDE - 2 * EDGE) * (last === first ? 0.5 : (place - first) / (last - first));
  const y = value => TOP + (GROUND - TOP - 14) * (most === least ? 0.5
    : (down ? value - least : most - value) / (most - least));
  const points = read.flatMap((value, n) => (value === null ? [] : [[x(places[n]), y(value)]]));
  const path = points.map(([px, py], n) => `${n === 0 ? "M" : "L"}${px.toFixed(1)} ${py.toFixed(1)}`).join("");
  const nth = step?.station?.into === line.into ? at.indexOf(step.station.at) : -1;
  return draw("svg", { class: "profile", viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img",
    "aria-label": say("floor so far", { n: known.length }) },
    draw("path", { class: "ground",
      d: `${path}L${points.at(-1)[0].toFixed(1)} ${GROUND}L${points[0][0].toFixed(1)} ${GROUND}Z` }),
    draw("path", { class: "floorline", d: path }),
    (answer?.marked ?? []).map(([from, to]) => part(points, x(from), x(to))).filter(d => d !== "")
      .map(d => draw("path", { class: "bad", d })),
    nth >= 0 && draw("circle", { class: "balloon", cx: x(places[nth]), cy: (TOP + GROUND) / 2, r: 11 }),
    at.map((place, n) => (n % Math.ceil(at.length / 6) === 0
      ? draw("text", { class: "axis", x: x(places[n]), y: HIGH - 4, "text-anchor": "middle" }, place)
        : null)).filter(Boolean));
}

/** Nanometres; what cannot be read is no point of the line. */
function heightOf(text, unit) {
  if (text === undefined) return null;
  try {
    return Number(parse(text, unit));
  } catch {
    return null;
  }
}

/** The piece of the line from one place to another, as a path. */
function part(points, from, to) {
  const at = x => {
    const n = points.findIndex(([px], i) => i > 0 && px >= x);
    if (n < 0) return null;
    const [[ax, ay], [bx, by]] = [points[n - 1], points[n]];
    return [x, bx === ax ? ay : ay + (by - ay) * (x - ax) / (bx - ax)];
  };
  const piece = [at(from), ...points.filter(([px]) => px > from && px < to), at(to)].filter(one => one !== null);
  return piece.length < 2 ? ""
    : piece.map(([px, py], n) => `${n === 0 ? "M" : "L"}${px.toFixed(1)} ${py.toFixed(1)}`).join("");
}
