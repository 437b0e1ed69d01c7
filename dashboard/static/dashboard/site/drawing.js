/* The opening as far as it is built, drawn by the office; on a narrow screen one panel at a time as well. */

import { drawn, h } from "./dom.js";
import { say } from "./says.js";

export function drawing(opening) {
  const whole = drawn(opening.drawing);
  if (whole === null) return null;
  const panels = [...whole.querySelectorAll("rect.panel")];
  const all = whole.getAttribute("viewBox");
  if (panels.length < 2) return h("div", { class: "drawing" }, whole);
  let at = -1;
  const said = h("span", { role: "status" }, say("all of it"));
  const turn = by => {
    at = (at + by + panels.length + 2) % (panels.length + 1) - 1;
    whole.setAttribute("viewBox", at < 0 ? all : around(panels[at], all));
    said.textContent = at < 0 ? say("all of it") : say("panel of", { n: at + 1, all: panels.length });
  };
  return h("div", { class: "drawing" }, whole, h("div", { class: "turn" },
    h("button", { type: "button", "aria-label": say("one before"), on: { click: () => turn(-1) } }, "←"), said,
    h("button", { type: "button", "aria-label": say("one after"), on: { click: () => turn(1) } }, "→")));
}

/** The panel with a hand's breadth of what stands beside it. */
function around(panel, all) {
  const [x, y, width, height] = ["x", "y", "width", "height"].map(name => Number(panel.getAttribute(name)));
  const [, , , high] = all.split(" ").map(Number);
  const beside = width * 0.25;
  return [x - beside, Math.max(0, y - beside), width + 2 * beside, Math.min(high, height + 2 * beside)].join(" ");
}
