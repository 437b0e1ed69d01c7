"""Reads what was sent for a lift; refuses what cannot be, naming the field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.amounts import MOST_PANEL, carried_mass, speed
from jobs.calc.exact import as_written
from jobs.calc.rating import Equipment
from jobs.calc.rating_sent import read_equipment
from jobs.calc.verdict import NOT_ENOUGH_DATA, BadInput, Verdict
from units.calc import niosh, read
from units.calc.team import Team

MOST_MASS, MOST_BY_HAND = MOST_PANEL, 200  # kg


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


def read_panel(payload: Mapping[str, Any]) -> Panel:
    unit = reading.unit_of(payload)
    sent = {name: carried_mass(payload[name], name, MOST_MASS) for name in ("mass", "computed_mass", "weighed_mass")
            if payload.get(name) is not None}
    if not sent:
        raise BadInput("mass", None, "send the panel's mass, in kilograms or as text such as 420 lb")
    return Panel(max(sent.values()), sent.get("computed_mass"), sent.get("weighed_mass"),
                 _size(payload, "width", unit), _size(payload, "height", unit))


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
    return Wind(speed(reading.need(sent, "speed", "wind."), "wind.speed"),
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
