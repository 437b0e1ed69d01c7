/* Addresses within the page. They lie behind the `#`: the page itself is one, and opens without signal. */

/** The address of an opening, or of something about it. */
export function to(opening, ...rest) {
  return ["#/opening", opening.id, ...rest].map(String).map((part, n) =>
    (n === 0 ? part : encodeURIComponent(part))).join("/");
}

/** Whether something is entered there: readings, an act, photos, a mark. */
export function isTyped(at) {
  return /^#\/(mark$|opening\/\d+\/(act|sheet|photo)\b)/.test(at);
}
