"""The wall that hides the panels, cut across: board, flat stud, what must stay clear, and the longest fastener.

To scale. What goes deeper than the longest stands in the panels' path. Numbers for a template, no markup.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from django.utils.translation import gettext as _

from dashboard.drawings.elevation import Box
from dashboard.drawings.plan import Label
from dashboard.drawings.strings import Dimension, Measured, below, height
from dashboard.measures import FINEST, Reader
from jobs.calc.lengths import INCH, MM
from units.calc.fastener import Wall

MOST = 8e-6  # units a nanometre
TOP, DEEP = 30.0, 96.0


@dataclass(frozen=True, slots=True)
class Sheet:
    width: float
    side: float
    behind: float  # for the panels' path


WIDE = Sheet(620, 60, 110)
SLIM = Sheet(318, 22, 64)


@dataclass(frozen=True, slots=True)
class WallSection:
    sheet: Sheet
    height: float
    board: Box
    stud: Box
    clear: Box | None  # what nothing may enter
    panel: Box
    longest: str
    used: str
    too_long: bool
    labels: tuple[Label, ...]
    dimensions: tuple[Dimension, ...]


def section(wall: Wall, reader: Reader, sheet: Sheet = WIDE) -> WallSection:
    through = wall.board + wall.stud
    room = sheet.width - 2 * sheet.side - sheet.behind
    scale = min(room / max(through, wall.longest or 0, 1), MOST)
    start, allowed = sheet.side, wall.longest_allowed
    board = Box(start, TOP, wall.board * scale, DEEP)
    stud = Box(board.right, TOP, wall.stud * scale, DEEP)
    panel = Box(stud.right + 10, TOP - 4, sheet.behind - 16, DEEP + 8)
    strings = below(_measured(wall, start, scale, reader), TOP + DEEP + 4, sheet.width)
    return WallSection(
        sheet, round(height(strings, TOP + DEEP + 4), 1), board, stud,
        None if allowed is None else Box(start + allowed * scale, TOP, (through - allowed) * scale, DEEP), panel,
        "" if allowed is None else f"M{start + allowed * scale:.1f} {TOP - 6:.1f}V{TOP + DEEP + 6:.1f}",
        _fastener(start, wall.longest, scale), too_long(wall), (
            Label(4, 16, _("room"), "start"), Label(sheet.width - 4, 16, _("panels run here"), "end")), strings)


def small(drawn: WallSection) -> WallSection:
    """One of a list: its lines alone, for what is written would be too small to read."""
    return replace(drawn, height=TOP + DEEP + 14, labels=(), dimensions=())


def too_long(wall: Wall) -> bool:
    return None not in (wall.longest, wall.longest_allowed) and wall.longest > wall.longest_allowed


def at_most_words(nm: int, reader: Reader) -> str:
    """The longest length allowed, let down to a mark: a length that is said must never be too long itself."""
    finest = Fraction(INCH, FINEST) if reader.in_inches else Fraction(MM, 10)
    return reader.length(nm // finest * finest)


def _fastener(start: float, length: int | None, scale: float) -> str:
    """Its head on the board, its point in the wall."""
    if length is None:
        return ""
    y, end = TOP + DEEP / 2, start + length * scale
    return (f"M{start - 4:.1f} {y - 9:.1f}v18M{start - 4:.1f} {y:.1f}H{end:.1f}"
            f"M{end - 7:.1f} {y - 5:.1f}l7 5l-7 5")


def _measured(wall: Wall, start: float, scale: float, reader: Reader) -> Iterator[Measured]:
    through, allowed = wall.board + wall.stud, wall.longest_allowed
    yield Measured(start, start + wall.board * scale, _("board %s") % reader.length(wall.board))
    yield Measured(start + wall.board * scale, start + through * scale, _("stud %s") % reader.length(wall.stud))
    if allowed is not None:
        yield Measured(start + allowed * scale, start + through * scale,
                       _("clear %s") % reader.length(wall.clearance))
        yield Measured(start, start + allowed * scale, _("at most %s") % at_most_words(allowed, reader))
    if wall.longest is not None:
        yield Measured(start, start + wall.longest * scale, _("used %s") % reader.length(wall.longest))
