"""The site page to measure: in a browser, with a processor six times slower, and what goes over the wire."""

from __future__ import annotations

import http.client
import json
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from importlib.util import find_spec
from statistics import median
from typing import TYPE_CHECKING, Any

from django.test import Client

from dashboard.benching.timing import served
from jobs.models import AccessToken, User
from jobs.models.base import new_id

if TYPE_CHECKING:
    from playwright.sync_api import Page

Line = tuple[str, str, float, str, float]
SLOWER, FRAMES, FRAME = 6, 3, 1000 / 60  # ms
FIRST, SECOND = 80, 3  # kB over the wire, the aims
DAY, ROUNDS = 400, 5  # entries, and how often they are sent
LOOK = 0.005  # s
BROWSER = shutil.which("chromium-headless-shell") or shutil.which("chromium")
# From the moment somebody lets go of it until it is on the disk, and until the page has said so and drawn it.
TAPPED = """said => { window.written = window.told = null; addEventListener('click', ({ timeStamp }) => {
  const since = () => performance.now() - timeStamp, real = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (...given) {
    const made = real.apply(this, given);
    if (given[1] === 'readwrite' && given[0].includes('entries')) {
      IDBDatabase.prototype.transaction = real;
      made.addEventListener('complete', () => { window.written = since(); });
    }
    return made;
  };
  const look = () => (said === null || location.hash === said
    ? requestAnimationFrame(() => { window.told = since(); }) : setTimeout(look));
  look();
}, { capture: true, once: true }); }"""
UNTIL_JUDGED = """() => { window.taken = []; addEventListener('keydown', ({ key, timeStamp }) => key === 'Enter'
  && setTimeout(() => requestAnimationFrame(() => window.taken.push(performance.now() - timeStamp))), true); }"""
OUTBOX = "async () => { window.outbox = await import('/static/dashboard/site/outbox.js'); }"
KEEP = """async ([person, opening, count]) => {
  for (let n = 0; n < count; n += 1) {
    await window.outbox.keep([{ person, opening, said: 'Gap', body: { entry: 'inspection', opening,
      data: { kind: 'last-panel-gap', given: { unit: 'in', gap: '18' } } } }]);
  } }"""
LEFT = "async person => (await window.outbox.unsent(person)).count"


def site_page() -> Iterator[Line]:
    """Visits, a tap, a verdict, a day's outbox; on the demo's data, as the first of its leads."""
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 (the product itself does not need it)

    person = User.objects.filter(role="lead").order_by("pk").first()
    token = AccessToken.objects.create(user=person, name="bench")[1]
    client = Client()
    client.force_login(person)
    with served("dashboard.wsgi") as port, _counted(port) as (relay, sent), sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=BROWSER, args=["--no-sandbox", "--disable-gpu"])
        context = browser.new_context(viewport={"width": 390, "height": 800})
        base = f"http://127.0.0.1:{relay}"
        context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": base}])
        page = context.new_page()
        for what, aim in (("first", FIRST), ("second", SECOND)):
            sent[0] = 0
            _visit(page, base)
            yield f"the site page, its {what} visit", "kB", sent[0] / 1000, "the aim", aim
        opening = int(page.evaluate("document.querySelector('.stop .where').hash.split('/').at(-1)"))
        slow = context.new_cdp_session(page)
        slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        beside = f"an empty handler and {FRAMES} frames"
        empty = _nothing(page) + FRAMES * FRAME
        for what, tapped in zip(("written", "said and drawn"), _kept(page, opening), strict=True):
            yield f"from a tap to {what}, processor {SLOWER} times slower", "ms", tapped, beside, empty
        judged = _judged(page, opening)
        yield f"from the last reading to the verdict, {SLOWER} times slower", "ms", judged, beside, empty
        slow.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        rounds = [(_outbox(page, person.pk, opening), _batch(relay, token, opening)) for _ in range(ROUNDS)]
        phone, script = (median(taken) for taken in zip(*rounds, strict=True))
        yield f"a day's outbox of {DAY} entries, sent", "ms", phone, "one batch of them by a script", script
        browser.close()


def missing() -> str:
    """What is not installed that this takes."""
    if find_spec("playwright") is None:
        return "tests/requirements.txt"
    return "" if BROWSER else "Chromium"


