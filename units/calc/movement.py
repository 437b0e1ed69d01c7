"""How wide a joint must be for what moves at it.

    W = (100 / X) (e L dT + M) + t

X movement capability of the sealant, per cent of the width; e expansion per kelvin; L length that moves; dT range of
temperature; M other movement, a length and a share of L (creep, shrinkage, load); t tolerance of the work.
Source: a university course on building technology (Cornell, ARCH 262, assignments of 2001 to 2004).
The expansion is thermal; wood moves more with moisture, which belongs into M. Nanometres, fractions throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Moving:
    """What moves at a joint. None is what nobody has given."""

    expansion: Fraction | None = None  # per kelvin
    length: int | None = None
    range: Fraction | None = None  # kelvin
    tolerance: int | None = None
    other: int = 0
    share: Fraction = Fraction(0)  # of the length
    source: str = "no source given"

    @property
    def lacking(self) -> tuple[str, ...]:
        return tuple(name for name in ("expansion", "length", "range", "tolerance") if getattr(self, name) is None)

    @property
    def amount(self) -> Fraction:
        """e L dT + M."""
        return growth(self.expansion, self.length, self.range) + self.other + self.share * self.length


def growth(expansion: Fraction, length: int, kelvin: Fraction) -> Fraction:
    return expansion * length * kelvin


def width_needed(moving: Moving, capability: Fraction) -> Fraction:
    return 100 / capability * moving.amount + moving.tolerance


def capability_needed(moving: Moving, width: int) -> Fraction | None:
    """Per cent; None where the tolerance alone takes up the width."""
    left = width - moving.tolerance
    return 100 * moving.amount / left if left > 0 else None
