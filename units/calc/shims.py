"""Shim packs: the packing under each station of the sill, made of the thicknesses at hand.

The pack is the greatest sum of thicknesses that does not exceed the packing, in the fewest pieces; what remains, the
bed takes. Exact: thicknesses are whole multiples of their greatest common measure, and the fewest pieces for every
multiple follow from those for smaller ones. Of packs with as few pieces, the one with the thickest pieces.
Whole nanometres; a packing off a level sill may be a fraction.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd


@dataclass(frozen=True, slots=True)
class Station:
    at: int
    packing: int | Fraction
    line: str = ""


@dataclass(frozen=True, slots=True)
class Pack:
    station: Station
    pieces: Mapping[int, int]  # thickness -> how many, thickest first
    remainder: int | Fraction

    @property
    def count(self) -> int:
        return sum(self.pieces.values())


@dataclass(frozen=True, slots=True)
class _Fewest:
    """For every multiple of the measure: the fewest pieces that make it, and the last of them (0: none makes it)."""

    measure: int
    last: Sequence[int]

    def highest(self, packing: int | Fraction) -> int:
        """The greatest multiple not above the packing that pieces can make."""
        multiple = int(packing // self.measure)
        while multiple and not self.last[multiple]:
            multiple -= 1
        return multiple

    def pieces(self, multiple: int) -> dict[int, int]:
        found: Counter[int] = Counter()
        while multiple:
            found[self.last[multiple]] += 1
            multiple -= self.last[multiple]
        return {piece * self.measure: found[piece] for piece in sorted(found, reverse=True)}


def steps(thicknesses: Iterable[int], packing: int | Fraction) -> int:
    """How much work packing this high with these thicknesses is: odd thicknesses have a tiny common measure."""
    thicknesses = tuple(thicknesses)
    return int(packing // gcd(*thicknesses)) * len(thicknesses)


def packs(stations: Iterable[Station], thicknesses: Iterable[int]) -> tuple[Pack, ...]:
    stations, thicknesses = tuple(stations), sorted(set(thicknesses), reverse=True)
    fewest = _fewest(thicknesses, max((station.packing for station in stations), default=0))
    return tuple(_pack(station, fewest) for station in stations)


def _pack(station: Station, fewest: _Fewest) -> Pack:
    multiple = fewest.highest(station.packing)
    return Pack(station, fewest.pieces(multiple), station.packing - multiple * fewest.measure)


def _fewest(thicknesses: Sequence[int], highest: int | Fraction) -> _Fewest:
    measure = gcd(*thicknesses)
    sizes = [thickness // measure for thickness in thicknesses]
    needed, last = [0], [0]
    for multiple in range(1, int(highest // measure) + 1):
        count, size = _least_piece(multiple, sizes, needed)
        needed.append(count)
        last.append(size)
    return _Fewest(measure, last)


_NONE = 10**9  # pieces: no sum makes it


def _least_piece(multiple: int, sizes: Sequence[int], needed: Sequence[int]) -> tuple[int, int]:
    """How many pieces, and the thickest with which so few are enough."""
    least, piece = _NONE, 0
    for size in sizes:
        if size <= multiple and needed[multiple - size] + 1 < least:
            least, piece = needed[multiple - size] + 1, size
    return least, piece


def by_thickness(made: Iterable[Pack]) -> dict[int, int]:
    totals: Counter[int] = Counter()
    for pack in made:
        totals.update(pack.pieces)
    return {thickness: totals[thickness] for thickness in sorted(totals, reverse=True)}
