"""Glass by its layers: its mass a square metre, and which thicknesses are made.

    kg/m2 = 2500 kg/m3 * nominal thickness: 2.5 kg for each millimetre (EN 572-1, density of soda-lime glass)

A laminate is the sum of its plies and interlayers; of an insulating unit the panes alone, gas and spacer left out.
Nominal thickness, never the least that is allowed: that is a figure for strength, and 4 to 7 per cent lighter.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from jobs.calc.lengths import INCH, MM

DENSITY = 2500  # kg/m3
NM_A_METRE = 10**9

# Nominal thicknesses: those of the table of least thicknesses in ASTM E1300, which is that of C1036. 15 mm is not in
# it: that is of the European series (value from memory), and so is said apart from the table.
OF_THE_TABLE = tuple(int(mm * MM) for mm in (2, 2.5, 2.7, 3, 4, 5, 6, 8, 10, 12, 16, 19, 22, 25))
NOMINAL = tuple(sorted((*OF_THE_TABLE, 15 * MM)))

# What is called by parts of an inch is made to a thickness in millimetres, after the same table.
BY_INCHES = {INCH * top // 32: mm * MM for top, mm in (
    (4, 3), (5, 4), (6, 5), (8, 6), (10, 8), (12, 10), (16, 12), (20, 16), (24, 19), (28, 22), (32, 25))}
BY_INCHES[INCH * 3 // 32] = 5 * MM // 2

MADE = ("a thickness that is made: " + ", ".join(f"{nm / MM:g}" for nm in OF_THE_TABLE)
        + " mm, or 3/32 to 1 in by the names it is sold under (nominal thicknesses of ASTM E1300); or 15 mm, of the "
          "European series")


@dataclass(frozen=True, slots=True)
class Layer:
    """A pane has one ply, a laminate several with an interlayer between each two, a space none."""

    plies: tuple[int, ...] = ()
    interlayer: int = 0
    space: int = 0

    @property
    def interlayers(self) -> int:
        return self.interlayer * max(len(self.plies) - 1, 0)

    @property
    def thickness(self) -> int:
        return sum(self.plies) + self.interlayers + self.space


@dataclass(frozen=True, slots=True)
class Glass:
    layers: tuple[Layer, ...]

    @property
    def nominal(self) -> int:
        return sum(sum(layer.plies) for layer in self.layers)

    @property
    def interlayers(self) -> int:
        return sum(layer.interlayers for layer in self.layers)

    @property
    def thickness(self) -> int:
        return sum(layer.thickness for layer in self.layers)


def nominal_thickness(nm: int) -> int | None:
    """The nominal thickness that is meant; None where nobody makes it."""
    return nm if nm in NOMINAL else BY_INCHES.get(nm)


def kg_a_square_metre(glass: Glass, interlayer_density: Fraction | int | None) -> Fraction | None:
    """None where there are interlayers and nobody said how dense they are."""
    if glass.interlayers and interlayer_density is None:
        return None
    return Fraction(glass.nominal * DENSITY + glass.interlayers * (interlayer_density or 0)) / NM_A_METRE
