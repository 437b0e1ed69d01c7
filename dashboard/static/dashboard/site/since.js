/* How long ago something was, as one says it. */

import { say } from "./says.js";

const MINUTE = 60_000, HOUR = 60 * MINUTE, DAY = 24 * HOUR;

/** @param {string} at a time as RFC 3339 writes it */
export function ago(at, now = Date.now()) {
  const passed = Math.max(0, now - Date.parse(at));
  if (passed < MINUTE) return say("just now");
  if (passed < HOUR) return say("minutes", { n: Math.floor(passed / MINUTE) });
  if (passed < 2 * DAY) return say("hours", { n: Math.floor(passed / HOUR) });
  return say("days", { n: Math.floor(passed / DAY) });
}

export function daysSince(at, now = Date.now()) {
  return Math.floor((now - Date.parse(at)) / DAY);
}
