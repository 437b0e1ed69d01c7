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

/** A sentence of dashboard/words.py or measures.py, by the English one; `%s` or `%(thing)s` in it is filled in. */
export function _(sentence, values) {
  const said = words.sentences?.[sentence] ?? sentence;
  return values === undefined ? said : filled(said, values);
}

/** How dates and decimals are written: decimal mark, patterns, names. */
export function written() {
  return words.written;
}

/** The word for a code, from one of the tables that verdicts are said with; undefined where it has none. */
export function wordFor(table, code) {
  return words[table]?.[code];
}

/** A template as the message files write it, with its values by name, or with the one there is. */
export function filled(template, values) {
  return template.replace(/%(?:\((\w+)\))?[sd]|%%/g, (all, name) => (
    all === "%%" ? "%" : (name === undefined ? values : values[name]) ?? ""));
}
