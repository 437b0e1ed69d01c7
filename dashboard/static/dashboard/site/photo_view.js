/* Photos by themselves: of a check that asks for one, or of anything at the opening. */

import { h, once } from "./dom.js";
import { picker } from "./pictures.js";
import { say } from "./says.js";
import { to } from "./addresses.js";

export function photoView(app, opening, code = "") {
  const check = opening.gates.flatMap(gate => gate.checks).find(one => one.code === code);
  const photos = picker(say("take a photo"));
  const caption = h("input", { id: "f-caption", type: "text", maxlength: 240, autocomplete: "off" });
  const wrong = h("p", { class: "wait", role: "alert" });
  const keep = once(async () => {
    const pictures = await photos.small();
    if (pictures.length === 0) {
      wrong.textContent = say("no photo yet");
      return false;
    }
    const body = { opening: opening.id,
      ...(code ? { check_code: code } : opening.call ? { about: "callback", about_id: String(opening.call.id) } : {}),
       ...(caption.value.trim() ? { caption: caption.value.trim() } : {}) };
    try {
      await app.keep(pictures.map(picture =>
        ({ opening: opening.id, said: say("photo of", { what: check?.title ?? opening.tag }), picture, body })));
      location.hash = to(opening);
      return true;
    } catch (why) {
      wrong.textContent = say(why?.name === "QuotaExceededError" ? "disk full" : "not kept",
        { why: why?.message ?? why });
      return false;
    }
  });
  const submit = event => {
    event.preventDefault();
    keep();
  };
  return [h("h1", { tabindex: "-1" }, check?.title ?? say("photo")),
    check && h("p", { class: "small" }, say("before you pack up")),
    h("form", { on: { submit } }, photos.element,
      h("p", { class: "field" }, h("label", { for: "f-caption" }, say("what it shows")), caption), wrong,
      h("button", { class: "main" }, say("keep it"))),
    h("p", {}, h("a", { class: "quiet", href: to(opening) }, say("back")))].filter(Boolean);
}
