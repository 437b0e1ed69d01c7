"""The site page for whoever has no pointer, does not see it, or wears a glove."""

import pytest

from dashboard.forms.sheets import SHEETS
from inspections.models import Confirmation, Inspection, Photo
from jobs.models import Opening, TimeReport
from jobs.stages import Stage
from tests.phone import Phone, phone_of
from tests.pictures import jpeg
from tests.visits import site_today
from units.models import Unit

pytestmark = pytest.mark.django_db(transaction=True)
SUPPORTED = "Sill supported on its bed all along, sealant unbroken"
AT_AN_OPENING = "() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)"
APART, MAIN = 12, 72  # px: what is pressed most is no smaller, and nothing else is hit so near to it
TOO_NEAR = """([apart, least]) => {
  const wrong = [], keys = 'a, button, summary, label, input, select';
  for (const main of document.querySelectorAll('main .main')) {
    main.scrollIntoView({ block: 'center' });
    const { left, right, top, bottom, height } = main.getBoundingClientRect();
    if (height < least) wrong.push(`${main.textContent} is ${height} high`);
    const beside = [0.1, 0.3, 0.5, 0.7, 0.9].flatMap(n => [top - apart + 1, bottom + apart - 1].map(
      y => [left + n * (right - left), y]));
    for (const [x, y] of beside) {
      const hit = document.elementFromPoint(x, y)?.closest(keys);
      if (hit) wrong.push(`${hit.textContent} beside ${main.textContent}`);
    }
  }
  return wrong;
}"""


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


