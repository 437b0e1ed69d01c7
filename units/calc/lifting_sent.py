"""Reads what was sent for a lift; refuses what cannot be, naming the field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import as_written
from jobs.calc.verdict import NOT_ENOUGH_DATA, BadInput, Verdict
from units.calc import niosh, read
from units.calc.rating import ALSO_CALLED, AS_SENT, Equipment, Reduction
from units.calc.team import Team

MOST_MASS, MOST_CAPACITY, MOST_BY_HAND, MOST_WIND = 2000, 20000, 200, 60  # kg, kg, kg, m/s
SPEED_UNITS = {"": Fraction(1), "m/s": Fraction(1), "km/h": Fraction(5, 18), "mph": Fraction("0.44704"),
               "kn": Fraction(1852, 3600), "ft/s": Fraction("0.3048")}
_SPEED = re.compile(r"\s*([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*([A-Za-z/]*)\s*")


@dataclass(frozen=True, slots=True)
class Wind:
    speed: Fraction
    air_density: Fraction | None
    drag: Fraction | None
    area: Fraction | None


@dataclass(frozen=True, slots=True)
class Panel:
    """`mass` is judged: of a computed and a weighed one the heavier."""

    mass: Fraction
    computed: Fraction | None = None
    weighed: Fraction | None = None
    width: int | None = None
    height: int | None = None

    @property
    def area(self) -> Fraction | None:
        """Square metres."""
        return None if None in (self.width, self.height) else Fraction(self.width * self.height, 10**18)


@dataclass(frozen=True, slots=True)
class Plan:
    """One panel, and all there is to lift it with."""

    panel: Panel
    equipment: tuple[Equipment, ...] = ()
    team: Team | None = None
    ceiling_clearance: int | None = None
    needs_above: int | None = None
    wind: Wind | None = None
    by_hand: Verdict | None = None  # NIOSH, where it was asked


def carried_mass(value: Any, field: str, most: int = MOST_MASS) -> Fraction:
    """Kilograms, more than nought; text such as `420 lb` is read too."""
    mass = read.mass(value, field, most)
    if not mass:
        raise BadInput(field, value, f"more than 0 and at most {most} kg; write kilograms, or text such as 420 lb")
    return mass


def _speed(value: Any, field: str) -> Fraction:
    """Metres a second; text such as `20 mph` is read too."""
    right = f"at most {MOST_WIND} m/s, as metres a second or as text such as 20 mph"
    match = _SPEED.fullmatch(value) if isinstance(value, str) else None
    factor = None if match is None else SPEED_UNITS.get(match[2].lower())
    if isinstance(value, str) and factor is None:
        raise BadInput(field, value, right)
    speed = as_written(reading.number(value, field, least=0)) if match is None else Fraction(match[1]) * factor
    if speed > MOST_WIND:
        raise BadInput(field, value, right)
    return speed


def _number(sent: Mapping[str, Any], name: str, within: str, least: float, most: float) -> Fraction | None:
    value = sent.get(name)
    return None if value is None else as_written(reading.number(value, f"{within}{name}", least=least, most=most))


def _count(sent: Mapping[str, Any], name: str, within: str, least: int, most: int) -> int | None:
    return None if sent.get(name) is None else read.count(sent[name], f"{within}{name}", least, most)


def _size(sent: Mapping[str, Any], name: str, unit: str, least: int = 1) -> int | None:
    if sent.get(name) is None:
        return None
    nm = reading.length(sent[name], name, unit=unit)
    if nm < least:
        raise BadInput(name, sent[name], "more than nought")
    return nm


def _named(value: Any, field: str) -> str:
    """A code out of a few words: `Design factor` is design_factor."""
    if not isinstance(value, str) or not 0 < len(value.strip()) <= 60:
        raise BadInput(field, value, "a few words, such as design factor")
    word = re.sub(r"[\s-]+", "_", value.strip().lower())
    return ALSO_CALLED.get(word, word)


def read_panel(payload: Mapping[str, Any]) -> Panel:
    unit = reading.unit_of(payload)
    sent = {name: carried_mass(payload[name], name) for name in ("mass", "computed_mass", "weighed_mass")
            if payload.get(name) is not None}
    if not sent:
        raise BadInput("mass", None, "send the panel's mass, in kilograms or as text such as 420 lb")
    return Panel(max(sent.values()), sent.get("computed_mass"), sent.get("weighed_mass"),
                 _size(payload, "width", unit), _size(payload, "height", unit))


def read_equipment(payload: Mapping[str, Any]) -> tuple[Equipment, ...]:
    sent = reading.sequence(payload.get("equipment") or (), "equipment", most=50)
    return tuple(_equipment(reading.mapping(one, f"equipment[{n}]"), f"equipment[{n}].") for n, one in enumerate(sent))


def _equipment(sent: Mapping[str, Any], at: str) -> Equipment:
    name = reading.need(sent, "name", at)
    if not isinstance(name, str) or not 0 < len(name.strip()) <= 120:
        raise BadInput(f"{at}name", name, "its name, at most 120 letters")
    capacity = sent.get("capacity")
    includes = _includes(sent.get("includes"), f"{at}includes")
    return Equipment(
        name, _named(reading.need(sent, "kind", at), f"{at}kind"),
        None if capacity is None else carried_mass(capacity, f"{at}capacity", MOST_CAPACITY),
        includes, _reductions(sent.get("reductions"), includes or frozenset(), f"{at}reductions"),
        _count(sent, "circuits", at, 1, 20), _number(sent, "left_with_one_circuit_lost", at, 0, 1),
        _count(sent, "people_to_steer", at, 1, 20),
        None if sent.get("stop_wind") is None else _speed(sent["stop_wind"], f"{at}stop_wind"),
        str(sent.get("source") or AS_SENT),
    )


def _includes(sent: Any, field: str) -> frozenset[str] | None:
    if sent is None or sent == "unknown":
        return None
    return frozenset(_named(one, f"{field}[{n}]") for n, one in enumerate(reading.sequence(sent, field, most=30)))


def _reductions(sent: Any, includes: frozenset[str], field: str) -> tuple[Reduction, ...]:
    found: list[Reduction] = []
    for n, one in enumerate(reading.sequence(sent or (), field, most=30)):
        at = f"{field}[{n}]"
        given = reading.mapping(one, at)
        why = _named(reading.need(given, "why", f"{at}."), f"{at}.why")
        if why in includes:
            raise BadInput(f"{at}.why", given["why"], "the rating includes it already: leave it out of one of the two")
        if any(why == other.why for other in found):
            raise BadInput(f"{at}.why", given["why"], "each reduction once")
        found.append(Reduction(why, _factor(given, f"{at}."), str(given.get("source") or "no source given")))
    return tuple(found)


def _factor(sent: Mapping[str, Any], at: str) -> Fraction | None:
    if sent.get("factor") is None:
        return None
    factor = as_written(reading.number(sent["factor"], f"{at}factor", least=0))
    if factor > 1:
        raise BadInput(f"{at}factor", sent["factor"], "the part that stays, 0 to 1: a factor of 2 to 1 leaves 0.5")
    return factor


def read_team(payload: Mapping[str, Any]) -> Team | None:
    """`hands` is how many people there are, or a list of what each can lift alone."""
    sent = payload.get("hands")
    if sent is None:
        return None
    if not isinstance(sent, (list, tuple)):
        return Team((None,) * _count(payload, "hands", "", 1, 50))
    if not sent:
        raise BadInput("hands", sent, "at least one person, or leave it out")
    people = reading.sequence(sent, "hands", most=50)
    return Team(tuple(_can(one, f"hands[{n}]") for n, one in enumerate(people)))


def _can(sent: Any, field: str) -> Fraction | None:
    if isinstance(sent, Mapping):
        sent, field = sent.get("can"), f"{field}.can"
    return None if sent is None else carried_mass(sent, field, MOST_BY_HAND)


def read_wind(payload: Mapping[str, Any], area: Fraction | None) -> Wind | None:
    """The area is the panel's own where none is given."""
    if payload.get("wind") is None:
        return None
    sent = reading.mapping(payload["wind"], "wind")
    given = _number(sent, "area", "wind.", 0, 100)
    return Wind(_speed(reading.need(sent, "speed", "wind."), "wind.speed"),
                _number(sent, "air_density", "wind.", 0.5, 2), _number(sent, "drag", "wind.", 0, 5),
                area if given is None else given)


