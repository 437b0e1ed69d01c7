/* What this phone knows beyond the office's day: entries that are not in it yet, laid over it. */

import { HERE, KEPT, REFUSED, THERE } from "./outbox.js";

/** This opening's entries that the day does not have yet: still here, or taken in after the day was told. */
export function beyondTheDay(app, opening) {
  const told = Date.parse(app.askedAt ?? 0);
  return app.out.rows.filter(row => row.opening === opening.id && row.state !== REFUSED
    && (row.state === HERE || Date.parse(row.sent_at ?? 0) > told));
}

/** The latest entry that answers this check, of those. */
export function answering(rows, check, sheet) {
  return rows.find(row => row.what === "entry" && (
    sheet !== undefined ? isReading(row, sheet, check.place) : isAbout(row, check)));
}

function isReading(row, sheet, place) {
  const { entry, data } = row.body;
  return entry === "inspection" && data.kind === sheet.kind && (data.occasion ?? "") === sheet.occasion
    && (sheet.places.length === 0 || (data.place ?? "") === place);
}

function isAbout(row, check) {
  const { entry, data } = row.body;
  if (entry === "confirmation") return data.check_code === check.code
    && (data.place ?? "") === check.place.slice(0, 20);
  return entry === "joint" && [data.place, data.side].filter(Boolean).join(" ") === check.place;
}

/** The latest of these entries of one kind, about one thing. */
export function latestOf(rows, entry, about, id) {
  return rows.find(row => row.body.entry === entry && (about === undefined || row.body[about] === id));
}

/** How many photos of a check are on this phone or on their way. */
export function photosOf(rows, code) {
  return rows.filter(row => row.what === "photo" && row.body.check_code === code).length;
}

/** What a row's state is called. */
export const STATE_WORDS = { [HERE]: "state here", [THERE]: "state there", [KEPT]: "state kept",
  [REFUSED]: "state refused" };
