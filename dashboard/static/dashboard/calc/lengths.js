/* Lengths: what people write and what phones make of it, into whole nanometres; and back to text.

   As jobs/calc/lengths.py: text that could mean two lengths is refused, with the reason. */

import { asWritten, halfAway, plus, ratio, times } from "./exact.js";

/** @import { Exact } from "./exact.js" */

export const MM = 1_000_000n, INCH = 25_400_000n, FOOT = 12n * INCH;
const LONGEST = 10n ** 12n; // a kilometre
const LONGEST_TEXT = 60;
// Feet and inches by the first letter of however they are written.
const UNITS = { "'": FOOT, f: FOOT, '"': INCH, i: INCH, mm: MM, cm: 10n * MM, m: 1000n * MM };
const PARTS = [1, 2, 4, 8, 16, 32, 64]; // what an inch may be divided into on paper

// Bottoms of fractions somebody would write. 1/61 is 1/16 with two keys swapped, not a length.
const BOTTOMS = [2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 16, 32, 64, 128, 100, 1000];

const EXAMPLES = "write a length such as 96 1/2\", 8' 0-1/2\", 2451.1 mm, 245.11 cm or 2.4511 m";
const COMMA = "a comma can mean a decimal point or thousands: leave it out, and write decimals with a point, 2451.1";
const TWO_NUMBERS = "two numbers side by side can be read two ways: write 8' 6\" for feet and inches, "
  + "8 1/2\" for a fraction";
const TAKEN_OFF = "this can be read as a fraction added or taken off: write 96 1/2 or 96-1/2, "
  + "and a minus only in front";
const TAKEN_OFF_FEET = "this can be read as a part of an inch added or taken off: write 8' 0-1/2\"";
const TOP_HEAVY = "a fraction's top must be less than its bottom: write 1 1/2 or 5 1/2, "
  + "since 11/2 can be read as either";
const NO_TAPE = "nobody marks an inch in parts like that: check the number under the stroke";
const PARTS_OF_MM = "a fraction can be read two ways where millimetres are expected: write 1/16\" or 1.6 mm";
const AFTER_FEET = "after feet, write inches with their mark, 8' 6\", where millimetres are expected";
const PART_FEET = "part feet together with inches can be read two ways: write whole feet, then inches";
const TWELVE = "inches after feet must be less than 12";
const TOO_LONG = "longer than a kilometre: check the unit";

const COMMAS = /[,\u201a\uff0c\u3001\u066b\u066c]/;
const SPACES = /[\s\x1c-\x1f\x85\u200b\u2060\ufeff]+/g;
// A minus (U+2212) stays itself: it is a sign, never the hyphen between a whole and its fraction.
const ALIKE = [
  [/[\u2019\u2018\u2032\u02b9\u00b4\u201b]/g, "'"], [/[\u201d\u201c\u2033\u02ba\u201f]/g, '"'],
  [/[\u2010-\u2013\ufe63\uff0d]/g, "-"], [/[\u2044\u2215\uff0f]/g, "/"],
];
const VULGAR = {
  "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
  "⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅑": "1/9", "⅒": "1/10",
};
const SMALL_DIGITS = "⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉";
const SMALL = new RegExp(`[${Object.keys(VULGAR).join("")}]|[⁰¹²³⁴-⁹]+/[₀-₉]+`, "g");

const DECIMAL = String.raw`(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)`;
const FRACTION = "[0-9]+ ?/ ?[0-9]+";
const AMOUNT = `(?:(?:[0-9]+[- ])?${FRACTION}|${DECIMAL})`;
const INCHES = String.raw`(?:"|inches|inch|in\.?)`, FEET = String.raw`(?:'|feet|foot|ft\.?)`;
const LENGTH = new RegExp(
  String.raw`^(?<sign>[-+\u2212]?) ?`
  + `(?:(?<feet>${AMOUNT}) ?${FEET}(?<joint> ?-? ?)(?<inches>${AMOUNT}) ?(?<mark>${INCHES}?)`
  + `|(?<amount>${AMOUNT}) ?(?<unit>${FEET}|${INCHES}|mm|cm|m|))$`);
const SOMETHING_TAKEN_OFF = new RegExp(String.raw`[0-9](?: -|- | - | ?\u2212) ?${FRACTION}`);
const SIDE_BY_SIDE = new RegExp(`${AMOUNT}[- \u2212]${AMOUNT}`);

/**
 * Nanometres. `unit` ("in" or "mm") is what a bare number means. RangeError carries a sentence that helps.
 * @param {string} text @param {"in" | "mm"} unit @returns {bigint}
 */
