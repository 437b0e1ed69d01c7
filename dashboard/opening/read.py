"""One reading in words."""

from __future__ import annotations

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.measures import Reader
from dashboard.written import decimal
from inspections.models import Reading


def name_of(row: Reading, reader: Reader) -> str:
    said = reading_words(row.quantity)
    return said if row.at is None else _("%(what)s, at %(at)s") % {"what": said, "at": reader.place(row.at)}


def value_of(row: Reading, reader: Reader) -> str:
    if row.length is not None:
        return reader.length(row.length)
    said = {"c": reader.temperature, "n": reader.force}.get(row.unit)
    return decimal(f"{row.number:g} %") if said is None else said(str(row.number))


def reading_words(code: str) -> str:
    """`gap_top` as *Gap, top*: names of readings are put together from words that stand in the tables."""
    if code in words.phrases.QUANTITIES or code in words.phrases.PLACES:
        return str(words.phrases.QUANTITIES.get(code, words.phrases.PLACES.get(code))).capitalize()
    return code.replace("_", " ").capitalize()
