/* The day this phone has with it, as the office told it last; and whose phone it is today. */

import { asked, note, noted, using } from "./store.js";

export const SIGNED_OUT = "signed out", NO_WAY = "no way", SAME = "same", NEW = "new";

/** Whose day was here last, and that day; nothing where nobody's was. */
export async function dayHere() {
  const person = await noted("person");
  return person === undefined ? undefined : using("readonly", ["days"], ({ days }) => asked(days.get(person)));
}

/**
 * Asks the office for the day; only what changed is sent.
 * @returns {Promise<{what: string, row?: object}>}
 */
export async function askForDay(url) {
  const row = await dayHere().catch(() => undefined); // a phone that keeps nothing still shows what comes
  const headers = { Accept: "application/json" };
  if (row?.mark) headers["If-None-Match"] = row.mark;
  let response, day;
  try {
    response = await fetch(url, { headers, credentials: "same-origin", cache: "no-store", redirect: "error",
      signal: AbortSignal.timeout(30_000) });
    if (response.ok) day = await response.json();
  } catch {
    return { what: NO_WAY };
  }
  if (response.status === 401) return { what: SIGNED_OUT };
  if (response.status === 304) return { what: SAME, row };
  if (!Array.isArray(day?.openings)) return { what: NO_WAY }; // somebody else's page, such as a hotel's
  const fresh = { person: day.person.id, mark: response.headers.get("ETag"), day, asked_at: new Date().toISOString() };
  const kept = using("readwrite", ["days", "notes"], async ({ days, notes }) => {
    await asked(days.clear()); // what another person may see does not stay on this phone
    await asked(days.put(fresh));
    await asked(notes.put({ name: "person", value: fresh.person }));
  });
  await kept.catch(() => {});
  return { what: NEW, row: fresh };
}

/** Signed out on purpose: the day goes, the outbox stays until it is sent. */
export async function forgetDay() {
  await using("readwrite", ["days"], ({ days }) => asked(days.clear()));
  await note("person", undefined);
}

/** What tells our own requests from forged ones; asked for anew after somebody signed in elsewhere. */
export async function token(dayUrl, anew = false) {
  const here = () => /(?:^|; )csrftoken=([^;]*)/.exec(document.cookie)?.[1] ?? "";
  if (anew || here() === "") await fetch(dayUrl, { credentials: "same-origin", cache: "no-store" }).catch(() => {});
  return here();
}
