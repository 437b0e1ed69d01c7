/* The pad: a tape, not a calculator. Sixteen marks as long as they are on a tape, whole inches by + and −, as the last
   one or a mark or two from it. Thirty-seconds and millimetres by choice. A measure that types works too. */

import { formatInches, INCH, parse } from "../calc/lengths.js";
import { draw, h } from "./dom.js";
import { noted, note } from "./store.js";
import { say } from "./says.js";

const MARKS = 16;
const HAS_UNIT = /[a-z"'\u2032\u2033]/i;
const LONG = { 16: 30, 8: 24, 4: 19, 2: 13, 1: 8 }; // how long a mark is drawn, by what it halves

/** How this phone's holder likes the pad: `inches`, `thirty` (thirty-seconds), `mm`; `large` keys for a glove. */
let liking = { large: false, mm: null, thirty: false };

export async function likings() {
  liking = { ...liking, ...await noted("pad").catch(() => undefined) };
  document.documentElement.classList.toggle("glove", liking.large);
}

function like(how) {
  liking = { ...liking, ...how };
  note("pad", liking);
  document.documentElement.classList.toggle("glove", liking.large);
}

const PART = INCH / 64n; // nm, exactly

/** Sixty-fourths of an inch as a tape says them: `4 3/16`. */
export function inchesSaid(parts) {
  return formatInches(BigInt(parts) * PART, 64).slice(0, -1);
}

/** What is written, in sixty-fourths; null where it is nothing that a tape has a mark for. */
export function inchesRead(text) {
  try {
    const nm = parse(text ?? "", "in");
    return nm % PART === 0n ? Number(nm / PART) : null;
  } catch {
    return null;
  }
}

/**
 * One pad for as many readings of one kind as there are: its keys stay, what is asked for changes.
 *
 * @param {"in"|"mm"} unit of the sheet
 * @param {boolean} signed whether a reading may be under nothing
 * @param {{onTaken: (text: string) => void, again: () => void}} then `onTaken` is told once a reading, when it is to go
 *   on; `again` draws it anew, after another way was chosen
 * @returns {{box: HTMLElement, ask: (of: {label: string, about?: string, value: string, last: string, next: string})
 *   => void}} `last`: what was read before it, if anything; `about`: the id of what is said about it
 */
export function pad(unit, signed, { onTaken, again }) {
  const millimetres = liking.mm ?? unit === "mm";
  const shown = millimetres ? "mm" : "in";
  const now = { field: null, last: "", signed }; // what is asked for
  const readOut = h("p", { class: "read-out", role: "status" }); // of a key that is pressed nothing else is heard
  const show = text => {
    now.field.value = text;
    readOut.textContent = `${text} ${shown}`;
    keys.marks();
  };
  const keys = millimetres ? inMillimetres(now, show) : inInches(now, show);
  const take = () => {
    const text = now.field.value.trim();
    if (text === "") {
      readOut.textContent = say("nothing entered"); // and no further: Next pressed twice shall not pass a station over
      now.field.focus();
      return;
    }
    onTaken(shown === unit || HAS_UNIT.test(text) ? text : `${text} ${shown}`); // a bare number is in the pad's
  };
  const read = h("div", { class: "read" });
  const next = h("button", { type: "button", class: "main", id: "next", on: { click: take } });
  const toggle = (name, on, how) => h("button",
    { type: "button", class: "key", id: `like-${Object.keys(how)[0]}`, "aria-pressed": String(on),
    on: { click: () => {
      like(how);
      again();
    } } }, say(name));
  const box = h("div", { class: "pad" },
    h("div", { class: "tape" }, liking.large ? [read, keys.less, keys.more]
      : [keys.less, read, keys.more]), // as it stands
    ...keys.rows,
    h("div", { class: "onward" }, next),
    h("details", { class: "likings", id: "likings" }, h("summary", {}, say("pad")), h("div", { class: "keys" },
      toggle("glove size", liking.large, { large: !liking.large }),
      toggle("millimetres", millimetres, { mm: !millimetres }),
      !millimetres && toggle("thirty-seconds", liking.thirty, { thirty: !liking.thirty }))));
  const ask = of => {
    // Another field each time: a screen reader says what is asked for when one comes to it.
    now.field = h("input", { id: "reading", class: "reading", type: "text", inputmode: "none", autocomplete: "off",
      value: of.value, "aria-describedby": of.about, enterkeyhint: "next" });
    now.field.addEventListener("keydown", event => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      take();
    });
    now.field.addEventListener("input", keys.marks);
    now.last = of.last;
    readOut.textContent = "";
    read.replaceChildren(h("label", { class: "label", for: "reading" }, of.label),
      h("p", {}, now.field, " ", h("span", { class: "unit" }, shown)), readOut);
    next.textContent = of.next;
    keys.anew();
  };
  return { box, ask };
}

