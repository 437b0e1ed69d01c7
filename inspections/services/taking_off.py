"""What a unit takes: off the shop drawing, and of this opening as it was measured; and what changed between the two.

Joints, sealants and fasteners are the door system's. A joint whose width is `gap` is the one between frame and rough
opening; packing under the sill is what the floor says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.db.models import QuerySet

from inspections.models import Inspection
from inspections.services.ended import not_ended
from jobs.calc import reading
from jobs.calc.exact import every_limit
from jobs.calc.lengths import from_mm, to_mm
from jobs.calc.verdict import BadInput, Verdict, plain
from jobs.models import OfficeSettings, Opening
from units.calc import takeoff
from units.calc.materials import Materials, add_up, changes, take_off
from units.calc.takeoff_sent import Asked, read_asked
from units.models import DoorSystem, Unit
from units.services.explaining import Wish
from units.services.limits import limits_for

GAP = "gap"
SEAL = "seal"
MEMBERS = ("sill", "head", "lock jamb", "interlock")


@dataclass(frozen=True, slots=True)
class Opened:
    """An opening's sizes, as drawn or as measured; nanometres, None where nobody knows."""

    width: int | Fraction | None = None
    height: int | Fraction | None = None
    packing: tuple[tuple[str, int, int], ...] = ()  # line, at, packing


@dataclass(frozen=True, slots=True)
class TakenOff:
    """`left_out`: joints that are to be sealed and whose section nobody knows."""

    verdict: Verdict | None
    asked: Asked | None
    left_out: tuple[Mapping[str, str], ...] = ()
    refused: BadInput | None = None


@dataclass(frozen=True, slots=True)
class Both:
    drawn: TakenOff
    measured: TakenOff | None  # None before the floor and the opening were read

    @property
    def counts(self) -> TakenOff:
        """What to load and to buy by."""
        return self.measured or self.drawn

    def changed(self) -> tuple[Mapping[str, Any], ...]:
        if self.measured is None or self.measured.asked is None or self.drawn.asked is None:
            return ()
        was, now = (add_up([take_off(one.asked)]) for one in (self.drawn, self.measured))
        return changes(was, now)

    def as_dict(self) -> dict[str, Any]:
        return {"drawn": _shown(self.drawn), "measured": None if self.measured is None else _shown(self.measured),
                "changed": [plain(line) for line in self.changed()]}


def _shown(one: TakenOff) -> dict[str, Any]:
    why = one.refused
    return {"verdict": None if one.verdict is None else one.verdict.as_dict(), "left_out": list(one.left_out),
            "refused": None if why is None else {"field": why.field, "sent": why.sent, "right": why.right}}


def taken_off(unit: Unit) -> Both:
    return each([unit])[0]


def taken_off_as(unit: Unit, wish: Wish) -> Both:
    """Of the unit as somebody wonders whether it might be. Of another size its sill and its opening grow with its
    frame, the gaps as they are drawn; what was read is of the opening there is. Nothing is kept."""
    tried, wider = copy(unit), _by(unit.frame_width, wish.frame_width)
    tried.frame_width, tried.frame_height, tried.ways = wish.frame_width, wish.frame_height, wish.ways
    tried.system = wish.system
    if not of_another_size(unit, wish):
        return taken_off(tried)
    tried.sill_length, opening = _more(unit.sill_length, wider), unit.opening
    drawn = Opened(_more(opening.rough_width, wider),
                   _more(opening.rough_height, _by(unit.frame_height, wish.frame_height)))
    return Both(_taken_off(tried, drawn, OfficeSettings.current().shims), None)


def of_another_size(unit: Unit, wish: Wish) -> bool:
    """Than it has; one that has none yet is tried in the opening there is."""
    both = ((unit.frame_width, wish.frame_width), (unit.frame_height, wish.frame_height))
    return any(was is not None and was != now for was, now in both)


def _by(was: int | None, now: int | None) -> int | None:
    return None if was is None or now is None else now - was


def _more(length: int | None, by: int | None) -> int | None:
    return None if length is None or by is None else length + by


def each(units: Sequence[Unit]) -> list[Both]:
    """Of several units, in as many queries as of one."""
    found = _measured([unit.opening for unit in units])
    shims = OfficeSettings.current().shims
    return [_both(unit, found.get(unit.opening_id), shims) for unit in units]


