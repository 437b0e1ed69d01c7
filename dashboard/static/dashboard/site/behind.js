/* Sends the outbox while no page is open, where a browser wakes us for it. A page, when there is one, does it
   itself. */

import { sendAll } from "./sending.js";
import { noted } from "./store.js";

export async function sendBehind() {
  const person = await noted("person");
  if (person === undefined) return;
  const { held, sent } = await sendAll({ person, token });
  if (sent > 0) new BroadcastChannel("sillbook-sent").postMessage(sent); // a page that is open shows it
  if (held !== "") throw new Error(held); // then the browser tries again by itself
}

async function token() {
  const cookie = await self.cookieStore?.get("csrftoken");
  return cookie?.value ?? "";
}
