"""What the panels stand in: the pocket, the wall and the room, as far as they are known; and what they need of it.

    pocket depth  the widest panel + pull + stop + clearance
    wall          tracks on that side * pitch + covers
    to lean in    room H sin(a) + t cos(a), reach H cos(a) + t sin(a); H height, t thickness, a from upright

Whole nanometres. Plain geometry, no published source. What came out of a sine is rounded to the micrometre.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from jobs.calc.verdict import half_away
from units.calc.layout import Layout, depth_taken

UM = 1000
POCKET_PARTS = ("pull", "stop", "pocket_clearance")


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The pocket, the wall and the room, as far as they are known. Depth and wall by the side of the pocket."""

    clear_height: int | None = None
    panel_height: int | None = None
    pocket_depth: Mapping[str, int] = field(default_factory=dict)
    wall_clear: Mapping[str, int] = field(default_factory=dict)
    pull: int | None = None
    stop: int | None = None
    pocket_clearance: int | None = None
    track_pitch: int | None = None
    covers: int | None = None
    panel_thickness: int | None = None
    lean_in_angle: Fraction | None = None  # degrees from upright
    lean_in_room: int | None = None

    @property
    def behind(self) -> int | None:
        """What the pocket takes besides the panels."""
        parts = [getattr(self, name) for name in POCKET_PARTS]
        return None if None in parts else sum(parts)


def pocket_depth_needed(layout: Layout, side: str, around: Surroundings) -> int | None:
    return None if around.behind is None else depth_taken(layout, side) + around.behind


def wall_needed(layout: Layout, side: str, around: Surroundings) -> int | None:
    if around.track_pitch is None or around.covers is None:
        return None
    return layout.door.sides[side] * around.track_pitch + around.covers


def lean_in(height: int, thickness: int, degrees: Fraction) -> tuple[int, int]:
    """Room over the floor and reach upwards of a panel leaned so far from upright."""
    sine, cosine = (f(math.radians(degrees)) for f in (math.sin, math.cos))
    return (half_away((height * sine + thickness * cosine) / UM) * UM,
            half_away((height * cosine + thickness * sine) / UM) * UM)