def _both(unit: Unit, found: Opened | None, shims: Sequence[Any]) -> Both:
    drawn = Opened(unit.opening.rough_width, unit.opening.rough_height)
    return Both(_taken_off(unit, drawn, shims), None if found is None else _taken_off(unit, found, shims))


def materials(units: Sequence[Unit]) -> tuple[Materials, tuple[Unit, ...]]:
    """A job's material: its units added up; and those of which nothing could be taken off."""
    found = list(zip(units, each(units), strict=True))
    known = [take_off(both.counts.asked) for _, both in found if both.counts.asked is not None]
    return add_up(known), tuple(unit for unit, both in found if both.counts.asked is None)


def materials_shown(openings: QuerySet[Opening]) -> dict[str, Any]:
    """As `materials`, of the units of these openings, by their tags."""
    units = list(Unit.objects.filter(opening__in=openings).select_related("opening", "system").order_by("opening__tag"))
    needed, unknown = materials(units)
    known = [unit for unit in units if unit not in unknown]
    short = [known[n].opening.tag for n in needed.short]
    return plain({**needed.as_computed(), "short": short, "unknown": [unit.opening.tag for unit in unknown]})


# ---- what was measured ----------------------------------------------------------------------------------


READ = ("floor-profile", "rough-opening")


def _measured(openings: Iterable[Opening]) -> dict[int, Opened]:
    """By opening the floor's packing and the rough opening's means, as last read; not there where neither was, or
    where another floor and another wall are there now."""
    openings = list(openings)
    last: dict[int, dict[str, Inspection]] = {}
    reads = not_ended(Inspection.objects.filter(opening__in=openings, kind__in=READ))
    for read in reads.order_by("taken_at", "id"):
        last.setdefault(read.opening_id, {})[read.kind] = read
    return {opening.pk: _opened(opening, last[opening.pk]) for opening in openings if opening.pk in last}


def _opened(opening: Opening, last: Mapping[str, Inspection]) -> Opened:
    floor, rough = (last.get(kind) for kind in READ)
    width, height = (opening.rough_width, opening.rough_height) if rough is None else (
        _mean(rough, "widths"), _mean(rough, "heights"))
    return Opened(width, height, () if floor is None else tuple(_packing(floor.verdict)))


def _mean(read: Inspection, name: str) -> Fraction | None:
    sent = read.given.get(name) or {}
    unit = reading.unit_of(read.given)
    lengths = [reading.length(value, name, unit=unit) for value in sent.values() if value is not None]
    return Fraction(sum(lengths), len(lengths)) if lengths else None


def _packing(verdict: Mapping[str, Any]) -> Iterable[tuple[str, int, int]]:
    bed = verdict.get("computed", {}).get("bed") or {}  # nothing where it was never judged
    for under in bed.get("packing", ()):
        yield under["line"], from_mm(under["at_mm"]), from_mm(under["packing_mm"])


# ---- what is asked --------------------------------------------------------------------------------------


def _taken_off(unit: Unit, opened: Opened, shims: Sequence[Any]) -> TakenOff:
    if unit.system is None:
        return TakenOff(None, None, refused=BadInput("system", None, "give the unit its door system first"))
    asked, left_out = take_off_asked(unit, unit.system, opened, shims)
    if not (asked["joints"] or asked["members"] or asked["stations"]):
        return TakenOff(None, None, left_out, None if left_out else _nothing_asked(unit.system))
    limits = limits_for(takeoff.NAME, unit.system)
    try:
        exact = every_limit(takeoff.LIMITS, limits)
        read = read_asked(asked, exact)
        return TakenOff(takeoff.judge_take_off(read, exact), read, left_out)
    except BadInput as why:
        return TakenOff(None, None, left_out, why)


def _nothing_asked(system: DoorSystem) -> BadInput:
    if system.joints or system.fasteners:
        return BadInput("frame_width", None, "give the unit its frame, its width and its height, first")
    return BadInput("joints", None, "enter the joints and the fasteners of the door system first")


