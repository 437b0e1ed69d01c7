"""Anchors along a member: how many, how far apart, where.

    n = ceil((L - 2e) / s) + 1       L length, e from each end to the first anchor, s greatest spacing
    actual spacing (L - 2e) / (n - 1) <= s

By exact division of whole nanometres: a length that divides evenly does not gain an anchor. A member that leaves
nothing between its two end anchors (L <= 2e) takes one, in the middle. Plain arithmetic; spacing and edge distance
are the maker's.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Member:
    name: str
    length: int
    spacing_most: int
    edge_least: int
    fastener: str = ""


@dataclass(frozen=True, slots=True)
class Anchoring:
    """`at` from one end of the member; a single anchor has no spacing, and `edge` is from it to either end."""

    member: Member
    spacing: Fraction | None
    at: tuple[Fraction, ...]

    @property
    def count(self) -> int:
        return len(self.at)

    @property
    def edge(self) -> Fraction:
        return self.at[0]


def count(length: int, spacing_most: int, edge_least: int) -> int:
    run = length - 2 * edge_least
    return 1 if run <= 0 else -(-run // spacing_most) + 1


def anchoring(member: Member) -> Anchoring:
    n = count(member.length, member.spacing_most, member.edge_least)
    if n == 1:
        return Anchoring(member, None, (Fraction(member.length, 2),))
    spacing = Fraction(member.length - 2 * member.edge_least, n - 1)
    return Anchoring(member, spacing, tuple(member.edge_least + i * spacing for i in range(n)))


def by_fastener(anchorings: Iterable[Anchoring]) -> dict[str, int]:
    totals: dict[str, int] = {}
    for one in anchorings:
        totals[one.member.fastener] = totals.get(one.member.fastener, 0) + one.count
    return totals
