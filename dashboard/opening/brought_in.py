"""In words: whether panels get in on a cart, as it is told of work that is given and where it is given."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.measures import Reader
from dashboard.opening.handling_shown import LACKING, SOMETHING, WAYS, lacks
from jobs.calc.brought_in import OnCart


def on_cart_words(way: OnCart, reader: Reader) -> str:
    """All of it, the worst first."""
    said = [stops_words([stop.as_dict() for stop in way.stops])] if way.stops else []
    if way.in_doubt:
        said.append(doubt_words(way.in_doubt, way.missing, reader))
    if way.through:
        said.append(_of(way.through, _("gets through")))
    return "; ".join(said)


def stops_words(stops: Iterable[Mapping[str, Any]]) -> str:
    return "; ".join(_of(stop["panels"], _("does not get past: %s") % stop["leg"] + _instead(stop)) for stop in stops)


def doubt_words(letters: Iterable[str], missing: Iterable[Mapping[str, Any]], reader: Reader) -> str:
    right = [_right(lack, reader) for lack in missing if "right" in lack]
    return _of(letters, "; ".join(right) or _("still needed: %s") % lacks(tuple(missing)))


def _instead(stop: Mapping[str, Any]) -> str:
    return f"; {WAYS[stop['instead']]}" if stop["instead"] else ""


def _right(lack: Mapping[str, Any], reader: Reader) -> str:
    """Of what was entered something cannot be so."""
    return f"{LACKING.get(lack['what'], SOMETHING)}: {words.right(lack['right'], reader).rstrip('.')}"


def _of(letters: Iterable[str], said: str) -> str:
    return _("%(said)s (%(panels)s)") % {"panels": ", ".join(letters), "said": said}
