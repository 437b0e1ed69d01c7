/* What was done on site, from the moment the page says it is kept until a person has dealt with what became of it.

   An entry is on the disk before the page says so. It leaves only on the server's own receipt for its id. */

import { asked, using } from "./store.js";
import { newId } from "./uuid7.js";

/** Where an entry is. What is `KEPT` or `REFUSED` stays in sight until somebody has dealt with it. */
export const HERE = "on this phone", THERE = "with the office", KEPT = "recorded, not advanced", REFUSED = "refused";

const OTHER_CONTENT = "same-id-other-content"; // as the server calls it

/**
 * @typedef {object} Entry
 * @property {number} [order] in which it was made on this phone
 * @property {string} id UUID version 7
 * @property {number} person whose entry it is; sent under no other name
 * @property {number} opening
 * @property {"entry"|"photo"} what facts go before photos
 * @property {string} said in a few words, for the list
 * @property {object} body as `site-entries` takes it; of a photo, its fields
 * @property {string} taken_at by the phone's clock
 * @property {string} state
 * @property {object} [told] the server's answer to it
 * @property {string} [sent_at] when that answer came
 * @property {string} [dealt] when somebody had dealt with that answer
 */

/**
 * Puts entries on the disk, all of them or none; resolves once they are there.
 * @param {Partial<Entry>[]} made each with `person`, `opening`, `said`, `body`, and `picture` where it is a photo
 * @param {string} [draft] what was typed until now: it goes in the same step, or whoever was interrupted in between
 *   would find it typed still, and keep it twice
 * @returns {Promise<Entry[]>}
 */
export async function keep(made, draft, now = new Date()) {
  const entries = made.map(({ picture, ...entry }) => ({
    what: picture === undefined ? "entry" : "photo", id: newId(), taken_at: now.toISOString(),
    state: HERE, ...entry }));
  const pictures = await Promise.all(made.map(({ picture }) => picture?.arrayBuffer()));
  await using("readwrite", ["entries", "pictures", "drafts"], async tables => {
    if (draft !== undefined) await asked(tables.drafts.delete(draft));
    for (const [n, entry] of entries.entries()) {
      entry.order = await asked(tables.entries.add(entry));
      if (pictures[n] !== undefined) {
        await asked(tables.pictures.put({ id: entry.id, bytes: pictures[n], type: made[n].picture.type }));
      }
    }
  });
  return entries;
}

/** The photo that was taken first of those that still have to go; undefined where there is none. */
export async function photoToGo(person) {
  const [first] = await using("readonly", ["entries"], ({ entries }) => collected(entries.index("person"),
    theirs(person, HERE, "photo"), 1));
  return first;
}

/** What a gate asks photos for; what was entered at its opening afterwards comes after it. */
const GATES = new Set(["stage-change", "acceptance", "hold-point"]);

/**
 * The first entries that go now. A stage that was called done, and what was entered at its opening since, goes after
 * the photos that were taken before it. Looked at in one step: what is kept meanwhile is seen whole or not at all.
 * @param {boolean} waits whether gates wait for photos
 */
export function toGo(person, most, waits) {
  return using("readonly", ["entries"], async ({ entries }) => {
    const index = entries.index("person"), held = new Set();
    const photos = waits ? await collected(index, theirs(person, HERE, "photo"), Infinity) : [];
    return collected(index, theirs(person, HERE, "entry"), most, ({ body, opening, order }) => {
      if (GATES.has(body.entry) && photos.some(one => one.opening === opening && one.order < order)) held.add(opening);
      return !held.has(opening);
    });
  });
}

/** Whether this entry is on this phone only. */
export async function isHere(id) {
  const row = await using("readonly", ["entries"], ({ entries }) => asked(entries.index("id").get(id)));
  return row?.state === HERE;
}

/** The picture of a photo, as it was taken in. */
export async function pictureOf(id) {
  const row = await using("readonly", ["pictures"], ({ pictures }) => asked(pictures.get(id)));
  return row && new Blob([row.bytes], { type: row.type });
}

/** How many of this person's are on this phone only, and since when. */
export function unsent(person) {
  return using("readonly", ["entries"], async ({ entries }) => {
    const index = entries.index("person");
    const first = [];
    for (const what of ["entry", "photo"]) first.push(...await collected(index, theirs(person, HERE, what), 1));
    const count = await asked(index.count(theirs(person, HERE)));
    return { count, oldest: first.map(entry => entry.taken_at).sort()[0] ?? null };
  });
}

