"""How the panels of a door fill its clear width, where each stands closed and stacked, and on which track.

    p = (W + sum of meeting laps + sum of interlock laps + jamb engagement [+ middle lap] - leads * d) / n

W clear between the faces of lock jamb and pocket interlock, or of two interlocks; n panels; d by which a lead panel is
wider than the others. One way: n - 1 meetings, one interlock lap, one jamb engagement. Two ways: n - 2 meetings, two
interlock laps, one middle lap, which may be nought or less (a butt joint with a gap). Plain geometry, no published
relation. With n - 1 laps alone every panel comes out too narrow, by the interlock lap over n.

Whole nanometres; the width is a Fraction until it is cut to the shop's increment. What cutting leaves over goes to one
named place, a lap: never to a panel, or a wider opening could need a narrower one. x runs from the left end of the
clear width as seen from outside: nought at its left face, W at its right; below nought or beyond W is inside a pocket
or a jamb.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from string import ascii_uppercase

from jobs.calc.verdict import half_away

ONE_WAY, TWO_WAY = WAYS = ("one-way", "two-way")
LEFT, RIGHT, BOTH = ("left", "right", "both")
OTHER_HAND = {LEFT: RIGHT, RIGHT: LEFT, BOTH: BOTH}
DOWN, NEAREST, UP = ROUNDINGS = ("down", "nearest", "up")
INTERLOCK, JAMB, MIDDLE, MEETING = ("interlock", "jamb", "middle", "meeting")
OUTERMOST, INNERMOST = LEAD_ON = ("outermost", "innermost")
LEAD, INTERMEDIATE, POCKET = ("lead", "intermediate", "pocket")
MOST_PANELS = 24

Span = tuple[int, int]  # from, to


@dataclass(frozen=True, slots=True)
class Door:
    """`pocket_side` and `more_on` as seen from outside; `more_on`: which side has more of an odd number two ways.

    `lead_stays_out`: how much of the lead panel stays in the opening when it stands open.
    """

    clear_width: int
    panels: int
    ways: str
    pocket_side: str
    meeting_lap: int = 0
    interlock_lap: int = 0
    jamb_engagement: int = 0
    middle_lap: int = 0
    lead_wider_by: int = 0
    more_on: str = LEFT
    lead_on: str = OUTERMOST
    lead_stays_out: int = 0

    @property
    def sides(self) -> Mapping[str, int]:
        """How many panels run into the pocket on each side."""
        if self.ways == ONE_WAY:
            return {self.pocket_side: self.panels}
        more = {self.more_on: (self.panels + 1) // 2, OTHER_HAND[self.more_on]: self.panels // 2}
        return {side: more[side] for side in (LEFT, RIGHT)}

    @property
    def leads(self) -> int:
        return len(self.sides)

    @property
    def tracks(self) -> int:
        return max(self.sides.values())

    @property
    def laps(self) -> int:
        """All of them together, the jamb engagement too."""
        ends = self.jamb_engagement if self.ways == ONE_WAY else self.middle_lap
        return (self.panels - self.leads) * self.meeting_lap + self.leads * self.interlock_lap + ends

    @property
    def net_clear(self) -> int:
        return self.clear_width - self.leads * self.lead_stays_out

    def mirrored(self) -> Door:
        return replace(self, pocket_side=OTHER_HAND[self.pocket_side], more_on=OTHER_HAND[self.more_on])


@dataclass(frozen=True, slots=True)
class Shop:
    """Panels are cut to whole increments; what that leaves over goes to `remainder_to`. `panel_width`: cut already."""

    increment: int = 1
    rounding: str = NEAREST
    remainder_to: str = INTERLOCK
    panel_width: int | None = None


@dataclass(frozen=True, slots=True)
class Cut:
    """What is cut: the others and the lead panels; `remainder`: what they are together wider than exactly needed."""

    width: int
    lead_width: int
    remainder: int


@dataclass(frozen=True, slots=True)
class PlacedPanel:
    letter: str
    position: str
    side: str  # whose pocket it runs into
    rank: int  # nought for the lead panel, one more for each towards the pocket
    track: int  # 1 is the outermost
    order: int  # of hanging, from 1
    width: int
    closed: Span
    stacked: Span


@dataclass(frozen=True, slots=True)
class Joint:
    """Where a panel meets the next, its jamb or its interlock. `at`: what both cover, the ends swapped if a gap."""

    kind: str  # jamb, meeting, middle, interlock
    side: str  # on which side of the opening; "" for the middle
    panels: tuple[str, ...]
    nominal: int
    lap: int
    at: Span


@dataclass(frozen=True, slots=True)
class Layout:
    door: Door
    cut: Cut
    panels: tuple[PlacedPanel, ...]  # from left to right as seen from outside, closed
    joints: tuple[Joint, ...]  # likewise

    @property
    def in_hanging_order(self) -> tuple[PlacedPanel, ...]:
        return tuple(sorted(self.panels, key=lambda panel: panel.order))

    def on(self, side: str) -> tuple[PlacedPanel, ...]:
        """The panels of one pocket, the lead panel first."""
        return tuple(sorted((p for p in self.panels if p.side == side), key=lambda panel: panel.rank))


# ---- widths ---------------------------------------------------------------------------------------------


def exact_widths(door: Door) -> tuple[Fraction, Fraction]:
    """Of every other panel and of a lead panel, which is wider by `lead_wider_by`; alike where all are lead panels."""
    width = Fraction(door.clear_width + door.laps - door.leads * door.lead_wider_by, door.panels)
    lead = width + door.lead_wider_by
    return (lead if door.panels == door.leads else width), lead


def clear_width_for(door: Door, width: int | Fraction) -> int | Fraction:
    """The clear width that panels of this exact width fill."""
    return door.panels * width + door.leads * door.lead_wider_by - door.laps


def rounded(width: Fraction, increment: int, rounding: str) -> int:
    marks = width / increment
    if rounding == NEAREST:
        return half_away(marks) * increment
    return (marks.__floor__() if rounding == DOWN else marks.__ceil__()) * increment


def cut(door: Door, shop: Shop) -> Cut:
    if shop.panel_width is None:
        width, lead = (rounded(exact, shop.increment, shop.rounding) for exact in exact_widths(door))
    else:
        lead = shop.panel_width + door.lead_wider_by
        width = lead if door.panels == door.leads else shop.panel_width
    together = (door.panels - door.leads) * width + door.leads * lead
    return Cut(width, lead, together - door.clear_width - door.laps)


# ---- places ---------------------------------------------------------------------------------------------


def lay_out(door: Door, shop: Shop | None = None) -> Layout:
    """Every panel and joint in its place. The panels less the laps are the clear width, to the nanometre."""
    shop = shop or Shop()
    made = cut(door, shop)
    seats = list(_seats(door))
    turns = _turns(door, seats)
    kinds = _kinds(door)
    laps = _laps(kinds, _nominal(door), made.remainder, shop.remainder_to)
    panels, x = [], -laps[0]
    for (side, rank), lap in zip(seats, laps[1:], strict=True):
        width = made.width if rank else made.lead_width
        panels.append(_placed(door, side, rank, turns[side, rank], width, x))
        x += width - lap
    return Layout(door, made, tuple(panels), tuple(_joints(door, kinds, laps, panels)))


def _seats(door: Door) -> Iterator[tuple[str, int]]:
    """(side, rank) from left to right: those of the left pocket come the pocket's first, the lead panel last."""
    sides = door.sides
    yield from ((LEFT, rank) for rank in reversed(range(sides.get(LEFT, 0))))
    yield from ((RIGHT, rank) for rank in range(sides.get(RIGHT, 0)))


