"""The two door systems nobody makes, with all that their makers would say, and the page they would say it on."""

from __future__ import annotations

from typing import Any

MM = 1_000_000
PANE = "pane"


def page_of(page: int) -> str:
    return f"maker's instructions of an invented system, page {page}"


def _limits(page: int, **values: Any) -> dict[str, dict[str, Any]]:
    return {name: {"value": value, "source": page_of(page)} for name, value in values.items()}


def _sealant(name: str, page: int, **over: Any) -> dict[str, Any]:
    return {"name": name, "air_least_c": 5, "air_most_c": 40, "surface_least_c": 4, "surface_most_c": 50,
            "skin_minutes": 60, "cure_mm_per_sqrt_day": 2.5, "bead_depth": "9.5 mm", "water_test_after_days": 7,
            "cartridge_ml": 300, "waste_pct": 12, "movement_pct": 25,
            "source": f"data sheet of an invented sealant, page {page}", **over}


def _joints(product: str, page: int, expansion: float, depth: str = "6 mm") -> list[dict[str, Any]]:
    """Round the frame, as wide as the gap that is left; inside a fillet at the sill; the weeps are never sealed."""
    moves = {"expansion_per_c": expansion, "range_c": 60, "tolerance": "1 mm", "source": page_of(page)}
    bead = {"rule": "seal", "width": "gap", "depth": depth, "product": product}
    return [
        {"place": "head", "side": "outside", **bead},
        {"place": "lock-jamb", "side": "outside", **bead, "movement": {**moves, "length": "1800 mm"}},
        {"place": "interlock", "side": "outside", **bead},
        {"place": "sill", "side": "inside", "rule": "seal", "leg": "8 mm", "product": product},
        {"place": "sill", "side": "outside", "rule": "never-seal"},
    ]


def _fasteners(screw: str, anchor: str, spacing: str) -> list[dict[str, str]]:
    return [{"member": member, "spacing_most": spacing, "edge_least": "150 mm", "fastener": fastener}
            for member, fastener in (("sill", anchor), ("head", screw), ("lock jamb", screw), ("interlock", screw))]


def _glass(name: str, *layers: dict[str, Any]) -> dict[str, Any]:
    return {"name": name, "layers": list(layers)}


def _pane(mm: int) -> dict[str, Any]:
    return {"kind": PANE, "nominal": f"{mm} mm"}


def _space(mm: int) -> dict[str, Any]:
    return {"kind": "space", "width": f"{mm} mm"}


def _laminate(*plies: int) -> dict[str, Any]:
    return {"kind": "laminate", "plies": [f"{mm} mm" for mm in plies], "interlayer": "0.76 mm"}


# Fields told on one page of the maker's instructions.
TOLD_TOGETHER = (
    ("lock_jamb", "interlock", "head", "sill", "height_deduction"),
    ("meeting_lap", "middle_lap", "interlock_lap", "jamb_engagement", "lead_wider_by", "increment"),
    ("panel_thickness", "track_pitch", "covers"),
    ("pull", "stop", "pocket_clearance", "lean_in_angle"),
    ("stile_face", "rail_face", "glass_inset", "stile_grams_per_m", "rail_grams_per_m", "hardware"),
    ("glasses",),
    ("roller_preset", "roller_lowest", "roller_highest", "thread_pitch", "roller_from_edge"),
    ("head_clearance", "head_clearance_least"),
    ("longest_piece", "fasteners"),
    ("joints",),
    ("products",),
)


def _sources(*pages: int) -> dict[str, str]:
    return {name: page_of(page) for names, page in zip(TOLD_TOGETHER, pages, strict=True) for name in names}


