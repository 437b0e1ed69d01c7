"""What a telephone keeps of the site page itself, so that it opens without signal; and which version that is."""

from __future__ import annotations

import hashlib
import json
from functools import cache, lru_cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.storage import staticfiles_storage
from django.template.loader import get_template
from django.templatetags.static import static
from django.utils.translation import get_language

from dashboard.site.words import words_told
from dashboard.static_files import BEHIND, PAGE, ROOMS, SITE
from dashboard.written import written_as

STATIC = Path(__file__).resolve().parent.parent / "static"


def page() -> str:
    """The script of the page, by the name it has among the static files."""
    return SITE if _is_joined() else PAGE


def behind() -> tuple[str, str]:
    """What goes while no page is open: what a script imports of which one, as it stands in front of the latter."""
    return ("{ behind }", SITE) if _is_joined() else ("* as behind", BEHIND)


def scripts() -> tuple[str, ...]:
    """All that it runs; while it is worked on, its modules as they are written."""
    return (SITE,) if _is_joined() else _modules()


def _is_joined() -> bool:
    return getattr(staticfiles_storage, "joins", False)


@cache
def _modules() -> tuple[str, ...]:
    return tuple(sorted(f"{room}{path.name}" for room in ROOMS for path in (STATIC / room).glob("*.js")))


def files() -> list[str]:
    """The addresses of all that the page is made of, but for the page itself. Its icons are the browser's, which asks
    for them when somebody puts the page among the telephone's programs."""
    return [static(name) for name in (*scripts(), "dashboard/site.css", "dashboard/sillbook.svg")]


def icons() -> list[str]:
    return [f"dashboard/site/icon-{size}.png" for size in (192, 512)]


def version() -> str:
    """Changes with any file of it, with the page itself and with any word: then the telephone keeps the new one."""
    return _version(get_language() or settings.LANGUAGE_CODE, written_as())


@lru_cache(maxsize=200)  # every telephone asks for it with each look at its day
def _version(language: str, written: str) -> str:
    """In the language and the way of writing that are in force."""
    pages = [get_template(f"dashboard/{name}").template.source for name in ("site.html", "site_worker.js")]
    made_of = json.dumps([files(), words_told(), pages, language, written]).encode()
    return hashlib.sha256(made_of).hexdigest()[:12]
