"""What the site page says in other languages: `.venv/bin/python -m tests.messages` takes in what it says anew, keeps
what is translated, compiles it, and lists what has nothing beside it in the message file yet."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from babel.messages import Catalog
from babel.messages.extract import extract_from_file
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.conf import settings
from django.utils import translation

from dashboard import phrases

HERE = Path(__file__).resolve().parents[1]
LOCALE = HERE / "dashboard" / "locale"
LANGUAGES = ("es",)
# What reaches a telephone: of these files every word,
FILES = ("drawings/said", "forms/acts", "forms/sheets", "forms/sign_in", "measures", "opening/finishing",
         "opening/material", "opening/rows", "opening/said", "opening/sheet", "site/acts", "site/calls", "site/day",
         "site/opening", "site/refused", "site/sheets", "site/words", "views/sign_in", "views/site", "words")
TEMPLATES = ("site", "base", "sign_in", "_field")
TABLES = (  # and of dashboard/phrases.py these tables.
    "STAGES", "NEXT", "KINDS", "OCCASIONS", "RESULTS", "OUTCOMES", "ENDINGS", "GUARDS", "PARTIES", "CAUSES",
    "SEVERITIES", "PLACES", "POCKETS", "POSITIONS", "QUANTITIES", "REMEDIES", "NEAREST", "UNIT_FIELDS", "CHECK_LIMITS",
    "MISSING", "WHEN", "PANEL_STATES", "PANEL_ACTS", "SECOND_LOOKS", "CAUTIONS", "SHEET_CAUTIONS", "CHECK_CAUTIONS",
    "ANSWERS", "TAKEN_IN", "SETTLED", "SOURCES", "HOLDERS", "EVENTS", "LAPS", "SIDES", "HANDLED_BY",
)
WORDS = {"_": None, "gettext": None, "gettext_lazy": None, "ngettext": (1, 2)}
IN_A_TEMPLATE = re.compile(r"""(?:{% translate |_\()(?:"([^"]*)"|'([^']*)')(?: %}|\))""")


def said() -> Iterator[tuple[Any, str]]:
    """Each message (one for one and one for several, where that differs), and where it stands."""
    for name in FILES:
        for _line, message, _comments, _context in extract_from_file("python", HERE / f"dashboard/{name}.py", WORDS):
            if message != "title":  # what is taken for one where a check's own title is asked for
                yield message, f"dashboard/{name}.py"
    with translation.override(None):
        words = [one for table in TABLES for one in getattr(phrases, table).values()]
        words += [phrases.LIFTING_CAUTION, phrases.GLASS_CAUTION, phrases.SILL_CAUTION]
        for one in words:
            yield from ((str(part), "dashboard/phrases.py") for part in (one if isinstance(one, tuple) else [one]))
    for check in json.loads((HERE / "inspections/shipped.json").read_text()):
        yield check["title"], "inspections/shipped.json"
    for name in TEMPLATES:
        where = f"dashboard/templates/dashboard/{name}.html"
        yield from ((a or b, where) for a, b in IN_A_TEMPLATE.findall((HERE / where).read_text()))


def place(language: str, kind: str) -> Path:
    return LOCALE / language / "LC_MESSAGES" / f"django.{kind}"


def read(language: str) -> Catalog:
    with place(language, "po").open("rb") as file:
        return read_po(file, locale=language)


def compiled(catalog: Catalog) -> bytes:
    file = io.BytesIO()
    write_mo(file, catalog)
    return file.getvalue()


def untranslated(catalog: Catalog) -> list[Any]:
    return [message.id for message in catalog if message.id and not all(
        message.string if isinstance(message.string, tuple) else [message.string])]


def renew(catalog: Catalog) -> None:
    """As it is said now: what is new is added, what is said no more is left out."""
    now = Catalog(locale=catalog.locale)
    for message, where in said():
        now.add(message, locations=[(where, 0)])
    catalog.update(now, no_fuzzy_matching=True, update_creation_date=False)
    catalog.obsolete.clear()


def main() -> None:
    if not settings.configured:
        settings.configure(USE_I18N=False)  # no more than the English words
    for language in LANGUAGES:
        catalog = read(language)
        renew(catalog)
        with place(language, "po").open("wb") as file:
            write_po(file, catalog, width=120, include_lineno=False, sort_output=False)
        place(language, "mo").write_bytes(compiled(catalog))
        for message in untranslated(catalog):
            print(f"{language}: {message}")


if __name__ == "__main__":
    main()
