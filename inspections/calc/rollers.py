"""The rollers: what a turn of the screw does to the gap beside a panel's edge, and which turns make it even.

    turn   : sin(phi) = d / S when one roller, S from the other, is raised over it by d
    lean   : a gap read level, at height h above the roller line, grows by h * sin(phi) = h * d / S
    close  : d = -S * c / H takes a taper c, read over the height H, off the gap

d counts the roller nearer the edge over the far one: raising it tips the top of the panel away from that jamb, so a
positive d opens the gap. Plain geometry of a rigid body; whole nanometres, fractions until they are compared.
Only a cosine needs a root: while the far roller stands, the near one comes closer to it by a few micrometres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, product

from jobs.calc.verdict import half_away

UM = 1_000

Spot = tuple[Fraction, Fraction]  # where the near and the far roller stand


@dataclass(frozen=True, slots=True)
class Gap:
    gap: int
    height: int  # above the roller line


@dataclass(frozen=True, slots=True)
class Roller:
    """All four are the height of the panel over this roller, from the same mark: larger is a higher panel."""

    now: int
    preset: int
    lowest: int
    highest: int


@dataclass(frozen=True, slots=True)
class Hanging:
    """How the panel stands on its two rollers. `head_clearance` is read now, over the whole panel."""

    spacing: int
    from_edge: int
    pitch: int
    near: Roller
    far: Roller
    lock_height: int | None = None
    head_clearance: int | None = None
    head_least: int = 0

    @property
    def spread(self) -> int:
        return self.near.now - self.far.now

    @property
    def travel(self) -> int:
        """From the lowest either roller stands or goes to the highest."""
        heights = [h for roller in (self.near, self.far) for h in (roller.now, roller.lowest, roller.highest)]
        return max(heights) - min(heights)


@dataclass(frozen=True, slots=True)
class Bound:
    """`near` * near roller + `far` * far roller <= `most`."""

    code: str
    near: Fraction
    far: Fraction
    most: Fraction

    def holds(self, near: Fraction, far: Fraction) -> bool:
        return self.near * near + self.far * far <= self.most

    def is_tight(self, near: Fraction, far: Fraction) -> bool:
        return self.near * near + self.far * far == self.most


@dataclass(frozen=True, slots=True)
class Setting:
    """Where both rollers go: by how many eighths of a turn each, what that leaves, and what stopped it short."""

    hanging: Hanging
    eighths: tuple[int, int]  # near, far; positive raises the panel
    exact: Spot  # before the eighths
    gaps: Mapping[str, int]  # after them
    stopped_by: tuple[str, ...]  # the bounds that keep the taper from closing; none when only the eighths do

    @property
    def taper(self) -> int:
        return taper_left(self.gaps)


def taper(gaps: Mapping[str, Gap]) -> int:
    return gaps["top"].gap - gaps["bottom"].gap


def height_read(gaps: Mapping[str, Gap]) -> int:
    return gaps["top"].height - gaps["bottom"].height


def lift_to_close(spacing: int, closed: int, height: int) -> Fraction:
    """How far the near roller must rise over the far one to take `closed` off the taper read over `height`."""
    return Fraction(-spacing * closed, height)


def bounds(hanging: Hanging) -> tuple[Bound, ...]:
    """The travel of both rollers, and the head: no corner of the panel may rise by more than is left above it.

    The rollers stand as far from one edge as from the other.
    """
    near, far, zero, one = hanging.near, hanging.far, Fraction(0), Fraction(1)
    travel = (
        Bound("near_roller_lowest", -one, zero, Fraction(-near.lowest)),
        Bound("near_roller_highest", one, zero, Fraction(near.highest)),
        Bound("far_roller_lowest", zero, -one, Fraction(-far.lowest)),
        Bound("far_roller_highest", zero, one, Fraction(far.highest)),
    )
    if hanging.head_clearance is None:
        return travel
    over, room = Fraction(hanging.from_edge, hanging.spacing), hanging.head_clearance - hanging.head_least
    return (
        *travel,
        Bound("head_clearance", 1 + over, -over, room + (1 + over) * near.now - over * far.now),
        Bound("head_clearance", -over, 1 + over, room - over * near.now + (1 + over) * far.now),
    )


def corners(limits: Iterable[Bound]) -> list[Spot]:
    """The corners of all settings that the bounds allow; none when they allow nothing."""
    limits = tuple(limits)
    found = []
    for one, other in combinations(limits, 2):
        det = one.near * other.far - one.far * other.near
        if det:
            near = (one.most * other.far - one.far * other.most) / det
            far = (one.near * other.most - one.most * other.near) / det
            if all(limit.holds(near, far) for limit in limits):
                found.append((near, far))
    return found


def nearest_to_presets(hanging: Hanging, wanted: Fraction, limits: tuple[Bound, ...]) -> Spot | None:
    """The spread as near to `wanted` as the bounds allow; of those, the least sum of squares from the presets."""
    reach = [near - far for near, far in corners(limits)]
    if not reach:
        return None
    spread = min(max(wanted, min(reach)), max(reach))
    # On the line near = far + spread every bound is one on `far` alone; its factor is 1 or -1.
    ends = [((limit.near + limit.far), limit.most - limit.near * spread) for limit in limits]
    lowest = max(-most for factor, most in ends if factor < 0)
    highest = min(most for factor, most in ends if factor > 0)
    far = min(max((hanging.near.preset - spread + hanging.far.preset) / 2, lowest), highest)
    return far + spread, far


def turned(hanging: Hanging, eighths: tuple[int, int]) -> Spot:
    eighth = Fraction(hanging.pitch, 8)
    return hanging.near.now + eighths[0] * eighth, hanging.far.now + eighths[1] * eighth


def lean(hanging: Hanging, at: Spot) -> Fraction:
    """By how much the gap grows for each unit of height above the roller line."""
    return (at[0] - at[1] - hanging.spread) / hanging.spacing


def drawn_together(hanging: Hanging, at: Spot) -> int:
    """How far the edge moves from the jamb at the roller line because the near roller comes closer to the far one.

    A cosine: rounded to the micrometre.
    """
    before, after = float(Fraction(hanging.spread, hanging.spacing)), float((at[0] - at[1]) / hanging.spacing)
    arm = (hanging.spacing + hanging.from_edge) / UM
    return half_away(arm * (math.sqrt(1 - before * before) - math.sqrt(1 - after * after))) * UM


def gaps_after(gaps: Mapping[str, Gap], hanging: Hanging, at: Spot) -> dict[str, int]:
    grows, drawn = lean(hanging, at), drawn_together(hanging, at)
    return {place: half_away(gap.gap + gap.height * grows) + drawn for place, gap in gaps.items()}


def setting(gaps: Mapping[str, Gap], hanging: Hanging, limit: int | Fraction | None) -> Setting | None:
    """The setting that closes the taper, in eighths of a turn; None when no setting keeps within travel and head.

    Each roller is rounded to its nearest eighth. Where that leaves the travel, the head clearance or the taper's
    limit, the eighths around it are searched for a pair that does not.
    """
    limits = bounds(hanging)
    wanted = hanging.spread + lift_to_close(hanging.spacing, taper(gaps), height_read(gaps))
    exact = nearest_to_presets(hanging, wanted, limits)
    eighths = None if exact is None else _eighths(gaps, hanging, exact, limits, limit)
    if eighths is None:
        return None
    short = exact[0] - exact[1] != wanted
    stopped = tuple(dict.fromkeys(bound.code for bound in limits if short and bound.is_tight(*exact)))
    return Setting(hanging, eighths, exact, gaps_after(gaps, hanging, turned(hanging, eighths)), stopped)


def _eighths(gaps: Mapping[str, Gap], hanging: Hanging, exact: Spot, limits: tuple[Bound, ...],
             limit: int | Fraction | None) -> tuple[int, int] | None:
    def is_allowed(eighths: tuple[int, int]) -> bool:
        at = turned(hanging, eighths)
        return all(bound.holds(*at) for bound in limits)

    def left(eighths: tuple[int, int]) -> int:
        return abs(taper_left(gaps_after(gaps, hanging, turned(hanging, eighths))))

    def off_preset(eighths: tuple[int, int]) -> Fraction:
        near, far = turned(hanging, eighths)
        return (near - hanging.near.preset) ** 2 + (far - hanging.far.preset) ** 2

    near, far = (half_away((to - roller.now) * 8 / hanging.pitch)
                 for to, roller in zip(exact, (hanging.near, hanging.far), strict=True))
    if is_allowed((near, far)) and (limit is None or left((near, far)) <= limit):
        return near, far
    around = product(range(near - 2, near + 3), range(far - 2, far + 3))
    return min(filter(is_allowed, around), key=lambda at: (left(at), off_preset(at), at), default=None)


def taper_left(gaps: Mapping[str, int]) -> int:
    return gaps["top"] - gaps["bottom"]
