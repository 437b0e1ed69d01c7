/* What a mark stands for: the code on a sheet or a panel, or a tag that somebody typed. */

/** @returns {{opening: object, panel?: object} | null} */
export function byCode(openings, text) {
  let address;
  try {
    address = new URL(text, location.href);
  } catch {
    return null;
  }
  const number = /^\/openings\/(\d+)\//.exec(address.pathname)?.[1];
  const opening = openings.find(one => one.id === Number(number));
  if (opening === undefined || address.host !== location.host) return null;
  const letter = address.searchParams.get("at");
  return { opening, panel: opening.panels.find(panel => panel.letter === letter) };
}

/** Every opening, and every panel, whose job, tag, place or letter has these pieces in it: `B1`, `2104 D1 C`. */
export function byTag(openings, typed) {
  const pieces = typed.toLowerCase().split(/[\s·,/]+/).filter(Boolean);
  if (pieces.length === 0) return [];
  return openings.flatMap(opening => {
    const words = `${opening.job} ${opening.tag} ${opening.location} ${opening.title}`.toLowerCase();
    const rest = pieces.filter(piece => !words.includes(piece));
    if (rest.length === 0) return [{ opening }];
    const panel = rest.length === 1 ? opening.panels.find(one => one.letter.toLowerCase() === rest[0]) : undefined;
    return panel === undefined ? [] : [{ opening, panel }];
  });
}
