"""What each panel weighs, part by part, and where its centre of mass lies; computed against weighed.

The sums are in mass.py and glass.py. Masses in kilograms as fractions, lengths in whole nanometres. A panel is judged
by the heavier of what it should weigh and what the scale said; both are kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.exact import every_limit, to_places
from jobs.calc.lengths import FOOT
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
from units.calc.mass import M2, PARTS, Make, Panel, Weight, kg_for_each_nm, weigh
from units.calc.read import PANELS_ARE_HEAVY
from units.calc.weights_sent import read_make, read_panels, refuse_what_cannot_be

NAME = "weights"
LIMITS: dict[str, str] = {
    "panel_mass_most": "kg",
    "weighed_apart": "pct",  # beyond it a second look is asked for; no verdict
    "interlayer_density": "number",  # kg/m3, of what laminates are bonded with; no limit, but from a source like one
}

HEAVY, LIGHT = 1000, 10  # kg: seldom heavier or lighter
LARGE = 20 * FOOT


# ---- the judgement --------------------------------------------------------------------------------------


def judge_panels(panels: tuple[Panel, ...], make: Make, limits: Mapping[str, Limit]) -> Verdict:
    exact = every_limit(LIMITS, limits)
    weights = tuple(weigh(panel, make) for panel in panels)
    missing = tuple({"what": what} for what in _missing(make))
    findings = tuple(finding for weight in weights for finding in _findings(weight, exact["panel_mass_most"]))
    result = overall(findings, missing)
    return Verdict(NOT_ENOUGH_DATA if result == NOT_ENOUGH_READINGS else result, findings,
                   _computed(weights, make, exact), missing,
                   tuple(look for weight in weights for look in _second_look(weight, exact["weighed_apart"])),
                   PANELS_ARE_HEAVY)


def _missing(make: Make) -> Iterator[str]:
    if make.glass is None:
        yield "glass"
    elif make.kg_a_square_metre is None:
        yield "interlayer_density"
    for what, known in (("stile_kg_per_m", make.stiles), ("rail_kg_per_m", make.rails), ("hardware", make.hardware)):
        if known is None:
            yield what


def _findings(weight: Weight, most: Limit) -> Iterator[Finding]:
    """What is known of a panel may be too heavy already, whatever is lacking; but not light enough."""
    kg, by = weight.heavier
    finding = at_most("panel_mass", kg, most, unit="kg", where={"panel": weight.panel.letter, "by": by},
                      remedy=_lighten(weight, most))
    if not weight.lacking or weight.panel.weighed is not None or finding.within is False:
        yield finding


def _lighten(weight: Weight, most: Limit) -> Remedy | None:
    """The widest panel of the same height and make that would be within the limit."""
    if most.value is None:
        return None
    over = weight.heavier[0] - most.value
    each = kg_for_each_nm(weight)
    widest = (weight.panel.width - over / each).__floor__() if each else 0
    return Remedy("narrower_panels_or_lighter_glass",
                  {"over_kg": over, "width_at_most_mm": widest if widest > 0 else None})


def _computed(weights: tuple[Weight, ...], make: Make, limits: Mapping[str, Limit]) -> dict[str, Any]:
    dense, glass = make.kg_a_square_metre, make.glass
    heaviest = max(weights, key=lambda weight: weight.heavier[0], default=None)
    totals = [weight.total for weight in weights]
    return {
        "panels": [_weight(weight) for weight in weights],
        "heaviest": None if heaviest is None else heaviest.panel.letter,
        "total_kg": None if None in totals else sum(totals, Fraction(0)),
        "glass": None if glass is None else {
            "nominal_mm": glass.nominal, "interlayers_mm": glass.interlayers, "thickness_mm": glass.thickness,
            "kg_a_square_metre": None if dense is None else to_places(dense, 6)},
        "interlayer_density": {"kg_a_cubic_metre": limits["interlayer_density"].value,
                               "source": limits["interlayer_density"].source},
    }


def _weight(weight: Weight) -> dict[str, Any]:
    panel, centre = weight.panel, weight.centre
    unknown = bool(weight.lacking) and panel.weighed is None
    return {
        "panel": panel.letter, "width_mm": panel.width, "height_mm": panel.height,
        "area_m2": to_places(Fraction(panel.width * panel.height, M2), 6),
        **{f"{what}_kg": weight.of(what) for what in PARTS},
        "computed_kg": weight.total, "computed_grams": weight.grams, "weighed_kg": panel.weighed,
        "weighed_more_pct": weight.apart, "handle_by": None if unknown else weight.heavier[1],
        "handle_by_kg": None if unknown else weight.heavier[0],
        "centre": None if centre is None else {"from_lead_edge_mm": centre[0], "from_bottom_mm": centre[1]},
        "hardware_without_a_place": [piece.what for piece in weight.make.hardware or ()
                                     if piece.at is None and (piece.panels is None or panel.letter in piece.panels)],
    }


def _second_look(weight: Weight, most: Limit) -> Iterator[Mapping[str, Any]]:
    panel, apart = weight.panel, weight.apart
    if apart is not None and most.value is not None and abs(apart) > most.value:
        yield {"what": "weighed", "panel": panel.letter, "why": "weighed_apart_from_computed",
               "weighed_kg": panel.weighed, "computed_kg": weight.total, "more_pct": apart}
    if weight.heavier[0] > HEAVY or (not weight.lacking and weight.heavier[0] < LIGHT):
        yield {"what": "mass", "panel": panel.letter, "why": "seldom_so_heavy_or_light", "read_kg": weight.heavier[0]}
    for name in ("width", "height"):
        if getattr(panel, name) > LARGE:
            yield {"what": name, "panel": panel.letter, "why": "seldom_so_large", "read_mm": getattr(panel, name)}


# ---- what was sent --------------------------------------------------------------------------------------


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    """In: `panels: [{panel, width, height, weighed}]`, or one; `glass`, `glass_inset`, `stile_kg_per_m`,
    `rail_kg_per_m`, `stile_face`, `rail_face`, `hardware: [{what, kg, count, at, panels}]`.

    `glass`, layer by layer: {kind: pane, nominal}, {kind: laminate, plies, interlayer}, {kind: space, width}.
    """
    unit = reading.unit_of(payload)
    panels = read_panels(payload, unit)
    density = every_limit(LIMITS, limits)["interlayer_density"].value
    make = read_make(payload, unit, density, panels)
    refuse_what_cannot_be(payload, panels, make)
    return judge_panels(panels, make, limits)