def take_off_asked(unit: Unit, system: DoorSystem, opened: Opened, shims: Sequence[Any],
                   ) -> tuple[dict[str, Any], tuple[dict[str, str], ...]]:
    """What `take-off` is asked, and the joints that must be left out of it."""
    lengths = _lengths(unit)
    joints, left_out = [], []
    for row in system.joints:
        if unit.ways == "two-way" and _member(row["place"]) == "lock jamb":
            continue  # it has none
        joint = _joint(row, lengths, _gaps(unit, opened))
        (left_out if joint is None else joints).append(joint or {"place": row["place"], "side": row.get("side", "")})
    stations = [{"line": line, "at": _mm(at), "packing": _mm(packing)} for line, at, packing in opened.packing]
    return {"unit": "mm", "joints": joints, "products": _products(system), "members": _members(unit, system),
            "stations": stations, "shims": list(shims) if stations else []}, tuple(left_out)


def _lengths(unit: Unit) -> dict[str, int | None]:
    """Of each member, both interlocks of a two-way door together."""
    two_way = unit.ways == "two-way"
    sill = unit.sill_length if unit.sill_length is not None else unit.frame_width
    return {"sill": sill, "head": sill, "lock jamb": None if two_way else unit.frame_height,
            "interlock": None if unit.frame_height is None else unit.frame_height * (2 if two_way else 1)}


def _gaps(unit: Unit, opened: Opened) -> dict[str, int | None]:
    """Between frame and rough opening: alike on both sides; over the head what the packing leaves."""
    packing = [nm for _, _, nm in opened.packing]
    under = Fraction(sum(packing), len(packing)) if packing else Fraction(0)
    beside = _less(opened.width, unit.frame_width, 2)
    return {"head": _less(opened.height, unit.frame_height, 1, under), "lock jamb": beside, "interlock": beside}


def _less(rough: int | Fraction | None, frame: int | None, sides: int, under: Fraction = Fraction(0)) -> int | None:
    return None if rough is None or frame is None else int((Fraction(rough) - frame - under) / sides)


def _joint(row: Mapping[str, Any], lengths: Mapping[str, int | None], gaps: Mapping[str, int | None],
           ) -> dict[str, Any] | None:
    member = _member(row["place"])
    length = lengths.get(member)
    base = {"place": row["place"], "side": row.get("side", ""), "rule": row["rule"]}
    if row["rule"] != SEAL:
        return base if length is None else {**base, "length": _mm(length)}
    section = _section(row, gaps.get(member))
    if length is None or section is None:
        return None
    return {**base, "length": _mm(length), **section, **{k: row[k] for k in ("product", "movement") if row.get(k)}}


def _section(row: Mapping[str, Any], gap: int | None) -> dict[str, str] | None:
    if row.get("leg"):
        return {"leg": row["leg"]}
    width = row.get("width")
    if width == GAP:
        width = None if gap is None or gap <= 0 else _mm(gap)
    return {"width": width, "depth": row["depth"]} if width and row.get("depth") else None


def _member(place: str) -> str:
    """`lock-jamb` and `lock jamb` are one."""
    plain_name = place.replace("-", " ").lower()
    return next((member for member in MEMBERS if plain_name.startswith(member)), plain_name)


def _products(system: DoorSystem) -> dict[str, dict[str, Any]]:
    wanted = ("cartridge_ml", "waste_pct", "movement_pct", "source")
    return {product["name"]: {name: product[name] for name in wanted if product.get(name) is not None}
            for product in system.products if product.get("name")}


def _members(unit: Unit, system: DoorSystem) -> Sequence[dict[str, Any]]:
    """Both interlocks of a two-way door one by one: each has its own two ends."""
    schedule = {_member(row["member"]): row for row in system.fasteners}
    return [{"name": name, "length": _mm(length), **{key: row[key] for key in (
        "spacing_most", "edge_least", "fastener") if row.get(key)}}
        for name, length in _fixed(unit) if (row := schedule.get(_member(name))) is not None]


def _fixed(unit: Unit) -> Iterable[tuple[str, int]]:
    for name, length in _lengths(unit).items():
        if length is not None and name == "interlock" and unit.ways == "two-way":
            yield from ((f"interlock {side}", length // 2) for side in ("left", "right"))
        elif length is not None:
            yield name, length


def _mm(nm: int) -> str:
    return f"{to_mm(nm)} mm"
