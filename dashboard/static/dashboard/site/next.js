/* What is done next at an opening, as far as this phone knows. */

import { answering, beyondTheDay, latestOf, photosOf } from "./pending.js";
import { say } from "./says.js";
import { to } from "./addresses.js";

/** @returns {{said: string, href?: string}} */
export function nextOf(app, opening) {
  const rows = beyondTheDay(app, opening);
  for (const gate of opening.gates) {
    const check = gate.checks.find(one => !isDone(opening, one, rows));
    if (check !== undefined) {
      const panel = check.code === "panels-in-order" ? nextPanel(opening, rows) : undefined;
      if (panel !== undefined) return { said: say("hang", { letter: panel.letter, mass: panel.mass }),
        href: to(opening, "act", `panel ${panel.id}`) };
      return { said: say("next", { what: check.title }), href: hrefOf(opening, check, rows) };
    }
    if (gate.act !== null && latestOf(rows, gate.act.entry) === undefined) {
      return { said: say("call it done", { what: gate.title }), href: to(opening, "act", `gate ${gate.target}`) };
    }
  }
  const { call } = opening;
  if (!call) return { said: opening.next_said };
  const said = say("go back", { number: call.number, what: call.symptom });
  return call.adjust && latestOf(rows, "adjustment") === undefined
    ? { said, href: to(opening, "act", "adjust") } : { said };
}

/** Whether it stands, or something on this phone answers it that did not fail here. */
export function isDone(opening, check, rows) {
  if (check.passes) return true;
  if (check.read_with !== 0) return true; // it is asked with another one
  return isAnswered(opening, check, rows) && !lacksPhoto(check, rows);
}

/** Whether a photo is asked that neither the office has nor this phone. */
export function lacksPhoto(check, rows) {
  return check.photo !== "" && !check.photo_stands && photosOf(rows, check.photo) === 0;
}

/** By what was read or said; a photo it may ask besides. */
function isAnswered(opening, check, rows) {
  const found = answering(rows, check, sheetOf(opening, check));
  return found === undefined ? check.answered : found.judged === undefined || found.judged.result === "pass";
}

export function sheetOf(opening, check) {
  return check.sheet === "" ? undefined : opening.sheets.find(sheet => sheet.key === check.sheet);
}

/** Where a check is answered; undefined where that is not on this page. */
export function hrefOf(opening, check, rows) {
  if (lacksPhoto(check, rows) && isAnswered(opening, check, rows)) return to(opening, "photo", check.photo);
  if (sheetOf(opening, check) !== undefined) return to(opening, "sheet", check.sheet,
    ...(check.place === "" ? [] : [check.place]));
  if (check.confirm !== null) return to(opening, "act", `check ${check.code} ${check.place}`);
  if (check.joint !== null) return to(opening, "act", `joint ${check.place}`);
  if (check.code === "panels-in-order") return to(opening);
  return undefined;
}

/** The panel that is hung next, in the order of hanging, those on this phone counted. */
export function nextPanel(opening, rows) {
  return opening.panels.find(panel => !["hung", "adjusted"].includes(panel.state)
    && latestOf(rows, "panel-change", "panel", panel.id)?.body.data.what !== "hang");
}
