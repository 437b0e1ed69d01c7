/* Exact numbers: whole ones as BigInt, others as a fraction in lowest terms. What comes out whole is a BigInt again.
   A door's nanometres fit into a plain number, but the product of two lengths does not. */

/** @typedef {{top: bigint, under: bigint}} Fraction lowest terms, `under` more than one */
/** @typedef {bigint | Fraction} Exact */

/** @returns {Exact} top/under */
export function ratio(top, under) {
  if (under === 0n) throw new RangeError("nothing is divided by nought");
  if (under < 0n) [top, under] = [-top, -under];
  if (under === 1n) return top;
  const common = divisor(top < 0n ? -top : top, under);
  return common === under ? top / under : { top: top / common, under: under / common };
}

/** The greatest that divides both; by plain numbers, which are quicker, once they hold what is left. */
function divisor(a, b) {
  while (b > Number.MAX_SAFE_INTEGER) [a, b] = [b, a % b];
  if (b === 0n) return a;
  let [p, q] = [Number(b), Number(a % b)];
  while (q !== 0) [p, q] = [q, p % q];
  return BigInt(p);
}

/** @param {Exact} value @returns {[bigint, bigint]} */
export function parts(value) {
  return typeof value === "bigint" ? [value, 1n] : [value.top, value.under];
}

/** @param {Exact} a @param {Exact} b @returns {Exact} */
export function plus(a, b) {
  if (typeof a === "bigint" && typeof b === "bigint") return a + b;
  const [p, q] = parts(a), [r, s] = parts(b);
  return ratio(p * s + r * q, q * s);
}

/** @param {Exact} a @param {Exact} b @returns {Exact} a - b */
export function less(a, b) {
  return plus(a, negative(b));
}

/** @param {Exact} a @param {Exact} b @returns {Exact} */
export function times(a, b) {
  const [p, q] = parts(a), [r, s] = parts(b);
  return ratio(p * r, q * s);
}

/** @param {Exact} a @param {Exact} b @returns {Exact} a / b */
export function over(a, b) {
  const [p, q] = parts(a), [r, s] = parts(b);
  return ratio(p * s, q * r);
}

/** @param {Exact} a @returns {Exact} */
export function negative(a) {
  return typeof a === "bigint" ? -a : { top: -a.top, under: a.under };
}

/** @param {Exact} a @returns {Exact} */
export function absolute(a) {
  return sign(a) < 0 ? negative(a) : a;
}

/** @param {Exact} a @returns {-1 | 0 | 1} */
export function sign(a) {
  const [top] = parts(a);
  return top < 0n ? -1 : top > 0n ? 1 : 0;
}

/** @param {Exact} a @param {Exact} b @returns {-1 | 0 | 1} */
export function compare(a, b) {
  const [p, q] = parts(a), [r, s] = parts(b), left = p * s, right = r * q;
  return left < right ? -1 : left > right ? 1 : 0;
}

/** Each once, the least first. @param {bigint[]} values */
export function ascending(values) {
  return [...new Set(values)].sort((a, b) => (a < b ? -1 : 1));
}

/** Which of two ways it goes, or leans; null at nought. @param {Exact} by */
export function toward(by, positive, negative) {
  const way = sign(by);
  return way === 0 ? null : way > 0 ? positive : negative;
}

/** The first of equals. @template T @param {T[]} rows @param {(row: T) => Exact} of @returns {T} */
export function leastBy(rows, of) {
  return rows.reduce((best, row) => (compare(of(row), of(best)) < 0 ? row : best));
}

/** The first of equals. @template T @param {T[]} rows @param {(row: T) => Exact} of @returns {T} */
export function mostBy(rows, of) {
  return rows.reduce((best, row) => (compare(of(row), of(best)) > 0 ? row : best));
}

/** @param {Exact[]} values @returns {Exact} */
export function least(values) {
  return leastBy(values, value => value);
}

/** @param {Exact[]} values @returns {Exact} */
export function most(values) {
  return mostBy(values, value => value);
}

/**
 * All in whole numbers of 1/scale, `scale` the least that makes them whole.
 * @param {Exact[]} values @returns {[bigint[], bigint]}
 */
export function whole(values) {
  const scale = values.reduce((all, value) => {
    const [, under] = parts(value);
    return all / divisor(all, under) * under;
  }, 1n);
  return [values.map(value => {
    const [top, under] = parts(value);
    return top * (scale / under);
  }), scale];
}

/** Nearest whole number, halves away from nought. @param {Exact} value @returns {bigint} */
export function halfAway(value) {
  const [top, under] = parts(value), size = (2n * (top < 0n ? -top : top) + under) / (2n * under);
  return top < 0n ? -size : size;
}

/** The whole part of the square root. @param {bigint} value not below nought @returns {bigint} */
export function root(value) {
  if (value < 2n) return value;
  let found = 1n << BigInt((value.toString(2).length + 1) >> 1);
  for (;;) {
    const next = (found + value / found) >> 1n;
    if (next >= found) return found;
    found = next;
  }
}

/**
 * Rounded down, below nought too, and the rest.
 * @param {bigint} top @param {bigint} under more than nought @returns {[bigint, bigint]}
 */
export function divided(top, under) {
  const rest = top % under;
  return rest < 0n ? [top / under - 1n, rest + under] : [top / under, rest];
}

/**
 * A decimal number as it was written: 12.3 is 123/10, not the nearest binary number to it.
 * @param {number | Exact} value @returns {Exact}
 */
export function asWritten(value) {
  if (typeof value !== "number") return value;
  const [, minus, before, after = "", power = "0"] = /^(-?)(\d+)(?:\.(\d+))?(?:e([-+]\d+))?$/.exec(String(value));
  const digits = BigInt(before + after), shift = BigInt(power) - BigInt(after.length);
  const size = shift < 0n ? ratio(digits, 10n ** -shift) : digits * 10n ** shift;
  return minus === "-" ? negative(size) : size;
}

/** The binary number itself, exactly. @param {number} value finite @returns {Exact} */
export function asStored(value) {
  let under = 1n;
  while (!Number.isInteger(value)) [value, under] = [value * 2, under * 2n];
  return ratio(BigInt(value), under);
}

/** The nearest binary number. @param {Exact} value @returns {number} */
export function toNumber(value) {
  const [top, under] = parts(value);
  if (isPlain(top) && isPlain(under)) return Number(top) / Number(under);
  const digits = 10n ** BigInt(40 + under.toString().length);
  return Number(`${top * digits / under}e-${digits.toString().length - 1}`);
}

function isPlain(count) {
  return count <= BigInt(Number.MAX_SAFE_INTEGER) && -count <= BigInt(Number.MAX_SAFE_INTEGER);
}
