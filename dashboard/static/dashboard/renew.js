/* A page that stays open takes up what has happened, and stays where it is.
   It asks with the mark of what it shows; while that is still so, nothing is sent. Otherwise only what differs is put
   right, in place: what has the focus, what is selected and how far one has scrolled stay as they are. */

const EVERY = 60_000; // ms
const HELD = new Set(["open", "value", "checked"]); // what whoever reads has changed stays so

export async function renew(root) {
  const answer = await fetch(location.href, {
    cache: "no-store", credentials: "same-origin", headers: { "If-None-Match": root.dataset.mark } });
  root.dataset.asked = String(Number(root.dataset.asked ?? 0) + 1);
  if (answer.status === 304) return false;
  if (answer.redirected) location.reload(); // signed out meanwhile
  if (!answer.ok || answer.redirected) return false;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById(root.id);
  if (fresh === null) return false;
  fresh.dataset.asked = root.dataset.asked;
  staying(root, () => take(root, document.importNode(fresh, true)));
  return true;
}

/* What is read stays under the eye: whatever grew or went above it is scrolled away. */
function staying(root, change) {
  const focused = root.contains(document.activeElement) ? document.activeElement : null;
  const held = focused && inSight(focused) ? focused : firstInSight(root);
  const before = held?.getBoundingClientRect().top;
  change();
  if (held?.isConnected) window.scrollBy({ top: held.getBoundingClientRect().top - before, behavior: "instant" });
  if (focused && !focused.isConnected) again(root, focused)?.focus({ preventScroll: true });
}

function inSight(element) {
  const box = element.getBoundingClientRect();
  return box.bottom > 0 && box.top < window.innerHeight;
}

function firstInSight(root) {
  return window.scrollY > 0 ? [...root.querySelectorAll("[id]")].find(inSight) : null;
}

function again(root, gone) {
  const same = gone.getAttribute("href");
  return same === null ? null : [...root.querySelectorAll("a")].find(a => a.getAttribute("href") === same);
}

/* Makes `old` like `fresh`, leaving alone whatever is alike. */
function take(old, fresh) {
  if (old.isEqualNode(fresh)) return;
  if (old.nodeType !== Node.ELEMENT_NODE) {
    old.nodeValue = fresh.nodeValue;
    return;
  }
  for (const { name } of [...old.attributes]) {
    if (!HELD.has(name) && !fresh.hasAttribute(name)) old.removeAttribute(name);
  }
  for (const { name, value } of [...fresh.attributes]) {
    if (!HELD.has(name) && old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  takeChildren(old, fresh);
}

function takeChildren(old, fresh) {
  const staying = new Map([...old.children].filter(e => e.id).map(e => [e.id, e]));
  let at = old.firstChild;
  for (const child of [...fresh.childNodes]) {
    const mine = child.id ? staying.get(child.id) : at;
    if (mine && mine.nodeName === child.nodeName && (mine.id ?? "") === (child.id ?? "")) {
      // what stands between is gone, or comes later by its own name
      while (at && at !== mine && !wanted(at, fresh)) at = drop(at);
      if (at === mine) at = at.nextSibling;
      else old.insertBefore(mine, at);
      take(mine, child);
    } else {
      old.insertBefore(child, at);
    }
  }
  while (at) at = drop(at);
}

function wanted(node, fresh) {
  return node.id && [...fresh.children].some(e => e.id === node.id);
}

function drop(node) {
  const after = node.nextSibling;
  node.remove();
  return after;
}

function keepRenewing(root) {
  let asking = false;
  const ask = async () => {
    if (asking || document.hidden) return;
    asking = true;
    try {
      await renew(root);
      delete root.dataset.cut;
    } catch {
      root.dataset.cut = ""; // said on the page: what stands there may be old
    } finally {
      asking = false;
    }
  };
  document.documentElement.style.overflowAnchor = "none"; // we hold it ourselves, in every browser alike
  setInterval(ask, EVERY);
  document.addEventListener("visibilitychange", ask);
  root.addEventListener("renew", ask);
}

const root = document.querySelector("[data-mark]");
if (root) keepRenewing(root);
