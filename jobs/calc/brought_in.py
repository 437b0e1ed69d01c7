"""How panels get in on one cart, told in short: which get through, which stop at which leg, of which nobody can tell.

The legs are judged in `route`; here stands what somebody who gives the work is told of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from jobs.calc.verdict import BadInput, Finding, Verdict

BY_HAND = ""  # in place of a cart's name, where none goes along


@dataclass(frozen=True, slots=True)
class Stop:
    """`instead`: the nearest way by which they would get past, "" where none is known."""

    leg: str
    panels: tuple[str, ...]
    instead: str = ""

    def as_dict(self) -> dict[str, Any]:
        return {"leg": self.leg, "panels": list(self.panels), "instead": self.instead}


@dataclass(frozen=True, slots=True)
class OnCart:
    """Panels by their letters. `missing`: what is still needed to tell of those in doubt, each once."""

    through: tuple[str, ...] = ()
    stops: tuple[Stop, ...] = ()
    in_doubt: tuple[str, ...] = ()
    missing: tuple[Mapping[str, Any], ...] = ()


def on_cart(verdict: Verdict) -> OnCart:
    """Of a verdict of `route` on panels that have letters."""
    ways = {one["panel"]: one for one in verdict.computed["panels"]}
    stopped = {letter: way["stops_at"] for letter, way in ways.items() if way["stops_at"] is not None}
    through = tuple(letter for letter, way in ways.items() if way["passes"] and letter not in stopped)
    in_doubt = tuple(letter for letter in ways if letter not in stopped and letter not in through)
    return OnCart(through, tuple(_stops(stopped, verdict.findings)), in_doubt, tuple(_missing(verdict, in_doubt)))


def refused(why: BadInput, letters: Iterable[str]) -> OnCart:
    """What was entered cannot all be right, so nothing was judged."""
    return OnCart(in_doubt=tuple(letters), missing=({"what": why.field.rpartition(".")[2], "right": why.right},))


def along(ways: Mapping[str, OnCart], names: Iterable[str]) -> list[tuple[str, OnCart]]:
    """Of these names the carts, each with how the panels get in on it; of none, how they get in by hand."""
    return [(name, ways[name]) for name in (*names, BY_HAND) if name in ways]


def _stops(stopped: Mapping[str, str], findings: Iterable[Finding]) -> Iterator[Stop]:
    """Panels that stop at the same leg and would get past it the same way together, in the order they are met."""
    ways = {(f.where["panel"], f.where["leg"]): f.remedy.code for f in findings if f.within is False and f.remedy}
    alike: dict[tuple[str, str], list[str]] = {}
    for letter, leg in stopped.items():
        alike.setdefault((leg, ways.get((letter, leg), "")), []).append(letter)
    yield from (Stop(leg, tuple(letters), instead) for (leg, instead), letters in alike.items())


def _missing(verdict: Verdict, letters: Iterable[str]) -> list[Mapping[str, Any]]:
    """Without the letter: the same is asked of each. A limit nobody set is lacking as well."""
    of = (None, *letters)
    lacks = [*verdict.missing, *({"what": f.quantity, **f.where} for f in verdict.findings if f.limit is None)]
    each = [{name: value for name, value in lack.items() if name != "panel"} for lack in lacks
            if lack.get("panel") in of]
    return [lack for n, lack in enumerate(each) if lack not in each[:n]] if letters else []
