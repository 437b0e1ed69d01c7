{% autoescape off %}{% if module %}import {{ behind }} from {{ sending }};
{% endif %}/* Keeps the site page on this telephone, file by file, under one version; the day and what is sent are the page's own. */

const VERSION = {{ version }};
const KEPT = `sillbook-site-${VERSION}`;
const FILES = {{ files }};
const PAGE = {{ page }};
const NAMED = /\.[0-9a-f]{12}\.[a-z0-9]+$/; // by what is in it: whatever the browser has of it is the same

self.addEventListener("install", event => event.waitUntil(keepAll()));
self.addEventListener("activate", event => event.waitUntil(forgetOthers()));
self.addEventListener("message", event => {
  if (event.data === "take over") self.skipWaiting(); // the page asks when nothing is being typed
});

/** All or nothing: a page with half of its files would be worse than the one before. Files that carry their content in
    their name may come from the version before. */
async function keepAll() {
  const cache = await caches.open(KEPT);
  await Promise.all(FILES.map(async file => {
    const had = file.startsWith(PAGE) ? undefined : await caches.match(file);
    const answer = had ?? await fetch(file, {
      cache: NAMED.test(file) ? "default" : "no-cache", credentials: "same-origin" });
    if (!answer.ok || answer.redirected) throw new Error(`${file}: ${answer.status}`);
    await cache.put(file, answer);
  }));
}

async function forgetOthers() {
  const names = await caches.keys();
  await Promise.all(names.filter(name => name.startsWith("sillbook-site-") && name !== KEPT).map(name => caches.delete(name)));
  await self.clients.claim();
}

self.addEventListener("fetch", event => {
  const { request } = event;
  const at = new URL(request.url);
  if (request.method !== "GET" || at.origin !== self.location.origin) return;
  const wanted = request.mode === "navigate" && at.pathname === PAGE ? PAGE : at.pathname;
  if (FILES.includes(wanted)) event.respondWith(kept(wanted, request));
});

async function kept(wanted, request) {
  const cache = await caches.open(KEPT);
  return await cache.match(wanted, { ignoreVary: true }) ?? fetch(request);
}
{% if module %}
// Where a browser has it, the outbox goes also while no page is open.
self.addEventListener("sync", event => {
  if (event.tag === "outbox") event.waitUntil(behind.sendBehind());
});
{% endif %}{% endautoescape %}
