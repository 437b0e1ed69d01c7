/* Elements, made in one breath. Text is always text: nothing anybody typed is read as markup. */

/**
 * @param {string} tag
 * @param {Record<string, any>} [how] attributes; `on`: what happens when; true stands bare, false and null are left out
 * @param {...any} inside elements, text, lists of them; null and false are left out
 * @returns {HTMLElement}
 */
export function h(tag, how = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(how ?? {})) {
    if (name === "on") for (const [event, does] of Object.entries(value)) element.addEventListener(event, does);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...inside.flat(Infinity).filter(one => one !== null && one !== undefined && one !== false));
  return element;
}

/**
 * What is pressed twice is done once: nothing more is done once `work` has said true.
 * @param {(...given: any[]) => Promise<boolean>} work
 */
export function once(work) {
  let taken = false;
  return async (...given) => {
    if (taken) return;
    taken = true;
    try {
      taken = await work(...given);
    } catch (why) {
      taken = false;
      throw why;
    }
  };
}

/** Puts this in place of what stood in `box`; what had the focus there has it again, what lay unfolded does too. */
export function renewed(box, inside) {
  const held = box.contains(document.activeElement) ? placeOf(box, document.activeElement) : null;
  const unfolded = [...box.querySelectorAll("details[open]")].map(one => one.id);
  box.replaceChildren(...inside);
  for (const id of unfolded) document.getElementById(id)?.setAttribute("open", "");
  if (held === null) return;
  const again = alike(box, held.name)[held.nth] ?? alike(box, held.name).at(-1) ?? box.querySelector("h1");
  again?.focus({ preventScroll: true });
}

const THUMB = 2 / 3; // of the height: where one mostly is

/** What can be pressed in `box` and is in sight, and where it is, what is nearest to a thumb first; nothing where the
    page is at its top, for there it is what is new that is to be seen. */
export function keysInSight(box) {
  if (scrollY === 0) return [];
  const far = ({ top }) => Math.abs(top - THUMB * innerHeight);
  return pressable(box).map(one => ({ one, top: one.getBoundingClientRect().top }))
    .filter(({ top }) => top >= 0 && top < innerHeight).sort((one, other) => far(one) - far(other))
    .map(({ one, top }) => ({ ...placeOf(box, one), top }));
}

/** Whatever came or went above it, the first of them that is still there is where it was. */
export function keepInSight(box, keys) {
  for (const { name, nth, top } of keys) {
    const again = alike(box, name)[nth];
    if (again === undefined) continue;
    scrollBy(0, again.getBoundingClientRect().top - top);
    return;
  }
}

function placeOf(box, element) {
  const name = nameOf(element);
  return { name, nth: alike(box, name).indexOf(element) };
}

/** What can have the focus and is called so: of several, their order tells which is which. */
function alike(box, name) {
  return pressable(box).filter(one => nameOf(one) === name);
}

function pressable(box) {
  return [...box.querySelectorAll("a, button, input, select, textarea, summary, h1")];
}

function nameOf(element) {
  return element.id || (element.matches("summary") && element.parentElement.id) || element.getAttribute("href")
    || element.getAttribute("aria-label") || element.textContent;
}

/** A drawing as the server made it. */
export function drawn(markup) {
  const parsed = new DOMParser().parseFromString(markup, "text/html").querySelector("svg");
  return parsed === null ? null : document.importNode(parsed, true);
}

const SVG = "http://www.w3.org/2000/svg";

/** The same for what is drawn here. */
export function draw(tag, how = {}, ...inside) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(how)) if (value !== null) element.setAttribute(name, value);
  element.append(...inside.flat(Infinity).filter(one => one !== null && one !== false));
  return element;
}
