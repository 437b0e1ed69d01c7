/* Photos: made small on the phone, upright, without what a camera writes beside the picture. */

import { h } from "./dom.js";
import { say } from "./says.js";

const WIDEST = 1600; // pixels of the longer side: a tape can be read in it
const LEAST = 1000;
const SMALL = 400_000; // bytes aimed at
const QUALITIES = [0.82, 0.7, 0.58, 0.45];

/** A field that takes pictures from the camera, several one after the other. */
export function picker(label) {
  const chosen = [];
  const shown = h("ul", { class: "pictures" });
  const input = h("input", { id: "f-photo", type: "file", accept: "image/*",
    capture: "environment", multiple: true, on: {
    change: () => {
      for (const file of input.files) add(file);
      input.value = "";
    } } });
  const add = file => {
    const small = made(file);
    const taken = { small };
    const line = h("li", {}, `${chosen.length + 1}. `,
      h("button", { type: "button", class: "quiet", on: { click: () => {
      chosen.splice(chosen.indexOf(taken), 1);
      line.remove();
      input.focus();
    } } }, say("take away")));
    chosen.push(taken);
    shown.append(line);
    small.then(blob => line.prepend(h("span", {}, say("kilobytes", { n: Math.round(blob.size / 1000) }), " ")),
      () => line.prepend(say("no picture"), " "));
  };
  return {
    element: h("div", { class: "field photos" }, input, h("label", { class: "key", for: "f-photo" }, label),
      h("div", { role: "status" }, shown)),
    small: async () => (await Promise.allSettled(chosen.map(one => one.small))).filter(one =>
      one.status === "fulfilled").map(one => one.value),
    count: () => chosen.length,
  };
}

/** @param {Blob} file @returns {Promise<Blob>} a JPEG of about `SMALL` bytes */
export async function made(file) {
  const bitmap = await createImageBitmap(file, { imageOrientation: "from-image" });
  let blob;
  for (let widest = WIDEST; widest > LEAST; widest *= 0.8) { // what is all gravel and leaves is made narrower too
    blob = await drawnAs(bitmap, widest);
    if (blob.size <= SMALL) break;
  }
  bitmap.close();
  return blob;
}

async function drawnAs(bitmap, widest) {
  const share = Math.min(1, widest / Math.max(bitmap.width, bitmap.height));
  const canvas = Object.assign(document.createElement("canvas"), {
    width: Math.max(1, Math.round(bitmap.width * share)), height: Math.max(1, Math.round(bitmap.height * share)) });
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  let blob;
  for (const quality of QUALITIES) {
    blob = await new Promise((resolve, reject) => canvas.toBlob(
      found => (found === null ? reject(new Error("no picture")) : resolve(found)), "image/jpeg", quality));
    if (blob.size <= SMALL) break;
  }
  return blob;
}
