"""The words of the site page, in the language of the telephone: its own, and those in which a verdict is said."""

from __future__ import annotations

from typing import Any

from django.utils import translation
from django.utils.translation import gettext_lazy as _

from dashboard import phrases, written
from dashboard.site.refused import RIGHT

# What the page says, by the name its script calls it. Values in braces are filled in there.
SAYS: dict[str, Any] = {
    "today": _("Today"),
    "late": _("Left over"),
    "coming": _("In the next days"),
    "on this phone": _("On this phone"),
    "all sent": _("all sent"),
    "unsent": _("%(n)s, oldest %(ago)s"),
    "just now": _("just now"),
    "minutes": _("%(n)s min"),
    "hours": _("%(n)s h"),
    "days": _("%(n)s days"),
    "nobody": _("Nobody signed in"),
    "of others": _("Entries of somebody else on this phone: %(n)s. They go when they sign in here."),
    "sign in": _("Sign in"),
    "sign in again": _("Your sign-in has ended. What you enter stays on this phone until you have signed in again."),
    "old entries": _(
        "Some entries have been on this phone for days. Some browsers throw a page's data away after "
        "seven days without a visit: go where there is signal, or keep a copy."),
    "cannot keep": _(
        "This browser keeps nothing for this page, as in a private window. What you enter here would be lost: open the "
        "page in an ordinary window."),
    "little room": _("This phone is nearly full. Photos may not find room; readings need little."),
    "may be thrown away": _(
        "This browser does not promise to keep what it stores: in a private window, or when the phone is "
        "short of room, it may throw it away. Send often, or keep a copy."),
    "older page": _(
        "This page is older than the office wants. What is on this phone stays; load the page again where "
        "there is signal."),
    "newer page": _("A newer page is ready."),
    "load it": _("Load it"),
    "asking": _("Asking the office for your day"),
    "no day yet": _("No day on this phone yet"),
    "sign in first": _("Sign in once with signal; then the page opens without."),
    "no signal yet": _("There is no way to the office from here. Once it was loaded with signal, it opens without."),
    "nothing given": _("No opening is given to your crew for today or the next days."),
    "no trips": _("No return trip is booked for today or the next days. Callbacks are on the office's pages."),
    "go back": _("%(number)s: %(what)s"),
    "called about": _("Called back"),
    "agreed": _("Agreed"),
    "bring": _("Bring"),
    "who calls": _("Who calls"),
    "its page": _("The callback's page"),
    "no turns": _("%(what)s: turns in eighths, such as 1 3/8; with a minus for down."),
    "no amount": _("%(what)s: that cannot be read."),
    "office pages": _("The office's pages"),
    "sign out": _("Sign out"),
    "no way to sign out": _("There is no way to the office just now: you are still signed in. Try again with signal."),
    "next": _("Next: %(what)s"),
    "hang": _("Hang panel %(letter)s, %(mass)s"),
    "call it done": _("%(what)s: done"),
    "before": _("Before: %(what)s"),
    "stand": _("%(n)s of %(all)s checks stand"),
    "state here": _("On this phone"),
    "state there": _("With the office"),
    "state kept": _("Recorded, not advanced"),
    "state refused": _("Not taken in"),
    "kept, not advanced": _("Recorded, not advanced: the office settles it."),
    "panels": _("Panels"),
    "track": _("track %(n)s"),
    "something else of": _("Something else about %(letter)s"),
    "still open": _("Still open"),
    "set aside": _("Set aside"),
    "also": _("At any time"),
    "parts": _("Parts: what came"),
    "read any": _("Take a reading"),
    "photo": _("Photo"),
    "photo of": _("Photo: %(what)s"),
    "photos here": _("Photos of it on this phone: %(n)s"),
    "take a photo": _("Take a photo"),
    "take away": _("Take it away"),
    "kilobytes": _("%(n)s kB"),
    "no picture": _("That is no picture"),
    "no photo yet": _("Take a photo first."),
    "photo lacking": _("Photo still to be taken: the gate waits for it."),
    "photo asked": _("This check asks for a photo. Take it now, or keep the answer and take it before you pack up."),
    "without photo": _("Keep it without the photo"),
    "photos first": _("Before you pack up: of these a photo is still to be taken."),
    "still asked": _("Still asked:"),
    "before you pack up": _("This check asks for a photo before the crew packs up: the gate waits for it."),
    "what it shows": _("What it shows"),
    "about": _("About this opening"),
    "address": _("Where"),
    "way in": _("Way in"),
    "unit": _("Unit"),
    "pocket": _("Pocket"),
    "benchmark": _("Benchmark"),
    "crew": _("Crew"),
    "done already": _("This is not asked any more."),
    "back": _("Back to the opening"),
    "needed": _("%(what)s: this is needed."),
    "disk full": _("This phone is full: it was not kept. Make room, or send what is here first."),
    "not kept": _("It was not kept: %(why)s"),
    "kept": _("Kept on this phone: %(what)s."),
    "none of these": _("none of these"),
    "keep it": _("Keep it"),
    "all of it": _("all of it"),
    "panel of": _("panel %(n)s of %(all)s"),
    "one before": _("One panel back"),
    "one after": _("One panel on"),
    "nothing unsent": _("Everything is with the office."),
    "unsent now": _("On this phone only: %(n)s."),
    "no way to the office": _("No way to the office just now. It goes by itself as soon as there is one."),
    "somebody else is signed in": _(
        "Somebody else is signed in on this phone. These entries go under your own name only: sign in "
        "again."),
    "the office does not answer as it should": _(
        "The office does not answer as it should. Nothing is lost; it is tried again."),
    "the office asks to wait": _("The office asks to wait a moment. It is tried again."),
    "send now": _("Send now"),
    "keep a copy": _("Keep a copy"),
    "about the copy": _(
        "A copy is a file with everything that is not with the office yet; the office can take it in."),
    "and more": _("and %(n)s more"),
    "reasons on the page": _("Why stands on the opening's page."),
    "differs": _("The office judged it otherwise than this phone; what the office says counts."),
    "try again": _("Try again"),
    "seen": _("Seen"),
    "pad": _("How this pad is"),
    "glove size": _("Glove size"),
    "millimetres": _("Millimetres"),
    "thirty-seconds": _("Thirty-seconds"),
    "an inch less": _("An inch less"),
    "an inch more": _("An inch more"),
    "ten less": _("Ten millimetres less"),
    "ten more": _("Ten millimetres more"),
    "as last": _("as last"),
    "line at": _("%(line)s, at %(at)s"),
    "where": _("Where"),
    "not read": _("Not read"),
    "last one": _("Take it: the last one"),
    "took": _("Taken. %(what)s: %(value)s."),
    "skipped": _("Not read: %(what)s."),
    "nothing entered": _("Nothing is entered yet. Not read goes on without it."),
    "taken so far": _("Taken so far: %(n)s"),
    "nothing read": _("Nothing was read."),
    "all asked": _("That is all this sheet asks."),
    "this phone's answer": _("This phone's answer, until the office has the readings."),
    "floor so far": _("Floor so far; readings: %(n)s"),
    "by its mark": _("To an opening or panel by its mark"), "type the tag": _("Tag, job or panel"),
    "go there": _("Go there"), "no such mark": _("No opening of yours has that mark."), "panel": _("panel %(letter)s"),
    "the camera": _("What the camera sees"), "read the code": _("Read the code with the camera"),
    "not of today": _("That code is none of your openings on this phone."),
    "no camera": _("The camera cannot be used. Type the tag."),
    "cannot be read": _("That cannot be right"),
    "broken": _("The page could not be opened"),
}
# In which a verdict is put into sentences on the telephone, as dashboard/words.py does on the pages.
OF_VERDICTS = ("RESULTS", "QUANTITIES", "PLACES", "REMEDIES", "MISSING", "SECOND_LOOKS", "SOURCES", "CAUTIONS", "WHEN")
# Sentences of dashboard/words.py and measures.py that verdict_words.js and measures.js say too.
SENTENCES = (
    _("panel %s"), _(" days"), _("yes"), _("no"), _("not known"), _("just over %s"), _("just under %s"),
    _("no limit set"), _("at least %s"), _("at most %s"), _("%s in hand"), _("%s short"), _("%s over"),
    _("between %(a)s and %(b)s"), _("lowest at %(at)s%(line)s"), _("highest at %(at)s%(line)s"), _("%s high"),
    _("least at %(a)s, most at %(b)s"), _("at %s"), _("at the %s"), _("roller %s"), _("top leans %s"),
    _("wider at the %s"), _("head slid %s"), _("Measure the gap."), _("%s: leave it"),
    _("%(roller)s %(way)s %(turns)s turns (%(by)s)"), _("up"), _("down"), _("less than 0.1 mm"),
    _('less than 1/64"'),
)


def words_told() -> dict[str, Any]:
    told: dict[str, Any] = {name.lower(): _said(getattr(phrases, name)) for name in OF_VERDICTS}
    told["cautions"][""] = str(phrases.GLASS_CAUTION)  # of what has none of its own
    return {**told, "sentences": _by_the_english(*SENTENCES, *RIGHT), "says": _said(SAYS),
            "written": written.told()}


def _by_the_english(*sentences: Any) -> dict[str, str]:
    """What is the same in this language need not be told."""
    with translation.override(None):
        english = [str(sentence) for sentence in sentences]
    return {one: said for one, said in zip(english, map(str, sentences), strict=True) if one != said}


def _said(words: Any) -> dict[str, str]:
    return {code: str(said) for code, said in words.items()}
