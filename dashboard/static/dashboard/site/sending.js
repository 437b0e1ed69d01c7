/* From the phone to the office, in order, as soon as there is a way. Whatever happens in between, an entry leaves the
   outbox only when the server names it in its answer; sent twice it is one record there. */

import { KEPT, REFUSED, THERE, asSent, isHere, photoToGo, pictureOf, settle, toGo, unsent } from "./outbox.js";

export const ENTRIES = "/api/v1/site-entries/", PHOTOS = "/api/v1/photos/";
const AT_ONCE = 400; // entries in one batch
const PATIENCE = { facts: 60_000, photo: 120_000 }; // ms until an answer is no longer waited for
const RESULTS = { stored: THERE, "had already": THERE, "recorded, not advanced": KEPT, refused: REFUSED };
const NOT_READ = 400, TRIES = 3;
const WAIT_FOR = new Set([408, 425, 429]); // the server would take it, but not now

/** Why nothing goes at the moment. */
export const NO_WAY = "no way to the office", SIGN_IN = "sign in", SOMEBODY_ELSE = "somebody else is signed in",
  NOT_WELL = "the office does not answer as it should", NOT_NOW = "the office asks to wait";

class Held extends Error {
  constructor(why, after = 0) {
    super(why);
    this.why = why;
    this.after = after; // ms the server asked to wait
  }
}

/**
 * Sends everything this person has in the outbox; one page of the phone at a time, the others wait their turn.
 * @param {{person: number, token: (anew?: boolean) => string | Promise<string>, onSent?: () => void}} of
 *   `token`: what tells the page's own requests from forged ones; `anew` asks the server for it
 * @returns {Promise<{sent: number, left: number, held: string, after: number}>} `held`: why some are left, if they are
 */
export function sendAll(of) {
  if (navigator.locks === undefined) return sendInOrder(of); // sent twice is one record: only slower
  return navigator.locks.request("sillbook-sending", () => sendInOrder(of));
}

async function sendInOrder(of) {
  const done = { sent: 0, held: "", after: 0 };
  try {
    do await sendFacts(of, done);
    while (await sendPhoto(of, done));
  } catch (why) {
    if (!(why instanceof Held)) throw why;
    Object.assign(done, { held: why.why, after: why.after });
  }
  const { count } = await unsent(of.person);
  return { ...done, left: count };
}

async function sendFacts(of, done) {
  for (let most = AT_ONCE; ;) {
    const entries = await toGo(of.person, most, photosFailed < TRIES);
    if (entries.length === 0) return;
    const answer = await post(of, ENTRIES, JSON.stringify({ entries: entries.map(asSent) }), PATIENCE.facts);
    if (answer.ok) {
      await taken(of, done, answersTo(entries, answer.body.results));
    } else if (entries.length > 1) {
      most = Math.ceil(entries.length / 2); // one of them spoils the batch: the others shall not wait for it
    } else if (isBroken(answer) && mayArriveWhole(entries[0])) {
      throw new Held(NOT_WELL);
    } else {
      await taken(of, done, new Map([[entries[0].id, refusedBy(answer)]]));
      most = AT_ONCE;
    }
  }
}

/** It cannot be read there, or of a photo there is no picture in it: the line may have lost a part of it. */
function isBroken({ status, body }) {
  return status === NOT_READ || body.fields?.photo !== undefined;
}

const brokenOff = new Map();

/** What cannot be read time and again is no fault of the line. */
function mayArriveWhole({ id }) {
  brokenOff.set(id, (brokenOff.get(id) ?? 0) + 1);
  return brokenOff.get(id) < TRIES;
}

let photosFailed = 0; // one after the other; then no gate waits for one any more

/** @returns {Promise<boolean>} whether there was one to send */
async function sendPhoto(of, done) {
  const entry = await photoToGo(of.person);
  if (entry === undefined) return false;
  const { about_id: about } = entry.body;
  if (about && await isHere(about)) return true; // both were kept a moment ago: it goes first
  photosFailed += 1; // until it is known to be there
  const answer = await post(of, PHOTOS, await asForm(entry), PATIENCE.photo);
  const stored = { state: THERE, told: { result: "stored", record: "photos", record_id: entry.id } };
  if (isBroken(answer) && mayArriveWhole(entry)) throw new Held(NOT_WELL);
  if (answer.ok && answer.body?.id !== entry.id) throw new Held(NOT_WELL);
  await taken(of, done, new Map([[entry.id, answer.ok ? stored : refusedBy(answer)]]));
  photosFailed = 0;
  return true;
}

async function taken(of, done, answers) {
  await settle(answers);
  done.sent += answers.size;
  of.onSent?.();
}

async function asForm(entry) {
  const form = new FormData();
  for (const [name, value] of Object.entries({ ...entry.body, id: entry.id, taken_at: entry.taken_at })) {
    form.set(name, value);
  }
  const picture = await pictureOf(entry.id);
  if (picture !== undefined) form.set("photo", picture, `${entry.id}.jpg`);
  return form;
}

/** What was said of each. An answer cut short, or one to something else, is no receipt for what it does not name. */
function answersTo(entries, results) {
  const asked = new Set(entries.map(entry => entry.id));
  const answers = new Map();
  for (const told of Array.isArray(results) ? results : []) {
    const state = RESULTS[told?.result];
    if (state !== undefined && asked.has(told.id)) answers.set(told.id, { state, told });
  }
  if (answers.size === 0) throw new Held(NOT_WELL);
  return answers;
}

function refusedBy(answer) {
  const { detail = "", code = "", fields = {} } = answer.body;
  return { state: REFUSED, told: { result: "refused", problem: { code, detail, status: answer.status, fields } } };
}

/** The answer, where it is one to what was sent; everything else holds the outbox as it is. */
async function post(of, url, body, patience) {
  let answer = await posted(of, url, body, patience);
  if (answer.body?.code === "stale-page") { // somebody signed in since: once more, with the token as it is now
    answer = await posted({ ...of, token: () => of.token(true) }, url, body, patience);
  }
  const why = HOLDS[answer.body?.code] ?? heldByStatus(answer);
  if (why !== undefined) throw new Held(why, answer.after);
  return answer;
}

const HOLDS = { "not-signed-in": SIGN_IN, "stale-page": SIGN_IN, "other-person": SOMEBODY_ELSE };

function heldByStatus({ status, body }) {
  if (status === 401) return SIGN_IN;
  if (WAIT_FOR.has(status)) return NOT_NOW;
  return status >= 500 || status < 200 || body === null ? NOT_WELL : undefined;
}

async function posted(of, url, body, patience) {
  const headers = { "X-CSRFToken": await of.token(), "Sillbook-Person": String(of.person), Accept: "application/json" };
  if (typeof body === "string") headers["Content-Type"] = "application/json";
  try {
    const response = await fetch(url, { method: "POST", body, headers, credentials: "same-origin", redirect: "error",
      signal: AbortSignal.timeout(patience) });
    const after = 1000 * Number(response.headers.get("Retry-After") ?? 0);
    return { ok: response.ok, status: response.status, after, body: readAs(await response.text()) };
  } catch {
    throw new Held(NO_WAY);
  }
}

function readAs(text) {
  try {
    const body = JSON.parse(text);
    return typeof body === "object" ? body : null;
  } catch {
    return null;
  }
}
