/* The title block: which job and opening one is in, and what is still on this phone. */

import { h } from "./dom.js";
import { FORM } from "./form.js";
import { say } from "./says.js";
import { ago, daysSince } from "./since.js";

const WARN_AFTER = 3; // days: some browsers throw a page's data away after seven without a visit

export function masthead(app, opening) {
  const { count, oldest } = app.out;
  const left = opening === undefined
    ? h("a", { class: "cell", href: "#/" }, h("span", { class: "label" }, "Sillbook"),
      h("b", {}, app.day?.person.name ?? (app.asking ? "…" : say("nobody"))))
    : h("a", { class: "cell", href: "#/" }, h("span", { class: "label" }, `← ${say("today")}`),
      h("b", {}, `${opening.job} · ${opening.tag}`));
  const right = h("a", { class: "cell out", href: "#/outbox" }, h("span", { class: "label" }, say("on this phone")),
    h("b", {}, count === 0 ? say("all sent") : say("unsent", { n: count, ago: ago(oldest) })));
  return [h("div", { class: "block" }, left, right), ...warnings(app, opening)];
}

function warnings(app, opening) {
  const { oldest } = app.out;
  const old = oldest !== null && daysSince(oldest) >= WARN_AFTER && app.out.count > 0;
  return [
    app.signedOut && app.person !== undefined && note("sign in again", {},
      h("a", { class: "act", href: app.links.signIn }, say("sign in"))),
    old && note("old entries"),
    app.out.others > 0 && note("of others", { n: app.out.others }),
    app.disk !== "" && (opening === undefined || app.disk !== "may be thrown away") && note(app.disk),
    (app.day?.form_least ?? 0) > FORM && note("older page"),
    app.newer && note("newer page", {},
      h("button", { class: "quiet", on: { click: () => app.takeOver() } }, say("load it"))),
  ].filter(Boolean);
}

function note(name, values = {}, ...acts) {
  return h("div", { class: "note" }, h("span", { class: "flag", "aria-hidden": "true" }),
    h("p", {}, say(name, values)), ...acts);
}
