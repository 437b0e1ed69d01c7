"""Reads what was sent for a take-off; refuses what cannot be, naming the field.

What a product, a member or the wall does not say for itself comes from the limits: waste, spacing, edge distance,
clearance, the range of temperature.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import as_written
from jobs.calc.verdict import BadInput, Limit
from units.calc import anchors, shims
from units.calc.anchors import Member
from units.calc.fastener import Wall
from units.calc.movement import Moving
from units.calc.sealant import FLUID_OUNCE, NEVER_SEAL, RULES, SEAL, Fillet, Joint, Product, Rectangle
from units.calc.shims import Station

MM = 1_000_000
LONGEST = 100_000 * MM  # no joint or member of a door is
WIDEST = 300 * MM  # bead, board, packing: thicker is a length in the wrong field
CLOSEST = 50 * MM  # two inches: no member is anchored closer
MOST_STEPS, MOST_ANCHORS = 1_000_000, 10_000
MOST_CARTRIDGE = 20_000  # mL, a five-gallon pail
MILLIONTH = Fraction(1, 1_000_000)
NO_SOURCE = "no source given"
OTHER_SIDE = "this place cannot be both sealed and never sealed"

_CARTRIDGE = re.compile(r"\s*([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*(ml|fl\.? ?oz\.?|)\s*", re.IGNORECASE)

Limits = Mapping[str, Limit]


@dataclass(frozen=True, slots=True)
class Asked:
    """What a take-off is made from. `unset`: what must be given before it is whole."""

    joints: tuple[Joint, ...] = ()
    products: tuple[Product, ...] = ()
    members: tuple[Member, ...] = ()
    stations: tuple[Station, ...] = ()
    shims: tuple[int, ...] = ()
    wall: Wall | None = None
    unset: tuple[Mapping[str, Any], ...] = ()


def read_asked(payload: Mapping[str, Any], limits: Limits) -> Asked:
    """`limits` are all of the take-off's, exact."""
    unit = reading.unit_of(payload)
    products = _products(payload, limits)
    joints = _joints(payload, {product.name for product in products}, limits, unit)
    members, unset = _members(payload, limits, unit)
    stations, thicknesses = _stations(payload, unit), _shims(payload, unit)
    if stations and thicknesses:
        _can_be_packed(payload, stations, thicknesses)
    asked = Asked(joints, products, members, stations, thicknesses, _wall(payload, limits, unit), unset)
    if not (joints or members or unset or stations or asked.wall):
        raise BadInput("joints", payload.get("joints"), "send joints, members, stations or the wall")
    return asked


# ---- joints and what fills them -------------------------------------------------------------------------


def _products(payload: Mapping[str, Any], limits: Limits) -> tuple[Product, ...]:
    sent = reading.mapping(payload.get("products") or {}, "products")
    if len(sent) > 100:
        raise BadInput("products", f"{len(sent)} products", "at most 100")
    return tuple(read_product(_label(name, "products", 120), one, f"products.{name}", limits["waste"].value)
                 for name, one in sent.items())


def read_product(name: str, sent: Any, within: str, waste: Fraction | None = None) -> Product:
    one = reading.mapping(sent, within)
    movement = _number(one, "movement_pct", within, most=200)
    if movement == 0:
        raise BadInput(f"{within}.movement_pct", one["movement_pct"], "a share of the width, such as 25 or 50")
    own = _number(one, "waste_pct", within, most=1000)
    return Product(name, _cartridge(one.get("cartridge_ml"), f"{within}.cartridge_ml"),
                   waste if own is None else own, movement, _source(one))


def _cartridge(value: Any, field: str) -> Fraction | None:
    if value is None:
        return None
    right = f"millilitres, or text such as 10.1 fl oz; more than nothing, at most {MOST_CARTRIDGE} mL"
    if isinstance(value, str):
        match = _CARTRIDGE.fullmatch(value)
        amount = Fraction(match[1]) * (1 if match[2].lower() in ("", "ml") else FLUID_OUNCE) if match else Fraction(0)
    else:
        amount = as_written(reading.number(value, field))
    if not 0 < amount <= MOST_CARTRIDGE:
        raise BadInput(field, value, right)
    return amount