class Heard:
    """What a screen reader says of where the focus is. Keys are pressed there; there is no pointer."""

    def __init__(self, phone: Phone) -> None:
        self.page = phone.page
        self.line = phone.page.context.new_cdp_session(phone.page)

    @property
    def now(self) -> tuple[str, str, str]:
        """Role, name and description of what has the focus; before the description that of the group it is in."""
        for _ in range(50):
            at = self.line.send("Runtime.evaluate", {"expression": "document.activeElement"})["result"]["objectId"]
            it, *around = self.line.send("Accessibility.getPartialAXTree", {"objectId": at})["nodes"]
            if _of(it, "role") != "none":
                break
            self.page.wait_for_timeout(20)  # the view is renewed just now, and gives the focus back
        groups = [one for one in around if _of(one, "role") == "group"]
        return _of(it, "role"), _of(it, "name"), " ".join(_of(one, "description") for one in (*groups, it)).strip()

    def tab_to(self, name: str) -> None:
        first = None
        for n in range(120):
            here = self.now
            if here[1] == name:
                return
            if n and here == first:
                break
            first = first or here
            self.page.keyboard.press("Tab")
        pytest.fail(f"{name!r} is not reached by Tab; the last heard was {here}")

    def enter(self, name: str) -> None:
        self.tab_to(name)
        self.page.keyboard.press("Enter")

    def type(self, name: str, typed: str) -> None:
        self.tab_to(name)
        self.page.keyboard.type(typed)

    def go(self, name: str, title: str) -> None:
        """By a link, to a view whose title is then told: what is heard there begins with it."""
        self.enter(name)
        self.page.wait_for_function("title => document.title.startsWith(title)", arg=title)
        self.page.wait_for_function("() => document.querySelector('main').contains(document.activeElement)")
        self.page.wait_for_function("""() => document.querySelector('.sheet') === null
          || document.activeElement.closest('.step') !== null""")  # a sheet goes on to its first reading
        role, name, description = self.now
        assert (name if role == "heading" else description).startswith(title)

    def kept(self, name: str, said: str) -> None:
        """By the key that keeps an entry, back to the opening, where it is said."""
        self.enter(name)
        self.page.wait_for_function(AT_AN_OPENING)
        self.page.get_by_role("status").filter(has_text=f"Kept on this phone: {said}").wait_for()

    def take_photo(self, name: str) -> None:
        self.tab_to(name)
        assert self.now[0] == "button"
        camera = self.page.evaluate_handle("document.activeElement").as_element()
        camera.set_input_files({"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg()})
        self.page.get_by_role("button", name="Take it away").wait_for()


def _of(said, part):
    return said.get(part, {}).get("value", "")


@pytest.fixture
def phone(browser, live_server):
    """A lead's, with an opening whose frame is to be set."""
    site = site_today(Stage.OPENING_VERIFIED)
    with phone_of(browser, live_server.url, site.lead) as held:
        held.site = site
        held.heard = Heard(held)
        yield held
        assert held.page.complaints == []


def test_a_whole_day_is_done_by_keyboard(phone):
    site, keys, opening = phone.site, phone.heard, phone.site.opening
    site.evidence(Stage.FRAME_SET, without=("sill-supported",))
    phone.open()
    phone.page.wait_for_selector(".stop")
    keys.go("Next: " + SUPPORTED, SUPPORTED)
    keys.tab_to("yes")
    phone.page.keyboard.press("Space")
    keys.take_photo("Photo")
    keys.kept("Record it", SUPPORTED)
    keys.go("Report hours", "Report hours")
    keys.type("Person-hours", "6.5")
    keys.kept("Report", "Report hours")
    keys.enter("Take a reading")
    keys.go("Gap for the last panel", "Gap for the last panel")
    phone.page.keyboard.type("18 1/4")
    phone.page.keyboard.press("Enter")
    keys.kept("Keep it", "Gap for the last panel")
    keys.go("Frame set: done", "Frame set")
    keys.kept("Done", "Frame set")
    keys.go("A: Received", "A, 399 lb")
    keys.kept("Received", "A, 399 lb")
    phone.wait_until_sent()
    supported = Confirmation.objects.get(check_code="sill-supported")
    assert Photo.objects.get(check_code="sill-supported").about_id == str(supported.pk)
    assert Inspection.objects.latest("server_time").given["gap"] == "18 1/4"
    assert [report.minutes for report in TimeReport.objects.all()] == [390]
    assert Opening.objects.get().stage == Stage.FRAME_SET and site.panel("A").state == "received"
    phone.page.keyboard.press("Alt+ArrowLeft")
    keys.enter(f"\u2190 TODAY {opening.job.number} · {opening.tag}")
    phone.page.wait_for_selector(".stop")
    keys.enter("Sign out")
    phone.page.wait_for_selector("text=Sign in")


READ = {"Outer line": "0", "Inner line": "0", "Head, at": "108", "over a height of": "108", "Lock jamb": "0",
        "Pocket interlock": "0", "Gap at the ends of the sill": "1/2", "Head over sill": "0"}  # inches


def test_the_frame_gate_is_passed_by_what_is_heard_alone(phone):
    """Whoever does not see the page finds everything by its name, and is told what came of it."""
    keys, page, site = phone.heard, phone.page, phone.site
    Unit.objects.update(roller_spacing=1_260_000_000)
    tag = f"{site.opening.job.number} · {site.opening.tag}"
    phone.open()
    page.wait_for_selector(".stop")
    title = site.opening.job.title
    keys.go(f"{tag} {title}", f"{tag}: {title}")
    assert page.get_by_role("heading", name="Before: Frame set", exact=True).count()
    keys.go("Sill level lengthwise", "Frame, as set")
    assert "The maker's instructions" in keys.now[2], "the caution is heard before anything is lifted"
    page.keyboard.press("Enter")
    about = ""
    while (heard := keys.now)[0] == "textbox":
        _, asked, besides = heard
        about = besides or about  # said where it changes
        page.keyboard.type(next(read for what, read in READ.items() if what in asked or what.upper() in about.upper()))
        page.keyboard.press("Enter")
        assert status(page, f"Taken. {asked}: "), "what was taken is read back"
    assert heard[1] == "That is all this sheet asks."
    assert status(page, "Within every limit")
    keys.kept("Keep it", "Frame, as set")
    for check in ("Splices and fastener holes sealed", "What was set aside is listed", SUPPORTED):
        keys.go(check, check)
        keys.tab_to("yes")
        page.keyboard.press("Space")
        if check == SUPPORTED:
            keys.take_photo("Photo")
        keys.kept("Record it", check)
    keys.go("Frame set: done", "Frame set")
    keys.kept("Done", "Frame set")
    phone.wait_until_sent()
    assert Opening.objects.get().stage == Stage.FRAME_SET


def status(page, said):
    return page.get_by_role("status").filter(has_text=said).count()


@pytest.mark.parametrize("glove", [False, True])
def test_no_main_key_is_small_or_has_another_near(phone, glove):
    """Where a thumb in a glove lands beside it, nothing happens."""
    opening, panel = phone.site.opening.pk, phone.site.panel("A").pk
    phone.open()
    phone.page.wait_for_selector(".stop")
    wrong = {}
    keys = [sheet.key for sheet in SHEETS.values()]
    views = ["#/", "#/outbox", "#/mark", *(f"#/opening/{opening}{rest}" for rest in (
        "", "/photo", "/act/check%20sill-supported%20", "/act/item", "/act/hours", f"/act/panel%20{panel}",
        *(f"/sheet/{key}" for key in keys)))]
    for view in views:
        phone.page.evaluate("at => { location.hash = at; }", view)
        phone.page.wait_for_function("at => document.body.dataset.shown === at", arg=view)
        phone.page.evaluate("glove => document.documentElement.classList.toggle('glove', glove)", glove)
        if found := phone.page.evaluate(TOO_NEAR, [APART, MAIN]):
            wrong[view] = found
    assert wrong == {}
