/* Sealing conditions: may this joint be sealed now, and will the hours after let it skin.

   dew point  g = ln(RH / 100) + a T / (b + T),  Td = b g / (a - g),  a = 17.62, b = 243.12 C
   cure       depth = k * sqrt(days), so days = (depth / k)^2

   The constants are Magnus' for vapour over water (WMO; value from memory). The dew point is rounded to 0.01 C before
   it is compared; readings stay the decimals they were written as. A coming hour's surface is its forecast air plus
   today's surface less today's air. */

import { absolute, asStored, asWritten, compare, divided, halfAway, leastBy, less, most, over,
  parts, plus, ratio, sign, times,
  toNumber } from "./exact.js";
import { flag, isEmpty, isThere, length, mapping, need, number, sequence, temperature, text,
  unitOf } from "./inputs.js";
import { at, inWords, later } from "./moments.js";
import { BadInput, COMMON_PRACTICE, MUST_SET, NO_LIMIT, atLeast, atMost, finding, overall,
  verdict } from "./verdict.js";

/** @import { Exact } from "./exact.js" */
/** @import { Moment } from "./moments.js" */
/** @import { Finding, Limit, Limits, Verdict } from "./verdict.js" */
/**
 * @typedef {object} Product what its data sheet says; what it leaves out is null, or not among the bounds
 * @property {string} source @property {Record<string, Exact>} bounds air_least_c and the like
 * @property {bigint | null} skin microseconds @property {Exact | null} cure mm for the square root of a day
 * @property {bigint | null} beadDepth @property {Exact | null} waterTestDays @property {Exact | null} loadDays
 */
/** @typedef {{air: Exact, surface: Exact, humidity: Exact, starts: Moment | null, ends: Moment | null, rain: bigint}}
    Air */
/** @typedef {{now: Air, surfaceDry: boolean | null, product: Product, hours: Air[]}} Conditions */

export const NAME = "sealing-conditions";
export const LIMITS = { dew_margin: "c_apart" };

const MAGNUS_A = 17.62, MAGNUS_B = 243.12;
const MM = 1_000_000n, MICROMETRE = 1_000n;
const MINUTE = 60_000_000n, HOUR = 60n * MINUTE, NIGHT = 24n * HOUR; // within a day of any hour lies the night after it
const RANGES = ["air", "surface"];
const FAR_APART = 30n; // C between air and surface: dark metal in the sun comes near it

/** @param {object} payload @param {Limits} limits @returns {Verdict} */
export function judge(payload, limits) {
  const { value, source } = limits.dew_margin ?? NO_LIMIT,
    margin = { value: value === null ? null : asWritten(value), source };
  if (value !== null && sign(margin.value) < 0) {
    throw new BadInput("limits.dew_margin", value, "degrees between surface and dew point, 0 or more");
  }
  const days = isThere(payload.days_since)
    ? asWritten(number(payload.days_since, "days_since", { least: 0, most: 100_000 })) : null;
  return judgeConditions(readConditions(payload), margin, days);
}

/** Degrees Celsius, to 0.01. @param {Air} at @returns {Exact} */
function dewPoint({ air, humidity }) {
  const celsius = toNumber(air);
  const g = Math.log(toNumber(humidity) / 100) + MAGNUS_A * celsius / (MAGNUS_B + celsius);
  return ratio(halfAway(times(asStored(MAGNUS_B * g / (MAGNUS_A - g)), 100n)), 100n);
}

function margin(at) {
  return less(at.surface, dewPoint(at));
}

// ---- the judgement

function judgeConditions(read, dewMargin, days) {
  const against = read.hours.map(hour => againstIt(hour, read, dewMargin));
  const opens = read.hours.find((_, n) => against[n].length === 0) ?? null;
  const opensAt = opens === null ? null : inWords(opens.starts);
  const findings = [...atAnHour(read.now, read.product, dewMargin, opensAt), ...dry(read),
    ...afterwards(read.now, read)];
  const missing = read.surfaceDry === null ? [{ what: "surface_dry" }] : [];
  const cautions = [...cautionsOf(read)];
  const computed = {
    dew_point_c: dewPoint(read.now), cautions, opens_at: opensAt,
    opens_at_night_known: opens === null ? null : read.hours.at(-1).ends.at >= opens.starts.at + NIGHT,
    hours: read.hours.map((hour, n) => hourShown(hour, against[n])), ...cure(read.product, days),
  };
  return verdict(overall(findings, missing),
    { findings, computed, missing, secondLook: secondLook(read), caution: cautions[0] ?? null });
}

/** @returns {Finding[]} */
function atAnHour(at, product, dewMargin, opensAt = null) {
  const remedy = { code: "wait_for_the_surface_to_warm", values: { opens_at: opensAt } };
  return [atLeast("dew_margin", margin(at), dewMargin, { unit: "c", remedy }), ...inRange(at, product)];
}