def read_by_hand(payload: Mapping[str, Any], mass: Fraction, team: Team | None) -> Verdict | None:
    """NIOSH, where `lift` or `carry` was sent."""
    if payload.get("lift") is None and payload.get("carry") is None:
        return None
    lift, carry = (reading.mapping({} if payload.get(name) is None else payload[name], name)
                   for name in ("lift", "carry"))
    facts = _facts(lift, carry, team)
    if niosh.why_not(facts):
        return niosh.judge_lift(mass, None, facts)
    lacks = tuple({"what": name, "for": "niosh"} for name in _needed(lift) if lift.get(name) is None)
    if lacks:
        unsaid = tuple({"what": name, "for": "niosh"} for name in niosh.unsaid(facts) if name not in _SUMS)
        return Verdict(NOT_ENOUGH_DATA, missing=(*unsaid, *lacks))
    return niosh.judge_lift(mass, _lift(lift, reading.unit_of(payload)), facts)


_SUMS = ("horizontal", "vertical", "lifts_a_minute", "hours", "coupling", "held_at_the_end")
_FLAGS = ("one_hand", "seated_or_kneeling", "restricted_space", "unstable", "pushed_or_pulled", "fast")


def _needed(lift: Mapping[str, Any]) -> tuple[str, ...]:
    """The end of the lift counts where the load must be held there; else how far it went is enough."""
    return (*_SUMS, "end" if lift.get("held_at_the_end") is True or lift.get("travel") is None else "travel")