def _joints(payload: Mapping[str, Any], products: set[str], limits: Limits, unit: str) -> tuple[Joint, ...]:
    shared = reading.mapping(payload.get("movement") or {}, "movement")
    sent = reading.sequence(payload.get("joints") or (), "joints", most=500)
    joints = []
    rules: dict[tuple[str, str], str] = {}
    for n, one in enumerate(sent):
        field = f"joints[{n}]"
        joint = _joint(reading.mapping(one, field), field, products, unit)
        if rules.setdefault((joint.place, joint.side), joint.rule) != joint.rule:
            raise BadInput(f"{field}.rule", joint.rule, OTHER_SIDE)
        joints.append(_with_movement(joint, one, shared, field, limits["temperature_range"], unit))
    return tuple(joints)


def _joint(sent: Mapping[str, Any], field: str, products: set[str], unit: str) -> Joint:
    within = f"{field}."
    place = _label(reading.need(sent, "place", within), f"{within}place", 60)
    side = _label(sent["side"], f"{within}side", 20) if sent.get("side") else ""
    rule = reading.choice(sent.get("rule", SEAL), f"{within}rule", RULES)
    if rule == NEVER_SEAL:
        length = None if sent.get("length") is None else _size(sent, "length", within, unit, LONGEST)
        if sent.get("product") is not None:
            raise BadInput(f"{within}product", sent["product"], "a joint that is never sealed takes no product")
        return Joint(place, side, rule, length)
    product = None if sent.get("product") is None else _label(sent["product"], f"{within}product", 120)
    if product is not None and product not in products:
        raise BadInput(f"{within}product", product, "one of the products sent: " + ", ".join(sorted(products)))
    return Joint(place, side, rule, _size(sent, "length", within, unit, LONGEST), _section(sent, within, unit), product)


def refuse_no_section(sent: Mapping[str, Any], within: str, unit: str) -> None:
    """Of a joint that is not whole yet: what is given of it must be a size."""
    for name in ("width", "depth", "leg"):
        if sent.get(name) is not None:
            _size(sent, name, within, unit, WIDEST)


def _section(sent: Mapping[str, Any], within: str, unit: str) -> Rectangle | Fillet:
    given = [name for name in ("width", "depth", "leg") if sent.get(name) is not None]
    if given == ["leg"]:
        return Fillet(_size(sent, "leg", within, unit, WIDEST))
    if given == ["width", "depth"]:
        return Rectangle(*(_size(sent, name, within, unit, WIDEST) for name in given))
    raise BadInput(f"{within}{'leg' if 'leg' in given else 'depth' if 'width' in given else 'width'}",
                   {name: sent[name] for name in given} or None, "width and depth, or the leg of a fillet by itself")


def _with_movement(joint: Joint, sent: Mapping[str, Any], shared: Mapping[str, Any], field: str, spread: Limit,
                   unit: str) -> Joint:
    """A joint's own movement over what is sent for all; `false` where nothing moves at it. Fillets are not judged."""
    own = sent.get("movement")
    if own is False or joint.rule == NEVER_SEAL or (own is None and not shared):
        return joint
    if isinstance(joint.section, Fillet):
        if own is not None:
            raise BadInput(f"{field}.movement", own, "movement is taken by a joint with width and depth, not a fillet")
        return joint
    own = {} if own in (None, True) else reading.mapping(own, f"{field}.movement")
    fields = {name: f"{field}.movement" for name in own}
    moving = _moving({**shared, **own}, lambda name: f"{fields.get(name, 'movement')}.{name}", spread, unit)
    return Joint(joint.place, joint.side, joint.rule, joint.length, joint.section, joint.product, moving)