export function parse(text, unit = "in") {
  if ([...text].length > LONGEST_TEXT) throw new RangeError(`a length takes at most ${LONGEST_TEXT} characters`);
  if (COMMAS.test(text)) throw new RangeError(COMMA);
  const tidy = tidied(text), match = LENGTH.exec(tidy)?.groups;
  if (match === undefined) throw new RangeError(whyNot(tidy));
  const exact = match.feet === undefined ? oneAmount(match, unit) : inchesAfterFeet(match, unit);
  return inRange(halfAway(match.sign === "-" || match.sign === "\u2212" ? times(exact, -1n) : exact));
}

/** One spelling of each mark: plain quotes, hyphens, `n/d` for every fraction, single spaces, lower case. */
function tidied(text) {
  const plain = ALIKE.reduce((changed, [chars, one]) => changed.replace(chars, one), text);
  return plain.replace(SMALL, speltOut).replace(SPACES, " ").trim().toLowerCase().replaceAll("''", '"');
}

function speltOut(small, at, text) {
  // The spaces keep 1⅜ from becoming 13/8, and ½2 from becoming 1/22.
  const touches = /[\p{Nd}\u00b2\u00b3\u00b9\u2070-\u2089]$/u.test(text.slice(0, at));
  const plain = VULGAR[small] ?? small.replace(/[^/]/g, digit => SMALL_DIGITS.indexOf(digit) % 10);
  return `${touches ? " " : ""}${plain} `;
}

function oneAmount({ amount, unit: named }, unit) {
  if (named === "" && unit === "mm" && amount.includes("/")) throw new RangeError(PARTS_OF_MM);
  const name = named || unit;
  return times(amountOf(amount), UNITS[name] ?? UNITS[name[0]]);
}

function inchesAfterFeet({ feet, joint, inches: written, mark }, unit) {
  const whole = amountOf(feet), inches = amountOf(written);
  if (!/^[0-9]+$/.test(feet)) throw new RangeError(PART_FEET);
  if (mark === "" && unit === "mm") throw new RangeError(AFTER_FEET);
  const [top, under] = typeof inches === "bigint" ? [inches, 1n] : [inches.top, inches.under];
  if (joint.startsWith(" -") && top > 0n && top < under) throw new RangeError(TAKEN_OFF_FEET);
  if (top >= 12n * under) throw new RangeError(TWELVE);
  return plus(times(whole, FOOT), times(inches, INCH));
}

/** `96`, `96.5`, `1/2`, `96 1/2` or `96-1/2`. @returns {Exact} */
function amountOf(text) {
  if (!text.includes("/")) return decimal(text);
  const numbers = text.match(/[0-9]+/g).map(BigInt), [top, bottom] = numbers.slice(-2);
  if (!BOTTOMS.includes(Number(bottom))) throw new RangeError(NO_TAPE);
  if (top >= bottom) throw new RangeError(TOP_HEAVY);
  return plus(numbers.length === 3 ? numbers[0] : 0n, ratio(top, bottom));
}

/** @returns {Exact} */
function decimal(text) {
  const [whole, rest = ""] = text.split(".");
  return ratio(BigInt(whole + rest), 10n ** BigInt(rest.length));
}

function whyNot(tidy) {
  if (SOMETHING_TAKEN_OFF.test(tidy)) return TAKEN_OFF;
  return SIDE_BY_SIDE.test(tidy) ? TWO_NUMBERS : EXAMPLES;
}

/** Nanometres out of a number of millimetres, halves away from nought. @param {number} value @returns {bigint} */
export function fromMm(value) {
  return inRange(halfAway(times(asWritten(value), MM)));
}

function inRange(nm) {
  if (nm > LONGEST || nm < -LONGEST) throw new RangeError(TOO_LONG);
  return nm;
}

/**
 * `96 1/2"`, or with feet `8' 0 1/2"`, to the nearest 1/`parts` in: reduced, carried, sign kept.
 * @param {Exact} nm @param {number} parts one of PARTS
 */
export function formatInches(nm, parts = 16, feet = false) {
  if (!PARTS.includes(parts)) throw new RangeError(`an inch is divided into one of: ${PARTS.join(", ")}`);
  // A plain number: a kilometre has two and a half million sixty-fourths.
  const marks = Number(halfAway(times(nm, ratio(BigInt(parts), INCH)))), all = Math.abs(marks);
  const inches = Math.floor(all / parts), inFeet = feet && inches >= 12;
  const whole = inFeet ? [`${Math.floor(inches / 12)}'`, `${inches % 12}`] : inches > 0 ? [`${inches}`] : [];
  let [top, under] = [all % parts, parts];
  while (top > 0 && top % 2 === 0) [top, under] = [top / 2, under / 2];
  const words = top > 0 ? [...whole, `${top}/${under}`] : whole.length > 0 ? whole : ["0"];
  return `${marks < 0 ? "-" : ""}${words.join(" ")}"`;
}
