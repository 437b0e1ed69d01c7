/* The page looks after itself: it keeps itself on the phone, asks that nothing be thrown away, and takes up a newer one
   only when nothing is being typed. */

const ROOM = 50_000_000; // bytes; with less left, photos may not find room

export async function lookAfterItself(app, address) {
  if (!("serviceWorker" in navigator)) return;
  const hadOne = navigator.serviceWorker.controller !== null;
  const registration = await registered(address);
  if (registration === null) return;
  let pressed = false;
  const found = () => {
    if (registration.waiting === null || !hadOne) return;
    if (!app.busy) takeOver();
    else isReady();
  };
  const takeOver = () => registration.waiting.postMessage("take over");
  const isReady = () => {
    app.newer = true;
    app.show();
  };
  const coming = () => {
    const worker = registration.installing;
    worker?.addEventListener("statechange", () => worker.state === "installed" && found());
  };
  registration.addEventListener("updatefound", coming);
  coming(); // a browser looks for a newer one as soon as the page is asked for: it may be on its way already
  found();
  app.takeOver = () => {
    pressed = true;
    if (registration.waiting === null) location.reload();
    else takeOver();
  };
  // It may come late, and because of another page of this phone: what is typed here meanwhile is not renewed under it.
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (!hadOne) return;
    if (pressed || !app.busy) location.reload();
    else isReady();
  });
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

/** Asks the browser to throw nothing away, and looks what it says of the disk. */
export async function askToStay(app) {
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
