/* One opening: what is done next, the drawing as far as it is built, what the next gate asks, and all else one may
   do. */

import { actsOf } from "./acts.js";
import { h } from "./dom.js";
import { drawing } from "./drawing.js";
import { hrefOf, isDone, lacksPhoto, nextOf, sheetOf } from "./next.js";
import { answering, beyondTheDay, latestOf, photosOf, STATE_WORDS } from "./pending.js";
import { say } from "./says.js";
import { to } from "./addresses.js";

export function openingView(app, opening) {
  const rows = beyondTheDay(app, opening);
  const next = nextOf(app, opening);
  return [
    h("div", { class: "first" },
      title(opening),
      next.href ? h("a", { class: "main", href: next.href }, next.said) : h("p", { class: "next" }, next.said),
      calledBack(app, opening, rows), waits(opening, rows), kept(opening), drawing(opening)),
    h("div", { class: "rest" },
      opening.gates.map(gate => gateSection(opening, gate, rows)),
      panels(opening, rows), items(opening, rows), parts(opening), others(opening), about(opening)),
  ];
}

/** Its number stands in the title block above. */
function title(opening) {
  const number = `${opening.job} · ${opening.tag}`;
  const where = [opening.location, opening.title].filter(Boolean).join(", ");
  return h("h1", { tabindex: "-1" }, where === "" ? number : [h("span", { class: "unseen" }, `${number}: `), where]);
}

/** What one goes back for, and what was logged of it. */
function calledBack(app, opening, rows) {
  const { call } = opening;
  if (!call) return null;
  const lines = [["called about",
    [call.severity, call.panel && say("panel", { letter: call.panel })].filter(Boolean).join(", ")],
    ["agreed", call.when], ["bring", call.bring], ["who calls", call.caller]].filter(([, said]) => said);
  const logged = latestOf(rows, "adjustment");
  return h("section", {}, h("dl", {}, lines.map(([name, said]) =>
    h("div", {}, h("dt", {}, say(name)), h("dd", {}, said)))),
    logged && [state(logged), call.adjust && act(opening, "adjust", call.adjust.button)],
    h("p", {}, h("a", { class: "quiet", href: call.page }, say("its page"))));
}

function waits(opening, rows) {
  return opening.waits.map((wait, n) => h("div", { class: "note" }, h("span", { class: "flag", "aria-hidden": "true" }),
    h("p", {}, wait.said), wait.clear && onThisPhone(rows, wait.clear)
      ? state(onThisPhone(rows, wait.clear)) : wait.clear && act(opening, `wait ${n}`, wait.clear.button)));
}

function kept(opening) {
  return opening.kept.map(one => h("div", { class: "note" }, h("span", { class: "flag", "aria-hidden": "true" }),
    h("div", {}, h("p", {}, h("b", {}, one.what), ` ${one.when}, ${one.by}. ${say("kept, not advanced")}`),
      h("ul", {}, one.reasons.map(reason => h("li", {}, reason))))));
}

function gateSection(opening, gate, rows) {
  const left = gate.checks.filter(check => !check.passes);
  const done = gate.checks.filter(check => check.passes);
  const called = gate.act && latestOf(rows, gate.act.entry);
  return h("section", {},
    h("h2", {}, say("before", { what: gate.title })),
    gate.blocks.map(said => h("p", { class: "wait" }, said)),
    h("ul", { class: "checks" }, left.map(check => h("li", {}, checkRow(opening, check, rows)))),
    done.length > 0 && h("details", { id: `stand-${gate.target}` },
      h("summary", {}, say("stand", { n: done.length, all: gate.asked })),
      h("ul", { class: "checks" }, done.map(check => h("li", {}, checkRow(opening, check, rows))))),
    called ? state(called) : gate.act && act(opening, `gate ${gate.target}`, say("call it done", { what: gate.title }),
      left.every(check => isDone(opening, check, rows)) ? "main" : "quiet"));
}

