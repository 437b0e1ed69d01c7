/* The page a crew lives in. What is shown comes from this phone; the office is asked whenever there is a way to it. */

import { isTyped } from "./addresses.js";
import { askForDay, dayHere, forgetDay, NEW, SIGNED_OUT, token } from "./day.js";
import { h, keepInSight, keysInSight, renewed } from "./dom.js";
import { forget, inSight, keep, ofOthers, unsent } from "./outbox.js";
import { sendAll, SIGN_IN as NOT_SIGNED_IN } from "./sending.js";
import { noted } from "./store.js";
import { speakBy, say } from "./says.js";
import { askToStay, lookAfterItself, lookAtRoom } from "./upkeep.js";
import { viewAt } from "./views.js";

const EVERY = 30_000; // ms between two tries to send, beside all that starts one
const NO_LONGER = 300; // ms that nothing is shown for the sake of what the browser says of the disk: some ask first
const DAYS_SEEN = 3; // what the office has stays in the list of what was done for so long

const { words: WORDS, day: DAY, worker: WORKER, signIn: SIGN_IN, signOut: SIGN_OUT,
  office: OFFICE } = document.body.dataset;

/** All that the views stand on. */
const app = {
  day: null, // as the office told it last
  askedAt: null,
  asking: false, // for the first day on this phone: whether somebody is signed in is not known yet
  person: undefined,
  out: { count: 0, oldest: null, rows: [], others: 0 },
  held: "", // why what is on the phone does not go
  signedOut: false,
  newer: false, // a newer page waits to take over
  disk: "", // what this phone's browser says of keeping things
  links: { signIn: SIGN_IN, office: OFFICE },
  get busy() { // somebody types or chooses there: nothing is taken away under it
    return isTyped(location.hash) && document.querySelector("#main :is(form, .sheet)") !== null;
  },
  keep: keepAndSend,
  show: () => {
    made = "";
    show();
  },
  renew: () => refresh().then(show),
  sendNow: async () => {
    await goOut();
    tell(app.out.count === 0 ? say("nothing unsent") : say(app.held || "no way to the office"));
  },
  signOut,
};

let begun = false;

async function start() {
  const disk = askToStay(app).catch(() => {});
  await speakBy(WORDS);
  const row = await dayHere().catch(cannotKeep);
  if (row !== undefined) takeDay(row);
  await refresh();
  app.asking = app.day === null && navigator.onLine !== false;
  await Promise.race([disk, new Promise(done => { setTimeout(done, NO_LONGER); })]); // or it would push all down later
  begun = true;
  document.getElementById("main").hidden = false; // what stood in it until now would only be pushed down
  show();
  for (const event of ["hashchange", "popstate"]) addEventListener(event, show);
  addEventListener("online", goOut);
  new BroadcastChannel("sillbook-sent").addEventListener("message", goOut);
  document.addEventListener("visibilitychange", () => document.hidden || goOut());
  setInterval(goOut, EVERY);
  await goOut().catch(() => {}); // the page is there: what is open in it stays, and it is tried again by and by
  lookAfterItself(app, WORKER);
}

/** Said beforehand: what is entered now would be lost. */
function cannotKeep() {
  app.disk = "cannot keep";
}

function takeDay(row) {
  app.day = row.day;
  app.askedAt = row.asked_at;
  app.person = row.person;
}

let going = null, oncemore = false, leaving = false;

/** Out with what is here, then in with what is new. Asked for while it is at it, it goes once more: what was kept in
    between would otherwise wait for the next turn. */
function goOut() {
  if (leaving) return Promise.resolve();
  if (going !== null) {
    oncemore = true;
    return going;
  }
  going = goOutOnce().finally(() => {
    going = null;
    if (!oncemore) return;
    oncemore = false;
    goOut();
  });
  return going;
}

async function goOutOnce() {
  if (navigator.onLine === false) return;
  const { what, row } = await askForDay(DAY).finally(() => { app.asking = false; });
  app.signedOut = what === SIGNED_OUT;
  if (what === NEW) {
    takeDay(row);
    await refresh(); // of whoever is signed in now, before their name is shown
    show();
  }
  if (app.person !== undefined && !app.signedOut && app.disk !== "cannot keep") await send();
  if (what === NEW || app.sentJustNow) await afterwards();
  await refresh();
  show();
}

async function send() {
  const before = await unsent(app.person);
  const done = await sendAll({ person: app.person, token: anew => token(DAY, anew),
    onSent: () => refresh().then(show) });
  app.held = done.held;
  if (done.held === NOT_SIGNED_IN) app.signedOut = true;
  app.sentJustNow = done.left < before.count; // by this page, or by another one of the phone meanwhile
}