/** Every bound the product gives. One that gives no temperature at all has no limit set. */
function* inRange(at, product) {
  for (const name of RANGES) {
    const [least, most] = [`${name}_least_c`, `${name}_most_c`];
    if (least in product.bounds || (name === "surface" && !givesTemperatures(product))) {
      yield atLeast(`${name}_least`, at[name], limitOf(product, least),
        { unit: "c", remedy: { code: `${name}_too_cold` } });
    }
    if (most in product.bounds) {
      yield atMost(`${name}_most`, at[name], limitOf(product, most),
        { unit: "c", remedy: { code: `${name}_too_hot` } });
    }
  }
  const { humidity_least_pct: least, humidity_most_pct: most } = product.bounds;
  if (least !== undefined) {
    yield atLeast("humidity_least", at.humidity, limitOf(product, "humidity_least_pct"),
      { unit: "pct", remedy: { code: "air_too_dry" } });
  }
  if (most !== undefined) {
    yield atMost("humidity_most", at.humidity, limitOf(product, "humidity_most_pct"),
      { unit: "pct", remedy: { code: "air_too_damp" } });
  }
}

/** @param {Product} product @returns {Limit} */
function limitOf({ bounds, source }, name) {
  return name in bounds ? { value: bounds[name], source } : { value: null, source: MUST_SET };
}

function givesTemperatures({ bounds }) {
  return RANGES.some(name => `${name}_least_c` in bounds || `${name}_most_c` in bounds);
}

function dry({ surfaceDry }) {
  return surfaceDry === null ? [] : [finding({ quantity: "surface_dry", value: null, limit: null, within: surfaceDry,
    source: COMMON_PRACTICE, unit: "flag", remedy: surfaceDry ? null : { code: "dry_the_surface" } })];
}

// ---- the hours after

/** What the forecast says of the night after, and of rain before the product skins. No forecast, no finding. */
function afterwards(at, read) {
  if (read.hours.length === 0) return [];
  const starts = startsOf(at, read);
  return [...tonightsLow(starts, read), ...rain(starts, read)];
}

/** @returns {Moment} */
function startsOf(at, read) {
  return at.starts ?? read.hours[0].starts;
}

function* tonightsLow(starts, { hours, product }) {
  const night = hours.filter(hour => hour.ends.at > starts.at && hour.starts.at < starts.at + NIGHT);
  for (const name of RANGES) {
    if (night.length === 0 || !(`${name}_least_c` in product.bounds)) continue;
    const coldest = leastBy(night, hour => hour[name]);
    yield atLeast(`tonights_low_${name}`, coldest[name], limitOf(product, `${name}_least_c`),
      { unit: "c", where: { at: inWords(coldest.starts) }, remedy: { code: "wait_for_a_milder_night" } });
  }
}

/** Rain that is forecast is against it; no rain counts only where the forecast reaches until it has skinned. */
function rain(starts, read) {
  const { hours, product } = read;
  if (product.skin === null) {
    return [finding({ quantity: "rain_before_skin", value: null, limit: null, within: null, source: MUST_SET })];
  }
  const skinned = later(starts, product.skin);
  const wet = hours.filter(hour => hour.rain > 0n && hour.starts.at < skinned.at && hour.ends.at > starts.at);
  if (wet.length === 0 && !reaches(starts, read)) return [];
  const where = { skins_at: inWords(skinned), ...(wet.length > 0 ? { at: inWords(wet[0].starts) } : {}) };
  return [atMost("rain_before_skin", wet.reduce((sum, hour) => sum + hour.rain, 0n),
    { value: 0n, source: product.source },
    { where, remedy: { code: "cover_it_or_wait" } })];
}

function reaches(starts, { hours, product }) {
  return hours[0].starts.at <= starts.at && hours.at(-1).ends.at >= starts.at + (product.skin || HOUR);
}

/** @returns {string[]} the quantities that speak against this hour */
function againstIt(hour, read, dewMargin) {
  const findings = [...atAnHour(hour, read.product, dewMargin), ...afterwards(hour, read)];
  const found = findings.filter(({ within }) => !within).map(({ quantity }) => quantity);
  return reaches(hour.starts, read) ? found : [...found, "forecast_ends_before_skin"];
}

function hourShown(hour, against) {
  return { at: inWords(hour.starts), air_c: hour.air, surface_c: hour.surface, dew_point_c: dewPoint(hour),
    dew_margin_c: margin(hour), rain_mm: hour.rain, against };
}

// ---- what follows

function* cautionsOf(read) {
  if (read.hours.length === 0) yield "no_forecast";
  else if (!reaches(startsOf(read.now, read), read)) yield "forecast_ends_before_skin";
  else if (read.hours.at(-1).ends.at < startsOf(read.now, read).at + NIGHT) yield "forecast_ends_before_morning";
  if (sign(dewPoint(read.now)) < 0 || sign(read.now.air) < 0) yield "below_freezing_constants";
}

/** Whole days to cure through, water tests and loads not before; the product's own number where it is later. */
function cure({ cure: k, beadDepth, waterTestDays, loadDays }, days) {
  const cured = k === null || beadDepth === null ? null : daysThrough(over(ratio(beadDepth, MM), k));
  return {
    cure_days: cured, water_test_after_days: latest(cured, waterTestDays), load_after_days: latest(cured, loadDays),
    ...(days === null || k === null ? {} : { cured_depth_mm: curedDepth(k, days) }),
  };
}

