/* What is on this phone and what became of it, until somebody has dealt with it. */

import { actsOf } from "./acts.js";
import { h } from "./dom.js";
import { fieldsOf } from "./given.js";
import { copied, dealtWith, HERE, KEPT, REFUSED, THERE, tryAgain } from "./outbox.js";
import { say } from "./says.js";
import { ago } from "./since.js";

const MOST = 200; // lines at once: a full outbox is counted, not read

export function outboxView(app) {
  const { rows, count } = app.out;
  const of = state => rows.filter(row => row.state === state);
  return [
    h("h1", { tabindex: "-1" }, say("on this phone")),
    h("p", {}, count === 0 ? say("nothing unsent") : say("unsent now", { n: count })),
    count > 0 && app.held !== "" && h("p", { class: "wait" }, say(app.held)),
    h("div", { class: "keys" },
      h("button", { class: "key", on: { click: () => app.sendNow() } }, say("send now")),
      h("button", { class: "key", on: { click: () => keepACopy(app) } }, say("keep a copy"))),
    h("p", { class: "small" }, say("about the copy")),
    list(app, say("state refused"), of(REFUSED)), list(app, say("state kept"), of(KEPT)),
    list(app, say("state here"), of(HERE)), list(app, say("state there"), of(THERE)),
  ].flat().filter(Boolean);
}

function list(app, title, rows) {
  if (rows.length === 0) return null;
  return h("section", {}, h("h2", {}, `${title} (${rows.length})`),
    h("ul", { class: "checks" }, rows.slice(0, MOST).map(row => h("li", {}, line(app, row)))),
    rows.length > MOST && h("p", { class: "small" }, say("and more", { n: rows.length - MOST })));
}

function line(app, row) {
  const opening = app.day?.openings.find(one => one.id === row.opening);
  const { problem, reasons } = row.told ?? {};
  return [
    h("b", {}, row.said), h("p", { class: "small" },
      [opening && `${opening.job} · ${opening.tag}`, ago(row.taken_at)].filter(Boolean).join(", ")),
    problem && h("p", { class: "wait" }, refusal(problem, name => labelOf(opening, row.body, name))),
    reasons?.length > 0 && h("p", { class: "small" }, say("reasons on the page")),
    row.told?.differs && h("p", { class: "wait" }, say("differs")),
    row.state === REFUSED && h("button",
      { class: "quiet", on: { click: () => tryAgain(row.id).then(app.renew) } }, say("try again")),
    row.state !== HERE && h("button",
      { class: "quiet", on: { click: () => dealtWith(row.id).then(app.renew) } }, say("seen")),
  ];
}

/** In the phone's language, as the office answered; of a field that cannot be read its detail says the same again. */
function refusal({ code, detail, fields = {} }, label) {
  const rights = Object.entries(fields).map(([name, right]) => `${label(name)}: ${right}`);
  return [code === "bad-input" && rights.length > 0 ? "" : detail, ...rights].filter(Boolean).join(" ");
}

/** What a field is called where it was filled in; what stands in no form has only its name. */
function labelOf(opening, body, name) {
  const plain = name.replace(/^(data\.)?(given\.)?/, "");
  const told = opening === undefined ? [] : [
    ...opening.sheets.filter(sheet => sheet.kind === body.data?.kind).flatMap(fieldsOf),
    ...actsOf(opening).filter(act => act.told.entry === body.entry).flatMap(act => act.told.fields)];
  return told.find(field => field.name === plain)?.label ?? plain;
}

const MOST_AT_ONCE = 12_000_000; // letters of one file: the office takes in no larger ones

/** All of it in a file, or in several where there are many photos, for the office to take in when the phone cannot
    send. */
async function keepACopy(app) {
  const { photos, ...facts } = await copied(app.person);
  const parts = [{ ...facts, photos: [] }];
  let size = JSON.stringify(facts).length;
  for (const photo of photos) {
    size += photo.picture.length;
    if (size > MOST_AT_ONCE) {
      parts.push({ ...facts, entries: [], photos: [] });
      size = photo.picture.length;
    }
    parts.at(-1).photos.push(photo);
  }
  const when = new Date().toISOString().slice(0, 16).replace(/[:T]/g, "-");
  parts.forEach((part, n) => saved(JSON.stringify(part), `sillbook-outbox-${when}${n === 0 ? "" : `-${n + 1}`}.json`));
}

function saved(text, name) {
  const url = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  const link = h("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
