/* The judgements this phone can make by itself. It has none of this kind: the office answers when it has the readings. */

export function judge() {
  return null;
}
