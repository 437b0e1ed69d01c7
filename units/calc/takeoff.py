"""Take-off: what a unit takes of sealant, anchors and shims, and what may be driven into the wall that hides it.

    cartridges  ceil(V (1 + waste) / V_c) per product        sealant.py
    width       (100 / X) (e L dT + M) + t                   movement.py
    anchors     ceil((L - 2e) / s) + 1 per member            anchors.py
    shims       fewest pieces under each station             shims.py
    fastener    board + flat stud - clearance                fastener.py

Judged: joints wide enough for what moves, deep enough and not too deep, fasteners short enough. All else is computed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from math import ceil
from typing import Any

from jobs.calc.exact import every_limit
from jobs.calc.verdict import (
    FAIL,
    NOT_ENOUGH_DATA,
    BadInput,
    Finding,
    Limit,
    Remedy,
    Verdict,
    at_least,
    at_most,
    overall,
    printed,
)
from units.calc import anchors, movement, shims
from units.calc.anchors import Anchoring
from units.calc.fastener import Wall
from units.calc.materials import TakeOff, fasteners_shown, take_off, thicknesses_shown
from units.calc.sealant import SEAL, DepthRule, Joint, Product, Rectangle, Use
from units.calc.shims import Pack
from units.calc.takeoff_sent import CLOSEST, Asked, Limits, read_asked

NAME = "take-off"
LIMITS: dict[str, str] = {
    "joint_width_least": "mm", "joint_depth_least": "mm", "joint_depth_most": "mm",
    "joint_depth_of_width": "pct",  # the depth a joint of some width should have; shown, and in the remedy
    "temperature_range": "c_apart",  # what a joint moves through, where nobody says
    "waste": "pct", "anchor_spacing": "mm", "anchor_edge": "mm", "clearance": "mm",
}
MUCH_WASTE, THICK_PACKING = 50, 50_000_000  # per cent, nanometres: a second look
CAUTION = "nothing_longer_into_the_pocket_wall"


# ---- the judgement --------------------------------------------------------------------------------------


def judge_take_off(asked: Asked, limits: Limits) -> Verdict:
    """`limits`: all of them, exact."""
    made = take_off(asked)
    products = {product.name: product for product in asked.products}
    depth = _depth_rule(limits)
    findings = (*_joint_findings(asked.joints, products, limits, depth), *_wall_findings(asked.wall))
    result = overall(findings)
    return Verdict(NOT_ENOUGH_DATA if made.missing and result != FAIL else result, findings,
                   _computed(made, products, depth), made.missing, tuple(_second_look(made)),
                   None if asked.wall is None else CAUTION)


def _depth_rule(limits: Limits) -> DepthRule:
    return DepthRule(*(limits[f"joint_depth_{name}"].value for name in ("of_width", "least", "most")))


def _joint_findings(joints: Iterable[Joint], products: Mapping[str, Product], limits: Limits,
                    depth: DepthRule) -> Iterable[Finding]:
    for joint in joints:
        if joint.rule == SEAL and isinstance(joint.section, Rectangle):
            yield from _width(joint, products, limits["joint_width_least"])
            yield from _depth(joint, limits, depth)


def _width(joint: Joint, products: Mapping[str, Product], least: Limit) -> Iterable[Finding]:
    width = joint.section.width
    wider = None if least.value is None else Remedy("widen_the_joint", {"width_mm": least.value})
    yield at_least("joint_width", width, least, where=joint.where, remedy=wider)
    needed = _width_needed(joint, products)
    if needed is not None:
        product = products[joint.product]
        yield at_least("joint_width_for_movement", width, Limit(needed, product.source), where=joint.where,
                       remedy=_room_to_move(joint, needed))


def _width_needed(joint: Joint, products: Mapping[str, Product]) -> Fraction | None:
    """None where nothing is said to move, or where what the formula takes is not all there."""
    if joint.moving is None or joint.product is None or joint.moving.lacking:
        return None
    capability = products[joint.product].movement
    return None if capability is None else movement.width_needed(joint.moving, capability)


def _room_to_move(joint: Joint, needed: Fraction) -> Remedy:
    """A wider joint, or a product that moves more; both rounded up, so that they are enough."""
    values: dict[str, Any] = {"width_mm": ceil(needed)}
    capability = movement.capability_needed(joint.moving, joint.section.width)
    if capability is not None:
        values["or_movement_pct"] = Fraction(ceil(capability * 10), 10)
    return Remedy("widen_the_joint", values)


def _depth(joint: Joint, limits: Limits, rule: DepthRule) -> Iterable[Finding]:
    depth, width = joint.section.depth, joint.section.width
    should = rule.for_width(width)
    to = {"depth_mm": rule.nearest(depth) if should is None else should}
    yield at_least("joint_depth_least", depth, limits["joint_depth_least"], where=joint.where,
                   remedy=Remedy("fill_the_joint_deeper", to))
    yield at_most("joint_depth_most", depth, limits["joint_depth_most"], where=joint.where,
                  remedy=Remedy("back_the_joint_up", to))


def _wall_findings(wall: Wall | None) -> Iterable[Finding]:
    """The fastener that is to be used; where none is named, the shortest at hand: a longer one may stay in its box."""
    if wall is None or (wall.longest is None and not wall.fasteners):
        return
    allowed = Limit(wall.longest_allowed, wall.clearance_source)
    usable = max(wall.may_be_used, default=None)
    remedy = Remedy("use_a_shorter_fastener", {"longest_mm": allowed.value, "at_hand_mm": usable})
    if wall.longest is not None:
        yield at_most("longest_fastener", wall.longest, allowed, remedy=remedy)
    else:
        yield at_most("shortest_fastener_at_hand", min(wall.fasteners), allowed, remedy=remedy)


# ---- what follows ---------------------------------------------------------------------------------------


def _computed(made: TakeOff, products: Mapping[str, Product], depth: DepthRule) -> dict[str, Any]:
    return {
        "joints": [_joint(joint, products, depth) for joint in made.joints],
        "sealant": [_use(use) for use in made.uses],
        "members": [_anchoring(one) for one in made.anchorings],
        "anchors": fasteners_shown(anchors.by_fastener(made.anchorings)),
        "stations": [_pack(pack) for pack in made.packs],
        "shims": thicknesses_shown(shims.by_thickness(made.packs)),
        "wall": None if made.wall is None else _wall(made.wall),
    }


def _joint(joint: Joint, products: Mapping[str, Product], depth: DepthRule) -> dict[str, Any]:
    shown = {**joint.where, "rule": joint.rule, "length_mm": joint.length, "product": joint.product,
             "volume_ml": printed(joint.volume, "ml")}
    if isinstance(joint.section, Rectangle):
        should = depth.for_width(joint.section.width)
        return shown | {"width_mm": joint.section.width, "depth_mm": joint.section.depth,
                        "depth_for_width_mm": should, "width_for_movement_mm": _width_needed(joint, products)}
    return shown if joint.section is None else shown | {"leg_mm": joint.section.leg}


def _use(use: Use) -> dict[str, Any]:
    product = use.product
    return {"product": product.name, "length_mm": use.length, "volume_ml": printed(use.volume, "ml"),
            "waste_pct": product.waste, "with_waste_ml": printed(use.with_waste, "ml"),
            "cartridge_ml": printed(product.cartridge, "ml"), "cartridges": use.cartridges,
            "open_remainder_ml": printed(use.remainder, "ml")}


def _anchoring(one: Anchoring) -> dict[str, Any]:
    return {"member": one.member.name, "length_mm": one.member.length, "fastener": one.member.fastener,
            "count": one.count, "spacing_mm": one.spacing, "edge_mm": one.edge, "at_mm": one.at}


def _pack(pack: Pack) -> dict[str, Any]:
    return {"line": pack.station.line, "at_mm": pack.station.at, "packing_mm": pack.station.packing,
            "pieces": thicknesses_shown(pack.pieces), "remainder_mm": pack.remainder}


def _wall(wall: Wall) -> dict[str, Any]:
    most = wall.longest_allowed
    return {"wall_mm": wall.board + wall.stud, "clearance_mm": wall.clearance, "longest_allowed_mm": most,
            "fasteners": [{"length_mm": length, "may_be_used": None if most is None else length <= most}
                          for length in wall.fasteners]}


def _second_look(made: TakeOff) -> Iterable[Mapping[str, Any]]:
    there: set[tuple[str, str]] = set()
    for joint in made.joints:
        if (joint.place, joint.side) in there:
            yield {"what": "joint", **joint.where, "why": "listed_twice"}
        there.add((joint.place, joint.side))
        if isinstance(joint.section, Rectangle) and joint.section.depth > joint.section.width:
            yield {"what": "joint", **joint.where, "why": "deeper_than_wide"}
    for use in made.uses:
        if use.product.waste is not None and use.product.waste > MUCH_WASTE:
            yield {"what": "waste_pct", "product": use.product.name, "why": "more_than_half_wasted"}
    for one in made.anchorings:
        if one.count == 1:
            yield {"what": "anchors", "member": one.member.name, "why": "one_anchor_only", "edge_mm": one.edge}
    for pack in made.packs:
        if pack.station.packing > THICK_PACKING:
            yield {"what": "packing", "at_mm": pack.station.at, "why": "very_thick"}


# ---- what was sent --------------------------------------------------------------------------------------


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    exact = every_limit(LIMITS, limits)
    _can_be(exact)
    return judge_take_off(read_asked(payload, exact), exact)


def _can_be(limits: Limits) -> None:
    spacing, least, most = (limits[name].value for name in ("anchor_spacing", "joint_depth_least", "joint_depth_most"))
    if spacing is not None and spacing < CLOSEST:
        raise BadInput("limits.anchor_spacing", printed(spacing, "mm"), "anchors stand 50 mm apart or more")
    if least is not None and most is not None and least > most:
        raise BadInput("limits.joint_depth_least", printed(least, "mm"), "not more than joint_depth_most")
