"""The tracks seen from above, outside at the bottom: panels where they stand closed, and stacked in their pockets.

Along the wall to scale; across it drawn some whole number of times over, which it says, so that tracks can be told
apart. A pocket is drawn as deep as it was measured, else as deep as the panels need. Numbers for a template, no markup.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import ceil

from django.utils.translation import gettext as _

from dashboard.drawings.elevation import Box
from dashboard.drawings.strings import Dimension, Measured, below, height, upright
from dashboard.measures import Reader
from units.calc.layout import LEFT, ONE_WAY, RIGHT, Layout, PlacedPanel, depth_taken
from units.calc.pocket import Surroundings, pocket_depth_needed, wall_needed

TOP = 28.0
TRACK = 20.0  # units a track takes at least, or letters would stand on each other
ACROSS = 76.0  # units the tracks take together at least
COVER, WIDEST_COVER = 8.0, 60.0  # units of a cover whose size nobody has entered; of one far wider than a track
ROOM = 13.0  # units along the wall that a letter takes


@dataclass(frozen=True, slots=True)
class Sheet:
    width: float
    side: float  # left free at both ends
    off: float  # from the drawing to an upright string


WIDE = Sheet(740, 46, 15)
SLIM = Sheet(318, 34, 9)  # on a telephone, where a unit is a pixel


@dataclass(frozen=True, slots=True)
class PlanPanel:
    letter: str
    closed: Box
    stacked: Box
    stacked_lettered: bool  # there is room for its letter in the pocket too
    letter_x: float  # where the closed one has its letter: in its middle, if its neighbour leaves room


@dataclass(frozen=True, slots=True)
class PlanPocket:
    side: str
    box: Box
    needed: str  # where it must reach to, where it was measured


@dataclass(frozen=True, slots=True)
class Label:
    x: float
    y: float
    text: str
    anchor: str = ""  # start, end; in the middle otherwise


@dataclass(frozen=True, slots=True)
class Plan:
    sheet: Sheet
    height: float
    band: Box  # the opening, from cover to cover
    jamb: str
    interlocks: tuple[str, ...]
    tracks: tuple[str, ...]
    panels: tuple[PlanPanel, ...]
    pockets: tuple[PlanPocket, ...]
    labels: tuple[Label, ...]
    dimensions: tuple[Dimension, ...]
    times: int | None  # None: across the wall it is no more than a sketch


@dataclass(frozen=True, slots=True)
class _Scale:
    """Where things stand on the sheet."""

    sheet: Sheet
    from_left: float  # where the clear width begins
    along: float
    track: float
    cover: float
    tracks: int
    thick: float
    times: int | None

    def x(self, nm: float) -> float:
        return self.from_left + nm * self.along

    @property
    def bottom(self) -> float:
        return TOP + self.tracks * self.track + 2 * self.cover

    def y(self, track: int) -> float:
        """The middle of a track; 1 is the outermost, at the bottom."""
        return self.bottom - self.cover - (track - 0.5) * self.track

    def box(self, panel: PlacedPanel, span: tuple[int, int]) -> Box:
        return Box(self.x(span[0]), self.y(panel.track) - self.thick / 2, (span[1] - span[0]) * self.along, self.thick)


def plan(layout: Layout, around: Surroundings, reader: Reader, sheet: Sheet = WIDE) -> Plan:
    rooms = {side: _room(layout, side, around) for side in layout.door.sides}
    scale = _scale(layout, around, rooms, sheet)
    width = layout.door.clear_width
    band = Box(scale.x(0), TOP, width * scale.along, scale.bottom - TOP)
    pockets = tuple(_pocket(layout, side, around, scale) for side in rooms)
    strings = below(_measured(layout, around, scale, reader), scale.bottom + 16, sheet.width)
    far_left, far_right = scale.x(-rooms.get(LEFT, 0)), scale.x(width + rooms.get(RIGHT, 0))
    tracks = tuple(f"M{far_left:.1f} {scale.y(n):.1f}H{far_right:.1f}" for n in range(1, scale.tracks + 1))
    return Plan(
        sheet, round(height(strings, scale.bottom + 16), 1), band, _jamb(layout, scale),
        tuple(_interlocks(layout, scale)), tracks, tuple(_panels(layout, scale)), pockets,
        tuple(_labels(layout, band, scale)), (*strings, *_wall(layout, around, scale, pockets, reader)), scale.times)


def small(drawn: Plan) -> Plan:
    """One of a list: its lines alone, for what is written would be too small to read."""
    panels = tuple(replace(panel, letter="") for panel in drawn.panels)
    return replace(drawn, height=drawn.band.bottom + 8, panels=panels, labels=(), dimensions=())


def _depth(layout: Layout, side: str, around: Surroundings) -> int:
    """As measured, else as needed, else as deep as the panels take. One that is too shallow ends before they do."""
    needed = pocket_depth_needed(layout, side, around)
    return around.pocket_depth.get(side) or needed or depth_taken(layout, side)


def _room(layout: Layout, side: str, around: Surroundings) -> int:
    """As far as anything reaches that is drawn there: the pocket, the panels, the line where it must reach."""
    needed = pocket_depth_needed(layout, side, around) or 0
    return max(_depth(layout, side, around), depth_taken(layout, side), needed)


def _scale(layout: Layout, around: Surroundings, rooms: dict[str, int], sheet: Sheet) -> _Scale:
    tracks = layout.door.tracks
    along = (sheet.width - 2 * sheet.side) / (layout.door.clear_width + sum(rooms.values()))
    track, times = max(TRACK, ACROSS / tracks), None
    if around.track_pitch:
        times = max(1, ceil(track / (around.track_pitch * along)))
        track = around.track_pitch * along * times
    across = along * (times or 1)
    cover = min(max(COVER, (around.covers or 0) * across / 2), WIDEST_COVER) if times else COVER
    thick = min(max((around.panel_thickness or 0) * across, 15), track - 3)
    return _Scale(sheet, sheet.side + rooms.get(LEFT, 0) * along, along, track, cover, tracks, thick, times)


def _panels(layout: Layout, scale: _Scale) -> Iterator[PlanPanel]:
    boxes = {panel.letter: scale.box(panel, panel.closed) for panel in layout.panels}
    for panel in layout.panels:
        box, stacked = boxes[panel.letter], scale.box(panel, panel.stacked)
        gap = min((box.middle - boxes[other.letter].middle for other in layout.panels
                   if other.track == panel.track and other is not panel), key=abs, default=ROOM)
        aside = max(0, ROOM - abs(gap)) / 2 * (1 if gap > 0 else -1)  # two leads meet on one track
        yield PlanPanel(panel.letter, box, stacked, stacked.width >= ROOM, round(box.middle + aside, 1))


def _pocket(layout: Layout, side: str, around: Surroundings, scale: _Scale) -> PlanPocket:
    """As wide as its own tracks: of two pockets one may have fewer."""
    on = [panel.track for panel in layout.on(side)]
    half = scale.track / 2 + scale.cover
    top, bottom = scale.y(max(on)) - half, scale.y(min(on)) + half
    face, depth = 0 if side == LEFT else layout.door.clear_width, _depth(layout, side, around)
    start = scale.x(face - depth if side == LEFT else face)
    needed, path = pocket_depth_needed(layout, side, around), ""
    if needed is not None and around.pocket_depth.get(side):
        x = scale.x(face - needed if side == LEFT else face + needed)
        path = f"M{x:.1f} {top:.1f}V{bottom:.1f}"
    return PlanPocket(side, Box(start, top, depth * scale.along, bottom - top), path)


def _jamb(layout: Layout, scale: _Scale) -> str:
    if layout.door.ways != ONE_WAY:
        return ""
    x = scale.x(layout.door.clear_width if layout.door.pocket_side == LEFT else 0)
    return f"M{x:.1f} {TOP:.1f}V{scale.bottom:.1f}"


def _interlocks(layout: Layout, scale: _Scale) -> Iterator[str]:
    """At the mouth of a pocket, in its covers only: the panels run between."""
    for side in layout.door.sides:
        x = scale.x(0 if side == LEFT else layout.door.clear_width)
        yield f"M{x:.1f} {TOP:.1f}v{scale.cover:.1f}M{x:.1f} {scale.bottom:.1f}v-{scale.cover:.1f}"


def _string_side(layout: Layout) -> str:
    """The upright string stands at the pocket; of two pockets at the one with more panels."""
    return layout.door.pocket_side if layout.door.ways == ONE_WAY else layout.door.more_on


def _labels(layout: Layout, band: Box, scale: _Scale) -> Iterator[Label]:
    yield Label(band.middle, TOP - 10, _("inside"))
    yield Label(band.middle, round(band.bottom + 14, 1), _("outside"))
    on_left = _string_side(layout) == RIGHT
    x = scale.sheet.side - 10 if on_left else scale.sheet.width - scale.sheet.side + 10
    for track in range(1, scale.tracks + 1):
        yield Label(round(x, 1), round(scale.y(track) + 4, 1), str(track), "end" if on_left else "start")


def _measured(layout: Layout, around: Surroundings, scale: _Scale, reader: Reader) -> Iterable[Measured]:
    width = layout.door.clear_width
    sides = sorted(layout.door.sides, key=lambda side: side != _string_side(layout))  # or the other hand differs
    yield Measured(scale.x(0), scale.x(width), reader.size(width))
    for said, written, depth_of in (
            (_("needs %s"), reader.needed, lambda side: pocket_depth_needed(layout, side, around)),
            (_("there %s"), reader.size, around.pocket_depth.get)):
        for side in sides:
            depth = depth_of(side)
            if depth is not None:
                start, end = (-depth, 0) if side == LEFT else (width, width + depth)
                yield Measured(scale.x(start), scale.x(end), said % written(depth))


def _wall(layout: Layout, around: Surroundings, scale: _Scale, pockets: Iterable[PlanPocket],
          reader: Reader) -> Iterator[Dimension]:
    side = _string_side(layout)
    needed = wall_needed(layout, side, around)
    if needed is None:
        return
    box = next(pocket.box for pocket in pockets if pocket.side == side)
    x = scale.sheet.side - scale.sheet.off
    x = x if side == LEFT else scale.sheet.width - x
    yield upright(x, box.y, box.bottom, reader.needed(needed), on_left=side == LEFT)