function inInches(asked, show) {
  const now = () => inchesRead(asked.field.value) ?? inchesRead(asked.last) ?? 0;
  const set = parts => show(inchesSaid(asked.signed ? parts : Math.max(0, parts)));
  const step = liking.thirty ? 2 : 4;
  const whole = by => h("button", { type: "button", class: "whole",
    "aria-label": say(by < 0 ? "an inch less" : "an inch more"),
    on: { click: () => set(now() + by * 64) } }, by < 0 ? "−" : "+");
  const nudges = [-2, -1, 0, 1, 2].map(n => h("button", { type: "button", class: n === 0 ? "key same" : "key", on: {
    click: () => set((inchesRead(asked.last) ?? now()) + n * step) } },
  n === 0 ? say("as last") : `${n < 0 ? "−" : "+"}${inchesSaid(Math.abs(n) * step)}`));
  const keys = Array.from({ length: MARKS }, (_, n) => {
    const button = h("button", { type: "button", class: "key mark", on: { click: () => {
      const parts = now(), sign = parts < 0 ? -1 : 1;
      const inches = Math.trunc(Math.abs(parts) / 64) * 64;
      set(sign * (inches + n * 4 + (liking.thirty && half.pressed ? 2 : 0)));
    } } }, markDrawn(n), n === 0 ? "0" : inchesSaid(n * 4));
    return button;
  });
  const half = { pressed: false };
  const thirty = h("button", { type: "button", class: "key", "aria-pressed": "false", on: { click: () => {
    half.pressed = !half.pressed;
    thirty.setAttribute("aria-pressed", String(half.pressed));
    const parts = Math.abs(now()), sign = now() < 0 ? -1 : 1;
    set(sign * (parts - parts % 4 + (half.pressed ? 2 : 0)));
  } } }, "+ 1/32");
  const sign = h("button", { type: "button", class: "key", on: { click: () => set(-now()) } }, "+ / −");
  let pressed;
  const marks = () => {
    const parts = inchesRead(asked.field.value);
    const mark = parts === null ? null : Math.floor((Math.abs(parts) % 64) / 4);
    if (mark === pressed) return;
    pressed = mark;
    keys.forEach((key, n) => key.setAttribute("aria-pressed", String(n === mark)));
  };
  const anew = () => {
    half.pressed = false;
    thirty.setAttribute("aria-pressed", "false");
    marks();
  };
  return { less: whole(-1), more: whole(1), marks, anew, rows: [
    h("div", { class: "nudges" }, nudges), h("div", { class: "marks" }, liking.large ? eighthsFirst(keys) : keys),
    (asked.signed || liking.thirty) && h("div", { class: "keys" }, asked.signed && sign,
      liking.thirty && thirty)].filter(Boolean) };
}

/** With large keys there are two columns; then what one needs most comes first. */
function eighthsFirst(keys) {
  return [...keys.filter((_, n) => n % 2 === 0), ...keys.filter((_, n) => n % 2 === 1)];
}

/** A mark as it stands on a tape: the half the longest but for the whole inch, the sixteenths the shortest. */
function markDrawn(n) {
  const halves = n === 0 ? 16 : n & -n;
  return draw("svg", { class: "on-tape", width: 8, height: 32, "aria-hidden": "true" },
    draw("path", { d: `M4 0V${LONG[halves]}`, stroke: "currentColor", "stroke-width": 2.4 }));
}

function inMillimetres(asked, show) {
  const read = text => (/^\s*[-+\u2212]?\d+([.]\d+)?\s*(mm)?\s*$/.test(text ?? "")
    ? Number.parseFloat(String(text).replace("\u2212", "-")) : null);
  const now = () => read(asked.field.value) ?? read(asked.last) ?? 0;
  const set = mm => show(String(Math.round((asked.signed ? mm : Math.max(0, mm)) * 10) / 10));
  const by = n => h("button", { type: "button", class: "whole", "aria-label": say(n < 0 ? "ten less" : "ten more"),
    on: { click: () => set(now() + n) } },
    n < 0 ? "−" : "+");
  const nudges = [-2, -1, 0, 1, 2].map(n => h("button", { type: "button", class: n === 0 ? "key same" : "key", on: {
    click: () => set((read(asked.last) ?? now()) + n) } }, n === 0 ? say("as last")
      : `${n < 0 ? "−" : "+"}${Math.abs(n)}`));
  const digits = Array.from({ length: 10 }, (_, n) => h("button", { type: "button", class: "key", on: { click: () => {
    const mm = now();
    set((mm < 0 ? -1 : 1) * (Math.floor(Math.abs(mm) / 10) * 10 + n));
  } } }, String(n)));
  const half = h("button", { type: "button", class: "key",
    on: { click: () => set(Math.trunc(now()) + (now() % 1 === 0 ? 0.5 : 0)) } }, "+ 0.5");
  const sign = h("button", { type: "button", class: "key", on: { click: () => set(-now()) } }, "+ / −");
  return { less: by(-10), more: by(10), marks: () => {}, anew: () => {}, rows: [
    h("div", { class: "nudges" }, nudges), h("div", { class: "marks digits" }, digits, half, asked.signed && sign)] };
}
