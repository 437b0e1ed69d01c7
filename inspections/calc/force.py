"""Force: what it takes to start a panel and to keep it moving, each way; and what that says of rollers and track.

    friction f = (F1 + F2) / (2 m g)      F1 keep moving opening, F2 keep moving closing, newtons; m kilograms
    slope    s = (F1 - F2) / (2 m g)      g = 9.80665 m/s2; positive: opening goes uphill

From the balance of a body on a slope: F1 = m g (f + s), F2 = m g (f - s). Exact decimals as they were read;
fractions until they are compared.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import as_written, every_limit, to_places
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import BadInput, Finding, Limit, Remedy, Verdict, at_most, overall

NAME = "force"
LIMITS: dict[str, str] = {
    "force_to_start": "n", "force_to_keep_moving": "n",
    "more_than_as_left": "pct", "more_than_neighbours": "pct",  # beyond these a second look is asked for; no verdict
}

G = Fraction("9.80665")
WAYS = ("opening", "closing")
ACTS = ("start", "keep_moving")
POUND_FORCE = Fraction("4.4482216152605")  # N, exact: 0.45359237 kg * 9.80665 m/s2
POUND = Fraction("0.45359237")  # kg, exact
MOST_FORCE, LEAST_MASS, MOST_MASS = 5000, 1, 20000  # N, kg: beyond them is a slip of the pen
FORCE_UNITS = {"": Fraction(1), "n": Fraction(1), "lbf": POUND_FORCE, "lb": POUND_FORCE, "kgf": G}
MASS_UNITS = {"": Fraction(1), "kg": Fraction(1), "lb": POUND, "lbs": POUND}
_AMOUNT = re.compile(r"\s*([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*([A-Za-z]*)\s*")

Forces = Mapping[tuple[str, str], Fraction]  # (way, act) -> N; any may be lacking


@dataclass(frozen=True, slots=True)
class Body:
    """A panel, or the whole train when `panel` is None."""

    panel: str | None
    mass: Fraction | None
    forces: Forces
    as_left: Forces

    @property
    def tag(self) -> dict[str, Any]:
        return {"of": "train"} if self.panel is None else {"of": "panel", "panel": self.panel}

    def both_ways(self) -> tuple[Fraction, Fraction] | None:
        there = [self.forces.get((way, "keep_moving")) for way in WAYS]
        return None if None in there else (there[0], there[1])

    @property
    def friction(self) -> Fraction | None:
        both = self.both_ways()
        return None if both is None or self.mass is None else friction(*both, self.mass)


def friction(opening: Fraction, closing: Fraction, mass: Fraction) -> Fraction:
    return (opening + closing) / (2 * mass * G)


def slope(opening: Fraction, closing: Fraction, mass: Fraction) -> Fraction:
    return (opening - closing) / (2 * mass * G)


# ---- the judgement --------------------------------------------------------------------------------------


def judge_bodies(bodies: tuple[Body, ...], limits: Mapping[str, Limit], letters: tuple[str, ...] = ()) -> Verdict:
    """`letters`: the panels there are, where that is known: each is asked for, read or not."""
    exact = every_limit(LIMITS, limits)
    findings = tuple(finding for body in bodies for finding in _findings(body, exact))
    unread = tuple(Body(letter, None, {}, {}) for letter in letters if letter not in {b.panel for b in bodies})
    asked = (*bodies, *unread)
    missing = tuple(lack for body in asked for lack in _missing(body)) + _train_missing(asked)
    computed = {"panels": [_computed(b, bodies) for b in bodies if b.panel is not None],
                "train": next((_computed(b, bodies) for b in bodies if b.panel is None), None)}
    odd = tuple(look for body in bodies for look in _second_look(body, bodies, exact))
    return Verdict(overall(findings, missing), findings, computed, missing, odd)


def _findings(body: Body, limits: Mapping[str, Limit]) -> Iterable[Finding]:
    for way in WAYS:
        for act in ACTS:
            if (way, act) in body.forces:
                yield at_most(f"force_to_{act}", body.forces[way, act], limits[f"force_to_{act}"], unit="n",
                              where={**body.tag, "way": way}, remedy=_remedy(body, way, act))


def _remedy(body: Body, way: str, act: str) -> Remedy:
    """Where to look first: at what a start alone is up against, at a track out of level, or at the rollers."""
    start, moving = (body.forces.get((way, a)) for a in ACTS)
    if act == "start" and moving is not None and start > 2 * moving:
        return Remedy("free_what_holds_it_at_rest", {"look_at": ("seals", "strike", "flat_on_a_roller")})
    both = body.both_ways()
    if both is not None and _uphill(*both) == way and 2 * abs(both[0] - both[1]) > sum(both):
        return Remedy("level_the_track", {"uphill": way})  # the slope takes more than half of what friction takes
    return Remedy("free_the_rollers", {"look_at": ("rollers", "debris_in_track", "seals", "rubbing_panel")})


def _uphill(opening: Fraction, closing: Fraction) -> str:
    return "opening" if opening > closing else "closing" if closing > opening else "level"


def _missing(body: Body) -> Iterable[Mapping[str, Any]]:
    for way in WAYS:
        for act in ACTS:
            if (way, act) not in body.forces:
                yield {"what": f"force_to_{act}", **body.tag, "way": way}


def _train_missing(bodies: tuple[Body, ...]) -> tuple[Mapping[str, Any], ...]:
    """Several panels move as a train: it is read too. One panel by itself is its own train."""
    panels = sum(body.panel is not None for body in bodies)
    return ({"what": "train"},) if panels > 1 and panels == len(bodies) else ()


def _computed(body: Body, bodies: tuple[Body, ...]) -> dict[str, Any]:
    shown: dict[str, Any] = {"panel": body.panel, "mass_kg": body.mass}
    both = body.both_ways()
    if both is not None:
        shown |= {"friction_n": sum(both) / 2, "slope_n": (both[0] - both[1]) / 2, "uphill": _uphill(*both),
                  "rolls_by_itself": [way for way, force in zip(WAYS, both, strict=True) if force == 0]}
    if both is not None and body.mass is not None:
        tilt = slope(*both, body.mass)
        shown |= {"friction": to_places(body.friction, 5), "slope": to_places(tilt, 5), "slope_mm_per_m": 1000 * tilt,
                  "to_keep_100_kg_moving_n": 100 * G * body.friction}
    shown["than_as_left"] = [_change(way, act, now, then) for way, act, now, then in _pairs(body)]
    others = _neighbours(body, bodies)
    if others is not None:
        shown["neighbours_friction"] = to_places(others, 5)
    return shown


def _pairs(body: Body) -> Iterable[tuple[str, str, Fraction, Fraction]]:
    for way in WAYS:
        for act in ACTS:
            now, then = body.forces.get((way, act)), body.as_left.get((way, act))
            if now is not None and then is not None:
                yield way, act, now, then


def _change(way: str, act: str, now: Fraction, then: Fraction) -> dict[str, Any]:
    change = None if then == 0 else 100 * (now - then) / then
    return {"way": way, "act": act, "now_n": now, "as_left_n": then, "more_n": now - then, "more_pct": change}


def _neighbours(body: Body, bodies: tuple[Body, ...]) -> Fraction | None:
    """The mean friction of the panels beside this one, in the order sent."""
    if body.panel is None or body.friction is None:
        return None
    panels = [other for other in bodies if other.panel is not None]
    at = panels.index(body)
    beside = [other.friction for other in (*panels[max(at - 1, 0):at], *panels[at + 1:at + 2])]
    known = [value for value in beside if value is not None]
    return sum(known) / len(known) if known else None


def _second_look(body: Body, bodies: tuple[Body, ...], limits: Mapping[str, Limit]) -> Iterable[Mapping[str, Any]]:
    for way in WAYS:
        start, moving = (body.forces.get((way, act)) for act in ACTS)
        if start is not None and moving is not None and start < moving:
            yield {"what": "force_to_start", **body.tag, "way": way, "why": "less_than_to_keep_moving"}
    for way, act, now, then in _pairs(body):
        if _beyond(now, then, limits["more_than_as_left"]):
            yield {"what": f"force_to_{act}", **body.tag, "way": way, "why": "more_than_as_left",
                   "now_n": now, "as_left_n": then}
    others = _neighbours(body, bodies)
    if others is not None and _beyond(body.friction, others, limits["more_than_neighbours"]):
        yield {"what": "friction", **body.tag, "why": "more_than_neighbours",
               "friction": to_places(body.friction, 5), "neighbours_friction": to_places(others, 5)}


def _beyond(now: Fraction, then: Fraction, most: Limit) -> bool:
    return most.value is not None and now * 100 > then * (100 + most.value)


# ---- reading what was sent ------------------------------------------------------------------------------


def read_bodies(payload: Mapping[str, Any]) -> tuple[Body, ...]:
    sent = reading.sequence(payload.get("panels") or (), "panels", most=100)
    bodies = [_panel(one, f"panels[{n}]") for n, one in enumerate(sent)]
    letters = [body.panel for body in bodies]
    for n, letter in enumerate(letters):
        if letter in letters[:n]:
            raise BadInput(f"panels[{n}].panel", letter, "each panel once")
    if payload.get("train") is not None:
        bodies.append(_body(None, payload["train"], "train"))
    if not bodies:
        raise BadInput("panels", payload.get("panels"), "send the forces of at least one panel, or of the train")
    return tuple(bodies)


def _panel(sent: Any, field: str) -> Body:
    letter = reading.need(reading.mapping(sent, field), "panel", f"{field}.")
    if not isinstance(letter, str) or not 0 < len(letter) <= 20:
        raise BadInput(f"{field}.panel", letter, "the panel's letter")
    return _body(letter, sent, field)


def _body(panel: str | None, sent: Any, field: str) -> Body:
    sent = reading.mapping(sent, field)
    mass = None
    if sent.get("mass") is not None:
        mass = _amount(sent["mass"], f"{field}.mass", MASS_UNITS, MOST_MASS, "kilograms, or text such as 420 lb")
        if mass < LEAST_MASS:
            raise BadInput(f"{field}.mass", sent["mass"], f"no panel weighs so little: at least {LEAST_MASS} kg")
    as_left = reading.mapping(sent.get("as_left") or {}, f"{field}.as_left")
    return Body(panel, mass, _forces(sent, f"{field}."), _forces(as_left, f"{field}.as_left."))


def _forces(sent: Mapping[str, Any], within: str) -> Forces:
    read = {}
    for way in WAYS:
        both = reading.mapping(sent.get(way) or {}, f"{within}{way}")
        for act in both:
            if act not in ACTS:
                raise BadInput(f"{within}{way}.{act}", both[act], "one of: " + ", ".join(ACTS))
        for act in ACTS:
            if both.get(act) is not None:
                read[way, act] = newtons(both[act], f"{within}{way}.{act}")
    return read


def newtons(value: Any, field: str) -> Fraction:
    """A force by itself, as one reads it off a gauge."""
    return _amount(value, field, FORCE_UNITS, MOST_FORCE, "newtons, or text such as 20 lbf")


def _amount(value: Any, field: str, units: Mapping[str, Fraction], most: int, right: str) -> Fraction:
    """A number in the first unit, or text with a unit. A gauge shows no sign: less than nothing is refused."""
    if isinstance(value, str):
        match = _AMOUNT.fullmatch(value)
        factor = None if match is None else units.get(match[2].lower())
        if factor is None:
            raise BadInput(field, value, right)
        amount = Fraction(match[1]) * factor
    else:
        amount = as_written(reading.number(value, field, least=0))
    if amount > most:
        raise BadInput(field, value, f"more than anybody has read: at most {most}, {right}")
    return amount


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    letters = reading.sequence(payload.get("letters") or (), "letters", most=100)
    return judge_bodies(read_bodies(payload), limits, tuple(letter for letter in letters if isinstance(letter, str)))


def readings(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
    kept = []
    for body in read_bodies(payload):
        name = "train" if body.panel is None else f"panel_{body.panel}"
        kept += [ReadingValue(f"{name}_{way}_{act}", float(force), None, "n")
                 for (way, act), force in body.forces.items()]
    return tuple(kept)