/** What was sent stands in the office's day only once that is asked for again. */
async function afterwards() {
  if (app.disk === "cannot keep") return;
  if (app.sentJustNow) {
    const { what, row } = await askForDay(DAY);
    if (what === NEW) takeDay(row);
    if (what === SIGNED_OUT) app.signedOut = true; // in between
    app.sentJustNow = false;
  }
  await forget(app.person, new Date(Date.now() - DAYS_SEEN * 86_400_000).toISOString());
}

let looked = 0;

/** What the phone has, as it is now: of two looks at once the later one counts, whichever comes back first. */
async function refresh() {
  if (app.disk === "cannot keep") return;
  if (app.person === undefined) app.person = await noted("person");
  const mine = ++looked;
  if (app.person === undefined) return nobodys();
  const [out, rows, others] = await Promise.all([unsent(app.person), inSight(app.person), ofOthers(app.person)]);
  if (mine !== looked) return;
  app.out = { ...out, rows, others };
  document.body.dataset.unsent = app.out.count;
}

/** Nobody is signed in: what others have left here is said all the same. */
async function nobodys() {
  app.out = { count: 0, oldest: null, rows: [], others: await ofOthers() };
  document.body.dataset.unsent = 0;
}

/** On the disk first; then it is said to be kept; then it goes, if there is a way. */
async function keepAndSend(entries, draft) {
  const made = await keep(entries.map(entry => ({ person: app.person, ...entry })), draft);
  news = say("kept", { what: entries[0].said });
  await refresh();
  lookAtRoom(app);
  navigator.serviceWorker?.ready.then(worker => worker.sync?.register("outbox")).catch(() => {});
  goOut();
  return made;
}

/** The day goes from this phone with its person; what is not sent stays, and goes when they sign in again. */
async function signOut() {
  leaving = true; // what is asked for from now on would bring the day back
  try {
    await going;
    if (!await isSignedOut()) return tell(say("no way to sign out"));
    await forgetDay().catch(cannotKeep);
    elsewhere.postMessage("signed out");
    Object.assign(app, { day: null, askedAt: null, person: undefined, held: "", signedOut: true });
    await refresh();
    show();
  } finally {
    leaving = false;
  }
}

/** The office has ended it; where somebody signed in since this page was loaded, by the token as it is now. */
async function isSignedOut() {
  for (const anew of [false, true]) {
    const headers = { "X-CSRFToken": await token(DAY, anew) };
    const answer = await fetch(SIGN_OUT, { method: "POST", headers, credentials: "same-origin" }).catch(() => null);
    if (answer?.ok || answer?.status !== 403) return answer?.ok === true;
  }
  return false;
}

const elsewhere = new BroadcastChannel("sillbook-signed-out"); // other pages of this phone show the day too
elsewhere.addEventListener("message", () => location.reload());

let news = ""; // what the next view begins with

/** Said to everybody, and read out. */
function tell(what) {
  document.getElementById("told").textContent = what;
}

let shown = "", made = "", down = false;

// What is pressed would be gone before it is let go: until then nothing else is put in its place.
for (const event of ["pointerdown", "keydown"]) addEventListener(event, () => { down = true; });
for (const event of ["pointerup", "pointercancel", "keyup", "blur"]) {
  addEventListener(event, () => {
    down = false;
    setTimeout(show); // after what it does
  });
}

function show() {
  if (!begun) return;
  const at = location.hash || "#/";
  if (down && at === shown) return; // once it is let go
  const of = JSON.stringify([at, app.askedAt, app.person, app.out, app.held, app.signedOut,
    app.newer, app.disk, app.asking]);
  if (of === made) return; // nothing else to be seen: whoever reads or types is left alone
  made = of;
  const { head, body } = viewAt(app, at);
  const main = document.getElementById("main");
  const moved = at !== shown, top = scrollY, keys = moved ? [] : keysInSight(main);
  renewed(document.getElementById("masthead"), head);
  if (!moved) {
    if (app.busy) return; // it renews itself afterwards
    renewed(main, body);
    scrollTo(0, top);
    keepInSight(main, keys);
    return;
  }
  main.replaceChildren(...body);
  if (shown !== "") document.body.dataset.moved = "";
  shown = at;
  document.body.dataset.shown = at;
  scrollTo(0, 0);
  const title = main.querySelector("h1");
  document.title = [title?.textContent, "Sillbook"].filter(Boolean).join(" · ");
  (title ?? main).focus({ preventScroll: true });
  tell(news);
  news = "";
}

start().catch(why => {
  const main = document.getElementById("main");
  main.hidden = false;
  main.replaceChildren(h("h1", {}, say("broken")), h("p", {}, String(why?.message ?? why)));
});