def _moving(sent: Mapping[str, Any], named: Callable[[str], str], spread: Limit, unit: str) -> Moving:
    def length(name: str, most: int) -> int | None:
        return None if sent.get(name) is None else _bounded(sent[name], named(name), unit, most)

    moves = length("length", LONGEST)
    if moves == 0:
        raise BadInput(named("length"), sent["length"], "more than nothing")
    share = as_written(reading.number(sent.get("other_share") or 0, named("other_share"), least=0, most=0.1))
    kelvin = spread.value if sent.get("range_c") is None else reading.warmer(sent["range_c"], named("range_c"))
    return Moving(_expansion(sent, named), moves, None if kelvin is None else _degrees(kelvin),
                  length("tolerance", WIDEST), length("other", WIDEST) or 0, share, _source(sent))


def _degrees(kelvin: float | Fraction) -> Fraction:
    # 95 F apart are 475/9 C: the fraction is found again, so that a joint exactly wide enough is wide enough.
    return Fraction(kelvin).limit_denominator(90_000)


def _expansion(sent: Mapping[str, Any], named: Callable[[str], str]) -> Fraction | None:
    """Per kelvin, out of millionths per degree Celsius or Fahrenheit."""
    given = [name for name in ("expansion_per_c", "expansion_per_f") if sent.get(name) is not None]
    if len(given) > 1:
        raise BadInput(named(given[1]), sent[given[1]], "expansion per degree Celsius or Fahrenheit, not both")
    if not given:
        return None
    millionths = as_written(reading.number(sent[given[0]], named(given[0]), least=0, most=500))
    return millionths * MILLIONTH * (1 if given[0] == "expansion_per_c" else Fraction(9, 5))


# ---- members --------------------------------------------------------------------------------------------

_SCHEDULE = {"spacing_most": "anchor_spacing", "edge_least": "anchor_edge"}


def _members(payload: Mapping[str, Any], limits: Limits, unit: str) -> tuple[tuple[Member, ...], tuple[Any, ...]]:
    """Those with a spacing and an edge distance, and what the others lack."""
    schedule = reading.mapping(payload.get("anchors") or {}, "anchors")
    shared = {name: limits[limit].value for name, limit in _SCHEDULE.items()} | _schedule(schedule, "anchors.", unit)
    fastener = _label(schedule["fastener"], "anchors.fastener", 120) if schedule.get("fastener") else ""
    members: list[Member] = []
    unset: list[Mapping[str, Any]] = []
    for n, sent in enumerate(reading.sequence(payload.get("members") or (), "members", most=100)):
        within = f"members[{n}]."
        one = reading.mapping(sent, f"members[{n}]")
        name = _label(reading.need(one, "name", within), f"{within}name", 60)
        length = _size(one, "length", within, unit, LONGEST)
        by = shared | _schedule(one, within, unit)
        own = _label(one["fastener"], f"{within}fastener", 120) if one.get("fastener") else fastener
        lacking = [limit for asked, limit in _SCHEDULE.items() if by[asked] is None]
        unset += [{"what": what, "member": name} for what in lacking]
        if not lacking:
            members.append(Member(name, length, by["spacing_most"], by["edge_least"], own))
    several = sum(anchors.count(member.length, member.spacing_most, member.edge_least) for member in members)
    if several > MOST_ANCHORS:
        raise BadInput("members", f"{several} anchors", f"at most {MOST_ANCHORS}: check lengths and spacing")
    return tuple(members), tuple(unset)


def _schedule(sent: Mapping[str, Any], within: str, unit: str) -> dict[str, int]:
    given = {name: _bounded(sent[name], f"{within}{name}", unit, LONGEST) for name in _SCHEDULE
             if sent.get(name) is not None}
    if given.get("spacing_most", CLOSEST) < CLOSEST:
        raise BadInput(f"{within}spacing_most", sent["spacing_most"], "anchors stand 50 mm apart or more")
    return given


# ---- shims and the pocket wall --------------------------------------------------------------------------


