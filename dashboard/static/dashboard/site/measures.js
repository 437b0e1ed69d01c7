/* How one reader reads: lengths, temperatures and forces in their units, as dashboard/measures.py says them, name by
   name. A length in a verdict is decimal millimetres; in whole nanometres a number of JavaScript holds it exactly. */

import { _ } from "./says.js";
import * as written from "./written.js";

const MM = 1_000_000, INCH = 25_400_000, FOOT = 12 * INCH; // nanometres
const FINEST = 64; // marks to the inch; finer than that nobody reads a tape
const POUND_FORCE = 4.4482216152605; // N
const { decimal } = written;

/** @param {string} mm @returns {number} whole nanometres */
export function fromMm(mm) {
  const [whole, parts = ""] = mm.replace("-", "").split(".");
  const nm = Number(whole) * MM + Number(parts.padEnd(6, "0"));
  return mm.startsWith("-") ? -nm : nm;
}

export class Reader {
  /** @param {"in" | "mm"} units @param {{zone?: string, year?: number | null}} [at] the clock of the job; the year that
      is plain */
  constructor(units, { zone = "UTC", year = null } = {}) {
    Object.assign(this, { inInches: units === "in", zone, year });
  }

  // ---- lengths

  /** `3/32"` or `2.4 mm`: a reading, as fine as it is. */
  length(nm) {
    return this.inInches ? formatInches(nm, marks(nm)) : decimal(formatMm(nm));
  }

  /** A length as a verdict prints it: decimal millimetres. */
  printed(mm) {
    return this.length(fromMm(mm));
  }

  /** Where along a member: `12' 0"` or `3658 mm`. */
  place(nm) {
    if (!this.inInches) return `${fixed(nm / MM, 0).replace(/^-0$/, "0")} mm`;
    return formatInches(nm, 16, Math.abs(nm) >= FOOT);
  }

  /** A value that lies beyond its limit: it never reads as equal to it. */
  beyond(value, limit) {
    const said = this.length(value);
    if (said !== this.length(limit) || value === limit) return said;
    return _(value > limit ? "just over %s" : "just under %s", said);
  }

  /** By how much: a difference too small for a tape is said to be one. */
  difference(nm) {
    if (nm !== 0 && !this.inInches && nm < MM / 20) return _("less than 0.1 mm");
    if (nm !== 0 && this.inInches && nm < Math.floor(INCH / (2 * FINEST))) return _('less than 1/64"');
    return this.length(nm);
  }

  /** How far apart two lengths are that are said side by side: the three agree, as they are read. */
  between(one, other) {
    const apart = Math.abs(this.#asRead(one) - this.#asRead(other));
    if (apart !== 0 || one === other) return this.length(apart);
    return this.inInches ? _('less than 1/64"') : _("less than 0.1 mm");
  }

  /** To the mark that `length` says. */
  #asRead(nm) {
    return this.inInches ? nearest(nm, FINEST, INCH) * (INCH / FINEST) : nearest(nm, 10, MM) * (MM / 10);
  }

  /** How much it falls over a length one thinks in: `0.024 in/ft`, `2 mm/m`. */
  slope(mmPerM) {
    const said = this.inInches ? fixed(Number(mmPerM) * 12 / 1000, 3) : fixed(Number(mmPerM), 2);
    return `${decimal(said.replace(/\.?0+$/, ""))} ${this.inInches ? "in/ft" : "mm/m"}`;
  }

  // ---- other amounts

  temperature(celsius) {
    const value = Number(celsius);
    return decimal(this.inInches ? `${fixed(value * 9 / 5 + 32, 1)} °F` : `${fixed(value, 1)} °C`);
  }

  /** A difference of temperatures. */
  warmer(degrees) {
    const value = Number(degrees);
    return decimal(this.inInches ? `${fixed(value * 9 / 5, 1)} °F` : `${fixed(value, 1)} °C`);
  }

  force(newtons) {
    const value = Number(newtons);
    return decimal(this.inInches ? `${fixed(value / POUND_FORCE, 1)} lbf (${fixed(value, 0)} N)`
      : `${fixed(value, 1)} N`);
  }

  // ---- times

  /** `Wed 25 Nov, 10:42`, on the clock of the job; without its year, where the year is plain. */
  moment(at) {
    const plain = this.year === null || written.yearOf(at, this.zone) === this.year;
    return `${written.date(at, this.zone, plain ? "day" : "day_and_year")}, ${written.clock(at, this.zone)}`;
  }
}

/** The coarsest marks that show this length exactly, sixteenths at least; else the finest there are. */
function marks(nm) {
  return [16, 32, FINEST].find(parts => nm * parts % INCH === 0) ?? FINEST;
}

/** Whole parts of an inch or of a millimetre, halves away from nought. */
function nearest(nm, parts, of) {
  return Math.sign(nm) * Math.floor((2 * Math.abs(nm) * parts + of) / (2 * of));
}

function formatInches(nm, parts, feet = false) {
  const count = nearest(nm, parts, INCH), sign = count < 0 ? "-" : "";
  const whole = Math.floor(Math.abs(count) / parts), fraction = reduced(Math.abs(count) % parts, parts);
  if (!feet || whole < 12) {
    const pieces = [whole > 0 || fraction === "" ? whole : "", fraction];
    return `${sign}${pieces.filter(said => said !== "").join(" ")}"`;
  }
  return `${sign}${Math.floor(whole / 12)}' ${[whole % 12, fraction].filter(said => said !== "").join(" ")}"`;
}

function reduced(top, bottom) {
  if (top === 0) return "";
  while (top % 2 === 0) [top, bottom] = [top / 2, bottom / 2];
  return `${top}/${bottom}`;
}

function formatMm(nm) {
  const tenths = nearest(nm, 10, MM);
  return `${tenths < 0 ? "-" : ""}${Math.floor(Math.abs(tenths) / 10)}.${Math.abs(tenths) % 10} mm`;
}

/** As Python prints it: of two that are as near, the even one. */
function fixed(value, places) {
  const twice = value * 2 * 10 ** places;
  const isHalf = Number.isInteger(value * 2 ** (places + 1)) && Math.abs(twice % 2) === 1;
  return (isHalf ? 2 * Math.round(twice / 4) / 10 ** places : value).toFixed(places);
}