def _facts(lift: Mapping[str, Any], carry: Mapping[str, Any], team: Team | None) -> niosh.Facts:
    flags = {name: reading.flag(lift[name], f"lift.{name}") for name in _FLAGS if lift.get(name) is not None}
    air = lift.get("air_c")
    return niosh.Facts(
        people=None if team is None else team.people, **flags, hours=_number(lift, "hours", "lift.", 0, 24),
        steps_carried=_number(carry, "steps", "carry.", 0, 100_000), footing=_number(lift, "footing", "lift.", 0, 2),
        air_c=None if air is None else as_written(reading.temperature(air, "lift.air_c")),
        humidity_pct=_number(lift, "humidity_pct", "lift.", 0, 100),
    )


def _lift(sent: Mapping[str, Any], unit: str) -> niosh.Lift:
    constants = reading.choice(sent.get("constants") or ("us" if unit == "in" else "metric"), "lift.constants",
                               tuple(niosh.SETS))
    start = _hands(sent, "lift.", unit)
    end = None if sent.get("end") is None else _hands(reading.mapping(sent["end"], "lift.end"), "lift.end.", unit)
    return niosh.Lift(
        niosh.SETS[constants], start, end if reading.flag(sent["held_at_the_end"], "lift.held_at_the_end") else None,
        _travel(sent, start, end, unit), _number(sent, "lifts_a_minute", "lift.", 0, 100),
        _number(sent, "hours", "lift.", 0, 24), reading.choice(sent["coupling"], "lift.coupling", niosh.COUPLINGS),
    )


def _travel(sent: Mapping[str, Any], start: niosh.Hands, end: niosh.Hands | None, unit: str) -> int:
    between = None if end is None else abs(end.height - start.height)
    if sent.get("travel") is None:
        return between
    travel = reading.length(sent["travel"], "lift.travel", unit=unit)
    if between is not None and between != travel:
        raise BadInput("lift.travel", sent["travel"], "as far as the two heights are apart, or leave it out")
    return travel


def _hands(sent: Mapping[str, Any], at: str, unit: str) -> niosh.Hands:
    reach, height = (reading.length(reading.need(sent, name, at), f"{at}{name}", unit=unit)
                     for name in ("horizontal", "vertical"))
    return niosh.Hands(reach, height, _number(sent, "asymmetry_deg", at, 0, 180) or Fraction(0))


def read_plan(payload: Mapping[str, Any]) -> Plan:
    unit = reading.unit_of(payload)
    panel, team = read_panel(payload), read_team(payload)
    return Plan(panel, read_equipment(payload), team, _size(payload, "ceiling_clearance", unit, 0),
                _size(payload, "needs_above", unit, 0), read_wind(payload, panel.area),
                read_by_hand(payload, panel.mass, team))
