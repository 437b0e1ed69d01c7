/* frame: as inspections/calc/frame.py, which says how each is measured. An inspection may bring only a part: what was
   read is judged, what is lacking of the `parts` asked for is missing. */

import { absolute, ascending, least, leastBy, less, most, mostBy, over, plus, ratio, times, toward } from "./exact.js";
import * as head from "./head.js";
import { choice, isEmpty, isThere, length, mapping, onlyKnown, sequence, unitOf } from "./inputs.js";
import { leastSquaresWidth, minimumZone, profileAt, totalRange } from "./lines.js";
import * as members from "./members.js";
import * as profile from "./profile.js";
import { DOWN_FROM_LEVEL, HEIGHT, INNER, OUTER, asRead, between, heights, mapLines, missing as missingOfLines, tracks,
  unlikely } from "./stations.js";
import { BadInput, NOT_ENOUGH_DATA, NOT_ENOUGH_READINGS, atMost, overall, unjudged, verdict }
  from "./verdict.js";

/** @import { Exact } from "./exact.js" */
/** @import { Point } from "./lines.js" */
/** @import { Lines } from "./stations.js" */
/** @import { Finding, Limit, Limits, Verdict } from "./verdict.js" */
/**
 * @typedef {object} Frame nm; every part is named as it is sent
 * @property {Lines} sill @property {Lines} head @property {Lines} gaps head less sill, taped between them
 * @property {members.Members} members
 * @property {Record<string, bigint>} end_gaps @property {Record<string, bigint>} head_over_sill
 * @property {[bigint, bigint] | null} ends the sill's ends as given, else the furthest stations of anything along it
 * @property {number | null} tracks @property {bigint | null} rollerSpacing
 * @property {head.Watch | null} watch @property {string[]} parts
 */

export const NAME = "frame";
export const LIMITS = {
  sill_level: "mm", sill_rise_in_a_foot: "mm", window: "mm", widest_spacing: "mm", sill_across: "mm", end_gaps: "mm",
  head_level: "mm", head_flat: "mm", head_parallel: "mm", head_over_sill: "mm", member_plumb: "mm",
  members_apart: "mm", member_bow: "mm", member_twist: "mm", roller_travel: "mm", roller_spacing: "mm",
  left_above_panels: "mm",
  reading_deviation: "mm", // one standard deviation of a height or gap, where the readings do not bring their own
};
const PARTS = ["sill", "head", "members", "end_gaps", "head_over_sill", "rollers", "watch"];
const ASKED = PARTS.filter(part => part !== "watch"); // of a set frame; the head is watched once it carries
const ENDS = ["left", "right"];
// What the office or the door system must enter; reading again would not bring it.
const DATA = ["roller_spacing", ...head.DESIGN];

/** @param {object} payload @param {Limits} limits @returns {Verdict} */
export function judge(payload, limits) {
  return judged(read(payload, limits), limits);
}

// ---- reading what was sent

/** @returns {Frame} */
function read(payload, limits) {
  const unit = unitOf(payload);
  const readAs = choice(payload.read_as === undefined ? HEIGHT : payload.read_as, "read_as", [HEIGHT, DOWN_FROM_LEVEL]);
  const [from, to] = ["sill_from", "sill_to"].map(name => optional(payload, name, unit));
  if (from !== null && to !== null && from >= to) {
    throw new BadInput("sill_to", payload.sill_to, "the sill must end beyond where it starts");
  }
  const along = {
    sill: heights(payload.sill, "sill", unit, readAs),
    head: heights(payload.head, "head", unit, readAs),
    gaps: asRead(payload.gaps, "gaps", unit),
  };
  const frame = {
    ...along,
    ends: endsOf(along, from, to),
    members: members.read(payload.members, unit),
    end_gaps: atEnds(payload, "end_gaps", { unit }),
    head_over_sill: atEnds(payload, "head_over_sill", { unit, signed: true }),
    tracks: tracks(payload),
    rollerSpacing: spacingOf(payload, limits, unit),
    watch: watchOf(payload, limits, unit, readAs),
    parts: partsOf(payload.parts),
  };
  if (frame.ends !== null && frame.ends[0] > frame.ends[1]) {
    const name = from === null ? "sill_to" : "sill_from";
    throw new BadInput(name, payload[name], "no station lies on the sill: check where it starts and ends");
  }
  return frame;
}

