/* The words of the page, in the language of the phone, as the office's message files have them. */

let words = { says: {} };

/** Loads them; without a way to the office they come from what the phone keeps of the page. */
export async function speakBy(url) {
  const answer = await fetch(url);
  words = await answer.json();
}

/** What the page says by this name; `%(thing)s` in it is filled in. */
export function say(name, values = {}) {
  return filled(words.says[name] ?? name, values);
}

/** The word for a code, from one of the tables that verdicts are said with; undefined where it has none. */
export function wordFor(table, code) {
  return words[table]?.[code];
}

/** A template as the message files write it, with its values. */
export function filled(template, values) {
  return template.replace(/%\((\w+)\)[sd]|%%/g, (all, name) => (all === "%%" ? "%" : values[name] ?? ""));
}
