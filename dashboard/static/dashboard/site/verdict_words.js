/* A verdict in sentences, the same ones, letter for letter, as dashboard/words.py says it with a Reader: name by name.
   Of the kinds that are judged on the phone; whatever else the office judges comes in words from there. */

import { fromMm, Reader } from "./measures.js";
import { _, filled, wordFor } from "./says.js";
import { decimal } from "./written.js";

/** @import { Verdict, Finding } from "../calc/verdict.js" */
/** @typedef {{headline: string, notes: string[], beyond: string[], missing: string[], secondLook: string[], caution:
    string}} Said */

const DIFFERENCES = ["dew_margin"]; // temperatures that are differences
const PLACED = ["at_mm", "from_mm", "to_mm", "low_at_mm", "high_at_mm"]; // places along a member, not sizes

/**
 * @param {Verdict} verdict @param {"in" | "mm"} units
 * @param {{zone?: string, year?: number}} [at] the clock of the job; the year that need not be said
 * @returns {Said} `beyond`: of the notes those that fail
 */
export function said(verdict, units, at = {}) {
  const reader = new Reader(units, at);
  return {
    headline: wordFor("results", verdict.result) ?? verdict.result,
    notes: verdict.findings.map(one => finding(one, reader)),
    beyond: verdict.findings.filter(one => one.within === false).map(one => finding(one, reader)),
    missing: unique((verdict.missing ?? []).map(one => missing(one, reader))),
    secondLook: unique((verdict.second_look ?? []).map(one => secondLook(one, reader))),
    caution: verdict.caution ? wordFor("cautions", verdict.caution) ?? wordFor("cautions", "") : "",
  };
}

/** `lock jamb`, `panel B`; `head outside` for a joint. */
function place(name) {
  if (name.length <= 2 && /^[A-Z]+$/.test(name)) return _("panel %s", name);
  return name.split(" ").map(part => wordFor("places", part) ?? part).join(" ");
}

/** One thing judged: what, where, the limit, by how much, whose limit, what to do. @param {Finding} of */
function finding(of, reader) {
  const unit = Object.keys(of).find(key => key.startsWith("value_"))?.slice("value_".length) ?? "mm";
  const [value, limit] = ["value", "limit"].map(part => of[`${part}_${unit}`] ?? null);
  const { quantity, within } = of, least = of.limit_is === "least";
  const spot = where(of.where ?? {}, reader), most = limitWords(quantity, limit, unit, least, reader);
  const by = byHowMuch(of, unit, least, reader);
  const first = `${quantityWords(quantity)}: ${valueWords(quantity, value, limit, unit, within, reader)}`
    + `${spot && `, ${spot}`}${most && `; ${most}`}.`;
  return [first, by && `${by}.`, source(of.source ?? ""), remedy(of.remedy, reader)].filter(Boolean).join(" ");
}

function quantityWords(code) {
  const known = wordFor("quantities", code);
  if (known !== undefined) return known;
  const base = ["member_plumb", "member_bow", "member_twist"].find(one => code.startsWith(`${one}_`));
  if (base === undefined) return capitalized(code.replaceAll("_", " "));
  return `${capitalized(place(code.slice(base.length + 1)))}: ${wordFor("quantities", base).toLowerCase()}`;
}

function amount(quantity, value, unit, reader) {
  if (value === null) return "";
  if (unit === "mm") return reader.printed(value);
  if (unit === "c") return DIFFERENCES.includes(quantity) ? reader.warmer(value) : reader.temperature(value);
  if (unit === "n") return reader.force(value);
  const suffix = { pct: " %", deg: "°", days: _(" days") }[unit] ?? "";
  return `${decimal(short(value))}${suffix}`;
}

function short(value) {
  return value.includes(".") ? value.replace(/\.?0+$/, "") : value;
}

function valueWords(quantity, value, limit, unit, within, reader) {
  if (unit === "flag") return within ? _("yes") : _("no");
  if (value === null) return _("not known");
  if (unit === "mm" && within === false && limit !== null) return reader.beyond(fromMm(value), fromMm(limit));
  const said = amount(quantity, value, unit, reader);
  if (within !== false || limit === null || said !== amount(quantity, limit, unit, reader)) return said;
  const over = Number(value) > Number(limit);
  return _(over ? "just over %s" : "just under %s", said);
}

function limitWords(quantity, limit, unit, least, reader) {
  if (unit === "flag") return "";
  if (limit === null) return _("no limit set");
  return _(least ? "at least %s" : "at most %s", amount(quantity, limit, unit, reader));
}

/** Short or over where it fails, in hand where it does not. */
function byHowMuch(of, unit, least, reader) {
  const [value, limit, margin] = ["value", "limit", "margin"].map(part => of[`${part}_${unit}`] ?? null);
  const { quantity, within } = of;
  if (margin === null || within === null) return "";
  const by = unit === "mm" ? apart(value, limit, margin, reader)
    : unit === "c" ? reader.warmer(margin.replace(/^-+/, ""))
      : amount(quantity, margin.replace(/^-+/, ""), unit, reader);
  if (within) return _("%s in hand", by);
  return _(least ? "%s short" : "%s over", by);
}

