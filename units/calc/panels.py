"""Panels: their widths and height, the pocket and the wall they need, in which order they hang; what cannot be built.

    width         layout.py; cut to the shop's increment, the remainder in a named lap
    height        clear height less what is taken off for rollers, head and clearance
    pocket, wall  pocket.py

Whole nanometres. Plain geometry, no published source; laps, deductions and limits are the maker's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import every_limit, to_places
from jobs.calc.lengths import FOOT, INCH
from jobs.calc.verdict import (
    NOT_ENOUGH_DATA,
    NOT_ENOUGH_READINGS,
    BadInput,
    Finding,
    Limit,
    Remedy,
    Verdict,
    at_least,
    at_most,
    overall,
)
from units.calc.layout import (
    MIDDLE,
    MOST_PANELS,
    ROUNDINGS,
    Door,
    Joint,
    Layout,
    PlacedPanel,
    Shop,
    clear_width_for,
    cut,
    depth_taken,
    exact_widths,
    gap_when_closed,
    lay_out,
)
from units.calc.panels_sent import (
    impossible,
    read_door,
    read_shop,
    read_surroundings,
    refuse_what_cannot_be,
    too_thick,
)
from units.calc.pocket import Surroundings, lean_in, pocket_depth_needed, wall_needed
from units.calc.read import PANELS_ARE_HEAVY

NAME = "panels"
LIMITS: dict[str, str] = {
    "panel_width_least": "mm", "panel_width_most": "mm", "panel_height_least": "mm", "panel_height_most": "mm",
    "panel_area_most_m2": "number",
    "remainder_most": "mm",  # what cutting may add to a lap or take from it
    "pocket_depth_spare": "mm", "wall_spare": "mm",  # what must be left over; unset: nothing need be
    "last_panel_gap": "mm",  # to be left between the pocket and the panel before the last; shown, not judged
}

GEOMETRY = "plain geometry"
AS_GIVEN = "as given"
WIDTHS = {"panel_width_least", "panel_width_most"}
M2 = 10**18  # square nanometres
NARROW, WIDE, LOW, HIGH = 3 * FOOT, 60 * FOOT, 5 * FOOT, 20 * FOOT
COARSE = INCH // 4


@dataclass(frozen=True, slots=True)
class Size:
    """A size that panels are cut to, and which panels."""

    width: int
    height: int | None
    panels: tuple[str, ...]
    lead: bool

    @property
    def area(self) -> Fraction | None:
        return None if self.height is None else Fraction(self.width * self.height, M2)


def sizes(layout: Layout, height: int | None) -> tuple[Size, ...]:
    by_width: dict[int, list[PlacedPanel]] = {}
    for panel in layout.in_hanging_order:
        by_width.setdefault(panel.width, []).append(panel)
    return tuple(Size(width, height, tuple(p.letter for p in alike), alike[0].rank == 0)
                 for width, alike in by_width.items())


# What the panels of a layout, this high, would fail by besides, such as by what they weigh. BadInput: nobody could make
# them.
Besides = Callable[[Layout, int | None], frozenset[str]]


def nothing_besides(layout: Layout, height: int | None) -> frozenset[str]:
    return frozenset()


# ---- the judgement --------------------------------------------------------------------------------------


def judge_door(door: Door, shop: Shop, around: Surroundings, limits: Mapping[str, Limit],
               missing: Iterable[Mapping[str, Any]] = (), besides: Besides = nothing_besides) -> Verdict:
    exact, layout = every_limit(LIMITS, limits), lay_out(door, shop)
    findings, computed = tuple(_findings(layout, shop, around, exact)), _computed(layout, shop, around, exact)
    if failing_of(findings) or besides(layout, around.panel_height):
        others = _failing_by_count(door, shop, around, exact, besides)
        findings = tuple(_with_remedy(finding, layout, shop, others) for finding in findings)
        computed |= _what_can(door, shop, others)
    return Verdict(_result(findings, tuple(missing)), findings, computed, tuple(missing),
                   tuple(_second_look(layout, shop, around)), PANELS_ARE_HEAVY)


def _result(findings: tuple[Finding, ...], missing: tuple[Any, ...]) -> str:
    result = overall(findings, missing)
    return NOT_ENOUGH_DATA if result == NOT_ENOUGH_READINGS else result


def _findings(layout: Layout, shop: Shop, around: Surroundings, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    for size in sizes(layout, around.panel_height):
        yield from _size_findings(size, limits)
    yield from _remainder_findings(layout, shop, limits)
    for side in layout.door.sides:
        yield from _pocket_findings(layout, side, around, limits)
    yield from _lean_in_findings(around)


def _size_findings(size: Size, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    where = {"panels": list(size.panels), "lead": size.lead}
    for name in ("width", "height"):
        value = getattr(size, name)
        if value is not None:
            for bound, judged in (("least", at_least), ("most", at_most)):
                yield judged(f"panel_{name}_{bound}", value, limits[f"panel_{name}_{bound}"], where=where)
    if size.area is not None:
        yield at_most("panel_area", size.area, limits["panel_area_most_m2"], unit="m2", where=where)


def _remainder_findings(layout: Layout, shop: Shop, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    """By how much each lap that takes a share of the remainder has changed, and whether it still laps.

    The few nanometres that are left where nobody cuts to an increment are no matter.
    """
    if shop.increment == 1 and shop.panel_width is None:
        return
    for joint in layout.joints:
        if joint.lap != joint.nominal:
            where = {"joint": joint.kind, "side": joint.side, "panels": list(joint.panels)}
            yield at_most("remainder", abs(joint.lap - joint.nominal), limits["remainder_most"], where=where)
            if joint.kind != MIDDLE:
                yield at_least("lap_left", joint.lap, Limit(0, GEOMETRY), where=where)


def _pocket_findings(layout: Layout, side: str, around: Surroundings, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    for name, given, needed in (
        ("pocket_depth_spare", around.pocket_depth, pocket_depth_needed(layout, side, around)),
        ("wall_spare", around.wall_clear, wall_needed(layout, side, around)),
    ):
        if side in given and needed is not None:
            where = {"side": side, "needed_mm": needed, "there_mm": given[side]}
            yield at_least(name, given[side] - needed, _spare(limits[name]), where=where)


def _spare(limit: Limit) -> Limit:
    """Nobody need ask for more than is taken up; but what is not there cannot be taken up."""
    return Limit(0, GEOMETRY) if limit.value is None else limit


def _lean_in_findings(around: Surroundings) -> Iterator[Finding]:
    known = (around.panel_height, around.panel_thickness, around.lean_in_angle)
    if None not in known and around.lean_in_room is not None:
        yield at_most("lean_in_room", lean_in(*known)[0], Limit(around.lean_in_room, AS_GIVEN))


# ---- what cannot be built, and the nearest that can -----------------------------------------------------


def failing_of(findings: Iterable[Finding]) -> frozenset[str]:
    return frozenset(finding.quantity for finding in findings if finding.within is False)


def _failing_by_count(door: Door, shop: Shop, around: Surroundings, limits: Mapping[str, Limit],
                      besides: Besides) -> dict[int, frozenset[str]]:
    """For every number of panels that makes a door at all: which findings it would fail."""
    failing, shop = {}, replace(shop, panel_width=None)
    for n in range(door.leads, MOST_PANELS + 1):
        other = replace(door, panels=n)
        if impossible(other, shop) is not None or too_thick(other, around) is not None:
            continue
        layout = lay_out(other, shop)
        try:
            also = besides(layout, around.panel_height)
        except BadInput:
            continue
        failing[n] = failing_of(_findings(layout, shop, around, limits)) | also
    return failing


def _what_can(door: Door, shop: Shop, others: Mapping[int, frozenset[str]]) -> dict[str, Any]:
    """Every number of panels that fails nothing, and of these the nearest."""
    can = [n for n, failing in others.items() if not failing]
    nearest = min(can, key=lambda n: (abs(n - door.panels), n), default=None)
    return {"can_be_built_with_panels": can,
            "nearest_that_can_be_built": None if nearest is None else _made_of(door, shop, nearest)}


def _made_of(door: Door, shop: Shop, panels: int) -> dict[str, Any]:
    other = replace(door, panels=panels)
    made = cut(other, replace(shop, panel_width=None))
    return {"panels": panels, "width_mm": made.width, "lead_width_mm": made.lead_width, "tracks": other.tracks}


def _with_remedy(finding: Finding, layout: Layout, shop: Shop, others: Mapping[int, frozenset[str]]) -> Finding:
    if finding.within is not False:
        return finding
    with_panels = _with_panels(finding, layout.door, shop, others)
    return replace(finding, remedy=_remedy(finding, layout.door, shop, with_panels))


def _remedy(finding: Finding, door: Door, shop: Shop, with_panels: Mapping[str, Any]) -> Remedy:
    short = abs(finding.value - finding.limit)
    match finding.quantity:
        case "pocket_depth_spare":
            return Remedy("deepen_the_pocket", {"by_mm": short, **with_panels})
        case "wall_spare":
            return Remedy("widen_the_wall", {"by_mm": short, **with_panels})
        case "lean_in_room":
            return Remedy("make_room_or_lean_less", {"by_mm": short})
        case "remainder" | "lap_left":
            return Remedy("cut_nearer_to_the_exact_width", {"exact_width_mm": exact_widths(door)[0]})
        case "panel_height_least" | "panel_height_most":
            return Remedy("change_the_height", {"by_mm": finding.limit - finding.value})
    width = {"clear_width_mm": nearest_clear_width(door, shop, finding)} if finding.unit == "mm" else {}
    code = "change_the_number_of_panels" if with_panels else "no_number_of_panels_fits"
    return Remedy(code, {**with_panels, **width})


def _with_panels(finding: Finding, door: Door, shop: Shop, others: Mapping[int, frozenset[str]]) -> dict[str, Any]:
    """The nearest number of panels that would not fail this; one that fails nothing else, where there is one."""
    meant = WIDTHS if finding.quantity in WIDTHS else {finding.quantity}
    fit = [n for n, failing in others.items() if not meant & failing]
    if not fit:
        return {}
    nearest = min(fit, key=lambda n: (bool(others[n]), abs(n - door.panels), n))
    return {**_made_of(door, shop, nearest), "then_failing": sorted(others[nearest])}


def nearest_clear_width(door: Door, shop: Shop, finding: Finding) -> int:
    """The clear width nearest to this one that as many panels of a width within the limit fill exactly."""
    marks = Fraction(finding.limit) / shop.increment
    width = (marks.__ceil__() if finding.least else marks.__floor__()) * shop.increment
    more = door.lead_wider_by if finding.where["lead"] else 0
    if len(finding.where["panels"]) == door.panels > door.leads:  # cut alike, though one should be a little wider
        more = min(more, 0) if finding.least else max(more, 0)
    return int(clear_width_for(door, width - more))


# ---- what follows ---------------------------------------------------------------------------------------


def _computed(layout: Layout, shop: Shop, around: Surroundings, limits: Mapping[str, Limit]) -> dict[str, Any]:
    door, exact = layout.door, exact_widths(layout.door)
    return {
        "clear_width_mm": door.clear_width, "clear_height_mm": around.clear_height,
        "panel_height_mm": around.panel_height, "net_clear_opening_mm": door.net_clear, "tracks": door.tracks,
        "exact_width_mm": exact[0], "exact_lead_width_mm": exact[1],
        "width_mm": layout.cut.width, "lead_width_mm": layout.cut.lead_width,
        "remainder": {"place": shop.remainder_to, "remainder_mm": layout.cut.remainder},
        "roundings": [_rounding(door, replace(shop, rounding=how, panel_width=None)) for how in ROUNDINGS],
        "fill": _fill(layout),
        "panels": [_panel(panel, around) for panel in layout.in_hanging_order],
        "joints": [_joint(joint) for joint in layout.joints],
        "hanging_order": [panel.letter for panel in layout.in_hanging_order],
        "last_panels": list(_last_panels(layout, limits["last_panel_gap"])),
        "pockets": [_pocket(layout, side, around) for side in door.sides],
        "lean_in": _lean_in(around),
    }


def _rounding(door: Door, shop: Shop) -> dict[str, Any]:
    made = cut(door, shop)
    return {"rounding": shop.rounding, "width_mm": made.width, "lead_width_mm": made.lead_width,
            "remainder_mm": made.remainder}


def _fill(layout: Layout) -> dict[str, int]:
    """Panels less laps: the clear width."""
    panels, laps = sum(p.width for p in layout.panels), sum(joint.lap for joint in layout.joints)
    return {"panels_mm": panels, "laps_mm": laps, "panels_less_laps_mm": panels - laps}


def _panel(panel: PlacedPanel, around: Surroundings) -> dict[str, Any]:
    height = around.panel_height
    area = None if height is None else to_places(Fraction(panel.width * height, M2), 6)
    return {"panel": panel.letter, "position": panel.position, "side": panel.side, "track": panel.track,
            "order": panel.order, "width_mm": panel.width, "height_mm": height, "area_m2": area,
            "closed": _span(panel.closed), "stacked": _span(panel.stacked)}


def _joint(joint: Joint) -> dict[str, Any]:
    return {"joint": joint.kind, "side": joint.side, "panels": list(joint.panels), "nominal_lap_mm": joint.nominal,
            "lap_mm": joint.lap, **_span(joint.at)}


def _span(span: tuple[int, int]) -> dict[str, int]:
    return {"from_mm": span[0], "to_mm": span[1]}


def _last_panels(layout: Layout, gap: Limit) -> Iterator[dict[str, Any]]:
    """For each pocket: how far the panel before the last must be rolled away from it to leave the gap."""
    for side in layout.door.sides:
        closed = gap_when_closed(layout, side)
        if closed is not None:
            *_, before, last = layout.on(side)
            roll = None if gap.value is None else max(0, gap.value - closed)
            yield {"side": side, "panel": last.letter, "before": before.letter, "gap_mm": gap.value,
                   "source": gap.source, "gap_when_closed_mm": closed, "roll_away_by_mm": roll}


def _pocket(layout: Layout, side: str, around: Surroundings) -> dict[str, Any]:
    return {"side": side, "panels": layout.door.sides[side], "depth_of_panels_mm": depth_taken(layout, side),
            "depth_needed_mm": pocket_depth_needed(layout, side, around), "depth_mm": around.pocket_depth.get(side),
            "wall_needed_mm": wall_needed(layout, side, around), "wall_mm": around.wall_clear.get(side)}


def _lean_in(around: Surroundings) -> dict[str, Any] | None:
    known = (around.panel_height, around.panel_thickness, around.lean_in_angle)
    if None in known:
        return None
    room, reach = lean_in(*known)
    return {"angle_deg": around.lean_in_angle, "room_mm": room, "reach_mm": reach}


def _second_look(layout: Layout, shop: Shop, around: Surroundings) -> Iterator[Mapping[str, Any]]:
    door, quarter = layout.door, layout.cut.width / 4
    if not NARROW <= door.clear_width <= WIDE:
        yield {"what": "clear_width", "why": "seldom_so_wide_or_narrow", "read_mm": door.clear_width}
    if around.clear_height is not None and not LOW <= around.clear_height <= HIGH:
        yield {"what": "clear_height", "why": "seldom_so_high_or_low", "read_mm": around.clear_height}
    for name in ("meeting_lap", "middle_lap", "interlock_lap", "jamb_engagement", "lead_wider_by"):
        if abs(getattr(door, name)) > quarter:
            yield {"what": name, "why": "more_than_a_quarter_of_a_panel", "read_mm": getattr(door, name)}
    if shop.increment > COARSE:
        yield {"what": "increment", "why": "coarser_than_a_quarter_inch", "read_mm": shop.increment}
    if around.panel_height is not None and 4 * around.panel_height < 3 * around.clear_height:
        yield {"what": "height_deductions", "why": "more_than_a_quarter_of_the_height",
               "read_mm": around.clear_height - around.panel_height}


# ---- what was sent -----------------------------------------------------------------------------------


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit], besides: Besides = nothing_besides) -> Verdict:
    """See the readers below for what is read; what is lacking is named, all of it at once."""
    unit = reading.unit_of(payload)
    missing: list[Mapping[str, Any]] = []
    door, shop = read_door(payload, unit, missing), read_shop(payload, unit)
    around = read_surroundings(payload, unit, missing)
    if door is None:
        return Verdict(NOT_ENOUGH_DATA, missing=tuple(missing))
    refuse_what_cannot_be(payload, door, shop, around)
    for name, there in (("pocket_depth", around.pocket_depth), ("wall_clear", around.wall_clear)):
        missing += [{"what": name, "side": side} for side in door.sides if there and side not in there]
    return judge_door(door, shop, around, limits, missing, besides)


def what_can(payload: Mapping[str, Any], limits: Mapping[str, Limit],
             besides: Besides = nothing_besides) -> dict[str, Any]:
    """How many panels can be built of what was sent, where the number that was sent makes no door at all."""
    unit, exact = reading.unit_of(payload), every_limit(LIMITS, limits)
    door, shop = read_door(payload, unit, []), read_shop(payload, unit)
    if door is None:
        return {}
    others = _failing_by_count(door, shop, read_surroundings(payload, unit, []), exact, besides)
    return _what_can(door, shop, others)
