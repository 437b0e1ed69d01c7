/* Which view an address stands for. Addresses lie behind the `#`: the page itself is one, and opens without signal. */

import { actView } from "./act_view.js";
import { dayView } from "./day_view.js";
import { markView } from "./mark_view.js";
import { masthead } from "./masthead.js";
import { openingView } from "./opening_view.js";
import { outboxView } from "./outbox_view.js";
import { photoView } from "./photo_view.js";
import { sheetView } from "./sheet_view.js";

const OF_AN_OPENING = { "": openingView, act: actView, sheet: sheetView, photo: photoView };

/** @returns {{head: Node[], body: Node[]}} */
export function viewAt(app, at) {
  const [place, number, what = "", ...rest] = at.slice(2).split("/").map(decodeURIComponent);
  if (place === "outbox") return { head: masthead(app), body: outboxView(app) };
  if (place === "mark") return { head: masthead(app), body: markView(app) };
  const opening = place === "opening" ? app.day?.openings.find(one => one.id === Number(number)) : undefined;
  if (opening === undefined) return { head: masthead(app), body: dayView(app) };
  const view = OF_AN_OPENING[what] ?? openingView;
  return { head: masthead(app, opening), body: view(app, opening, ...rest) };
}