function optional(payload, name, unit) {
  return isThere(payload[name]) ? length(payload[name], name, { unit, signed: true }) : null;
}

function endsOf(along, from, to) {
  const places = Object.values(along).flatMap(lines => Object.values(lines).flat()).map(([at]) => at);
  return places.length === 0 ? null : [from ?? least(places), to ?? most(places)];
}

function atEnds(payload, name, how) {
  const sent = mapping(isEmpty(payload[name]) ? {} : payload[name], name);
  onlyKnown(sent, ENDS, name);
  return Object.fromEntries(ENDS.filter(end => isThere(sent[end]))
    .map(end => [end, length(sent[end], `${name}.${end}`, how)]));
}

/** Of this unit's panels where it came with the readings, else of the door system. */
function spacingOf(payload, limits, unit) {
  const sent = payload.roller_spacing ?? null;
  const spacing = sent === null ? limits.roller_spacing.value : length(sent, "roller_spacing", { unit });
  if (spacing !== null && spacing <= 0n) throw new BadInput("roller_spacing", sent, "the rollers stand some way apart");
  return spacing;
}

function watchOf(payload, limits, unit, readAs) {
  return isThere(payload.watch) ? head.read(payload.watch, unit, readAs, limits.reading_deviation.value) : null;
}

function partsOf(sent) {
  return isThere(sent) ? sequence(sent, "parts").map((part, i) => choice(part, `parts[${i}]`, PARTS)) : ASKED;
}

// ---- judging

/** @param {Frame} frame @param {Limits} limits @returns {Verdict} */
function judged(frame, limits) {
  const sill = withinEnds(frame, frame.sill), hung = withinEnds(frame, headLines(frame)), gaps = gapLines(frame);
  const use = frame.rollerSpacing === null ? []
    : members.rollerUse(frame.members, sill[OUTER] ?? [], frame.rollerSpacing);
  const findings = [
    ...sillFindings(sill, limits),
    ...endGaps(frame.end_gaps, limits),
    ...headFindings(hung, limits),
    ...parallel(gaps, limits),
    ...headOverSill(frame.head_over_sill, limits),
    ...members.findings(frame.members, limits),
    ...rollers(frame, use, limits),
    ...(frame.watch ? head.findings(frame.watch, limits) : []),
  ];
  const missing = [...missingFrom(frame, hung, gaps, limits.widest_spacing.value)];
  const secondLook = [
    ...["sill", "head", "gaps"].flatMap(part => unlikely(part, frame[part])),
    ...(frame.watch ? head.unlikely(frame.watch) : []),
  ];
  return verdict(resultOf(findings, missing), { findings, computed: computed(frame, sill, hung, use), missing,
    secondLook, caution: frame.watch ? head.CAUTION : null });
}

function resultOf(findings, missing) {
  const result = overall(findings, missing), onlyData = missing.every(({ what }) => DATA.includes(what));
  return result === NOT_ENOUGH_READINGS && onlyData ? NOT_ENOUGH_DATA : result;
}

/** The lines between the sill's ends, whose heights count as stations. @returns {Lines} */
function withinEnds({ ends }, read) {
  if (ends === null) return {};
  const cut = Object.entries(mapLines(read, points => between(points, ...ends)));
  return Object.fromEntries(cut.filter(([, points]) => points.length > 0));
}

/** The head as read, or the sill with the gaps taped up from it. @returns {Lines} */
function headLines({ sill, head: hung, gaps }) {
  return { ...both(sill, gaps, plus), ...hung };
}

/** Head less sill as taped between them, or from the heights of both. @returns {Lines} */
function gapLines(frame) {
  return withinEnds(frame, { ...both(frame.head, frame.sill, less), ...frame.gaps });
}

/** Line by line, where both have it. */
function both(one, other, combine) {
  return Object.fromEntries(Object.keys(one).filter(line => line in other)
    .map(line => [line, combined(one[line], other[line], combine)]));
}