def _turns(door: Door, seats: list[tuple[str, int]]) -> dict[tuple[str, int], int]:
    """Seat -> place in the order of hanging, from nought: lead panels, then the next ones, the pockets' own last.

    Of two alike, the one on the side with more panels comes first, so that no pocket's panel comes before another
    that is not one; the left one where both sides have as many.
    """
    first = door.more_on if door.panels % 2 else LEFT
    in_turn = sorted(seats, key=lambda seat: (seat[1], seat[0] != first))
    return {seat: n for n, seat in enumerate(in_turn)}


def _position(door: Door, side: str, rank: int) -> str:
    if rank == 0:
        return LEAD
    return POCKET if rank == door.sides[side] - 1 else INTERMEDIATE


def _placed(door: Door, side: str, rank: int, order: int, width: int, x: int) -> PlacedPanel:
    out = 0 if rank else door.lead_stays_out
    stacked = (out - width, out) if side == LEFT else (door.clear_width - out, door.clear_width - out + width)
    track = 1 + rank if door.lead_on == OUTERMOST else door.tracks - rank
    return PlacedPanel(ascii_uppercase[order], _position(door, side, rank), side, rank, track, order + 1, width,
                       (x, x + width), stacked)


def _kinds(door: Door) -> list[str]:
    """The joints from left to right, from the face before the first panel to the face after the last."""
    sides = door.sides
    if door.ways == TWO_WAY:
        left, right = ([MEETING] * (sides[side] - 1) for side in (LEFT, RIGHT))
        return [INTERLOCK, *left, MIDDLE, *right, INTERLOCK]
    kinds = [JAMB, *[MEETING] * (door.panels - 1), INTERLOCK]
    return kinds if door.pocket_side == RIGHT else kinds[::-1]


def _nominal(door: Door) -> dict[str, int]:
    return {JAMB: door.jamb_engagement, MEETING: door.meeting_lap, MIDDLE: door.middle_lap,
            INTERLOCK: door.interlock_lap}


def _laps(kinds: list[str], nominal: Mapping[str, int], remainder: int, place: str) -> list[int]:
    """Two interlocks share the remainder alike; a nanometre that cannot be halved goes to the middle."""
    share, odd = divmod(remainder, kinds.count(place))
    more = {place: share}
    if odd:
        more[MIDDLE] = odd
    return [nominal[kind] + more.get(kind, 0) for kind in kinds]


def _joints(door: Door, kinds: list[str], laps: list[int], panels: list[PlacedPanel]) -> Iterator[Joint]:
    nominal, last = _nominal(door), len(panels)
    for n, (kind, lap) in enumerate(zip(kinds, laps, strict=True)):
        beside = tuple(panels[max(n - 1, 0):n + 1])
        start = panels[n].closed[0] if n < last else door.clear_width
        at_end, along = RIGHT if n else LEFT, beside[0].side if kind == MEETING else ""
        yield Joint(kind, at_end if n in (0, last) else along, tuple(panel.letter for panel in beside), nominal[kind],
                    lap, (start, start + lap))


# ---- the pocket, the wall, the way in -------------------------------------------------------------------


def depth_taken(layout: Layout, side: str) -> int:
    """Along the wall, by the panels alone as they stand stacked: the widest, less what of the lead panel stays out."""
    return max(panel.stacked[1] - layout.door.clear_width if side == RIGHT else -panel.stacked[0]
               for panel in layout.on(side))


def gap_when_closed(layout: Layout, side: str) -> int | None:
    """Between the pocket and the panel hung before the pocket's own, where that one stands closed."""
    on = layout.on(side)
    if len(on) < 2:
        return None
    before = on[-2].closed
    return before[0] if side == LEFT else layout.door.clear_width - before[1]
