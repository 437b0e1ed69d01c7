"""A cut across the sill, outside at the left: tracks, weeps, bed and floor, where sealant goes and where it must not.

Across to scale; bed and sealant are drawn larger than they are, or nobody would see them. Numbers for a template.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import ceil

from django.utils.translation import gettext as _

from dashboard.drawings.elevation import Balloon, Box
from dashboard.drawings.plan import Label
from dashboard.drawings.strings import AXIS_LETTER, Dimension, Measured, below, height
from dashboard.measures import Reader
from units.calc.sealant import NEVER_SEAL

OUTSIDE, INSIDE = ("outside", "inside")
MOST = 2.4e-6  # units a nanometre: a sill of one track does not fill the sheet
PITCH, COVERS, THICK, SILL = 60_000_000, 40_000_000, 45_000_000, 40_000_000  # drawn where nobody has said
PANEL_TOP, PANEL = 44.0, 66.0
RING = 27.0
MOST_RINGS = 4  # over each other on one side


@dataclass(frozen=True, slots=True)
class Sheet:
    width: float
    side: float  # for the rings at both ends


WIDE = Sheet(740, 76)
SLIM = Sheet(318, 62)


@dataclass(frozen=True, slots=True)
class SillJoint:
    """`number`: in a ring at its place; a joint at no side of the sill has none and is in the table only."""

    rule: str
    place: str
    side: str
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Cut:
    """What is known of it. Lengths in nm; the bed as the floor under it was read last."""

    tracks: int
    pitch: int | None = None
    covers: int | None = None
    thickness: int | None = None
    sill: int | None = None
    bed_least: int | None = None
    bed_most: int | None = None

    @property
    def whole(self) -> int | None:
        """All its tracks with the covers: what the wall must leave clear."""
        return None if not self.pitch or self.covers is None else self.tracks * self.pitch + self.covers


@dataclass(frozen=True, slots=True)
class SillSection:
    sheet: Sheet
    height: float
    floor: Box
    bed: Box
    sill: str
    tracks: tuple[str, ...]
    panels: tuple[str, ...]
    weep: str
    seals: tuple[str, ...]
    nevers: tuple[str, ...]
    balloons: tuple[Balloon, ...]
    labels: tuple[Label, ...]
    bed_said: Label | None
    dimensions: tuple[Dimension, ...]


def numbered(joints: Iterable[tuple[str, str, str]]) -> tuple[SillJoint, ...]:
    """(rule, place, side) of every joint; those at a side of the sill are numbered in their order, while there is
    room for their rings."""
    made: list[SillJoint] = []
    for rule, place, side in joints:
        at = side.strip().casefold()
        there = sum(joint.number is not None and joint.side == at for joint in made)
        if place.strip().casefold() == "sill" and at in (OUTSIDE, INSIDE) and there < MOST_RINGS:
            made.append(SillJoint(rule, place, at, 1 + sum(joint.number is not None for joint in made)))
        else:
            made.append(SillJoint(rule, place, side))
    return tuple(made)


def section(cut: Cut, joints: Iterable[SillJoint], reader: Reader, sheet: Sheet = WIDE) -> SillSection:
    pitch, depth = cut.pitch or PITCH, cut.tracks * (cut.pitch or PITCH) + (cut.covers or COVERS)
    scale = min((sheet.width - 2 * sheet.side) / depth, MOST)
    left, wide = (sheet.width - depth * scale) / 2, depth * scale
    bottom = PANEL_TOP + PANEL
    sill = Box(left, bottom, wide, min(max((cut.sill or SILL) * scale, 34), 80))
    bed, floor = Box(left, sill.bottom, wide, 11), Box(0, sill.bottom + 11, sheet.width, 44)
    middles = [left + ((cut.covers or COVERS) / 2 + (n + 0.5) * pitch) * scale for n in range(cut.tracks)]
    drawn = [joint for joint in joints if joint.number is not None]
    strings = below(_measured(cut, middles, left, wide, reader), floor.bottom, sheet.width)
    return SillSection(
        sheet, round(height(strings, floor.bottom), 1), floor, bed, _profile(sill),
        tuple(f"M{x:.1f} {sill.y + 8:.1f}v-8m-4 0h8" for x in middles),
        tuple(_panels(middles, (cut.thickness or THICK) * scale, pitch * scale)), _weep(sill),
        tuple(_fillet(sill, floor, joint.side) for joint in drawn if joint.rule != NEVER_SEAL),
        tuple(_cross(sill, floor, joint.side) for joint in drawn if joint.rule == NEVER_SEAL),
        tuple(_balloons(drawn, sill, floor)), tuple(_labels(sheet, middles, pitch * scale)),
        _bed_said(cut, sheet, floor, reader), strings)


def small(drawn: SillSection) -> SillSection:
    """One of a list: its lines alone, for what is written would be too small to read."""
    return replace(drawn, height=drawn.floor.bottom + 8, balloons=(), labels=(), bed_said=None, dimensions=())


def _profile(sill: Box) -> str:
    """A trough, its lip inside the higher one: what water comes in is to leave outside."""
    x, r, b = sill.x, sill.right, sill.bottom
    return (f"M{x:.1f} {b:.1f}V{sill.y + 6:.1f}h5V{sill.y + 8:.1f}H{r - 5:.1f}V{sill.y - 10:.1f}h5V{b:.1f}Z")


def _panels(middles: Iterable[float], thick: float, pitch: float) -> Iterator[str]:
    """Cut off above, by a broken line."""
    half = max(min(thick, pitch - 3), 1) / 2
    for x in middles:
        bottom = PANEL_TOP + PANEL - 3
        yield (f"M{x - half:.1f} {PANEL_TOP + 5:.1f}V{bottom:.1f}H{x + half:.1f}V{PANEL_TOP:.1f}"
               f"L{x + half / 3:.1f} {PANEL_TOP + 7:.1f}L{x - half / 3:.1f} {PANEL_TOP - 2:.1f}Z")


def _weep(sill: Box) -> str:
    y = sill.y + (sill.height + 8) / 2
    return f"M{sill.x + 16:.1f} {y - 6:.1f}v6H{sill.x - 15:.1f}m5 -4l-5 4l5 4"


def _fillet(sill: Box, floor: Box, side: str) -> str:
    x, out = (sill.x, -14) if side == OUTSIDE else (sill.right, 14)
    return f"M{x:.1f} {floor.y - 20:.1f}V{floor.y:.1f}h{out}Z"


def _cross(sill: Box, floor: Box, side: str) -> str:
    x = sill.x - 7 if side == OUTSIDE else sill.right + 7
    return f"M{x - 6:.1f} {floor.y - 13:.1f}l12 12m-12 0l12 -12"


def _balloons(joints: Iterable[SillJoint], sill: Box, floor: Box) -> Iterator[Balloon]:
    there = {OUTSIDE: 0, INSIDE: 0}
    for joint in joints:
        x = sill.x - 42 if joint.side == OUTSIDE else sill.right + 42
        y = floor.y - 17 - RING * there[joint.side]
        there[joint.side] += 1
        yield Balloon(round(x, 1), round(y, 1), str(joint.number))


def _labels(sheet: Sheet, middles: list[float], pitch: float) -> Iterator[Label]:
    yield Label(4, 16, _("outside"), "start")
    yield Label(sheet.width - 4, 16, _("inside"), "end")
    every = ceil((2 * AXIS_LETTER + 6) / pitch)  # where tracks are narrow, not each has room for its number
    for n, x in enumerate(middles, start=1):
        if n % every == 1 % every:
            yield Label(round(x, 1), PANEL_TOP - 8, str(n))


def _bed_said(cut: Cut, sheet: Sheet, floor: Box, reader: Reader) -> Label | None:
    if cut.bed_most is None:
        return None
    least, most = reader.length(cut.bed_least or 0), reader.length(cut.bed_most)
    said = most if least == most else _("%(least)s to %(most)s") % {"least": least, "most": most}
    return Label(sheet.width / 2, round(floor.y + 27, 1), _("bed %s") % said)


def _measured(cut: Cut, middles: list[float], left: float, wide: float, reader: Reader) -> Iterator[Measured]:
    if cut.pitch and cut.tracks > 1:
        yield Measured(middles[0], middles[1], reader.length(cut.pitch))
    if cut.whole is not None:
        yield Measured(left, left + wide, reader.needed(cut.whole))  # as the plan says it
