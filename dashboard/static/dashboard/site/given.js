/* What was entered, put together as it is judged: the same as the pages of the office send for the same sheet. */

const NUMBER = /^\s*[-+\u2212]?[0-9]+(\.[0-9]+)?\s*$/;

/**
 * @param {object} sheet as the day tells it
 * @param {Record<string, string>} entered by the names of the fields; "" where it was said that nothing was read
 * @param {string} place where it was read, of a sheet that is read at several
 * @param {Date} now
 */
export function givenBy(sheet, entered, place = "", now = new Date()) {
  const typed = Object.fromEntries(Object.entries({ ...handedOut(sheet),
    ...entered }).filter(([, value]) => value !== ""));
  const given = { unit: sheet.unit };
  for (const [name, value] of Object.entries(typed)) if (!name.includes("[")) nest(given, name, value);
  for (const group of sheet.groups) if (group.stations) putLines(given, group.stations, typed);
  return (FINISH[sheet.key] ?? (as => as))(given, { sheet, typed, place, now });
}

/** What stands in the fields to begin with; not of stations: at those something is read or nothing. */
function handedOut(sheet) {
  return Object.fromEntries(fieldsOf(sheet).map(field => [field.name, field.value ?? ""]));
}

/** Its fields but for the stations. */
export function fieldsOf(sheet) {
  return sheet.groups.flatMap(({ fields = [], rows = [] }) => [...fields, ...rows.flatMap(([, of]) => of)]);
}

function nest(under, path, value) {
  const parents = path.split(".");
  const last = parents.pop();
  for (const parent of parents) under = under[parent] ??= {};
  under[last] = value;
}

/** Of a row in which anything was read, what stood there to begin with belongs to it. */
function putLines(given, { table, lines, at, known }, typed) {
  for (const line of lines) {
    const stations = [];
    at.forEach((place, n) => {
      const read = lines.some(one => typed[`${table}[${n}].${one.column}`] !== undefined);
      const reading = typed[`${table}[${n}].${line.column}`] ?? (read ? known[place]?.[line.column] : undefined);
      if (reading !== undefined) stations.push({ at: place, reading });
    });
    if (stations.length > 0) nest(given, line.into, stations);
  }
}

const FINISH = {
  "rough-opening": given => withOnly(given, "plumb", ["edge", "face"]),
  frame: frameGiven,
  "sill-again": given => ({ ...given, parts: ["sill"] }),
  "head-under-load": watchGiven,
  force: forceGiven,
  "sealing-conditions": sealingGiven,
  "roller-preset": (given, { sheet, typed, place }) =>
    ({ unit: given.unit, panels: place ? [place] : [], rollers: [0, 1]
    .filter(n => typed[`rollers[${n}].reading`] !== undefined)
    .map(n => ({ panel: place, roller: String(n + 1), reading: typed[`rollers[${n}].reading`] })) }),
};

/** A height alone says nothing of a jamb: it stood in the form. */
function withOnly(given, name, needed) {
  const { [name]: parts, ...rest } = given;
  const read = Object.entries(parts ?? {}).filter(([, values]) => needed.some(one => one in values));
  return read.length > 0 ? { ...rest, [name]: Object.fromEntries(read) } : rest;
}

/** Judged is what was read: a sheet with the sill alone does not lack the head. */
function frameGiven(given) {
  const kept = withOnly(given, "members", ["edge", "face", "bow"]);
  const parts = ["sill", "head", "members", "end_gaps", "head_over_sill"].filter(part => part in kept);
  return parts.length > 0 ? { ...kept, parts } : kept;
}

function watchGiven({ frame_set, weight_on, ...given }) {
  const readings = [["frame_set", frame_set], ["weight_on", weight_on]].filter(([, gaps]) => gaps !== undefined)
    .map(([when, gaps]) => ({ when, gaps }));
  return { ...given, parts: ["watch"], watch: { ...given.watch, readings } };
}

/** A panel of which nothing but its mass stands there was not read. */
function forceGiven(given, { sheet, typed }) {
  const unit = sheet.unit === "in" ? " lbf" : "";
  const panels = sheet.panels.map((letter, n) => {
    const body = { panel: letter };
    for (const [name, value] of Object.entries(typed)) {
      if (name.startsWith(`panels[${n}].`)) nest(body, name.slice(name.indexOf(".") + 1), value);
    }
    return body;
  }).filter(body => "opening" in body || "closing" in body).map(body => inUnit(body, unit));
  const { train } = given;
  return { unit: given.unit, ...(panels.length > 0 ? { panels } : {}),
    ...(train ? { train: inUnit(train, unit) } : {}) };
}

function inUnit(body, unit) {
  return Object.fromEntries(Object.entries(body).map(([name, value]) => [name, typeof value === "object"
    ? Object.fromEntries(Object.entries(value).map(([act, read]) => [act, NUMBER.test(read) ? read + unit : read]))
      : value]));
}

function sealingGiven({ product, surface_dry, ...given }, { sheet, typed, now }) {
  const degrees = sheet.unit === "in" ? " F" : "";
  for (const name of ["air_c", "surface_c"]) if (NUMBER.test(given[name] ?? "")) given[name] += degrees;
  const forecast = hoursAhead(sheet, typed, now,
    { air_c: degrees, humidity_pct: "", rain_mm: sheet.unit === "in" ? " in" : "" });
  return { ...given, ...(forecast.length > 0 ? { forecast } : {}),
    ...(surface_dry === undefined ? {} : { surface_dry: surface_dry === "yes" }),
    ...(sheet.products?.[product] === undefined ? {} : { product: sheet.products[product] }) };
}

/** Each hour of the forecast as the next time the clock of the job shows it. */
function hoursAhead(sheet, typed, now, units) {
  const rows = sheet.groups.flatMap(group => group.rows ?? []).map(([, fields]) => fields).filter(fields =>
    fields[0].how === "clock");
  let after = Math.floor(now.getTime() / HOUR) * HOUR;
  return rows.flatMap(fields => {
    const row = fields[0].name.replace(/\.at$/, "");
    const hour = Object.fromEntries(Object.entries(units).flatMap(([name, unit]) => {
      const value = typed[`${row}.${name}`];
      return value === undefined ? [] : [[name, NUMBER.test(value) ? value + unit : value]];
    }));
    if (Object.keys(hour).length === 0) return [];
    const shown = /^([01]?\d|2[0-3])(?:[:.]([0-5]\d))?$/.exec(typed[fields[0].name] ?? fields[0].value ?? "");
    if (shown === null) return [{ at: typed[fields[0].name] ?? "", ...hour }];
    after = nextTime(after, Number(shown[1]), Number(shown[2] ?? 0), sheet.zone);
    return [{ at: new Date(after).toISOString(), ...hour }];
  });
}

const HOUR = 3_600_000, MINUTE = 60_000;

/** The first time from `after` on at which the job's clock shows this hour and minute, to the minute. */
function nextTime(after, hour, minute, zone) {
  const clock = new Intl.DateTimeFormat("en-GB",
    { timeZone: zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  for (let at = after; at < after + 25 * HOUR; at += MINUTE * 15) {
    const [h, m] = clock.format(at).split(":").map(Number);
    if (h === hour && m === minute - minute % 15) return at + (minute % 15) * MINUTE;
  }
  return after;
}
