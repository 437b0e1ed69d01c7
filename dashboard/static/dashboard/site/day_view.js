/* Today's openings, in driving order, each with its next thing to do first. */

import { drawn, h } from "./dom.js";
import { nextOf } from "./next.js";
import { say } from "./says.js";
import { to } from "./addresses.js";

const GROUPS = ["today", "late", "coming"];

export function dayView(app) {
  if (app.asking) return [h("h1", { tabindex: "-1" }, say("asking"))];
  if (app.day === null) {
    return [h("h1", { tabindex: "-1" }, say("no day yet")),
      h("p", {}, say(app.signedOut || app.person === undefined ? "sign in first" : "no signal yet")),
      h("p", {}, h("a", { class: "act", href: app.links.signIn }, say("sign in")))];
  }
  const { openings, today } = app.day;
  return [
    h("h1", { tabindex: "-1" }, today),
    openings.length === 0 ? h("p", {}, say(app.day.person.role === "customer-service" ? "no trips" : "nothing given"))
      : h("p", {}, h("a", { class: "key", href: "#/mark" }, say("by its mark"))),
    GROUPS.map(when => group(app, when, openings.filter(one => one.when === when))),
    h("section", { class: "keys" }, h("a", { class: "quiet", href: app.links.office }, say("office pages")),
      h("button", { type: "button", class: "quiet", on: { click: () => app.signOut() } }, say("sign out"))),
  ].flat(Infinity).filter(Boolean);
}

function group(app, when, openings) {
  if (openings.length === 0) return [];
  return [when === "today" ? null : h("h2", {}, say(when)),
    h("ol", { class: "stops" }, openings.map(opening => stop(app, opening)))];
}

function stop(app, opening) {
  const next = nextOf(app, opening);
  return h("li", { class: "stop" },
    h("a", { class: "where", href: to(opening) },
      h("b", {}, `${opening.job} · ${opening.tag}`),
      h("span", {}, [opening.location, opening.title].filter(Boolean).join(", ")),
      opening.address && h("span", { class: "small" }, opening.address)),
    h("div", { class: "drawing" }, drawn(opening.drawing)),
    next.href === undefined ? h("p", { class: "next" }, next.said)
      : h("a", { class: "main", href: next.href }, next.said),
    opening.waits.map(wait => h("p", { class: "wait" }, wait.said)));
}
