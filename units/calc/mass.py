"""What a panel weighs, part by part, and where its centre of mass lies.

    glass      kg/m2 (glass.py) * the area it covers: the panel less its insets
    stiles     height * kg/m, two of them
    rails      (width - 2 stile faces) * kg/m, two of them; over the whole width where nobody gave the faces
    hardware   by the piece
    centre     sum of mass * place over sum of mass; x from the lead edge, y from the bottom

Lengths in whole nanometres, masses in kilograms as fractions. Plain statics, no published source; linear weights and
pieces are the maker's, never guessed. Hardware whose place nobody gave is taken to sit in the middle of the panel.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from jobs.calc.verdict import half_away
from units.calc.glass import NM_A_METRE, Glass, kg_a_square_metre

M2 = NM_A_METRE**2
PARTS = ("glass", "stiles", "rails", "hardware")


@dataclass(frozen=True, slots=True)
class Inset:
    """How much of the panel the glass leaves uncovered along each edge."""

    lead: int = 0
    tail: int = 0
    bottom: int = 0
    top: int = 0


@dataclass(frozen=True, slots=True)
class Piece:
    """Hardware. `at`: from the lead edge and from the bottom; `panels`: on which, or None for all."""

    what: str
    kg: Fraction
    count: int = 1
    at: tuple[int, int] | None = None
    panels: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Make:
    """What panels are made of; None where nobody has said. Stiles (lead, tail) and rails (bottom, top) in kg/m."""

    glass: Glass | None = None
    interlayer_density: Fraction | int | None = None
    inset: Inset = Inset()
    stiles: tuple[Fraction, Fraction] | None = None
    rails: tuple[Fraction, Fraction] | None = None
    stile_face: int = 0
    rail_face: int = 0
    hardware: tuple[Piece, ...] | None = None

    @property
    def kg_a_square_metre(self) -> Fraction | None:
        return None if self.glass is None else kg_a_square_metre(self.glass, self.interlayer_density)


@dataclass(frozen=True, slots=True)
class Panel:
    letter: str
    width: int
    height: int
    weighed: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """Some of a panel's mass and where its own centre lies."""

    what: str
    kg: Fraction
    x: Fraction
    y: Fraction


@dataclass(frozen=True, slots=True)
class Weight:
    panel: Panel
    make: Make
    parts: tuple[Part, ...]
    lacking: tuple[str, ...]  # of PARTS
    known: Fraction  # the sum of the parts

    def of(self, what: str) -> Fraction | None:
        return None if what in self.lacking else sum((p.kg for p in self.parts if p.what == what), Fraction(0))

    @property
    def total(self) -> Fraction | None:
        return None if self.lacking else self.known

    @property
    def grams(self) -> int | None:
        return None if self.total is None else half_away(self.total * 1000)

    @property
    def centre(self) -> tuple[Fraction, Fraction] | None:
        """From the lead edge, from the bottom; None where something is lacking or there is no mass at all."""
        if self.lacking or not self.known:
            return None
        return sum(p.kg * p.x for p in self.parts) / self.known, sum(p.kg * p.y for p in self.parts) / self.known

    @property
    def heavier(self) -> tuple[Fraction, str]:
        """What to handle it by: the heavier of what it should weigh, as far as known, and what the scale said."""
        weighed = self.panel.weighed
        return (self.known, "computed") if weighed is None or weighed < self.known else (weighed, "weighed")

    @property
    def apart(self) -> Fraction | None:
        """By how many per cent of what was computed the scale said more."""
        if self.panel.weighed is None or not self.total:
            return None
        return 100 * (self.panel.weighed - self.total) / self.total


# ---- part by part ---------------------------------------------------------------------------------------


def weigh(panel: Panel, make: Make) -> Weight:
    found = {"glass": _glass(panel, make), "stiles": _stiles(panel, make), "rails": _rails(panel, make),
             "hardware": _hardware(panel, make)}
    parts = tuple(part for some in found.values() for part in some or ())
    lacking = tuple(what for what in PARTS if found[what] is None)
    return Weight(panel, make, parts, lacking, sum((part.kg for part in parts), Fraction(0)))


def glass_size(panel: Panel, inset: Inset) -> tuple[int, int]:
    return panel.width - inset.lead - inset.tail, panel.height - inset.bottom - inset.top


def _glass(panel: Panel, make: Make) -> list[Part] | None:
    dense = make.kg_a_square_metre
    if dense is None:
        return None
    width, height = glass_size(panel, make.inset)
    return [Part("glass", dense * width * height / M2, make.inset.lead + Fraction(width, 2),
                 make.inset.bottom + Fraction(height, 2))]


def _stiles(panel: Panel, make: Make) -> list[Part] | None:
    if make.stiles is None:
        return None
    middle, in_from = Fraction(panel.height, 2), Fraction(make.stile_face, 2)
    return [Part("stiles", kg * panel.height / NM_A_METRE, x, middle)
            for kg, x in zip(make.stiles, (in_from, panel.width - in_from), strict=True)]


def _rails(panel: Panel, make: Make) -> list[Part] | None:
    if make.rails is None:
        return None
    long, middle, up_from = panel.width - 2 * make.stile_face, Fraction(panel.width, 2), Fraction(make.rail_face, 2)
    return [Part("rails", kg * long / NM_A_METRE, middle, y)
            for kg, y in zip(make.rails, (up_from, panel.height - up_from), strict=True)]


def _hardware(panel: Panel, make: Make) -> list[Part] | None:
    if make.hardware is None:
        return None
    middle = (Fraction(panel.width, 2), Fraction(panel.height, 2))
    return [Part("hardware", piece.kg * piece.count, *(Fraction(at) for at in piece.at or middle))
            for piece in make.hardware if piece.panels is None or panel.letter in piece.panels]


def kg_for_each_nm(weight: Weight) -> Fraction:
    """By how much a panel grows heavier for each nanometre that it grows wider."""
    make = weight.make
    glass = (make.kg_a_square_metre or Fraction(0)) * glass_size(weight.panel, make.inset)[1] / M2
    return glass + sum(make.rails or (), Fraction(0)) / NM_A_METRE
