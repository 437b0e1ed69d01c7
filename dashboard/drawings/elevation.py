"""An opening as far as it is built, seen from outside: the drawing is the status. Numbers for a template, no markup.

To be measured: dashed. Verified: corners marked. Frame: a heavy line. Panels: as hung. Adjusted: a line where the lead
panel meets its jamb. Sealed: a heavy line round head and jambs, never along the sill, and the weeps. Accepted: a second
line round it. A hatched pocket is closed, a dotted one is open.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import dist
from typing import Any

from dashboard.drawings.strings import LETTER, Dimension, Measured, below, height, upright
from dashboard.measures import Reader
from jobs.stages import NUMBER, Stage

UNKNOWN_WIDTH, UNKNOWN_HEIGHT = 4_000_000_000, 2_500_000_000  # nm, drawn where nobody has said
LARGE = 760  # units across a drawing that has a page to itself
SLIM = 318  # the same on a telephone, where a unit is a pixel
SMALL = 480  # units across the widest drawing of a list
PAPER = 200  # units down, of one that is printed: its writing keeps its size, whatever the opening's
HUNG = ("hung", "adjusted")
ACROSS_A_BALLOON = 28.0
RING = 13.0  # its radius
ACROSS_A_LETTER = RING + 7  # how far from the middle of a panel's letter a ring keeps
LEADER = 34.0  # how far inside the frame stands what is about the frame
OVER = RING + 10  # how far over the head stands what has no room under it


@dataclass(frozen=True, slots=True)
class BuiltPanel:
    letter: str
    state: str
    damaged: bool = False
    track: int = 0  # 1 is the outermost
    side: str = ""  # whose pocket it runs into, where there are two and it was entered


@dataclass(frozen=True, slots=True)
class Built:
    """What is known of an opening, as far as it can be drawn. Lengths in nm."""

    stage: str
    pocket_side: str = "left"
    width: int | None = None
    height: int | None = None
    pocket: int | None = None
    pocket_closed: bool = False
    panels: tuple[BuiltPanel, ...] = ()  # in hanging order, lead panel first
    sealed: frozenset[str] = frozenset()  # places of joints that are done
    items: tuple[tuple[int, str], ...] = ()  # open punch items: number, panel's letter or the place as it was written

    def reached(self, stage: Stage) -> bool:
        return NUMBER[Stage(self.stage)] >= NUMBER[stage]

    @property
    def next_panel(self) -> str:
        """The panel that is hung next, once there is a frame to hang it in."""
        if not self.reached(Stage.FRAME_SET):
            return ""
        return next((p.letter for p in self.panels if p.state not in HUNG), "")

    @property
    def pocket_width(self) -> int:
        width = self.width or UNKNOWN_WIDTH
        return self.pocket or width // max(len(self.panels), 3)

    @property
    def pockets(self) -> tuple[str, ...]:
        return {"left": ("left",), "right": ("right",), "both": ("left", "right")}.get(self.pocket_side, ())

    @property
    def whole_width(self) -> int:
        return (self.width or UNKNOWN_WIDTH) + len(self.pockets) * self.pocket_width


@dataclass(frozen=True, slots=True)
class Box:
    x: float
    y: float
    width: float
    height: float

    def __post_init__(self) -> None:
        for name in ("x", "y", "width", "height"):
            object.__setattr__(self, name, round(getattr(self, name), 1))

    @property
    def right(self) -> float:
        return round(self.x + self.width, 1)

    @property
    def bottom(self) -> float:
        return round(self.y + self.height, 1)

    @property
    def middle(self) -> float:
        return round(self.x + self.width / 2, 1)

    @property
    def centre(self) -> float:
        """How far down its middle lies."""
        return round(self.y + self.height / 2, 1)

    def inset(self, by: float, down: float | None = None) -> Box:
        down = by if down is None else down
        return Box(self.x + by, self.y + down, self.width - 2 * by, self.height - 2 * down)


@dataclass(frozen=True, slots=True)
class DrawnPanel:
    letter: str
    box: Box
    hung: bool
    is_next: bool
    damaged: bool

    @property
    def sash(self) -> Box:
        return self.box.inset(self.box.width * 0.09, self.box.height * 0.05)

    @property
    def glint(self) -> str:
        b = self.box
        x, y, w, h = b.x + b.width * 0.3, b.y + b.height * 0.6, b.width * 0.26, b.height * 0.3
        return f"M{x:.1f} {y:.1f}l{w:.1f} {-h:.1f}M{x + w * 0.5:.1f} {y + h * 0.1:.1f}l{w * 0.8:.1f} {-h * 0.8:.1f}"

    @property
    def letter_y(self) -> float:
        return round(self.box.y + self.box.height * 0.8, 1)


@dataclass(frozen=True, slots=True)
class Balloon:
    x: float
    y: float
    text: str
    to: tuple[float, float] | None = None  # what its leader points at, where it does not stand on it

    @property
    def leader(self) -> str:
        """From its ring to the place it is about."""
        if self.to is None:
            return ""
        along = dist((self.x, self.y), self.to)
        x, y = (at + (to - at) * RING / along for at, to in zip((self.x, self.y), self.to, strict=True))
        return f"M{x:.1f} {y:.1f}L{self.to[0]:.1f} {self.to[1]:.1f}"


@dataclass(frozen=True, slots=True)
class Elevation:
    width: float
    height: float
    share: float  # of the widest in its list, per cent
    opening: Box
    dashed: bool
    corners: tuple[str, ...]
    pockets: tuple[Box, ...]
    pocket_closed: bool
    panels: tuple[DrawnPanel, ...] = ()
    reveals: tuple[str, ...] = ()
    seals: tuple[str, ...] = ()
    weeps: tuple[str, ...] = ()
    second_line: Box | None = None
    balloons: tuple[Balloon, ...] = ()
    dimensions: tuple[Dimension, ...] = field(default=())


def small(built: Built, widest: int) -> Elevation:
    """One of a list: all of them at the scale at which the widest fills its row."""
    scale = (SMALL - 16) / max(widest, 1)
    return _drawn(built, scale, left=8, top=9, right=8, bottom=13, share=_share(built, scale))


def _share(built: Built, scale: float) -> float:
    return min(100.0, 100 * (built.whole_width * scale + 16) / SMALL)


def large(built: Built, reader: Reader) -> Elevation:
    """With its letters, its dimensions and its punch items; on a sheet of its own."""
    scale = min((LARGE - 90) / built.whole_width, 300 / (built.height or UNKNOWN_HEIGHT))
    return _with_its_items(built, scale, left=24, top=28, right=66, bottom=20, share=100, reader=reader)


def printed(built: Built, reader: Reader) -> Elevation:
    """The large one, low enough for a sheet of paper on which other things stand."""
    scale = min((LARGE - 90) / built.whole_width, PAPER / (built.height or UNKNOWN_HEIGHT))
    return _with_its_items(built, scale, left=24, top=28, right=66, bottom=20, share=100, reader=reader)


def slim(built: Built, reader: Reader) -> Elevation:
    """The large one for a narrow place: what is written on it stays as large as it is, and stands closer."""
    scale = min((SLIM - 60) / built.whole_width, 220 / (built.height or UNKNOWN_HEIGHT))
    share = min(100.0, 100 * (built.whole_width * scale + 60) / SLIM)
    return _with_its_items(built, scale, left=12, top=14, right=48, bottom=20, share=share, reader=reader)


def _with_its_items(built: Built, scale: float, *, top: float, **how: Any) -> Elevation:
    """With a row over the head for those that find no room under it."""
    drawn = _drawn(built, scale, top=top, **how)
    if len(drawn.balloons) == len(built.items):
        return drawn
    higher = _drawn(built, scale, top=max(top, OVER + RING + 10), over=True, **how)
    return higher if len(higher.balloons) > len(drawn.balloons) else drawn


def _drawn(built: Built, scale: float, *, left: float, top: float, right: float, bottom: float, share: float,
           reader: Reader | None = None, over: bool = False) -> Elevation:
    pocket = built.pocket_width * scale
    opening = Box(left + (pocket if "left" in built.pockets else 0), top, (built.width or UNKNOWN_WIDTH) * scale,
                  (built.height or UNKNOWN_HEIGHT) * scale)
    pockets = tuple(
        Box(opening.x - pocket if side == "left" else opening.right, top, pocket, opening.height)
        for side in built.pockets)
    width = left + built.whole_width * scale + right
    strings = below(_measured(built, opening, pockets, reader), opening.bottom + 9, width) if reader else ()
    deep = max(height(strings, opening.bottom), opening.bottom + bottom)
    panels = tuple(_panels(built, opening))
    accepted = built.reached(Stage.ACCEPTED)
    return Elevation(
        round(width, 1), round(deep, 1), round(share, 2), opening, not built.reached(Stage.FRAME_SET),
        tuple(_corners(opening)) if built.reached(Stage.OPENING_VERIFIED) else (), pockets, built.pocket_closed,
        panels, tuple(_reveals(built, opening)), tuple(_seals(built, opening)), tuple(_weeps(built, opening)),
        opening.inset(-7) if accepted else None,
        tuple(_balloons(built, opening, pockets, panels, over)) if reader else (),
        (*strings, *_upright(built, opening, pockets, reader)) if reader else ())


def _corners(box: Box) -> Iterable[str]:
    arm = min(box.width, box.height) * 0.1
    for x, way in ((box.x, 1), (box.right, -1)):
        for y, down in ((box.y, 1), (box.bottom, -1)):
            yield f"M{x + way * arm:.1f} {y:.1f}H{x:.1f}V{y + down * arm:.1f}"


def _from_left(built: Built) -> Sequence[BuiltPanel]:
    """The lead panel closes against the jamb across from the pocket."""
    if built.pocket_side == "left":
        return tuple(reversed(built.panels))
    if built.pocket_side != "both":
        return built.panels
    left, right = _by_pocket(built.panels)
    return [*left, *right]


def _by_pocket(panels: Iterable[BuiltPanel]) -> tuple[list[BuiltPanel], list[BuiltPanel]]:
    """Those that run left and those that run right, each from left to right: the higher the track, the nearer to its
    pocket. Where nobody entered into which pocket they run: two on one track run apart, the earlier letter left;
    where each has a track of its own, letters run left to right."""
    by_letter = sorted(panels, key=lambda p: p.letter)
    if all(p.side for p in by_letter):
        left, right = ([p for p in by_letter if p.side == side] for side in ("left", "right"))
        return sorted(left, key=lambda p: -p.track), sorted(right, key=lambda p: p.track)
    by_track: dict[int, list[BuiltPanel]] = {}
    for panel in by_letter:
        by_track.setdefault(panel.track, []).append(panel)
    pairs = [by_track[track] for track in sorted(by_track)]
    if all(len(pair) == 1 for pair in pairs) or any(len(pair) > 2 for pair in pairs):
        half = (len(by_letter) + 1) // 2
        return by_letter[:half], by_letter[half:]
    return [pair[0] for pair in reversed(pairs)], [pair[1] for pair in pairs if len(pair) == 2]


def _panels(built: Built, opening: Box) -> Iterable[DrawnPanel]:
    if not built.panels or not built.reached(Stage.FRAME_SET):
        return
    each = opening.width / len(built.panels)
    for n, panel in enumerate(_from_left(built)):
        box = Box(opening.x + n * each, opening.y, each, opening.height).inset(each * 0.02, opening.height * 0.02)
        yield DrawnPanel(panel.letter, box, panel.state in HUNG, panel.letter == built.next_panel, panel.damaged)


def _reveals(built: Built, opening: Box) -> Iterable[str]:
    if not built.reached(Stage.ADJUSTED):
        return
    inset = opening.width * 0.008
    x = {"left": opening.right - inset, "both": _middle(built, opening)}.get(built.pocket_side, opening.x + inset)
    yield f"M{x:.1f} {opening.y + 3:.1f}V{opening.bottom - 3:.1f}"


def _middle(built: Built, opening: Box) -> float:
    """Where two lead panels meet: off the middle where one side has a panel more."""
    left, _right = _by_pocket(built.panels)
    return opening.x + opening.width * len(left) / len(built.panels) if built.panels else opening.middle


def _seals(built: Built, opening: Box) -> Iterable[str]:
    """A joint that is done is drawn when it is done, whatever the stage; the sill is never sealed outside."""
    sealed = built.reached(Stage.SEALED)
    done = {place.replace("-", " ").strip().lower() for place in built.sealed}
    if sealed or "head" in done:
        yield f"M{opening.x - 3:.1f} {opening.y - 3:.1f}H{opening.right + 3:.1f}"
    for side, x in (("left", opening.x - 3), ("right", opening.right + 3)):
        if sealed or _member(built, side) in done:
            yield f"M{x:.1f} {opening.y - 3:.1f}V{opening.bottom:.1f}"


def _member(built: Built, side: str) -> str:
    if built.pocket_side == "both":
        return f"interlock {side}"
    return "interlock" if side == built.pocket_side else "lock jamb"


def _weeps(built: Built, opening: Box) -> Iterable[str]:
    if not built.reached(Stage.SEALED):
        return
    count = max(len(built.panels), 2)
    for n in range(count):
        x = opening.x + opening.width * (n + 0.5) / count
        yield f"M{x - 4:.1f} {opening.bottom + 3:.1f}h8m-4 0v5m-2 -2l2 2l2 -2"


@dataclass(frozen=True, slots=True)
class _Anchor:
    """Where the ring of an item belongs, how far it may give way to others, and what its leader points at: a line
    across from it, where it has one."""

    x: float
    y: float
    within: Box
    to_x: float | None = None
    to_y: float | None = None

    def ring(self, x: float, y: float, text: str) -> Balloon:
        to = (x if self.to_x is None else self.to_x, y if self.to_y is None else self.to_y)
        return Balloon(x, y, text, to if dist((x, y), to) > RING + 1 else None)

    def over(self, opening: Box) -> _Anchor:
        """The same from over the head: what is upright is pointed at in its upper half, beside what crosses it."""
        y = round(opening.y - OVER, 1)
        to_x = self.x if self.to_x is None and self.to_y is None else self.to_x
        to_y = round(opening.y + opening.height * 0.4, 1) if self.to_y is None else self.to_y
        return _Anchor(self.x, y, Box(self.within.x, y, self.within.width, 0), to_x, to_y)


def _balloons(built: Built, opening: Box, pockets: tuple[Box, ...], panels: tuple[DrawnPanel, ...],
              over: bool) -> Iterable[Balloon]:
    """Each at its panel, at the jamb, head, sill or pocket it is of, the others along the opening; further on where
    another one, or a letter, stands already, but never where it would seem to be of something else: `over` the head
    with a leader from there. Where there is no room either, an item is in its list only."""
    inside, high = opening.inset(0, RING), round(opening.y + opening.height * 0.22, 1)
    off_the_jambs = opening.inset(min(ACROSS_A_BALLOON, opening.width / 2), RING)
    at = {p.letter: _Anchor(p.box.middle, high, inside, to_x=p.box.middle) for p in panels}
    at |= {where: anchor for _n, where in built.items if (anchor := _at_place(where, built, opening, pockets))}
    loose = [n for n, where in built.items if where not in at]
    letters, rings = [(p.box.middle, p.letter_y - 5) for p in panels], []
    for number, where in built.items:
        share = (loose.index(number) + 1) / (len(loose) + 1) if number in loose else 0.5
        along = _Anchor(round(opening.x + opening.width * share, 1), high, off_the_jambs)
        ring = _free(at.get(where, along), letters, rings, str(number))
        if ring is None and over and where in at:
            ring = _free(at[where].over(opening), letters, rings, str(number))
        if ring is not None:
            rings.append(ring)
            yield ring


def _at_place(where: str, built: Built, opening: Box, pockets: tuple[Box, ...]) -> _Anchor | None:
    """By what somebody wrote: `lock jamb`, `Sill, outside`, `right pocket`."""
    said = re.sub(r"[\W_]+", " ", where.casefold()).split()
    right = "right" in said
    if "pocket" in said and pockets:
        box = pockets[-1 if right else 0]
        return _Anchor(box.middle, box.centre, box.inset(0, RING))
    pocket_right = right if built.pocket_side == "both" else built.pocket_side == "right"
    sides = {"interlock": opening.right if pocket_right else opening.x}
    if built.pocket_side != "both":  # two ways the panels meet in the middle: there is no lock jamb
        sides["jamb"] = opening.x if pocket_right else opening.right
    members = {name: _beside(x, opening) for name, x in sides.items()}
    members |= {name: _under_or_over(y, opening) for name, y in (("head", opening.y), ("sill", opening.bottom))}
    return next((anchor for name, anchor in members.items() if name in said), None)


def _beside(jamb: float, opening: Box) -> _Anchor:
    away = min(LEADER, opening.width / 2)
    x = round(jamb + away if jamb < opening.middle else jamb - away, 1)
    half = Box(min(x, opening.middle), opening.y + RING, abs(x - opening.middle), opening.height - 2 * RING)
    return _Anchor(x, opening.centre, half, to_x=jamb)


def _under_or_over(member: float, opening: Box) -> _Anchor:
    away = min(LEADER, opening.height / 2)
    y = round(member + away if member < opening.centre else member - away, 1)
    return _Anchor(opening.middle, y, Box(opening.x + ACROSS_A_BALLOON, y, opening.width - 2 * ACROSS_A_BALLOON, 0),
                   to_y=member)


def _free(anchor: _Anchor, letters: Sequence[tuple[float, float]], rings: Sequence[Balloon],
          text: str) -> Balloon | None:
    """There, else up or down from there, else in columns beside it; its leader runs through no other ring and no
    letter."""
    within = anchor.within
    taken = [((ring.x, ring.y), ACROSS_A_BALLOON - 1) for ring in rings] + [(at, ACROSS_A_LETTER) for at in letters]
    tries = [(round(anchor.x + beside * ACROSS_A_BALLOON, 1), round(anchor.y + down * ACROSS_A_BALLOON, 1))
             for beside in (0, 1, -1, 2, -2, 3, -3)
             for down in range(-1, int(within.height / ACROSS_A_BALLOON) + 1)]
    there = (anchor.ring(*spot, text) for spot in [(anchor.x, anchor.y), *tries]
             if within.x <= spot[0] <= within.right and within.y <= spot[1] <= within.bottom
             and all(_apart(spot, other, by) for other, by in taken))
    return next((ring for ring in there
                 if not any(_through(ring, (other.x, other.y), RING) or _through(other, (ring.x, ring.y), RING)
                            for other in rings)
                 and not any(_through(ring, letter, ACROSS_A_LETTER - RING) for letter in letters)), None)


def _apart(spot: tuple[float, float], other: tuple[float, float], by: float) -> bool:
    return any(abs(one - two) >= by for one, two in zip(spot, other, strict=True))


def _through(ring: Balloon, at: tuple[float, float], by: float) -> bool:
    """Whether its leader comes nearer to this point than so much."""
    if ring.to is None:
        return False
    run, rise = ring.to[0] - ring.x, ring.to[1] - ring.y
    along = ((at[0] - ring.x) * run + (at[1] - ring.y) * rise) / (run * run + rise * rise)
    along = min(max(along, 0.0), 1.0)
    return dist((ring.x + along * run, ring.y + along * rise), at) < by


def _measured(built: Built, opening: Box, pockets: tuple[Box, ...], reader: Reader) -> Iterable[Measured]:
    if built.width:
        yield Measured(opening.x, opening.right, reader.size(built.width))
    if built.pocket:
        yield from (Measured(box.x, box.right, reader.needed(built.pocket)) for box in pockets)


def _upright(built: Built, opening: Box, pockets: tuple[Box, ...], reader: Reader) -> Iterable[Dimension]:
    if built.height:
        x = max([opening.right, *(box.right for box in pockets)]) + 26
        string = upright(x, opening.y, opening.bottom, reader.size(built.height), on_left=False)
        # Of a low opening its text is longer than the string, and would run off the sheet.
        yield replace(string, y=max(string.y, LETTER * len(string.text) / 2))
