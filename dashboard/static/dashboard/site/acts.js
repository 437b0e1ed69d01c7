/* Every act the day offers at an opening, each under a name that stays the same when the day is told again. */

/** @returns {{key: string, title: string, told: object, anytime?: boolean}[]} */
export function actsOf(opening) {
  const acts = [];
  const add = (key, title, told, more = {}) => told && acts.push({ key, title, told, ...more });
  for (const gate of opening.gates) {
    add(`gate ${gate.target}`, gate.title, gate.act, { gate });
    for (const check of gate.checks) {
      const title = [check.title, check.place_said].filter(Boolean).join(", ");
      add(`check ${check.code} ${check.place}`, title, check.confirm, { check });
      add(`joint ${check.place}`, title, check.joint, { check });
      add(`wait for ${check.code} ${check.place}`, title, check.wait);
    }
  }
  for (const panel of opening.panels) {
    add(`panel ${panel.id}`, `${panel.letter}, ${panel.mass}`, panel.act, { caution: opening.lifting });
    add(`other ${panel.id}`, panel.letter, panel.other, { caution: opening.lifting });
  }
  if (opening.call) add("adjust", opening.call.adjust?.button, opening.call.adjust);
  for (const item of opening.items) add(`item ${item.number}`, item.what, item.close);
  opening.aside.forEach((part, n) => add(`back ${n}`, part.what, part.back));
  opening.waits.forEach((wait, n) => add(`wait ${n}`, wait.said, wait.clear));
  opening.parts.forEach((part, n) => add(`part ${n}`, part.name, part.came));
  for (const told of opening.acts) add(told.key, told.title, told, { anytime: true });
  return acts;
}
