/* The page looks after itself: it keeps itself on the phone, asks that nothing be thrown away, and takes up a newer one
   only when nothing is being typed. */

const ROOM = 50_000_000; // bytes; with less left, photos may not find room

export function lookAfterItself(app, worker) {
  askToStay(app);
  app.takeOver = () => waiting?.postMessage("take over");
  register(app, worker);
}

let waiting = null;

async function register(app, address) {
  if (!("serviceWorker" in navigator)) return;
  const hadOne = navigator.serviceWorker.controller !== null;
  const registration = await registered(address);
  if (registration === null) return;
  const found = () => {
    waiting = registration.waiting;
    if (waiting === null || !hadOne) return;
    if (!app.busy) waiting.postMessage("take over"); // nobody is typing
    else {
      app.newer = true;
      app.show();
    }
  };
  found();
  registration.addEventListener("updatefound", () => {
    const coming = registration.installing;
    coming?.addEventListener("statechange", () => coming.state === "installed" && found());
  });
  if (hadOne) navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
  document.addEventListener("visibilitychange", () => document.hidden || registration.update().catch(() => {}));
}

/** As a module it may send while no page is open; a browser that cannot do that keeps the page all the same. */
async function registered(address) {
  for (const [url, how] of [[`${address}?module`, { type: "module" }], [address, {}]]) {
    try {
      return await navigator.serviceWorker.register(url, how);
    } catch {
      // the next way
    }
  }
  return null;
}

let stays = true;

async function askToStay(app) {
  const { storage } = navigator;
  if (storage?.persist === undefined) return;
  stays = await storage.persisted() || await storage.persist();
  await lookAtRoom(app);
}

/** What is to be said of this phone's disk, before anything finds no room on it. */
export async function lookAtRoom(app) {
  if (navigator.storage?.estimate === undefined || app.disk === "cannot keep") return;
  const { quota = Infinity, usage = 0 } = await navigator.storage.estimate();
  const disk = quota - usage < ROOM ? "little room" : stays ? "" : "may be thrown away";
  if (disk === app.disk) return;
  app.disk = disk;
  app.show();
}
