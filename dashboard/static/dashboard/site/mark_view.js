/* To an opening or a panel by its mark: the camera where the browser reads codes, the tag typed where it does not. */

import { to } from "./addresses.js";
import { h } from "./dom.js";
import { byCode, byTag } from "./mark.js";
import { say } from "./says.js";

const BETWEEN = 250; // ms between two looks through the camera

export function markView(app) {
  const openings = app.day?.openings ?? [];
  const found = h("div", { class: "found", role: "status" });
  const show = marks => found.replaceChildren(h("ul", { class: "keys" }, marks.map(mark =>
    h("li", {}, h("a", { class: "key", href: hrefOf(mark) }, nameOf(mark))))));
  const input = h("input", { id: "f-mark", type: "text", autocomplete: "off",
    autocapitalize: "characters", enterkeyhint: "go", on: {
    input: () => show(byTag(openings, input.value)) } });
  const go = event => {
    event.preventDefault();
    const marks = byTag(openings, input.value);
    show(marks);
    if (marks.length === 1) location.hash = hrefOf(marks[0]);
    else if (marks.length === 0) found.replaceChildren(h("p", { class: "wait" }, say("no such mark")));
  };
  return [h("h1", { tabindex: "-1" }, say("by its mark")), camera(openings, found),
    h("form", { on: { submit: go } },
      h("p", { class: "field" }, h("label", { for: "f-mark" }, say("type the tag")), input),
      h("button", { class: "main" }, say("go there"))), found].filter(Boolean);
}

function hrefOf({ opening, panel }) {
  return panel?.act ? to(opening, "act", `panel ${panel.id}`) : to(opening);
}

function nameOf({ opening, panel }) {
  return [`${opening.job} · ${opening.tag}`,
    panel && say("panel", { letter: panel.letter })].filter(Boolean).join(", ");
}

/** Nothing where the browser reads no codes: then the tag is typed. */
function camera(openings, found) {
  if (!("BarcodeDetector" in window) || navigator.mediaDevices === undefined) return null;
  const video = h("video", { class: "camera", playsinline: true, muted: true, hidden: true,
    "aria-label": say("the camera") });
  const said = h("p", { class: "small", role: "status" });
  const start = h("button", { type: "button", class: "key", on: { click: () => {
    start.disabled = true;
    video.hidden = false;
    look(video, openings, mark => { location.hash = hrefOf(mark); }, () => { said.textContent = say("not of today"); })
      .catch(() => {
        said.textContent = say("no camera");
        start.disabled = false;
        video.hidden = true;
      });
  } } }, say("read the code"));
  return h("div", {}, start, video, said);
}

async function look(video, openings, onFound, onOther) {
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  try {
    video.srcObject = stream;
    await video.play();
    while (video.isConnected) {
      for (const { rawValue } of await detector.detect(video)) {
        const mark = byCode(openings, rawValue);
        if (mark !== null) return onFound(mark);
        onOther();
      }
      await new Promise(done => setTimeout(done, BETWEEN));
    }
  } finally {
    stream.getTracks().forEach(track => track.stop()); // the light of the camera goes out with the view
  }
}