/** What lies between the two that are said before it, where the margin is that. */
function apart(value, limit, margin, reader) {
  const by = Math.abs(fromMm(margin)), said = value !== null && limit !== null;
  if (said && Math.abs(fromMm(value) - fromMm(limit)) === by) return reader.between(fromMm(value), fromMm(limit));
  return reader.difference(by);
}

function source(text) {
  const known = wordFor("sources", text);
  if (known !== undefined || text === "" || text.endsWith(".")) return known ?? text;
  return `${text.slice(0, 1).toUpperCase()}${text.slice(1)}.`;
}

/** Where it was: `between 12' 0" and 13' 0", outer line`. */
function where(at, reader) {
  return [...whereParts(at, reader)].filter(Boolean).join(", ");
}

function* whereParts(at, reader) {
  const spot = name => reader.place(fromMm(at[name])),
    there = (...names) => names.every(name => (at[name] ?? null) !== null);
  if (there("from_mm", "to_mm")) yield _("between %(a)s and %(b)s", { a: spot("from_mm"), b: spot("to_mm") });
  if (there("low_at_mm", "high_at_mm")) {
    yield _("lowest at %(at)s%(line)s", { at: spot("low_at_mm"), line: on(at.low_line) });
    yield _("highest at %(at)s%(line)s", { at: spot("high_at_mm"), line: on(at.high_line) });
  } else if (at.high_line) yield _("%s high", place(at.high_line));
  if (there("least_at_mm", "most_at_mm")) yield _("least at %(a)s, most at %(b)s",
    { a: spot("least_at_mm"), b: spot("most_at_mm") });
  if (there("at_mm")) yield _("at %s", spot("at_mm"));
  if (typeof at.at === "string" && at.at !== "") yield at.at.includes("T") ? reader.moment(at.at)
    : _("at the %s", place(at.at));
  for (const name of ["line", "member"]) if (at[name]) yield place(at[name]);
  if (at.place) yield place(`${at.place} ${at.side ?? ""}`.trim());
  if (at.panel) yield _("panel %s", at.panel);
  if (at.roller) yield _("roller %s", at.roller);
  if (at.way) yield place(at.way);
  if (at.top_leans) yield _("top leans %s", place(at.top_leans));
  if (at.wide_at) yield _("wider at the %s", place(at.wide_at));
  if (at.head_slid) yield _("head slid %s", place(at.head_slid));
  if (at.wider_at) yield _("wider at the %s", place(at.wider_at));
}

function on(line) {
  return line ? `, ${place(line)}` : "";
}

function remedy(sent, reader) {
  if (!sent) return "";
  const template = wordFor("remedies", sent.code);
  return template === undefined ? `${capitalized(sent.code.replaceAll("_", " "))}.`
    : filled(template, values(sent.values ?? {}, reader));
}

function missing(sent, reader) {
  if (sent.what === "gap" && !sent.where) return _("Measure the gap."); // before the last panel: there is one
  const template = wordFor("missing", sent.what);
  return template === undefined ? `${quantityWords(sent.what)}.` : filled(template, values(sent, reader));
}

function secondLook(sent, reader) {
  const template = wordFor("second_looks", sent.why) ?? wordFor("second_looks", sent.what);
  return template === undefined ? `${quantityWords(sent.what)}.` : filled(template, values(sent, reader));
}

/** The values of a code in words; one that a sentence needs and nobody sent is left out of it. */
function values(sent, reader) {
  const said = {};
  for (const [name, value] of Object.entries(sent)) {
    const short = name.replace(/_mm$/, "");
    if (value === null) continue;
    if (name === "rollers") said[name] = value.map(one => rollerMove(one, reader)).join("; ");
    else if (Array.isArray(value)) said[short] = value.map(one => oneValue(name, one, reader)).join(", ");
    else said[short] ??= oneValue(name, value, reader);
  }
  return said;
}

function oneValue(name, value, reader) {
  if (name.endsWith("_mm") && typeof value === "string") {
    const nm = fromMm(value);
    return PLACED.includes(name) ? reader.place(nm) : reader.length(name === "move_mm" ? Math.abs(nm) : nm);
  }
  if (name === "when") return wordFor("when", value) ?? value;
  return wordFor("places", value) ?? String(value);
}

function rollerMove(move, reader) {
  if (move.way === "leave") return _("%s: leave it", place(move.roller));
  return _("%(roller)s %(way)s %(turns)s turns (%(by)s)",
    { roller: place(move.roller), way: move.way === "up" ? _("up") : _("down"),
    turns: move.turns, by: reader.length(Math.abs(fromMm(move.move_mm))) });
}

function unique(said) {
  return [...new Set(said)];
}

function capitalized(text) {
  return text.slice(0, 1).toUpperCase() + text.slice(1).toLowerCase();
}