/** Everything of this person's that is still in sight, the latest first. */
export function inSight(person, most = 500) {
  return using("readonly", ["entries"], async ({ entries }) => {
    const index = entries.index("person");
    const rows = [];
    for (const state of [HERE, KEPT, REFUSED, THERE]) {
      rows.push(...await collected(index, theirs(person, state), most, entry => entry.dealt === undefined, "prev"));
    }
    return rows.sort((a, b) => b.order - a.order);
  });
}

/** How many entries are still on this phone that are not this person's; without one, of everybody. */
export function ofOthers(person) {
  return using("readonly", ["entries"], async ({ entries }) => {
    const all = await asked(entries.index("state").count(HERE));
    return person === undefined ? all : all - await asked(entries.index("person").count(theirs(person, HERE)));
  });
}

/**
 * Writes down what the server said of them, in one step. A picture goes with its receipt.
 * @param {Map<string, {state: string, told: object}>} answers by the entry's id
 */
export function settle(answers, now = new Date()) {
  return using("readwrite", ["entries", "pictures"], async tables => {
    await Promise.all([...answers].map(async ([id, { state, told }]) => {
      const entry = await asked(tables.entries.index("id").get(id));
      if (entry === undefined || entry.state !== HERE) return; // another page was told the same
      await asked(tables.entries.put({ ...entry, state, told, sent_at: now.toISOString() }));
      if (state === THERE && entry.what === "photo") await asked(tables.pictures.delete(id));
    }));
  });
}

/** Somebody has seen what became of it; what the server has may go from the phone. */
export function dealtWith(id, now = new Date()) {
  return using("readwrite", ["entries", "pictures"], async tables => {
    const entry = await asked(tables.entries.index("id").get(id));
    if (entry === undefined || entry.state === HERE) return;
    await asked(tables.entries.put({ ...entry, dealt: now.toISOString() }));
    await asked(tables.pictures.delete(id));
  });
}

/** A refused entry is tried again as it is, under an id of its own where the first one is taken. */
export function tryAgain(id) {
  return using("readwrite", ["entries", "pictures"], async tables => {
    const entry = await asked(tables.entries.index("id").get(id));
    if (entry?.state !== REFUSED) return;
    const { told, ...again } = entry;
    if (told.problem?.code === OTHER_CONTENT) again.id = newId();
    await asked(tables.entries.put({ ...again, state: HERE }));
  });
}

/** What the office has, and the page no longer shows: away with it, so that the phone does not fill up. */
export function forget(person, before) {
  return using("readwrite", ["entries"], async ({ entries }) => {
    const index = entries.index("person");
    for (const state of [THERE, KEPT, REFUSED]) {
      await walked(index.openCursor(theirs(person, state)), (row, cursor) => {
        const over = row.dealt ?? (state === THERE ? row.taken_at : null);
        if (over !== null && over < before) cursor.delete();
      });
    }
  });
}

/** All of it as one text, to be kept in a file that the office can take in. Pictures as base64. */
export async function copied(person) {
  const rows = await using("readonly", ["entries", "pictures"], async tables => {
    const found = await collected(tables.entries.index("person"), theirs(person, HERE), Infinity);
    found.push(...await collected(tables.entries.index("person"), theirs(person, REFUSED), Infinity));
    return Promise.all(found.map(async entry => {
      const row = entry.what === "photo" ? await asked(tables.pictures.get(entry.id)) : undefined;
      return { entry, bytes: row?.bytes };
    }));
  });
  return {
    outbox: 1, person,
    entries: rows.filter(({ entry }) => entry.what === "entry").map(({ entry }) => asSent(entry)),
    photos: rows.filter(({ bytes }) => bytes !== undefined).map(({ entry, bytes }) => ({
      ...entry.body, id: entry.id, opening: entry.opening, taken_at: entry.taken_at, picture: base64(bytes) })),
  };
}

/** The entry as `site-entries` takes it. */
export function asSent(entry) {
  return { id: entry.id, taken_at: entry.taken_at, ...entry.body };
}

function base64(buffer) {
  const bytes = new Uint8Array(buffer);
  let text = "";
  for (let at = 0; at < bytes.length; at += 0x8000) text += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(text);
}

/** In the database's order a list comes after every word: it closes the range. */
function theirs(person, state, what) {
  const start = what === undefined ? [person, state] : [person, state, what];
  return IDBKeyRange.bound(start, [...start, []]);
}

async function collected(index, range, most, wanted = () => true, direction = "next") {
  const rows = [];
  await walked(index.openCursor(range, direction), row => {
    if (wanted(row)) rows.push(row);
    return rows.length < most;
  });
  return rows;
}

/** Row by row, until `each` says false. */
function walked(request, each) {
  return new Promise((resolve, reject) => {
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const cursor = request.result;
      if (cursor === null || each(cursor.value, cursor) === false) resolve();
      else cursor.continue();
    };
  });
}