/** Title, what stands in the way with its limit, what this phone knows of it, and the way to answer it. */
function checkRow(opening, check, rows) {
  const sheet = sheetOf(opening, check);
  const answer = answering(rows, check, sheet);
  const href = check.read_with === 0 ? hrefOf(opening, check, rows) : undefined;
  const title = [check.title, check.place_said].filter(Boolean).join(", ");
  const photos = check.photo ? photosOf(rows, check.photo) : 0;
  return [
    href ? h("a", { class: "key", href }, title) : h("b", {}, title),
    h("span", { class: "small" }, check.passes ? check.outcome
      : [check.outcome, check.guards].filter(Boolean).join("; ")),
    check.passes || check.limits.length === 0 ? null : h("span", { class: "limit" }, check.limits.join("; ")),
    check.notes.map(note => h("p", { class: "small" }, note)),
    check.passes ? null : check.missing.map(one => h("p", { class: "small" }, one)),
    answer && [state(answer), answer.judged
      && h("p", { class: answer.judged.result === "pass" ? "small" : "wait" }, answer.judged.said)],
    lacksPhoto(check, rows) && h("p", { class: "wait" }, say("photo lacking")),
    photos > 0 && h("p", { class: "small" }, say("photos here", { n: photos })),
    check.caution && h("p", { class: "caution" }, check.caution),
  ];
}

function panels(opening, rows) {
  if (opening.panels.length === 0) return null;
  return h("section", {}, h("h2", {}, say("panels")), h("p", { class: "caution" }, opening.lifting),
    h("ul", { class: "checks" }, opening.panels.map(panel => {
      const here = latestOf(rows, "panel-change", "panel", panel.id);
      return h("li", {},
        h("b", {}, `${panel.letter} `),
        h("span", {}, [panel.position, say("track", { n: panel.track }), panel.mass].join(", ")),
        h("p", { class: "small" }, panel.state_said), here && state(here),
        panel.act && panel.next && act(opening, `panel ${panel.id}`, `${panel.letter}: ${panel.act.button}`, "main"),
        h("div", { class: "keys" },
          panel.act && !panel.next && act(opening, `panel ${panel.id}`, `${panel.letter}: ${panel.act.button}`),
          panel.other && act(opening, `other ${panel.id}`, say("something else of", { letter: panel.letter }))));
    })));
}

function items(opening, rows) {
  if (opening.items.length === 0 && opening.aside.length === 0) return null;
  return h("section", {}, h("h2", {}, say("still open")), h("ul", { class: "checks" },
    opening.items.map(item => {
      const closed = item.close && onThisPhone(rows, item.close);
      return h("li", {}, h("b", {}, `${item.number}. ${item.what}`),
        h("p", { class: item.overdue ? "wait" : "small" },
          [item.place, item.owner, item.due].filter(Boolean).join(", ")),
        closed ? state(closed) : item.close && act(opening, `item ${item.number}`, item.close.button));
    }),
    opening.aside.map((part, n) => {
      const back = part.back && onThisPhone(rows, part.back);
      return h("li", {}, h("b", {}, part.what),
        h("p", { class: "small" }, [say("set aside"), part.where].filter(Boolean).join(": ")),
        back ? state(back) : part.back && act(opening, `back ${n}`, part.back.button));
    })));
}

/** The entry on this phone that does this very act. */
function onThisPhone(rows, told) {
  return told.about ? latestOf(rows, told.entry, ...told.about) : undefined;
}

function parts(opening) {
  if (!opening.parts.some(part => part.came)) return null;
  return h("section", {}, h("details", { id: "parts" }, h("summary", {}, say("parts")), h("ul", { class: "checks" },
    opening.parts.map((part, n) => h("li", {}, h("b", {}, part.name),
      h("p", { class: "small" }, [part.wanted, part.state].filter(Boolean).join(", ")),
      part.came && act(opening, `part ${n}`, `${part.came.button}: ${part.name}`))))));
}

function others(opening) {
  const { sheets } = opening;
  return h("section", {}, h("h2", {}, say("also")),
    h("div", { class: "keys" }, opening.may_photo && h("a", { class: "key", href: to(opening, "photo") }, say("photo")),
      actsOf(opening).filter(one => one.anytime).map(one => act(opening, one.key, one.title, "key"))),
    sheets.length > 0 && h("details", { id: "read-any" }, h("summary", {}, say("read any")), h("div", { class: "keys" },
      sheets.map(sheet => h("a", { class: "key", href: to(opening, "sheet", sheet.key) }, sheet.title)))));
}

function about(opening) {
  const lines = [["address", opening.address], ["way in", opening.way_in], ["unit", opening.unit],
    ["pocket", opening.pocket],
    ["benchmark", opening.benchmark], ["crew", opening.crew]].filter(([, said]) => said);
  return h("section", {}, h("h2", {}, say("about")),
    h("dl", {}, lines.map(([name, said]) => h("div", {}, h("dt", {}, say(name)), h("dd", {}, said)))));
}

function act(opening, key, said, kind = "quiet") {
  return h("a", { class: kind, href: to(opening, "act", key) }, said);
}

export function state(row) {
  return h("p", { class: "state" }, say(STATE_WORDS[row.state]));
}
