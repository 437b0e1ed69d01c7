"""Materials: what one unit takes, several units added up for a job, and what changed since.

A cartridge opened at one opening is not counted on at the next, which may be sealed another day: cartridges are added
up unit by unit. What they would be if all were sealed in one go is given beside them. Exact, as the sums below are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from jobs.calc.verdict import printed
from units.calc import anchors, sealant, shims
from units.calc.anchors import Anchoring
from units.calc.fastener import Wall
from units.calc.sealant import SEAL, Joint, Use
from units.calc.shims import Pack
from units.calc.takeoff_sent import Asked

QUANTITIES = ("product", "cartridge_ml", "waste_pct", "anchor_spacing", "anchor_edge", "shims")


@dataclass(frozen=True, slots=True)
class TakeOff:
    """What one unit takes, as far as it is known; `missing` is what is not."""

    joints: tuple[Joint, ...]
    uses: tuple[Use, ...]
    anchorings: tuple[Anchoring, ...]
    packs: tuple[Pack, ...]
    wall: Wall | None
    missing: tuple[Mapping[str, Any], ...] = ()

    @property
    def is_short(self) -> bool:
        """Something is left out of its quantities: added up as they are, they are too little."""
        return any(lack["what"] in QUANTITIES for lack in self.missing)


def take_off(asked: Asked) -> TakeOff:
    uses = sealant.uses(asked.joints, asked.products)
    return TakeOff(
        asked.joints, uses, tuple(anchors.anchoring(member) for member in asked.members),
        shims.packs(asked.stations, asked.shims) if asked.shims else (), asked.wall,
        (*_joints_lack(asked.joints), *_products_lack(asked.joints, uses), *asked.unset, *_others_lack(asked)),
    )


def _joints_lack(joints: Iterable[Joint]) -> Iterable[Mapping[str, Any]]:
    for joint in joints:
        if joint.rule == SEAL and joint.product is None:
            yield {"what": "product", **joint.where}
        if joint.moving is not None:
            yield from ({"what": f"movement_{name}", **joint.where} for name in joint.moving.lacking)


def _products_lack(joints: Iterable[Joint], uses: Iterable[Use]) -> Iterable[Mapping[str, Any]]:
    moving = {joint.product for joint in joints if joint.moving is not None}
    for product in (use.product for use in uses):
        lacks = {"cartridge_ml": product.cartridge is None, "waste_pct": product.waste is None,
                 "movement_pct": product.movement is None and product.name in moving}
        yield from ({"what": what, "product": product.name} for what, lacking in lacks.items() if lacking)


def _others_lack(asked: Asked) -> Iterable[Mapping[str, Any]]:
    if asked.stations and not asked.shims:
        yield {"what": "shims"}
    if asked.wall is not None and asked.wall.clearance is None:
        yield {"what": "clearance"}


# ---- several units --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Needed:
    """One product in one size of cartridge, over several units. None: a cartridge or a waste is not known."""

    product: str
    cartridge: Fraction | None
    length: int
    volume: Fraction
    cartridges: int | None  # unit by unit
    in_one_go: int | None


@dataclass(frozen=True, slots=True)
class Materials:
    sealant: tuple[Needed, ...]
    anchors: Mapping[str, int]  # fastener -> how many
    shims: Mapping[int, int]  # thickness -> how many
    short: tuple[int, ...] = ()  # which of the take-offs, in their order, leave something out of these

    def as_computed(self) -> dict[str, Any]:
        return {"sealant": [_needed(one) for one in self.sealant], "anchors": fasteners_shown(self.anchors),
                "shims": thicknesses_shown(self.shims), "short": self.short}


def add_up(takeoffs: Iterable[TakeOff]) -> Materials:
    takeoffs = tuple(takeoffs)
    thicknesses: Counter[int] = Counter()
    for one in takeoffs:
        thicknesses.update(shims.by_thickness(one.packs))
    return Materials(_sealant([use for one in takeoffs for use in one.uses]),
                     anchors.by_fastener(a for one in takeoffs for a in one.anchorings),
                     {thickness: thicknesses[thickness] for thickness in sorted(thicknesses, reverse=True)},
                     tuple(n for n, one in enumerate(takeoffs) if one.is_short))


def _sealant(uses: Iterable[Use]) -> tuple[Needed, ...]:
    alike: dict[tuple[str, Fraction | None], list[Use]] = {}
    for use in uses:
        alike.setdefault((use.product.name, use.product.cartridge), []).append(use)
    return tuple(_together(name, cartridge, own) for (name, cartridge), own in alike.items())


def _together(name: str, cartridge: Fraction | None, uses: list[Use]) -> Needed:
    each, length, volume = [use.cartridges for use in uses], sum(u.length for u in uses), sum(u.volume for u in uses)
    if cartridge is None or None in each:
        return Needed(name, cartridge, length, volume, None, None)
    together = sealant.cartridges(sum(use.with_waste for use in uses), cartridge)
    return Needed(name, cartridge, length, volume, sum(each), together)


def _needed(one: Needed) -> dict[str, Any]:
    return {"product": one.product, "cartridge_ml": printed(one.cartridge, "ml"), "length_mm": one.length,
            "volume_ml": printed(one.volume, "ml"), "cartridges": one.cartridges,
            "cartridges_in_one_go": one.in_one_go}


def fasteners_shown(totals: Mapping[str, int]) -> list[dict[str, Any]]:
    return [{"fastener": fastener, "count": count} for fastener, count in totals.items()]


def thicknesses_shown(totals: Mapping[int, int]) -> list[dict[str, Any]]:
    return [{"thickness_mm": thickness, "count": count} for thickness, count in totals.items()]


# ---- what changed ---------------------------------------------------------------------------------------


def changes(was: Materials, now: Materials) -> tuple[Mapping[str, Any], ...]:
    """Every line that is not what it was; nought where it was not there, None where it is not known."""
    before, after = _lines(was), _lines(now)
    every = dict.fromkeys((*before, *after))
    return tuple({**dict(line), "was": before.get(line, 0), "now": after.get(line, 0)} for line in every
                 if before.get(line, 0) != after.get(line, 0))


def _lines(materials: Materials) -> dict[tuple[tuple[str, Any], ...], int | None]:
    lines: dict[tuple[tuple[str, Any], ...], int | None] = {}
    for one in materials.sealant:
        named = (("what", "cartridges"), ("product", one.product), ("cartridge_ml", printed(one.cartridge, "ml")))
        lines[named] = one.cartridges
    lines |= {(("what", "anchors"), ("fastener", name)): count for name, count in materials.anchors.items()}
    return lines | {(("what", "shims"), ("thickness_mm", nm)): count for nm, count in materials.shims.items()}
