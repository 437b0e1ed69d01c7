/* Moments with the offset they were written with (RFC 3339), said again as the office says them. */

import { BadInput } from "./verdict.js";

/** @typedef {{at: bigint, offset: bigint}} Moment microseconds of the universal clock; microseconds east of it */

const TIMES = "a time with its offset, such as 2031-03-04T15:00:00-05:00";
const WRITTEN = /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d)(?::(\d\d)(?:[.,](\d{1,6})\d*)?)?(?:Z|([-+])(\d\d):?(\d\d))$/i;
const SECOND = 1_000_000n;

/** @returns {Moment} */
export function at(value, field) {
  const found = typeof value === "string" ? WRITTEN.exec(value) : null;
  if (found === null) throw new BadInput(field, value, TIMES);
  const [, year, month, day, hour, minute, second = "0", part = "", sign = "+", hours = "0", minutes = "0"] = found;
  const numbers = [year, month, day, hour, minute, second].map(Number),
    ms = Date.UTC(numbers[0], numbers[1] - 1, ...numbers.slice(2));
  const offset = BigInt(sign === "-" ? -1 : 1) * BigInt(Number(hours) * 3600 + Number(minutes) * 60) * SECOND;
  const inOrder = new Date(ms).toISOString().slice(0, 10) === `${year}-${month}-${day}` && numbers[3] < 24
    && numbers[4] < 60 && numbers[5] < 60
    && Number(hours) < 24 && Number(minutes) < 60;
  if (!inOrder || numbers[0] < 2000 || numbers[0] > 2199) throw new BadInput(field, value, TIMES);
  return { at: BigInt(ms) * 1000n + BigInt(part.padEnd(6, "0")) - offset, offset };
}

/** @param {Moment} moment @param {bigint} by microseconds @returns {Moment} */
export function later(moment, by) {
  return { ...moment, at: moment.at + by };
}

/** `2031-03-04T15:00:00-05:00`, with the offset it came with. @param {Moment} moment */
export function inWords({ at: universal, offset }) {
  const here = universal + offset, part = (here % SECOND + SECOND) % SECOND;
  const clock = new Date(Number((here - part) / 1000n)).toISOString().slice(0, 19);
  const minutes = Number((offset < 0n ? -offset : offset) / (60n * SECOND));
  const [hours, rest] = [Math.floor(minutes / 60), minutes % 60].map(count => String(count).padStart(2, "0"));
  const zone = `${offset < 0n ? "-" : "+"}${hours}:${rest}`;
  return `${clock}${part === 0n ? "" : `.${String(part).padStart(6, "0")}`}${zone}`;
}
