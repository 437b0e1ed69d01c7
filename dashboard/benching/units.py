"""A unit's sums to measure, each beside the pure sums alone; a job's material beside one unit's."""

from __future__ import annotations

from typing import Any

from dashboard.benching import rows
from dashboard.benching.timing import milliseconds
from inspections.services.laying_out import explained
from inspections.services.taking_off import materials
from jobs.models import Opening
from units.calc import panels, weights
from units.models import DoorSystem, Unit
from units.services.explaining import panels_asked, weights_asked, wish_of
from units.services.limits import limits_for

MM = 1_000_000
# Of nobody's making.
SYSTEM: dict[str, Any] = {
    "lock_jamb": 60 * MM, "interlock": 40 * MM, "head": 70 * MM, "sill": 30 * MM, "height_deduction": 10 * MM,
    "meeting_lap": 50 * MM, "interlock_lap": 40 * MM, "jamb_engagement": 20 * MM, "increment": MM,
    "panel_thickness": 55 * MM, "track_pitch": 65 * MM, "covers": 30 * MM, "pull": 50 * MM, "stop": 20 * MM,
    "pocket_clearance": 10 * MM, "stile_face": 60 * MM, "rail_face": 60 * MM, "glass_inset": 40 * MM,
    "stile_grams_per_m": 3000, "rail_grams_per_m": 4000, "hardware": [{"what": "rollers", "kg": 1.5, "count": 2}],
    "glasses": [{"name": "8 and 8", "layers": [{"kind": "pane", "nominal": 8}, {"kind": "pane", "nominal": 8}]}],
    "joints": [{"place": place, "side": "outside", "rule": "seal", "width": "10 mm", "depth": "8 mm",
                "product": "Bead"} for place in ("head", "lock-jamb", "interlock")],
    "products": [{"name": "Bead", "cartridge_ml": 300, "waste_pct": 10}],
    "fasteners": [{"member": member, "spacing_most": "400 mm", "edge_least": "150 mm", "fastener": "screw"}
                  for member in ("head", "sill", "lock jamb", "interlock")],
}


def some_units(count: int) -> list[Unit]:
    system = DoorSystem.objects.get_or_create(code="bench", defaults={"name": "Bench", **SYSTEM})[0]
    before = Unit.objects.count()
    made = [Opening.objects.create(job=rows.job(), tag=f"unit-{before + n}", rough_width=12_020 * MM,
                                   rough_height=3020 * MM) for n in range(count)]
    return [Unit.objects.create(opening=opening, system=system, panel_count=6, frame_width=12_000 * MM,
                                frame_height=3000 * MM) for opening in made]


def one_unit() -> tuple[float, float]:
    """Milliseconds for all that follows from a unit of six panels, as the API says it; and for its sums alone."""
    unit = some_units(1)[0]
    whole = milliseconds(lambda: explained(Unit.objects.select_related("opening", "system").get(pk=unit.pk)).as_dict(),
                         21)
    return whole, _sums_alone(unit)


def _sums_alone(unit: Unit) -> float:
    wish, asked = wish_of(unit), panels_asked(wish_of(unit))
    limits, of_weights = (limits_for(name, unit.system) for name in (panels.NAME, weights.NAME))
    heavy = weights_asked(wish, panels.judge(asked, limits).computed["panels"])
    return milliseconds(lambda: (panels.judge(asked, limits), weights.judge(heavy, of_weights)), 21)


def material_of_a_job(count: int = 40) -> tuple[float, float]:
    """Milliseconds to add up the material of so many units; and that of one."""
    units = some_units(count)
    return milliseconds(lambda: materials(units), 7), milliseconds(lambda: materials(units[:1]), 21)
