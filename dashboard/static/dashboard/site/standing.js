/* What a gate still asks, said where it is called done: photos first, while one can still take them. */

import { h } from "./dom.js";
import { hrefOf, isDone, lacksPhoto } from "./next.js";
import { beyondTheDay } from "./pending.js";
import { say } from "./says.js";

export function standing(app, opening, gate) {
  const rows = beyondTheDay(app, opening);
  const open = gate.checks.filter(check => !isDone(opening, check, rows));
  const photos = open.filter(check => lacksPhoto(check, rows)), others = open.filter(check => !photos.includes(check));
  return [["photos first", photos], ["still asked", others]].filter(([, checks]) => checks.length > 0)
    .map(([said, checks]) => h("section", {}, h("p", { class: said === "photos first" ? "wait" : "" }, say(said)),
      h("ul", { class: "checks" }, checks.map(check => h("li", {}, line(opening, check, rows))))));
}

function line(opening, check, rows) {
  const href = hrefOf(opening, check, rows), title = [check.title, check.place_said].filter(Boolean).join(", ");
  return href === undefined ? title : h("a", { class: "key", href }, title);
}