SYSTEMS: dict[str, dict[str, Any]] = {
    "guillemot-9": {
        "name": "Guillemot 9", "edition": "3", "material": "aluminium",
        "lock_jamb": 48 * MM, "interlock": 52 * MM, "head": 64 * MM, "sill": 38 * MM, "height_deduction": -12 * MM,
        "meeting_lap": 42 * MM, "middle_lap": -3 * MM, "interlock_lap": 38 * MM, "jamb_engagement": 18 * MM,
        "lead_wider_by": 0, "increment": MM,
        "panel_thickness": 48 * MM, "track_pitch": 58 * MM, "covers": 32 * MM,
        "pull": 55 * MM, "stop": 25 * MM, "pocket_clearance": 20 * MM, "lean_in_angle": 12,
        "stile_face": 42 * MM, "rail_face": 60 * MM, "glass_inset": 28 * MM,
        "stile_grams_per_m": 4600, "rail_grams_per_m": 5400,
        "hardware": [{"what": "rollers", "kg": 2.2, "count": 2}, {"what": "brushes and guides", "kg": 0.8, "count": 1}],
        "glasses": [_glass("6 + 16 + 6 insulating, clear", _pane(6), _space(16), _pane(6)),
                    _glass("4/4 laminated + 14 + 6 insulating", _laminate(4, 4), _space(14), _pane(6))],
        "roller_preset": 9_525_000, "roller_lowest": 4 * MM, "roller_highest": 15 * MM, "thread_pitch": 1_250_000,
        "roller_from_edge": 100 * MM, "head_clearance": 32 * MM, "head_clearance_least": 4 * MM,
        "longest_piece": 6000 * MM, "pan_test_allowed": True,
        "finishing_steps": ["Track covers pressed in from the pocket end", "Screw plugs in every jamb hole",
                            "Pile seals trimmed flush, not stretched", "Protective film off, sill vacuumed"],
        "joints": _joints("Limpet 40", 44, 23),
        "products": [_sealant("Limpet 40", 2), _sealant("Limpet Primerless", 5, cartridge_ml=600, movement_pct=50)],
        "fasteners": _fasteners("No. 10 x 75 mm pan head, stainless", "6 x 60 mm concrete screw", "400 mm"),
        "limits": {"panels": _limits(11, panel_width_least="700 mm", panel_width_most="2200 mm",
                                     panel_height_least="1800 mm", panel_height_most="3200 mm", panel_area_most_m2=6.6),
                   "weights": _limits(12, panel_mass_most=320)},
        "sources": _sources(8, 9, 10, 13, 15, 17, 33, 16, 31, 44, 45),
    },
    "hollowbark-4": {
        "name": "Hollowbark 4", "edition": "1", "material": "wood-clad",
        "lock_jamb": 62 * MM, "interlock": 66 * MM, "head": 78 * MM, "sill": 44 * MM, "height_deduction": -10 * MM,
        "meeting_lap": 56 * MM, "middle_lap": -4 * MM, "interlock_lap": 50 * MM, "jamb_engagement": 22 * MM,
        "lead_wider_by": 12 * MM, "increment": MM,
        "panel_thickness": 66 * MM, "track_pitch": 78 * MM, "covers": 40 * MM,
        "pull": 60 * MM, "stop": 30 * MM, "pocket_clearance": 25 * MM, "lean_in_angle": 10,
        "stile_face": 92 * MM, "rail_face": 120 * MM, "glass_inset": 74 * MM,
        "stile_grams_per_m": 6800, "rail_grams_per_m": 8200,
        "hardware": [{"what": "rollers", "kg": 2.8, "count": 2}, {"what": "bolts and pulls", "kg": 1.6, "count": 1}],
        "glasses": [_glass("8 + 14 + 8 insulating, low iron", _pane(8), _space(14), _pane(8)),
                    _glass("5/5 laminated + 14 + 6 insulating", _laminate(5, 5), _space(14), _pane(6))],
        "roller_preset": 9_525_000, "roller_lowest": 5 * MM, "roller_highest": 16 * MM, "thread_pitch": 1_500_000,
        "roller_from_edge": 120 * MM, "head_clearance": 30 * MM, "head_clearance_least": 5 * MM,
        "longest_piece": 4800 * MM, "pan_test_allowed": False,
        "finishing_steps": ["Head block back and screwed", "Interior stops nailed, holes filled",
                            "Bare edges oiled on all four sides", "Drip cap clipped along its whole length"],
        "joints": [*_joints("Barnacle Soft", 31, 5)[:-1],
                   {"place": "head", "side": "inside", "rule": "seal", "leg": "6 mm", "product": "Barnacle Soft"},
                   _joints("Barnacle Soft", 31, 5)[-1]],
        "products": [_sealant("Barnacle Soft", 1, surface_least_c=7, cure_mm_per_sqrt_day=2.0, cartridge_ml=310)],
        "fasteners": _fasteners("No. 12 x 90 mm wood screw, stainless", "8 x 80 mm concrete screw", "450 mm"),
        "limits": {"panels": _limits(6, panel_width_least="800 mm", panel_width_most="2100 mm",
                                     panel_height_least="1900 mm", panel_height_most="3100 mm", panel_area_most_m2=6.2),
                   "weights": _limits(7, panel_mass_most=380)},
        "sources": _sources(4, 5, 5, 8, 10, 11, 24, 12, 22, 31, 32),
    },
}
