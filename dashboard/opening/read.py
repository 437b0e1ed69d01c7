"""One reading in words."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext as _

from dashboard import phrases
from dashboard.measures import Reader
from dashboard.written import decimal
from inspections.models import Reading

READ = {**phrases.PLACES, **phrases.READ}


def name_of(row: Reading, reader: Reader) -> str:
    said = reading_words(row.quantity)
    return said if row.at is None else _("%(what)s, at %(at)s") % {"what": said, "at": reader.place(row.at)}


def value_of(row: Reading, reader: Reader) -> str:
    if row.length is not None:
        return reader.length(row.length)
    said = {"c": reader.temperature, "n": reader.force}.get(row.unit)
    return decimal(f"{row.number:g} %") if said is None else said(str(row.number))


def reading_words(code: str) -> str:
    """`roller_A_lead` as *Roller, panel A, lead*: names of readings are put together from words that stand in tables.

    A part that has no word stays as it is, so that nothing read is left out.
    """
    if code in phrases.QUANTITIES:
        return str(phrases.QUANTITIES[code])
    parts = ", ".join(_parts(code.split("_")))
    return parts[:1].upper() + parts[1:]


def _parts(left: list[str]) -> Iterator[str]:
    """The longest piece that has a word, then the rest. Letters are those of panels."""
    while left:
        count = next((n for n in range(len(left), 0, -1) if "_".join(left[:n]) in READ), 1)
        piece, left = "_".join(left[:count]), left[count:]
        if piece == "panel" and left:
            continue  # its letter comes next, and says so
        yield str(READ.get(piece) or (_("panel %s") % piece if piece.isupper() else piece))
