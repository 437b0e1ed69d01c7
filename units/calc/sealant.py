"""Sealant: what each joint takes, and how many cartridges that is.

    rectangular joint   V = w d L             w width, d depth, L length
    fillet              V = leg^2 / 2 * L
    cartridges          n = ceil(V (1 + waste) / V_c), per product, all its joints together
    open remainder      n V_c - V (1 + waste): what is left in the last one
    depth for a width   share * w, not less than the least nor more than the most

Lengths are whole nanometres, areas and volumes exact; a volume is in millilitres as soon as it leaves a joint.
1 US fluid ounce = 231/128 in3 = 29.5735295625 mL exactly. Plain geometry; ceilings by exact division.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from units.calc.movement import Moving

SEAL, NEVER_SEAL = "seal", "never-seal"
RULES = (SEAL, NEVER_SEAL)
ML = 10**21  # cubic nanometres
FLUID_OUNCE = Fraction("29.5735295625")  # mL


@dataclass(frozen=True, slots=True)
class Rectangle:
    width: int
    depth: int

    @property
    def area(self) -> Fraction:
        return Fraction(self.width * self.depth)


@dataclass(frozen=True, slots=True)
class Fillet:
    leg: int

    @property
    def area(self) -> Fraction:
        return Fraction(self.leg**2, 2)


@dataclass(frozen=True, slots=True)
class Joint:
    """One that is never to be sealed has a place and a side; it takes nothing, whatever else is known of it."""

    place: str
    side: str = ""
    rule: str = SEAL
    length: int | None = None
    section: Rectangle | Fillet | None = None
    product: str | None = None
    moving: Moving | None = None

    @property
    def where(self) -> dict[str, str]:
        return {"place": self.place, "side": self.side}

    @property
    def volume(self) -> Fraction | None:
        """Millilitres."""
        if self.rule == NEVER_SEAL or self.section is None or self.length is None:
            return None
        return self.section.area * self.length / ML


@dataclass(frozen=True, slots=True)
class Product:
    """As its data sheet and the office have it; None is what nobody has given."""

    name: str
    cartridge: Fraction | None = None  # mL
    waste: Fraction | None = None  # per cent on top
    movement: Fraction | None = None  # capability, per cent of the width
    source: str = "no source given"


@dataclass(frozen=True, slots=True)
class Use:
    """What one product is needed for, over all its joints."""

    product: Product
    length: int
    volume: Fraction  # mL, in the joints

    @property
    def with_waste(self) -> Fraction | None:
        waste = self.product.waste
        return None if waste is None else self.volume * (100 + waste) / 100

    @property
    def cartridges(self) -> int | None:
        if self.with_waste is None or self.product.cartridge is None:
            return None
        return cartridges(self.with_waste, self.product.cartridge)

    @property
    def remainder(self) -> Fraction | None:
        n = self.cartridges
        return None if n is None else n * self.product.cartridge - self.with_waste


@dataclass(frozen=True, slots=True)
class DepthRule:
    """How deep a joint of some width should be: a share of its width, within a least and a most. Any may be unset."""

    share: Fraction | None = None  # per cent of the width
    least: int | Fraction | None = None
    most: int | Fraction | None = None

    def nearest(self, depth: int | Fraction) -> int | Fraction:
        if self.least is not None and depth < self.least:
            return self.least
        return self.most if self.most is not None and depth > self.most else depth

    def for_width(self, width: int) -> int | Fraction | None:
        return None if self.share is None else self.nearest(width * self.share / 100)


def cartridges(volume: Fraction, cartridge: Fraction) -> int:
    return -(-volume // cartridge)


def yields(cartridge: Fraction, section: Rectangle | Fillet) -> Fraction:
    """Nanometres of such a joint that a cartridge of so many millilitres fills, nothing wasted."""
    return cartridge * ML / section.area


def uses(joints: Iterable[Joint], products: Iterable[Product]) -> tuple[Use, ...]:
    """Every product that a joint takes, in the order of the products."""
    joints = tuple(joint for joint in joints if joint.volume is not None)
    taken = ((product, [joint for joint in joints if joint.product == product.name]) for product in products)
    return tuple(Use(product, sum(j.length for j in own), sum(j.volume for j in own)) for product, own in taken if own)
