"""A day on site on the site page, tap by tap; and what is compared after each: what the page said it had kept, what the
telephone shows, and what the office has."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from django.utils import timezone
from playwright.sync_api import Browser

from inspections.models import Confirmation, Inspection, Photo, PunchItem, SetAsidePart
from jobs.models import Event, StageChange, User, Wait
from tests.line import Line
from tests.phone import Phone, signed_in, with_own_disk
from tests.pictures import jpeg
from tests.site import Site
from tests.visits import on_the_crew
from units.models import PanelChange

# The records that take the id of their entry, and the rows that an entry only ends.
MADE = {"inspection": Inspection, "confirmation": Confirmation, "photo": Photo, "part-set-aside": SetAsidePart,
        "wait": Wait, "punch-item": PunchItem, "event": Event, "stage-change": StageChange, "panel-change": PanelChange}
ENDED = {"part-put-back": (SetAsidePart, "back_at"), "wait-cleared": (Wait, "cleared_at"),
         "punch-item-closed": (PunchItem, "closed_at")}
WITH_THE_OFFICE = {"with the office", "recorded, not advanced"}
ON_THE_OPENING = "() => /^#.opening.[0-9]+$/.test(document.body.dataset.shown)"

Entering = Callable[[Phone, Site], None]


@dataclass(frozen=True)
class Step:
    """One thing done on site: what is entered, the last tap, and the entries that come of it."""

    name: str
    enter: Entering
    tap: str
    makes: tuple[str, ...]


def at(*parts: str, **fields: str) -> Entering:
    """Goes there and fills in the fields, by their labels."""
    def enter(phone: Phone, site: Site) -> None:
        phone.go(site.opening.pk, *parts)
        fill(phone, fields)
    return enter


def behind(link: str | re.Pattern, **fields: str) -> Entering:
    """By a link of the opening's own view: it is there once the office's day has what it is about."""
    def enter(phone: Phone, site: Site) -> None:
        phone.go(site.opening.pk)
        phone.page.get_by_role("link", name=link, exact=True).first.click()
        phone.page.wait_for_selector("main form")
        fill(phone, fields)
    return enter


def fill(phone: Phone, fields: dict[str, str]) -> None:
    """By label; where nothing is given, the first of its keys is taken."""
    for label, value in fields.items():
        name = label.replace("_", " ")
        if value == "":
            phone.page.get_by_role("group", name=name).locator("label").first.click()
            continue
        found = phone.page.get_by_label(name, exact=True)
        put_in = found.select_option if name == "Who owes it" else found.fill
        put_in(value)


def read_gap(phone: Phone, site: Site) -> None:
    phone.go(site.opening.pk, "sheet", "last-panel-gap")
    phone.page.locator("#reading, main button.main").first.wait_for()
    if phone.page.locator("#reading").count():  # else it was entered, and the page killed before it was kept
        phone.page.fill("#reading", "18")
        phone.page.press("#reading", "Enter")


def with_picture(enter: Entering) -> Entering:
    def entered(phone: Phone, site: Site) -> None:
        enter(phone, site)
        phone.page.set_input_files("#f-photo", {"name": "x.jpg", "mimeType": "image/jpeg", "buffer": jpeg()})
        phone.page.wait_for_selector(".pictures li span")
    return entered


TOMORROW = (timezone.now() + dt.timedelta(days=1)).date().isoformat()

STEPS = (
    Step("a gap is read", read_gap, "Keep it", ("inspection",)),
    Step("a part is set aside", at("act", "aside", Part="Track cover"), "Set aside", ("part-set-aside",)),
    Step("the part is put back", behind("Back in place"), "Back in place", ("part-put-back",)),
    Step("a photo is taken", with_picture(at("photo")), "Keep it", ("photo",)),
    Step("a wait is raised", at("act", "wait", What_for="The electrician", Who_owes_it="builder"), "Raise the wait",
         ("wait",)),
    Step("the wait is cleared", behind("Clear it", How_it_was_cleared="Came"), "Clear it", ("wait-cleared",)),
    Step("something is confirmed, with its photo", with_picture(at("act", "check sill-supported ", What_you_saw="")),
         "Record it", ("confirmation", "photo")),
    Step("a punch item is raised", at("act", "item", What_is_left_to_put_right="Scratch", Whose="", By_when=TOMORROW),
         "Raise the item", ("punch-item",)),
    Step("the punch item is closed", behind("Close it", How_it_was_put_right="Polished"), "Close it",
         ("punch-item-closed",)),
    Step("something happens", at("act", "event", What_happened=""), "Note it", ("event",)),
    Step("a stage is done", at("act", "gate frame set"), "Done", ("stage-change",)),
    Step("a panel is received", behind(re.compile(": Received$")), "Received", ("panel-change",)),
)


@dataclass
class Day:
    """A telephone with a disk of its own, from the morning on. `acknowledged`: what its page said it had kept."""

    browser: Browser
    base: str
    folder: Path
    site: Site
    line: Line
    acknowledged: Counter = field(default_factory=Counter)
    before: dict[str, set] = field(default_factory=lambda: {name: ids_of(name) for name in MADE})
    held: ExitStack = field(default_factory=ExitStack)
    phone: Phone | None = None
    seen: set = field(default_factory=set)
    elsewhere: list = field(default_factory=list)  # what another phone of the same person shows
    versions: int = 0
    is_killed: bool = False
    killed: int = 0

    @cached_property
    def other(self) -> User:
        return on_the_crew(self.site, "installer")

    def switch_on(self) -> None:
        cookie = signed_in(self.site.lead, self.base)
        self.phone = self.held.enter_context(with_own_disk(self.browser, self.folder, self.base, cookie))
        self.open()

    def open(self) -> None:
        self.phone.open()
        self.phone.page.wait_for_selector(".stop")

    def kill(self) -> None:
        """The browser, without a word to the page."""
        self.held.close()
        self.killed += 1

    def comes_back(self) -> None:
        """The page is opened anew; on a day on which the browser is killed, after that."""
        if self.is_killed:
            self.kill()
            self.switch_on()
        else:
            self.open()

    @property
    def page(self) -> Any:
        return self.phone.page

    def does(self, step: Step) -> None:
        self.enters(step)
        self.taps(step)

    def enters(self, step: Step) -> None:
        step.enter(self.phone, self.site)

    def taps(self, step: Step) -> None:
        self.phone.press(step.tap, exact=True)
        self.is_told(step)

    def is_told(self, step: Step) -> None:
        self.page.wait_for_function(ON_THE_OPENING)
        self.acknowledged.update(step.makes)

    def has_signal(self) -> None:
        self.page.evaluate("() => { dispatchEvent(new Event('online')); }")


def kind(entry: dict[str, Any]) -> str:
    return entry["body"].get("entry", "photo")


def ids_of(name: str) -> set:
    return set(MADE[name].objects.values_list("pk", flat=True))


def made_since(before: dict[str, set]) -> list[str]:
    """The ids of all that the office has since, in their order."""
    return sorted(str(new) for name in MADE for new in ids_of(name) - before[name])


def counted_since(before: dict[str, set]) -> Counter:
    """How many of each the office has since; of those it had before, what came to an end."""
    made = {name: len(ids_of(name) - before[name]) for name in MADE}
    ended = {name: model.objects.exclude(**{when: None}).count() for name, (model, when) in ENDED.items()}
    return +Counter({**made, **ended})
