"""The longest fastener into the wall that hides the panels.

    longest = board + flat stud - clearance        15.9 + 38.1 - 6 = 48.0 mm

What goes deeper stands in the panels' path. Whole nanometres, nothing but a sum; on the limit is within it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Wall:
    """`fasteners`: the lengths at hand. `longest`: the one that was, or is to be, used."""

    board: int
    stud: int
    clearance: int | None
    clearance_source: str = "no source given"
    fasteners: tuple[int, ...] = ()
    longest: int | None = None

    @property
    def longest_allowed(self) -> int | None:
        return None if self.clearance is None else longest_allowed(self.board, self.stud, self.clearance)

    @property
    def may_be_used(self) -> tuple[int, ...]:
        most = self.longest_allowed
        return () if most is None else tuple(length for length in self.fasteners if length <= most)


def longest_allowed(board: int, stud: int, clearance: int) -> int:
    """Nothing may be fixed at all where the clearance takes up the whole wall."""
    return max(board + stud - clearance, 0)
