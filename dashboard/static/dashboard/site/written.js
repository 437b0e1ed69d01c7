/* How dates, times and decimals are written for whoever holds this phone: as dashboard/written.py does, by the patterns
   and names that come with the words. */

import { written } from "./says.js";

/** A number as it is sent, with the decimal mark of whoever reads. */
export function decimal(number) {
  return number.replaceAll(".", written().decimal);
}

/** @param {string} at a moment, RFC 3339 @param {string} zone the clock of the job
    @param {"day" | "day_and_year"} parts */
export function date(at, zone, parts) {
  return filledIn(written()[parts], shownBy(at, zone));
}

export function clock(at, zone) {
  return filledIn(written().clock, shownBy(at, zone));
}

export function yearOf(at, zone) {
  return shownBy(at, zone).year;
}

function shownBy(at, zone) {
  const shown = new Intl.DateTimeFormat("en-US-u-ca-gregory", { timeZone: zone, hourCycle: "h23", year: "numeric",
    month: "numeric", day: "numeric", hour: "numeric", minute: "numeric" }).formatToParts(Date.parse(at));
  return Object.fromEntries(shown.filter(({ type }) =>
    type !== "literal").map(({ type, value }) => [type, Number(value)]));
}

/** The letters of a pattern as Unicode CLDR has them; what stands between quotes stands as it is. */
const LETTERS = {
  E: now => written().weekdays[new Date(Date.UTC(now.year, now.month - 1, now.day)).getUTCDay()],
  M: (now, width) => (width > 2 ? written().months[now.month - 1] : digits(now.month, width)),
  d: (now, width) => digits(now.day, width),
  y: (now, width) => (width === 2 ? digits(now.year % 100, 2) : String(now.year)),
  H: (now, width) => digits(now.hour, width),
  h: (now, width) => digits(now.hour % 12 || 12, width),
  m: (now, width) => digits(now.minute, width),
  a: now => written().halves[now.hour < 12 ? 0 : 1],
};
Object.assign(LETTERS, { c: LETTERS.E, L: LETTERS.M, B: LETTERS.a });

function filledIn(pattern, now) {
  return pattern.replace(/'([^']*)'|([a-zA-Z])\2*/g, (all, quoted, letter) => (
    letter === undefined ? quoted || "'" : LETTERS[letter]?.(now, all.length) ?? ""));
}

function digits(number, width) {
  return String(number).padStart(width, "0");
}
