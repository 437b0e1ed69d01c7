/* Ids that a phone gives by itself: UUID version 7 (RFC 9562), so that entries sort by when they were made. */

const MOST = (1n << 74n) - 1n; // what is left for chance and order within a millisecond
let last = { ms: 0, tail: 0n };

/** @returns {string} a new id; later ones of the same page are greater, also within one millisecond */
export function newId(now = Date.now()) {
  last = now > last.ms ? { ms: now, tail: chance() } : { ms: last.ms, tail: last.tail + 1n };
  const high = (BigInt(last.ms) << 80n) | (7n << 76n) | ((last.tail >> 62n) << 64n);
  const low = (2n << 62n) | (last.tail & ((1n << 62n) - 1n));
  const hex = (high | low).toString(16).padStart(32, "0");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

/** Half of the room is left above it: a page does not count that far. */
function chance() {
  const words = crypto.getRandomValues(new BigUint64Array(2));
  return (((words[0] << 64n) | words[1]) & MOST) >> 1n;
}
