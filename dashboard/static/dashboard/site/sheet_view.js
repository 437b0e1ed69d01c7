/* One sheet of readings: one thing at a time on the pad, what was taken beside it, the answer as soon as there is one. */

import { draftOf, forgetDraft, keepDraft } from "./drafts.js";
import { h, once } from "./dom.js";
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
  if (sheet === undefined) return [h("h1", { tabindex: "-1" }, say("done already")), h("p", {}, h("a", { href: to(opening) }, say("back")))];
  if (sheet.places.length > 0 && !sheet.places.some(([name]) => name === place)) return whereView(opening, sheet);
  const box = h("div", { class: "sheet" });
  new Filling(app, opening, sheet, place, box).start();
  return [box];
}

function whereView(opening, sheet) {
  return [h("h1", { tabindex: "-1" }, sheet.title), h("h2", {}, say("where")),
    h("div", { class: "keys" }, sheet.places.map(([name, said]) => h("a", { class: "key", href: to(opening, "sheet", sheet.key, name) }, said))),
    h("p", {}, h("a", { class: "quiet", href: to(opening) }, say("back")))];
}

class Filling {
  constructor(app, opening, sheet, place, box) {
    Object.assign(this, { app, opening, sheet, place, box, steps: stepsOf(sheet), typed: {}, at: 0, taken: "" });
    this.draft = `sheet ${opening.id} ${sheet.key} ${place}`;
  }

  async start() {
    const [draft] = await Promise.all([draftOf(this.draft), likings()]);
    if (draft !== undefined) Object.assign(this, { typed: draft.typed, at: Math.min(draft.at, this.steps.length) });
    this.show();
  }

  show() {
    const step = this.steps[this.at];
    const placeSaid = this.sheet.places.find(([name]) => name === this.place)?.[1];
    const answer = this.answer();
    this.box.replaceChildren(...[
      h("h1", { tabindex: "-1" }, [this.sheet.title, placeSaid].filter(Boolean).join(", ")),
      this.at === 0 ? this.sheet.cautions.map(said => h("p", { class: "caution" }, said)) : [],
      h("p", { class: "read-back", role: "status" }, this.taken),
      profile(this.sheet, this.typed, step, answer),
      answer && verdict(answer),
      step === undefined ? this.finished() : this.asked(step),
      this.takenSoFar(),
      h("p", {}, h("a", { class: "quiet", href: to(this.opening) }, say("back"))),
    ].flat(Infinity).filter(Boolean));
    this.box.querySelector("#reading, #f-step, h1")?.focus({ preventScroll: true });
  }

  asked(step) {
    const next = this.steps[this.at + 1];
    const goes = next === undefined ? say("last one") : say("next", { what: next.station?.at ?? next.label });
    const skip = h("button", { type: "button", class: "quiet", on: { click: () => this.skip(step) } }, say("not read"));
    const head = [h("p", { class: "label" }, step.group), step.hint && h("p", { class: "small" }, step.hint)];
    if (step.how === "choice") {
      return [head, h("fieldset", {}, h("legend", {}, step.label), h("div", { class: "keys" }, step.choices.filter(([value]) => value !== "")
        .map(([value, said]) => h("button", { type: "button", class: "key", "aria-pressed": String((this.typed[step.name] ?? step.start) === value),
          on: { click: () => this.take(step, value, said) } }, said)))), skip];
    }
    if (step.how !== "length") {
      const input = h("input", { id: "f-step", type: "text", inputmode: step.how === "number" ? "decimal" : "text", autocomplete: "off",
        value: this.typed[step.name] ?? step.start });
      const take = event => {
        event.preventDefault();
        if (input.value.trim() !== "") this.take(step, input.value.trim());
        else this.skip(step);
      };
      return [head, h("form", { on: { submit: take } }, h("p", { class: "field" }, h("label", { for: "f-step" }, step.label), input),
        h("button", { class: "main", id: "next" }, goes)), skip];
    }
    const { element } = pad({ unit: this.sheet.unit, signed: step.signed === true, value: this.typed[step.name] ?? step.start ?? "", last: this.last(step),
      label: step.label, next: goes, onTaken: text => this.take(step, text), again: () => this.show() });
    return [head, element, skip];
  }

  /** The reading before it of the same line, else of whatever came before. */
  last(step) {
    const before = this.steps.slice(0, this.at).filter(one => one.how === "length" && this.typed[one.name]);
    const line = before.filter(one => one.station?.into === step.station?.into);
    return this.typed[(line.at(-1) ?? before.at(-1))?.name] ?? "";
  }

  take(step, value, said = value) {
    this.typed[step.name] = value;
    this.go(this.at + 1, say("took", { what: step.label, value: said }));
  }

  /** Nothing was read there: what stood there to begin with does not count either. */
  skip(step) {
    this.typed[step.name] = "";
    this.go(this.at + 1, "");
  }

  go(at, taken) {
    this.at = at;
    this.taken = taken;
    keepDraft(this.draft, { typed: this.typed, at });
    this.show();
  }

  /** What was taken, each a key to take it again. */
  takenSoFar() {
    const read = this.steps.map((step, n) => [step, n]).filter(([step]) => this.typed[step.name]);
    if (read.length === 0) return null;
    return h("details", {}, h("summary", {}, say("taken so far", { n: read.length })), h("ul", { class: "checks" }, read.map(([step, n]) => h("li", {},
      h("button", { type: "button", class: "key", on: { click: () => this.go(n, "") } }, `${step.label}: ${this.typed[step.name]}`)))));
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
    return [h("p", {}, !read ? say("nothing read") : say("all asked")), wrong,
      read && h("button", { type: "button", class: "main", on: { click: once(() => this.keep(wrong)) } }, say("keep it"))];
  }

  async keep(wrong) {
    const given = givenBy(this.sheet, this.typed, this.place);
    const answer = judge(this.opening, this.sheet, given, this.place);
    const data = { kind: this.sheet.kind, given, occasion: this.sheet.occasion, ...(this.place ? { place: this.place } : {}),
      ...(answer?.verdict ? { device_verdict: answer.verdict } : {}) };
    try {
      await this.app.keep([{ id: newId(), opening: this.opening.id, said: this.box.querySelector("h1").textContent,
        body: { entry: "inspection", opening: this.opening.id, data },
        ...(answer?.verdict ? { judged: { result: answer.verdict.result, said: answer.said.join(" ") } } : {}) }]);
    } catch (why) {
      wrong.textContent = say(why?.name === "QuotaExceededError" ? "disk full" : "not kept", { why: why?.message ?? why });
      return false;
    }
    await forgetDraft(this.draft);
    location.hash = to(this.opening);
    return true;
  }
}

/** The phone's answer, marked as its own until the office has judged the same readings. */
function verdict(answer) {
  const stops = answer.verdict?.result === "fail";
  return h("div", { class: stops ? "note" : "note fine" }, h("span", { class: "flag", "aria-hidden": "true" }),
    h("div", {}, h("p", {}, h("b", {}, answer.headline)), answer.said.map(said => h("p", {}, said)), h("p", { class: "small" }, say("this phone's answer"))));
}