/** One line plus (or less) the other wherever either has a station and both were read. @returns {Point[]} */
function combined(one, other, combine) {
  if (one.length === 0 || other.length === 0) return [];
  const start = most([one[0][0], other[0][0]]), end = least([one.at(-1)[0], other.at(-1)[0]]);
  return ascending([...one, ...other].map(([at]) => at)).filter(at => start <= at && at <= end)
    .map(at => [at, combine(profileAt(one, at), profileAt(other, at))]);
}

/** The line that is worst by that measure; null out of none. @returns {[string, Point[], Exact] | null} */
function worstBy(measure, read) {
  const measured = Object.entries(read).map(([line, points]) => [line, points, measure(points)]);
  return measured.length === 0 ? null : mostBy(measured, ([, , by]) => by);
}

/** The line with the greatest range, with its lowest and highest place. @returns {Finding[]} */
function byRange(quantity, read, limit, code, names) {
  const worst = worstBy(totalRange, read);
  if (worst === null) return [];
  const [line, points, range] = worst;
  const [low] = leastBy(points, heightOf), [high] = mostBy(points, heightOf);
  const where = { measure: "range", line, [names[0]]: low, [names[1]]: high };
  return [atMost(quantity, range, limit, { where, remedy: { code, values: where } })];
}

const LOW_HIGH = ["low_at_mm", "high_at_mm"], LEAST_MOST = ["least_at_mm", "most_at_mm"];

function heightOf([, height]) {
  return height;
}

function sillFindings(sill, limits) {
  return [
    ...byRange("sill_level", sill, limits.sill_level, "shim_low_or_let_down_high", LOW_HIGH),
    ...riseInAFoot(sill, limits),
    ...across(sill, limits.sill_across),
  ];
}

function riseInAFoot(sill, limits) {
  const limit = limits.sill_rise_in_a_foot, window = limits.window.value;
  if (isEmpty(sill)) return [];
  if (window === null) return [unjudged("sill_rise_in_a_foot", limit)];
  const rises = Object.entries(sill).map(([line, points]) => {
    const { lines: [seen], scale } = profile.withinSill({ [line]: points }, points[0][0], points.at(-1)[0]);
    return { line, ...profile.worstRise(seen, window, scale) };
  });
  const { line, by, start, end } = mostBy(rises, rise => rise.by);
  const where = { line, from_mm: start, to_mm: end };
  return [atMost("sill_rise_in_a_foot", by, limit, { where, remedy: { code: "shim_between", values: where } })];
}

function across(sill, limit) {
  const worst = worstAcross(sill);
  if (worst === null) return [];
  const [at, fall] = worst, where = { at_mm: at, high_line: highLine(fall) };
  return [atMost("sill_across", absolute(fall), limit, { where, remedy: { code: "level_across_at", values: where } })];
}

/** Where inner less outer is largest either way; null where the two lines share no place. @returns {Point | null} */
function worstAcross({ [OUTER]: outer, [INNER]: inner }) {
  const falls = outer && inner ? combined(inner, outer, less) : [];
  return falls.length === 0 ? null : mostBy(falls, ([, fall]) => absolute(fall));
}

function highLine(fall) {
  return toward(fall, INNER, OUTER);
}

function endGaps({ left, right }, limits) {
  if (left === undefined || right === undefined) return [];
  const apart = left - right, wider = toward(apart, ...ENDS);
  return [atMost("end_gaps", absolute(apart), limits.end_gaps, { where: { wider_at: wider },
    remedy: { code: "move_sill_towards", values: { towards: wider, by_mm: over(absolute(apart), 2n) } } })];
}

function headFindings(hung, limits) {
  const level = byRange("head_level", hung, limits.head_level, "level_the_head", LOW_HIGH);
  const worst = worstBy(minimumZone, hung);
  if (worst === null) return level;
  const [line, points, zone] = worst;
  return [...level, atMost("head_flat", zone, limits.head_flat, { where: { measure: "minimum_zone", line },
    remedy: { code: "straighten_the_head", values: { line, sag_mm: sag(points) } } })];
}

function parallel(gaps, limits) {
  return byRange("head_parallel", gaps, limits.head_parallel, "bring_head_parallel", LEAST_MOST);
}

