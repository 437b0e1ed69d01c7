/* What is half typed: kept with every stroke, so that a page that is closed, killed or renewed loses none of it. It
   goes in the step in which it is kept as an entry. */

import { asked, using } from "./store.js";

/** What was half typed there; nothing where the disk does not answer: it is typed and judged all the same. */
export async function draftOf(key) {
  const row = await using("readonly", ["drafts"], ({ drafts }) => asked(drafts.get(key))).catch(() => undefined);
  return row?.values;
}

export function keepDraft(key, values) {
  return using("readwrite", ["drafts"],
    ({ drafts }) => asked(drafts.put({ key, values, at: new Date().toISOString() })));
}
