"""Will it get there: each panel on its cart against each leg of the way in, and what would let it pass.

    corridor  width, height                         corner   in_width, out_width, height
    doorway   width, height, room_before, room_after         (straight on, or turned in out of that room)
    stairs    width, headroom, pitch_deg, landing            (by hand, without the cart; headroom * cos pitch is left)
    lift      door_width, door_height, width, depth, height, capacity             ceiling  height

The shapes are in `corner`: round a corner turning or sideways, leaned under a head, from corner to corner in a cage.
A load stands upright on its cart and leans only as far as it must. Lengths are whole nanometres, leans degrees, masses
kilograms in fractions. How far a panel may lean is its maker's to say. Where the pitch of a stair begins and ends is
not judged.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from jobs.calc import corner
from jobs.calc.exact import every_limit
from jobs.calc.legs import NEEDED, Leg
from jobs.calc.route_sent import NEEDED_OF_LOAD, Load, Way, read_way
from jobs.calc.verdict import (
    NOT_ENOUGH_DATA,
    NOT_ENOUGH_READINGS,
    Finding,
    Limit,
    Remedy,
    Verdict,
    at_most,
    overall,
)

NAME = "route"
LIMITS: dict[str, str] = {
    "lean_most": "deg",  # off upright, by the panel's maker
    "tight": "mm",  # no more than this to spare: a second look, no verdict
}

CAUTION = "a_panel_on_the_move_can_tip"
AS_MEASURED = "as measured on the way"

Limits = Mapping[str, Limit]
Checks = Iterator[Finding]


@dataclass(frozen=True, slots=True)
class Stance:
    """How it stands as it goes through: its plan, and how far off upright."""

    length: int
    wide: int
    lean: Fraction = corner.UPRIGHT

    @property
    def plan(self) -> tuple[int, int]:
        """Longer side, shorter side."""
        return max(self.length, self.wide), min(self.length, self.wide)


def stance(load: Load, room: int | None) -> Stance | None:
    """Upright, or leaned just enough for the room; None where it gets under in no way."""
    if room is None:
        return Stance(load.length, load.thickness)
    lean = corner.least_lean(load.height, load.thickness, room - load.cart_height)
    return None if lean is None else Stance(load.length, corner.leaned(load.height, load.thickness, lean)[1], lean)


# ---- one load against one leg ---------------------------------------------------------------------------


def checks(load: Load, leg: Leg, limits: Limits) -> tuple[Finding, ...]:
    """What can be judged of what is known, each with the remedies where it fails."""
    carried = load.bare() if leg.by_hand else load
    found = tuple(_JUDGED[leg.kind](carried, leg, limits))
    if all(finding.within is not False for finding in found):
        return found
    ways = ways_through(load, leg, limits)
    remedy = Remedy(ways[0]["way"], {"ways": ways}) if ways else None
    return tuple(replace(f, remedy=remedy) if f.within is False else f for f in found)


def passes(load: Load, leg: Leg, limits: Limits) -> bool:
    return all(f.within is not False for f in _JUDGED[leg.kind](load, leg, limits))


def _limit(value: int | Fraction | None) -> Limit:
    return Limit(value, AS_MEASURED)


def _where(load: Load, leg: Leg) -> dict[str, Any]:
    return {"panel": load.panel, "leg": leg.name}


def _under(load: Load, leg: Leg, room: int | None, limits: Limits) -> tuple[Stance, tuple[Finding, ...]]:
    """How it stands under the room, and what that is judged by."""
    stands = stance(load, room)
    if room is None or stands is None or not stands.lean:
        height = () if room is None else (at_most("height", load.tall, _limit(room), where=_where(load, leg)),)
        return Stance(load.length, load.thickness), height
    lean = at_most("lean", stands.lean, limits["lean_most"], unit="deg", where=_where(load, leg))
    return stands, (lean if lean.within is False else replace(lean, remedy=_lean_it(stands)),)


def _lean_it(stands: Stance) -> Remedy:
    return Remedy("lean_it", {"lean_deg": stands.lean})


def _corridor(load: Load, leg: Leg, limits: Limits) -> Checks:
    stands, under = _under(load, leg, leg.get("height"), limits)
    yield from under
    yield from _across(stands.wide, load, leg, leg.get("width"))


def _across(wide: int, load: Load, leg: Leg, width: int | None) -> Checks:
    if width is not None:
        yield at_most("thickness", wide, _limit(width), where=_where(load, leg))


def _corner(load: Load, leg: Leg, limits: Limits) -> Checks:
    stands, under = _under(load, leg, leg.get("height"), limits)
    yield from under
    yield from _past(stands, load, leg, leg.get("in_width"), leg.get("out_width"))


def _past(stands: Stance, load: Load, leg: Leg, a: int | None, b: int | None) -> Checks:
    """Round the corner; where it is too thick to get into one of the two, that is what fails."""
    if a is None or b is None:
        return
    longer, thinner = stands.plan
    longest = corner.longest_past(a, b, thinner)
    if longest is None:
        yield at_most("thickness", thinner, _limit(min(a, b)), where=_where(load, leg))
    else:
        yield at_most("length", longer, _limit(longest), where=_where(load, leg))


def _doorway(load: Load, leg: Leg, limits: Limits) -> Checks:
    stands, under = _under(load, leg, leg.get("height"), limits)
    width = leg.get("width")
    yield from under
    yield from _across(stands.wide, load, leg, width)
    if width is not None and stands.wide <= width:
        for side in ("room_before", "room_after"):
            yield from _out_of(stands, load, leg, side, width)


def _out_of(stands: Stance, load: Load, leg: Leg, side: str, width: int) -> Checks:
    """Straight through when the room is as long as the load, else turned out of it as round a corner."""
    room = leg.get(side)
    if room is not None:
        longest = max(room, corner.longest_past(room, width, stands.plan[1]) or 0)
        yield at_most(f"length_in_{side}", stands.plan[0], _limit(longest), where=_where(load, leg))


def _stairs(load: Load, leg: Leg, limits: Limits) -> Checks:
    stands, under = _under(load, leg, _headroom(leg), limits)
    width = leg.get("width")
    yield from under
    yield from _across(stands.wide, load, leg, width)
    if width is not None and stands.wide <= width:
        yield from _past(stands, load, leg, width, leg.get("landing"))


def _headroom(leg: Leg) -> int | None:
    """Square to the pitch, where headroom is read straight up from the nosings."""
    up, pitch = leg.get("headroom"), leg.pitch
    return None if up is None or pitch is None else corner.micrometres(up * math.cos(math.radians(pitch)))


def _lift(load: Load, leg: Leg, limits: Limits) -> Checks:
    heights = [height for height in (leg.get("door_height"), leg.get("height")) if height is not None]
    stands, under = _under(load, leg, min(heights, default=None), limits)
    yield from under
    yield from _across(stands.wide, load, leg, leg.get("door_width"))
    yield from _inside(stands, load, leg)
    yield from _borne(load, leg)


def _borne(load: Load, leg: Leg) -> Checks:
    """Too heavy without its cart is too heavy; light enough it is only when the cart is counted. Nobody rides along."""
    if load.mass is not None and leg.capacity is not None and (load.cart_mass is not None or load.mass > leg.capacity):
        yield at_most("mass", load.all_mass, _limit(leg.capacity), unit="kg", where=_where(load, leg))


def _inside(stands: Stance, load: Load, leg: Leg) -> Checks:
    width, depth = leg.get("width"), leg.get("depth")
    if width is None or depth is None:
        return
    longer, thinner = stands.plan
    longest = corner.longest_inside(width, depth, thinner)
    if longest is None:
        yield at_most("thickness_inside", thinner, _limit(min(width, depth)), where=_where(load, leg))
    else:
        yield at_most("length_inside", longer, _limit(longest), where=_where(load, leg))


def _ceiling(load: Load, leg: Leg, limits: Limits) -> Checks:
    yield from _under(load, leg, leg.get("height"), limits)[1]


_JUDGED: dict[str, Callable[[Load, Leg, Limits], Checks]] = {
    "corridor": _corridor, "corner": _corner, "doorway": _doorway, "stairs": _stairs, "lift": _lift,
    "ceiling": _ceiling,
}


# ---- what would let it pass -----------------------------------------------------------------------------


def ways_through(load: Load, leg: Leg, limits: Limits) -> tuple[Mapping[str, Any], ...]:
    """Cheapest first: the load another way up, without its cart, both; then the leg itself made larger."""
    bare = load.bare()
    tries = (("turn_it", bare.turned() if leg.by_hand else load.turned()), ("without_its_cart", bare),
             ("turn_it_without_its_cart", bare.turned()))
    ways = [{"way": name, "lean_deg": _lean(other, leg)} for name, other in tries if passes(other, leg, limits)]
    needed = {name: size for name, size in larger(bare if leg.by_hand else load, leg) if size is not None}
    return (*ways, *([{"way": "make_it_larger", **needed}] if needed else []))


def _lean(load: Load, leg: Leg) -> Fraction | None:
    stands = stance(load, _lowest(leg))
    return None if stands is None else stands.lean


def _lowest(leg: Leg) -> int | None:
    if leg.kind == "stairs":
        return _headroom(leg)
    return min((h for h in (leg.get("height"), leg.get("door_height")) if h is not None), default=None)


def larger(load: Load, leg: Leg) -> Iterator[tuple[str, int | Fraction | None]]:
    """Every size that would have to be larger for the load as it stands upright, and how large."""
    least = {"height": load.tall, "door_height": load.tall, "door_width": load.thickness, "headroom": _up(load, leg)}
    if leg.kind in ("corridor", "doorway", "stairs"):
        least["width"] = load.thickness
    yield from ((f"{name}_mm", nm) for name, nm in least.items() if leg.get(name, nm or 0) < (nm or 0))
    yield from _longer(load, leg)
    if leg.capacity is not None and load.mass is not None and leg.capacity < load.all_mass:
        yield "capacity_kg", load.all_mass


def _up(load: Load, leg: Leg) -> int | None:
    if leg.pitch is None:
        return None
    whole = -(-load.tall // corner.UM)
    return math.ceil(whole / math.cos(math.radians(leg.pitch))) * corner.UM


def _longer(load: Load, leg: Leg) -> Iterator[tuple[str, int | None]]:
    """What lets its length through: either width of a corner, the room about a doorway, the landing, the cage."""
    if leg.kind == "corner" and leg.has("in_width", "out_width"):
        yield from _wider(load, leg, "in_width", "out_width")
    elif leg.kind == "stairs" and leg.has("width", "landing"):
        yield from _wider(load, leg, "width", "landing")
    elif leg.kind == "doorway" and leg.has("width"):
        width = max(leg.get("width"), load.thickness)
        yield from ((f"{side}_mm", corner.width_needed(load.length, load.thickness, width))
                    for side in ("room_before", "room_after") if _stuck(load, leg.get(side), width))
    elif leg.kind == "lift" and leg.has("width", "depth"):
        yield from _larger_cage(load, leg)


def _stuck(load: Load, a: int | None, b: int) -> bool:
    return a is not None and load.length > a and not corner.gets_past(load.length, load.thickness, a, b)


def _wider(load: Load, leg: Leg, one: str, other: str) -> Iterator[tuple[str, int | None]]:
    a, b = leg.get(one), leg.get(other)
    if not corner.gets_past(load.length, load.thickness, a, b):
        yield f"{one}_alone_mm", corner.width_needed(load.length, load.thickness, b)
        yield f"{other}_alone_mm", corner.width_needed(load.length, load.thickness, a)
        yield "both_widths_mm", corner.both_widths_needed(load.length, load.thickness)


def _larger_cage(load: Load, leg: Leg) -> Iterator[tuple[str, int]]:
    longer, thinner = Stance(load.length, load.thickness).plan
    width, depth = leg.get("width"), leg.get("depth")
    longest = corner.longest_inside(width, depth, thinner)
    if longest is None or longer > longest:
        yield ("depth_mm", longer) if depth >= width else ("width_mm", longer)
        if thinner > min(width, depth):
            yield ("width_mm", thinner) if depth >= width else ("depth_mm", thinner)


# ---- the judgement --------------------------------------------------------------------------------------


def judge_way(way: Way, limits: Limits) -> Verdict:
    exact = every_limit(LIMITS, limits)
    judged = [(load, leg, checks(load, leg, exact)) for load in way.loads if not _unsized(load) for leg in way.legs]
    findings = tuple(finding for *_, found in judged for finding in found)
    missing = tuple(_missing(way))
    result = overall(findings, missing)
    return Verdict(NOT_ENOUGH_DATA if result == NOT_ENOUGH_READINGS else result, findings,
                   {"panels": [_panel(load, way, judged) for load in way.loads]}, missing,
                   tuple(_second_look(way, findings, exact)), CAUTION)


def _unsized(load: Load) -> tuple[str, ...]:
    return tuple(name for name in NEEDED_OF_LOAD if getattr(load, name) is None)


def _missing(way: Way) -> Iterator[Mapping[str, Any]]:
    if not way.legs:
        yield {"what": "legs"}
    for load in way.loads:
        yield from ({"what": name, "panel": load.panel} for name in _unsized(load))
        if any(leg.kind == "lift" for leg in way.legs):
            yield from ({"what": name, "panel": load.panel} for name in _unweighed(load))
    for leg in way.legs:
        yield from ({"what": name, "leg": leg.name} for name in lacking(leg))


def _unweighed(load: Load) -> tuple[str, ...]:
    return tuple(name for name in ("mass", "cart_mass") if getattr(load, name) is None)


def lacking(leg: Leg) -> tuple[str, ...]:
    return tuple(name for name in NEEDED[leg.kind] if name not in leg.sizes)


def _panel(load: Load, way: Way, judged: Iterable[tuple[Load, Leg, tuple[Finding, ...]]]) -> dict[str, Any]:
    legs = [_leg(load, leg, found) for one, leg, found in judged if one is load]
    stops = next((leg["leg"] for leg in legs if leg["passes"] is False), None)
    through = None if len(legs) < len(way.legs) or not legs else _all_of(leg["passes"] for leg in legs)
    return {"panel": load.panel, "passes": through, "stops_at": stops, "legs": legs}


def _all_of(answers: Iterable[bool | None]) -> bool | None:
    said = [*answers]
    return False if False in said else None if None in said else True


def _leg(load: Load, leg: Leg, found: tuple[Finding, ...]) -> dict[str, Any]:
    carried = load.bare() if leg.by_hand else load
    stands = stance(carried, _lowest(leg))
    known = not lacking(leg) and (leg.kind != "lift" or not _unweighed(load))
    answer = _all_of(f.within for f in found)
    return {"leg": leg.name, "kind": leg.kind, "passes": answer if known or answer is False else None,
            "lean_deg": None if stands is None else stands.lean, "by_hand": leg.by_hand,
            "how": _how(stands, leg) if stands else None}


def _how(stands: Stance, leg: Leg) -> str | None:
    """Round a corner: turning where that goes, else sideways. In a cage: straight, or from corner to corner."""
    longer, thinner = stands.plan
    if leg.kind == "corner" and leg.has("in_width", "out_width"):
        a, b = leg.get("in_width"), leg.get("out_width")
        turning = corner.longest_round(a, b, thinner)
        if turning is not None and longer <= turning:
            return "turning"
        return "sideways" if corner.sideways(longer, thinner, a, b) else None
    return _in_a_cage(longer, thinner, leg) if leg.kind == "lift" and leg.has("width", "depth") else None


def _in_a_cage(longer: int, thinner: int, leg: Leg) -> str | None:
    width, depth = leg.get("width"), leg.get("depth")
    if corner.sideways(longer, thinner, width, depth):
        return "straight"
    longest = corner.longest_inside(width, depth, thinner)
    return "diagonal" if longest is not None and longer <= longest else None


def _second_look(way: Way, findings: Iterable[Finding], limits: Limits) -> Iterator[Mapping[str, Any]]:
    for load in way.loads:
        if not _unsized(load) and load.thickness > load.length:
            yield {"what": "thickness", "panel": load.panel, "why": "more_than_its_length"}
    tight = limits["tight"].value
    for found in findings:
        if tight is not None and found.unit == "mm" and found.within and found.limit - found.value <= tight:
            yield {"what": found.quantity, **found.where, "why": "tight", "left_mm": found.limit - found.value}


def judge(payload: Mapping[str, Any], limits: Limits) -> Verdict:
    return judge_way(read_way(payload), limits)