@contextmanager
def _counted(port: int) -> Iterator[tuple[int, list[int]]]:
    """A line to that port that counts every byte the server sends, head and body; its own port, and the count."""
    sent = [0]

    def pass_on(source: socket.socket, target: socket.socket, counts: bool) -> None:
        with suppress(OSError):
            while data := source.recv(65536):
                sent[0] += len(data) if counts else 0
                target.sendall(data)
        with suppress(OSError):
            target.shutdown(socket.SHUT_WR)

    def answer() -> None:
        with suppress(OSError):
            while True:
                near, _ = line.accept()
                far = socket.create_connection(("127.0.0.1", port))
                threading.Thread(target=pass_on, args=(near, far, False), daemon=True).start()
                threading.Thread(target=pass_on, args=(far, near, True), daemon=True).start()

    with closing(socket.create_server(("127.0.0.1", 0))) as line:
        threading.Thread(target=answer, daemon=True).start()
        yield line.getsockname()[1], sent


def _visit(page: Page, base: str) -> None:
    page.goto("about:blank")
    page.goto(f"{base}/site/")
    page.wait_for_selector(".stop")
    page.evaluate("async () => { await navigator.serviceWorker.ready; }")
    page.wait_for_load_state("networkidle")


def _nothing(page: Page) -> float:
    page.evaluate("""() => { const key = document.createElement('button'); key.id = 'nothing';
      key.addEventListener('click', () => {}); document.body.append(key); }""")
    return median(_tapped(page, "#nothing", None)[1] for _ in range(7))


def _tapped(page: Page, what: str, said: str | None) -> tuple[float | None, float]:
    page.evaluate(TAPPED, said)
    page.locator(what).click()
    page.wait_for_function("() => window.told !== null")
    return page.evaluate("() => window.written"), page.evaluate("() => window.told")


def _kept(page: Page, opening: int) -> tuple[float, float]:
    """Until it is written, and until the opening stands there again and says so."""
    taken = []
    for _ in range(7):
        _go(page, f"#/opening/{opening}/act/hours")
        page.fill("#main input[inputmode=decimal]", "1")
        taken.append(_tapped(page, "#main button.main", f"#/opening/{opening}"))
    return median(written for written, _ in taken), median(told for _, told in taken)


def _judged(page: Page, opening: int) -> float:
    """The median of the last readings of a floor; each is judged with all that were read before."""
    _go(page, f"#/opening/{opening}/sheet/floor-profile")
    page.wait_for_selector(".step :is(input, button)")
    page.evaluate(UNTIL_JUDGED)
    while not page.locator("#no-more").count():
        if page.locator("#reading, #f-step").count():
            page.keyboard.type("4")
            page.keyboard.press("Enter")
        else:
            page.locator(".step fieldset button").first.click()
    return median(page.evaluate("() => window.taken.slice(-7)"))


def _outbox(page: Page, person: int, opening: int) -> float:
    page.reload()  # with the day as it is by now: what others entered since is asked for by itself
    page.wait_for_selector("h1")
    page.wait_for_load_state("networkidle")
    page.evaluate(OUTBOX)
    page.context.set_offline(True)
    page.evaluate(KEEP, [person, opening, DAY])
    before = time.perf_counter()  # the browser says by itself that there is a way again
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    while page.evaluate(LEFT, person):
        time.sleep(LOOK)  # to look at it all the time would hold up what is looked at
    return (time.perf_counter() - before) * 1000


def _batch(port: int, token: str, opening: int) -> float:
    data = {"kind": "last-panel-gap", "given": {"unit": "in", "gap": "18"}}
    body = json.dumps({"entries": [{"id": str(new_id()), "entry": "inspection", "opening": opening, "data": data}
                                   for _ in range(DAY)]})
    headers: dict[str, Any] = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    before = time.perf_counter()
    line.request("POST", "/api/v1/site-entries/", body, headers)
    told = json.loads(line.getresponse().read())
    taken = (time.perf_counter() - before) * 1000
    if any(one["result"] != "stored" for one in told["results"]):
        raise RuntimeError(told["results"][0])
    return taken


def _go(page: Page, at: str) -> None:
    page.evaluate("at => { location.hash = at; }", at)
    page.wait_for_function("at => document.body.dataset.shown === at", arg=at)
