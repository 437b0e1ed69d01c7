/* One sheet of readings: one thing at a time on the pad, what was taken beside it, the answer as soon as there is
   one. */

import { draftOf, keepDraft } from "./drafts.js";
import { h, once, renewed } from "./dom.js";
import { givenBy } from "./given.js";
import { judge } from "./judge.js";
import { likings, pad } from "./pad.js";
import { profile } from "./profile.js";
import { say } from "./says.js";
import { stepsOf } from "./steps.js";
import { newId } from "./uuid7.js";
import { to } from "./addresses.js";

export function sheetView(app, opening, key, place = "") {
  const sheet = opening.sheets.find(one => one.key === key);
  if (sheet === undefined) return [h("h1", { tabindex: "-1" }, say("done already")),
    h("p", {}, h("a", { href: to(opening) }, say("back")))];
  if (sheet.places.length > 0 && !sheet.places.some(([name]) => name === place)) return whereView(opening, sheet);
  const box = h("div", { class: "sheet" });
  new Filling(app, opening, sheet, place, box).start();
  return [box];
}

function whereView(opening, sheet) {
  return [h("h1", { tabindex: "-1" }, sheet.title), h("h2", {}, say("where")),
    h("div", { class: "keys" },
      sheet.places.map(([name, said]) => h("a", { class: "key", href: to(opening, "sheet", sheet.key, name) }, said))),
    h("p", {}, h("a", { class: "quiet", href: to(opening) }, say("back")))];
}

/** What stays on the page from the first reading to the last. A screen reader only reads out what changes in a place
    that was there before, so the places stay and what is in them changes. */
class Filling {
  constructor(app, opening, sheet, place, box) {
    Object.assign(this, { app, opening, sheet, place, box, steps: stepsOf(sheet), typed: {}, at: 0,
      onward: null, taken: "", pad: null });
    this.byPad = { onTaken: text => this.take(this.steps[this.at], text), again: () => {
      this.pad = null;
      this.show();
    } };
    this.draft = `${app.person} sheet ${opening.id} ${sheet.key} ${place}`; // nobody finds what another one typed
    const placeSaid = sheet.places.find(([name]) => name === place)?.[1];
    this.title = h("h1", { tabindex: "-1", id: "sheet" }, [sheet.title, placeSaid].filter(Boolean).join(", "));
    this.cautions = h("div", { id: "cautions" });
    this.readBack = h("p", { class: "read-back", role: "status" });
    this.drawn = h("div", {});
    this.answered = h("div", { class: "answer", role: "status" });
    this.step = h("div", { class: "step" });
    this.rest = h("div", {});
    box.append(h("div", { class: "told" }, this.title, this.cautions, this.readBack, this.drawn,
      this.answered), this.step, this.rest);
  }

  async start() {
    const early = this.typedEarly();
    try {
      const [draft] = await Promise.all([draftOf(this.draft), likings()]);
      if (draft !== undefined) Object.assign(this, { typed: draft.typed, at: Math.min(draft.at, this.steps.length) });
      this.show();
      this.comeToIt();
    } finally {
      early(this.box.isConnected ? this.step.querySelector("#reading, #f-step") : null);
    }
    const typed = event => {
      if (this.box.isConnected) this.typeThere(event);
      else document.removeEventListener("keydown", typed);
    };
    document.addEventListener("keydown", typed);
  }

