/* One act, to be filled in and kept: the fields the office asks, and a photo where one is wanted. */

import { actsOf } from "./acts.js";
import { eighths, newtons, withUnit } from "./amounts.js";
import { draftOf, keepDraft } from "./drafts.js";
import { h, once } from "./dom.js";
import { picker } from "./pictures.js";
import { lacksPhoto } from "./next.js";
import { beyondTheDay } from "./pending.js";
import { say } from "./says.js";
import { standing } from "./standing.js";
import { newId } from "./uuid7.js";
import { to } from "./addresses.js";

const FEW = 5; // so many choices stand as keys; more as a list
const BLANK = /^[-\u2013\u2014]*$/; // in a list a dash says that nothing is chosen; of a key it says nothing

export function actView(app, opening, key) {
  const found = actsOf(opening).find(one => one.key === key);
  if (found === undefined) return [h("h1", { tabindex: "-1" }, say("done already")), back(opening)];
  const { told, title, check, gate, caution } = found;
  const draft = `${app.person} act ${opening.id} ${key}`; // nobody finds what another one typed
  const asked = told.fields.map(field => fieldOf(field));
  const photos = told.photo || check?.photo || aboutIt(told, "").about
    ? picker(told.photo || say("take a photo")) : null;
  const wrong = h("p", { class: "wait", role: "alert" });
  const wanted = check && lacksPhoto(check, beyondTheDay(app, opening));
  const press = h("button", { class: "main" }, told.button);
  let warned = !wanted;
  const keep = once(async () => {
    if (!warned && photos.count() === 0 && asked.every(one => one.field.name !== "answer" || one.value() === "yes")) {
      warned = true; // said once: where no camera works the answer is kept all the same
      wrong.textContent = say("photo asked");
      press.textContent = say("without photo");
      return false;
    }
    return done(app, opening, found, asked, photos, wrong, draft);
  });
  const form = h("form", { on: {
    submit: event => {
      event.preventDefault();
      keep();
    },
    input: () => keepDraft(draft, Object.fromEntries(new FormData(form))),
  } },
  asked.map(one => one.element), wanted && h("p", { class: "wait" }, say("before you pack up")),
  photos?.element, wrong, press);
  draftOf(draft).then(values => values && asked.forEach(one => one.fill(values[one.field.name])));
  return [h("h1", { tabindex: "-1" }, title), check?.steps?.length
    ? h("ul", {}, check.steps.map(step => h("li", {}, step))) : null,
    (caution ?? check?.caution) && h("p", { class: "caution" }, caution ?? check.caution),
    gate && standing(app, opening, gate), form, back(opening)].flat().filter(Boolean);
}

function back(opening) {
  return h("p", {}, h("a", { class: "quiet", href: to(opening) }, say("back")));
}

/** @returns {Promise<boolean>} whether it is kept */
async function done(app, opening, { key, told, title, check }, asked, photos, wrong, draft) {
  const lacking = asked.find(one => one.field.needed && one.value() === "");
  if (lacking !== undefined) {
    wrong.textContent = say("needed", { what: lacking.field.label });
    lacking.focus();
    return false;
  }
  wrong.textContent = "";
  const data = { ...told.data }, body = { entry: told.entry, data };
  if (told.about) body[told.about[0]] = told.about[1];
  for (const { field, value } of asked) {
    const sent = asSent(field, value());
    if (sent === undefined) continue;
    if (sent === null) {
      wrong.textContent = say(field.as === "turns" ? "no turns" : "no amount", { what: field.label });
      asked.find(one => one.field === field).focus();
      return false;
    }
    if (field.about) body[field.about] = sent;
    else put(data, field, sent);
  }
  if (!told.about && !asked.some(one => one.field.about)) body.opening = opening.id;
  const id = newId();
  const pictures = photos === null ? [] : await photos.small();
  try {
    await app.keep([{ id, opening: opening.id, said: title, body },
      ...pictures.map(picture => ({ opening: opening.id, said: say("photo of", { what: title }), picture,
        body: { opening: opening.id, ...(check ? { check_code: check.code } : {}), ...aboutIt(told, id) } }))],
        draft);
  } catch (why) {
    wrong.textContent = say(why?.name === "QuotaExceededError" ? "disk full" : "not kept",
      { why: why?.message ?? why });
    return false;
  }
  location.hash = to(opening);
  return true;
}

