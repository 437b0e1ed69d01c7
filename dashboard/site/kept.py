"""What a telephone keeps of the site page itself, so that it opens without signal; and which version that is."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from django.conf import settings
from django.templatetags.static import static
from django.utils.translation import get_language

from dashboard.site.words import words_told

ROOMS = ("dashboard/site", "dashboard/calc")
STATIC = Path(__file__).resolve().parent.parent / "static"


@cache
def scripts() -> tuple[str, ...]:
    """The modules, by the names they have among the static files."""
    return tuple(sorted(f"{room}/{path.name}" for room in ROOMS for path in (STATIC / room).glob("*.js")))


def files() -> list[str]:
    """The addresses of all that the page is made of, but for the page itself."""
    names = [*scripts(), "dashboard/site.css", "dashboard/sillbook.svg", *icons()]
    return [static(name) for name in names]


def icons() -> list[str]:
    return [f"dashboard/site/icon-{size}.png" for size in (192, 512)]


def version() -> str:
    """Changes with any file of it, and with any word: then the telephone keeps the new one."""
    language = get_language() or settings.LANGUAGE_CODE
    made_of = json.dumps([files(), words_told(), language]).encode()
    return hashlib.sha256(made_of).hexdigest()[:12]