  /** A measure may type before the field is there: it would lose the front of a reading, and `18 1/4` be 1/4.
      @returns {(field: Element | null) => void} puts what came until then into the field */
  typedEarly() {
    const came = [];
    const hold = event => {
      if (!/^([0-9.+/'" -]|Enter)$/.test(event.key) || event.ctrlKey || event.altKey || event.metaKey) return;
      came.push(event.key);
      event.preventDefault();
    };
    document.addEventListener("keydown", hold);
    return field => {
      document.removeEventListener("keydown", hold);
      const ends = came.indexOf("Enter"), reading = came.slice(0, ends < 0 ? came.length : ends).join("");
      if (field === null || reading.trim() === "") return;
      field.value = reading;
      field.dispatchEvent(new Event("input"));
      if (ends >= 0) this.step.querySelector("#next").click();
    };
  }

  show() {
    const step = this.steps[this.at];
    const answer = this.answer();
    const stood = this.placeOfNext();
    this.cautions.replaceChildren(...(this.at === 0
      ? this.sheet.cautions.map(said => h("p", { class: "caution" }, said)) : []));
    this.drawn.replaceChildren(...[profile(this.sheet, this.typed, step, answer)].filter(Boolean));
    sayIn(this.readBack, [this.taken]);
    sayIn(this.answered, answer ? [verdict(answer)] : []);
    renewed(this.rest, [this.takenSoFar(), h("div", { class: "keys" },
      step && h("button", { type: "button", class: "quiet", id: "skip",
        on: { click: event => this.skip(step, event.detail === 0) } }, say("not read")),
      h("a", { class: "quiet", href: to(this.opening) }, say("back")))].filter(Boolean));
    // Last, for it has the focus: the browser lays everything out as soon as it is given back.
    if (step?.how === "length") this.askByPad(step);
    else {
      this.pad = null;
      renewed(this.step, (step === undefined ? this.finished() : this.asked(step)).flat(Infinity).filter(Boolean));
    }
    this.keepUnderTheThumb(stood);
  }

  /** To what is asked: the reading, the chosen answer or the first one; after the last, that there is no more. */
  comeToIt() {
    const found = ["#reading, #f-step, #no-more", "fieldset [aria-pressed=true]", "fieldset button"]
      .map(wanted => this.step.querySelector(wanted)).find(Boolean);
    const it = found ?? this.title;
    it.focus({ preventScroll: true });
    it.scrollIntoView({ block: "nearest" }); // nothing moves where it is in sight already
    it.select?.(); // what is typed now takes its place
  }

  /** What a measure types is a reading, wherever the focus is. */
  typeThere(event) {
    const field = this.step.querySelector("#reading, #f-step");
    if (field === null || !/^[0-9.+-]$/.test(event.key) || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.target.matches("input, textarea, select")) return;
    field.focus({ preventScroll: true });
    field.select();
  }

  placeOfNext() {
    return this.step.querySelector("#next")?.getBoundingClientRect().top;
  }

  /** Whatever is said above the keys, they stay where they were. */
  keepUnderTheThumb(stood) {
    const stands = this.placeOfNext();
    if (stood !== undefined && stands !== undefined) scrollBy(0, stands - stood);
  }

  head(step) {
    return h("div", { id: "asked-of" }, h("p", { class: "label" }, step.group),
      step.hint && h("p", { class: "small" }, step.hint));
  }

  onwardFrom() {
    const next = this.steps[this.onward ?? this.at + 1];
    return next === undefined ? say("last one") : say("next", { what: next.station?.at ?? next.label });
  }

  /** From one length to the next the keys stay: to make them anew takes longer than to judge. */
  askByPad(step) {
    const signed = step.signed === true, head = this.head(step), before = this.pad?.signed === signed;
    if (!before) this.pad = { signed, ...pad(this.sheet.unit, signed, this.byPad) };
    this.pad.ask({ label: step.label, about: this.aboutIt(step), value: this.typed[step.name] ?? step.start ?? "",
      last: this.last(step), next: this.onwardFrom() });
    if (before) this.step.querySelector("#asked-of").replaceWith(head);
    else renewed(this.step, [head, this.pad.box]);
  }

  asked(step) {
    const head = this.head(step);
    const about = this.aboutIt(step);
    if (step.how === "choice") {
      return [head, h("fieldset", { "aria-describedby": about }, h("legend", {}, step.label),
        h("div", { class: "keys" },
        step.choices.filter(([value]) => value !== "").map(([value, said]) =>
          h("button", { type: "button", class: "key",
          "aria-pressed": String((this.typed[step.name] ?? step.start) === value),
          on: { click: () => this.take(step, value, said) } }, said))))];
    }
    const input = h("input", { id: "f-step", type: "text", inputmode: step.how === "number" ? "decimal" : "text",
      autocomplete: "off", "aria-describedby": about, value: this.typed[step.name] ?? step.start });
    const take = event => {
      event.preventDefault();
      if (input.value.trim() !== "") this.take(step, input.value.trim());
      else this.skip(step);
    };
    return [head, h("form", { on: { submit: take } },
      h("p", { class: "field" }, h("label", { for: "f-step" }, step.label), input),
      h("button", { class: "main", id: "next" }, this.onwardFrom()))];
  }

  /** What is read out besides: the sheet and its cautions at the start, for the focus goes past them; of what it is
      where that is another than before. */
  aboutIt(step) {
    if (this.at === 0) return "sheet cautions asked-of";
    return step.hint || step.group !== this.steps[this.at - 1].group ? "asked-of" : null;
  }

  /** The reading before it of the same line, else of whatever came before. */
  last(step) {
    const before = this.steps.slice(0, this.at).filter(one => one.how === "length" && this.typed[one.name]);
    const line = before.filter(one => one.station?.into === step.station?.into);
    return this.typed[(line.at(-1) ?? before.at(-1))?.name] ?? "";
  }

  take(step, value, said = value) {
    this.typed[step.name] = value;
    this.go(this.onward ?? this.at + 1, say("took", { what: step.label, value: said }));
  }

  /** Nothing was read there: what stood there to begin with does not count either. By keyboard one stays at the key:
      what comes next may be passed over too. */
  skip(step, stays = false) {
    this.typed[step.name] = "";
    this.go(this.onward ?? this.at + 1, say("skipped", { what: step.label }), null, stays);
  }

  /** What was taken is read again; then it goes on where one was. */
  correct(n) {
    this.go(n, "", this.onward ?? this.at);
  }

  go(at, taken, onward = null, stays = false) {
    Object.assign(this, { at, taken, onward });
    keepDraft(this.draft, { typed: this.typed, at: onward ?? at });
    this.show();
    if (!stays || this.at >= this.steps.length) this.comeToIt();
  }

  /** What was taken, each a key to take it again. */
  takenSoFar() {
    const read = this.steps.map((step, n) => [step, n]).filter(([step]) => this.typed[step.name]);
    if (read.length === 0) return null;
    const keys = () => h("ul", { class: "keys" }, read.map(([step, n]) => h("li", {},
      h("button", { type: "button", class: "key", on: { click: () => this.correct(n) } },
        `${step.label}: ${saidOf(step, this.typed[step.name])}`))));
    const unfolded = this.rest.querySelector("#so-far")?.open === true;
    const list = h("details", { id: "so-far" }, h("summary", {}, say("taken so far", { n: read.length })),
      unfolded && keys());
    // Most never look: until they do there is nothing in it, whose making would hold up the answer.
    list.addEventListener("toggle", () => list.querySelector("ul") || list.append(keys()));
    return list;
  }

  answer() {
    if (!this.wasRead()) return null;
    return judge(this.opening, this.sheet, givenBy(this.sheet, this.typed, this.place), this.place);
  }

  /** Whether anything but a choice was entered. */
  wasRead() {
    return this.steps.some(step => step.how !== "choice" && this.typed[step.name]);
  }

  finished() {
    const wrong = h("p", { class: "wait", role: "alert" });
    const read = this.wasRead();
    return [h("p", { id: "no-more", tabindex: "-1" }, !read ? say("nothing read") : say("all asked")), wrong,
      read && h("button", { type: "button", class: "main", on: { click: once(() => this.keep(wrong)) } },
        say("keep it"))];
  }

  async keep(wrong) {
    const given = givenBy(this.sheet, this.typed, this.place);
    const answer = judge(this.opening, this.sheet, given, this.place);
    const data = { kind: this.sheet.kind, given, occasion: this.sheet.occasion,
      ...(this.place ? { place: this.place } : {}),
      ...(answer?.verdict ? { device_verdict: answer.verdict } : {}) };
    try {
      await this.app.keep([{ id: newId(), opening: this.opening.id, said: this.title.textContent,
        body: { entry: "inspection", opening: this.opening.id, data },
        ...(answer?.verdict ? { judged: { result: answer.verdict.result, said: answer.said.join(" ") } } : {}) }],
        this.draft);
    } catch (why) {
      wrong.textContent = say(why?.name === "QuotaExceededError" ? "disk full" : "not kept",
        { why: why?.message ?? why });
      return false;
    }
    location.hash = to(this.opening);
    return true;
  }
}

/** Said anew only where it is another: what has not changed is not read out again. */
function sayIn(place, inside) {
  const before = place.textContent;
  const other = h("div", {}, ...inside);
  if (other.textContent !== before) place.replaceChildren(...other.childNodes);
}

/** What was entered, in words: of a choice, what was chosen. */
function saidOf(step, value) {
  return step.choices?.find(([one]) => one === value)?.[1] ?? value;
}

/** The phone's answer, marked as its own until the office has judged the same readings. */
function verdict(answer) {
  const stops = answer.verdict?.result === "fail";
  return h("div", { class: stops ? "note" : "note fine" }, h("span", { class: "flag", "aria-hidden": "true" }),
    h("div", {}, h("p", {}, h("b", {}, answer.headline)), answer.said.map(said => h("p", {}, said)),
      h("p", { class: "small" }, say("this phone's answer"))));
}