function headOverSill(offsets, limits) {
  const read = Object.entries(offsets);
  if (read.length === 0) return [];
  const [at, offset] = mostBy(read, ([, by]) => absolute(by));
  const where = { at, head_stands: toward(offset, "out", "in") }, values = { ...where, by_mm: absolute(offset) };
  return [atMost("head_over_sill", absolute(offset), limits.head_over_sill,
    { where, remedy: { code: "move_the_head", values } })];
}

function rollers(frame, use, limits) {
  if (use.length === 0) return [];
  const sillRead = Object.values(frame.sill).some(points => points.length > 0);
  return [members.rollerFinding(use, frame.rollerSpacing, sillRead, limits.roller_travel)];
}

/** How far the middle hangs below the chord of the ends; negative where it stands above. @param {Point[]} points */
function sag(points) {
  const [start, first] = points[0], [end, last] = points.at(-1);
  return less(over(plus(first, last), 2n), profileAt(points, ratio(start + end, 2n)));
}

// ---- what is missing, what follows

function* missingFrom(frame, hung, gaps, widest) {
  const asked = part => frame.parts.includes(part);
  if (asked("sill")) {
    yield* linesMissing(frame, "sill", widest);
    if (!(INNER in frame.sill) && frame.tracks !== 1) yield { what: "sill", line: INNER };
  }
  if (asked("head")) yield* headMissing(frame, hung, gaps, widest);
  if (asked("members")) yield* members.missing(frame.members);
  for (const name of ["end_gaps", "head_over_sill"].filter(asked)) {
    yield* ENDS.filter(end => !(end in frame[name])).map(end => ({ what: name, at: end }));
  }
  if (asked("rollers")) yield* rollersMissing(frame);
  if (asked("watch") || frame.watch !== null) yield* head.missing(frame.watch);
}

function* linesMissing(frame, part, widest) {
  if (!(OUTER in frame[part])) yield { what: part, line: OUTER };
  if (frame.ends !== null) yield* missingOfLines(part, frame[part], frame.ends, widest);
}

/** Gaps alone tell parallel, not level: that takes the heights of the head, or of the sill below the gaps. */
function* headMissing(frame, hung, gaps, widest) {
  const [anyHead, anyGaps, level, alike] = [frame.head, frame.gaps, hung, gaps].map(lines => !isEmpty(lines));
  yield* linesMissing(frame, anyHead || !anyGaps ? "head" : "gaps", widest);
  if ((anyHead || anyGaps) && !(level && alike)) {
    yield { what: "sill", line: OUTER, for: level ? "head_parallel" : "head_level" };
  }
}

function* rollersMissing(frame) {
  if (frame.rollerSpacing === null) yield { what: "roller_spacing" };
  if (!frame.parts.includes("members")) yield* members.missing(frame.members).filter(({ read }) => read === "edge");
}

function computed(frame, sill, hung, use) {
  const shown = {};
  if (!isEmpty(sill)) shown.sill = mapLines(sill, straightness);
  if (!isEmpty(hung)) shown.head = mapLines(hung, points => ({ ...straightness(points), sag_mm: sag(points) }));
  for (const [part, lines] of [["sill", sill], ["head", hung]]) {
    const worst = worstAcross(lines);
    if (worst !== null) {
      const [at, fall] = worst;
      shown[`${part}_across`] = { worst_mm: absolute(fall), at_mm: at, high_line: highLine(fall) };
    }
  }
  if (use.length > 0) {
    const each = Object.fromEntries(use.map(([name, by]) => [`${name}_mm`, by]));
    shown.roller_use = { ...each, worst_mm: most(use.map(([, by]) => by)) };
  }
  for (const [way, apart] of members.apart(frame.members)) shown[`members_apart_${way}_mm`] = apart;
  if (frame.watch !== null) shown.watch = head.computed(frame.watch);
  return shown;
}

/** Range, least squares and minimum zone, each by its own name. @param {Point[]} points */
function straightness(points) {
  const [start, first] = points[0], [end, last] = points.at(-1);
  const slope = end > start ? over(less(last, first), end - start) : 0n;
  return {
    range_mm: totalRange(points),
    least_squares_mm: leastSquaresWidth(points),
    minimum_zone_mm: minimumZone(points),
    slope_mm_per_m: times(slope, 1000n),
    high_end: toward(slope, "to", "from") ?? "level",
  };
}
