"""Sills and heads longer than what the maker makes in one piece, in pieces that are spliced.

Pieces = length / longest piece, rounded up; each as long as the others, cut to the shop's mark, the last takes the
rest. So no piece is a stub, none is longer than the longest, and together they are the length. Whole nanometres.
Geometry; the longest piece is the maker's.
"""

from __future__ import annotations

from jobs.calc.lengths import MM


def pieces(length: int, longest: int | None, mark: int = MM) -> tuple[int, ...]:
    """One length where it comes in one piece, or where nobody says how long a piece may be."""
    if not longest or length <= longest:
        return (length,)
    count = -(-length // longest)
    each = -(-length // count)
    marked = -(-each // mark) * mark
    cut = marked if marked <= longest else each
    return (*[cut] * (count - 1), length - cut * (count - 1))


def places(member: str, count: int) -> tuple[str, ...]:
    """The joints between so many pieces of a member, from the left as seen from outside: `sill splice 1`."""
    return tuple(f"{member} splice {n}" for n in range(1, count))