def _stations(payload: Mapping[str, Any], unit: str) -> tuple[Station, ...]:
    stations, there = [], set()
    for n, sent in enumerate(reading.sequence(payload.get("stations") or (), "stations", most=400)):
        within = f"stations[{n}]."
        one = reading.mapping(sent, f"stations[{n}]")
        at = reading.length(reading.need(one, "at", within), f"{within}at", unit=unit, signed=True)
        line = _label(one["line"], f"{within}line", 20) if one.get("line") else ""
        if (line, at) in there:
            raise BadInput(f"{within}at", one["at"], "each station once")
        there.add((line, at))
        packing = _bounded(reading.need(one, "packing", within), f"{within}packing", unit, WIDEST)
        stations.append(Station(at, packing, line))
    return tuple(stations)


def _shims(payload: Mapping[str, Any], unit: str) -> tuple[int, ...]:
    sent = reading.sequence(payload.get("shims") or (), "shims", most=20)
    read = [reading.length(one, f"shims[{n}]", unit=unit) for n, one in enumerate(sent)]
    for n, thickness in enumerate(read):
        if not 0 < thickness <= WIDEST or thickness in read[:n]:
            raise BadInput(f"shims[{n}]", sent[n], "each thickness once, more than nothing")
    return tuple(read)


def _can_be_packed(payload: Mapping[str, Any], stations: tuple[Station, ...], thicknesses: tuple[int, ...]) -> None:
    if shims.steps(thicknesses, max(station.packing for station in stations)) > MOST_STEPS:
        raise BadInput("shims", payload["shims"], 'thicknesses as they are sold, such as 1/16", 1/8" or 1.5 mm')


def _wall(payload: Mapping[str, Any], limits: Limits, unit: str) -> Wall | None:
    if payload.get("wall") is None:
        return None
    sent = reading.mapping(payload["wall"], "wall")
    board = _bounded(reading.need(sent, "board", "wall."), "wall.board", unit, WIDEST)
    stud = _size(sent, "stud", "wall.", unit, WIDEST)
    clearance, source = limits["clearance"].value, limits["clearance"].source
    if sent.get("clearance") is not None:
        clearance, source = _bounded(sent["clearance"], "wall.clearance", unit, WIDEST), _source(sent)
    at_hand = reading.sequence(sent.get("fasteners") or (), "wall.fasteners", most=100)
    fasteners = tuple(_more_than_nothing(one, f"wall.fasteners[{n}]", unit, WIDEST) for n, one in enumerate(at_hand))
    longest = None if sent.get("longest") is None else _size(sent, "longest", "wall.", unit, WIDEST)
    return Wall(board, stud, clearance, source, fasteners, longest)


# ---- common ---------------------------------------------------------------------------------------------


def _source(sent: Mapping[str, Any]) -> str:
    return str(sent.get("source") or NO_SOURCE)


def _label(value: Any, field: str, most: int) -> str:
    if not isinstance(value, str) or not 0 < len(value.strip()) <= most:
        raise BadInput(field, value, f"a name of at most {most} characters")
    return value


def _number(sent: Mapping[str, Any], name: str, within: str, *, most: int) -> Fraction | None:
    if sent.get(name) is None:
        return None
    return as_written(reading.number(sent[name], f"{within}.{name}", least=0, most=most))


def _bounded(value: Any, field: str, unit: str, most: int) -> int:
    nm = reading.length(value, field, unit=unit)
    if nm > most:
        raise BadInput(field, value, f"at most {most // MM} mm: check the unit")
    return nm


def _more_than_nothing(value: Any, field: str, unit: str, most: int) -> int:
    nm = _bounded(value, field, unit, most)
    if nm == 0:
        raise BadInput(field, value, "more than nothing")
    return nm


def _size(sent: Mapping[str, Any], name: str, within: str, unit: str, most: int) -> int:
    return _more_than_nothing(reading.need(sent, name, within), f"{within}{name}", unit, most)
