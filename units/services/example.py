"""What a door system gives and what it still lacks, seen from a unit of four panels nobody has ordered."""

from __future__ import annotations

from jobs.calc.lengths import MM
from jobs.calc.verdict import BadInput
from units.calc import panels, takeoff, weights
from units.models import DoorSystem
from units.services.explaining import FRAME, Wish, explain, weights_asked
from units.services.limits import limits_for

PANELS = 4
WIDTH, HEIGHT, STEP = 1000 * MM, 2400 * MM, 100 * MM  # of a panel, where no limit says in between what it lies
FIELD_OF = {**{f"frame_deductions.{name}": name for name in FRAME}, "height_deductions": "height_deduction",
            "stile_kg_per_m": "stile_grams_per_m", "rail_kg_per_m": "rail_grams_per_m", "glass": "glasses"}


def example_of(system: DoorSystem, ways: str = "one-way") -> Wish:
    """Four panels as wide and as high as lies in the middle of what the system allows."""
    glass = system.glasses[0]["name"] if system.glasses else ""
    side = "left" if ways == "one-way" else "both"
    return Wish(system, PANELS * _between(system, "width", WIDTH), _between(system, "height", HEIGHT), PANELS,
                ways, side, "", glass)


def _between(system: DoorSystem, what: str, otherwise: int) -> int:
    limits = limits_for(panels.NAME, system)
    least, most = (limits[f"panel_{what}_{bound}"].value for bound in ("least", "most"))
    size = otherwise if most is None else (most + (most // 2 if least is None else least)) // 2
    return max(int(size // STEP) * STEP, STEP)


def lacking(system: DoorSystem) -> dict[str, tuple[str, ...]]:
    """By sum, the fields it still asks of the system; a door two ways asks for all of them."""
    wish = example_of(system, "two-way")
    return {panels.NAME: _of_panels(wish), weights.NAME: _of_weights(wish),
            takeoff.NAME: tuple(name for name in ("joints", "products", "fasteners") if not getattr(system, name))}


def _of_panels(wish: Wish) -> tuple[str, ...]:
    verdict = explain(wish).panels
    return () if verdict is None else _fields(verdict.missing)


def _of_weights(wish: Wish) -> tuple[str, ...]:
    panel = {"panel": "A", "width_mm": (wish.frame_width or 0) // PANELS, "height_mm": wish.frame_height}
    try:
        return _fields(weights.judge(weights_asked(wish, [panel]), limits_for(weights.NAME, wish.system)).missing)
    except BadInput as why:
        return (FIELD_OF.get(why.field, why.field),)


def _fields(missing: tuple) -> tuple[str, ...]:
    named = (FIELD_OF.get(lack["what"], lack["what"]) for lack in missing)
    return tuple(dict.fromkeys(name for name in named if hasattr(DoorSystem, name)))