/** Up to the next whole day. @param {Exact} root of the days */
function daysThrough(root) {
  const [whole, rest] = divided(...parts(times(root, root)));
  return rest === 0n ? whole : whole + 1n;
}

/** A root, so rounded to the micrometre. */
function curedDepth(k, days) {
  return halfAway(asStored(toNumber(k) * Math.sqrt(toNumber(days)) * Number(MM) / Number(MICROMETRE))) * MICROMETRE;
}

function latest(cured, stated) {
  const known = [cured, stated].filter(days => days !== null);
  return known.length === 0 ? null : most(known);
}

function secondLook({ now: { air, surface } }) {
  return compare(absolute(less(surface, air)), FAR_APART) > 0
    ? [{ what: "surface_c", why: "far_from_air", air_c: air, surface_c: surface }] : [];
}

// ---- reading what was sent

/** @returns {Conditions} */
function readConditions(payload) {
  const now = { air: degrees(payload, "air_c"), surface: degrees(payload, "surface_c"),
    humidity: humidity(payload, "humidity_pct"),
    starts: isThere(payload.at) ? at(payload.at, "at") : null, ends: null, rain: 0n };
  const surfaceDry = isThere(payload.surface_dry) ? flag(payload.surface_dry, "surface_dry") : null;
  return { now, surfaceDry, product: productOf(payload), hours: forecast(payload, now) };
}

function degrees(sent, name, within = "") {
  return asWritten(temperature(need(sent, name, within), `${within}${name}`));
}

/** Below 1 % nothing outdoors reads, and at 0 % there is no dew point. */
function humidity(sent, name, within = "") {
  return asWritten(number(need(sent, name, within), `${within}${name}`, { least: 1, most: 100 }));
}

/** @returns {Product} */
function productOf(payload) {
  const sent = mapping(isEmpty(payload.product) ? {} : payload.product, "product");
  const skin = amount(sent, "skin_minutes"), depth = payload.bead_depth ?? sent.bead_depth,
    cures = amount(sent, "cure_mm_per_sqrt_day");
  if (cures !== null && sign(cures) === 0) {
    throw new BadInput("product.cure_mm_per_sqrt_day", sent.cure_mm_per_sqrt_day, "it must be more than nothing");
  }
  text(sent.name, "product.name");
  return {
    bounds: boundsOf(sent), source: text(sent.source, "product.source") || "no source given",
    skin: skin === null ? null : BigInt(Math.round(toNumber(skin) * Number(MINUTE))), cure: cures,
    beadDepth: isThere(depth) ? length(depth, "bead_depth", { unit: unitOf(payload) }) : null,
    waterTestDays: amount(sent, "water_test_after_days"), loadDays: amount(sent, "load_after_days"),
  };
}

function boundsOf(sent) {
  const bounds = {};
  for (const [name, suffix] of [["air", "c"], ["surface", "c"], ["humidity", "pct"]]) {
    const [least, most] = [`${name}_least_${suffix}`, `${name}_most_${suffix}`];
    for (const bound of [least, most].filter(one => isThere(sent[one]))) {
      bounds[bound] = (suffix === "c" ? degrees : humidity)(sent, bound, "product.");
    }
    if (least in bounds && most in bounds && compare(bounds[least], bounds[most]) > 0) {
      throw new BadInput(`product.${least}`, sent[least], `it must not lie above ${most}`);
    }
  }
  return bounds;
}

function amount(sent, name) {
  return isThere(sent[name]) ? asWritten(number(sent[name], `product.${name}`, { least: 0, most: 100_000 })) : null;
}

/** The hours to come; those over before the reading was taken are left out. @returns {Air[]} */
function forecast(payload, now) {
  const sent = sequence(isEmpty(payload.forecast) ? [] : payload.forecast, "forecast", { most: 400 });
  const hours = sent.map((one, n) => coming(one, `forecast[${n}]`, now));
  for (const [n, hour] of hours.entries()) {
    if (n === 0) continue;
    if (hour.starts.at <= hours[n - 1].starts.at) {
      throw new BadInput(`forecast[${n}].at`, sent[n].at, "each hour must come after the one before it");
    }
    hours[n - 1].ends = hour.starts;
  }
  return hours.filter(hour => now.starts === null || hour.ends.at > now.starts.at);
}

function coming(sent, field, now) {
  const hour = mapping(sent, field), within = `${field}.`;
  const air = degrees(hour, "air_c", within);
  const fallen = length(isEmpty(hour.rain_mm) ? 0 : hour.rain_mm, `${within}rain_mm`, { unit: "mm" });
  const starts = at(need(hour, "at", within), `${within}at`);
  return { air, surface: less(plus(air, now.surface), now.air),
    humidity: humidity(hour, "humidity_pct", within), starts,
    ends: later(starts, HOUR), rain: fallen };
}