const WITH_PHOTO = { confirmation: "confirmation", joint: "joint", "punch-item": "punch-item", adjustment: "adjustment",
  wait: "wait", "part-set-aside": "set-aside-part", "part-came": "part-arrival" };

/** What a photo beside it is about; of a panel that was only hung nobody takes one. */
function aboutIt({ entry, about, fields }, id) {
  if (entry === "panel-change" && fields.length > 0) return { about: "panel", about_id: String(about[1]) };
  return WITH_PHOTO[entry] ? { about: WITH_PHOTO[entry], about_id: id } : {};
}

/** Into its place: `before.gaps.top` lies within; each roller turned is one of a list. */
function put(data, { name, as }, sent) {
  const path = name.split("."), last = path.pop();
  if (as === "turns") (data[path[0]] ??= []).push({ roller: last, eighths: sent });
  else path.reduce((within, part) => within[part] ??= {}, data)[last] = sent;
}

/** What is sent for what was typed; undefined where nothing was, null where it cannot be read. */
function asSent(field, typed) {
  if (field.as === "several") return typed;
  if (typed === "") return undefined;
  if (field.as === "turns") return eighths(typed);
  if (field.as === "length") return withUnit(typed, field.unit);
  if (field.as === "force") return newtons(typed, field.unit);
  if (field.as === "whole") return Number.parseInt(typed, 10);
  if (field.as === "yes") return typed === "yes";
  if (field.as === "minutes") return Math.round(Number(String(typed).replace(",", ".")) * 60);
  return typed;
}

/** One field: its element, what stands in it, and how it is filled again. */
function fieldOf(field) {
  const id = `f-${field.name}`;
  const hint = field.hint ? h("span", { class: "small", id: `${id}-hint` }, field.hint) : null;
  const needed = field.needed ? "true" : null, about = hint && hint.id;
  if (field.how === "ticks") return ticks(field, hint);
  if (field.how === "choice" && field.choices.filter(([key]) => key !== "").length <= FEW) return keys(field, hint);
  const how = { id, name: field.name, "aria-required": needed, "aria-describedby": about };
  const input = field.how === "choice"
    ? h("select", how, field.choices.map(([key, said]) => h("option",
      { value: key, selected: key === (field.value ?? "") }, said)))
    : field.how === "lines" ? h("textarea", { ...how, rows: 3, maxlength: field.most }, field.value ?? "")
      : h("input", { ...how, type: field.how === "day" ? "date" : "text", maxlength: field.most, value: field.value,
        inputmode: field.how === "number" ? "decimal" : null, autocomplete: "off" });
  return { field, element: h("p", { class: "field" }, h("label", { for: id }, field.label), hint, input),
    value: () => input.value.trim(), focus: () => input.focus(), fill: value => {
      if (value !== undefined) input.value = value;
    } };
}

function keys(field, hint) {
  const radios = field.choices.filter(([key]) => key !== "" || !field.needed).map(([key, said]) => {
    const input = h("input", { type: "radio", name: field.name, value: key,
      checked: key === (field.value ?? (field.needed ? null : "")) });
    return { input, element: h("label", { class: "key" }, input,
      h("span", {}, key === "" && BLANK.test(said) ? say("none of these") : said)) };
  });
  return { field, element: h("fieldset", hint && { "aria-describedby": hint.id }, h("legend", {}, field.label), hint,
    h("div", { class: "keys" }, radios.map(one => one.element))),
    value: () => radios.find(one => one.input.checked)?.input.value ?? "", focus: () => radios[0].input.focus(),
    fill: value => radios.forEach(one => {
      if (value !== undefined) one.input.checked = one.input.value === value;
    }) };
}

function ticks(field, hint) {
  const boxes = field.choices.map(([key, said]) => {
    const input = h("input", { type: "checkbox", name: field.name, value: key });
    return { input, element: h("label", { class: "key" }, input, h("span", {}, said)) };
  });
  return { field, element: h("fieldset", hint && { "aria-describedby": hint.id }, h("legend", {}, field.label),
    hint, h("div", { class: "keys" }, boxes.map(one => one.element))),
    value: () => boxes.filter(one => one.input.checked).map(one => one.input.value),
    focus: () => boxes[0]?.input.focus(), fill: () => {} };
}
