"""What equipment has left of its rated capacity, and what its manual must still be asked.

    capacity left = rated capacity * every reduction its manual gives and the rating does not include already
    one vacuum circuit lost: capacity left * (circuits - 1) / circuits, or the part its manual says stays

Masses are kilograms in fractions. A factor that nobody gave is asked for, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, prod
from typing import Any

SAFETY_FACTOR, CIRCUIT_LOST = "safety_factor", "one_circuit_lost"
ASKED_OF_VACUUM = ("surface", "temperature", "angle", "overhang", "pads", "elevation")
AS_SENT = "rated capacity as sent"
ALSO_CALLED = {"vertical": "angle",  # a rating for panels held upright has its angle in it
               "design_factor": SAFETY_FACTOR}


@dataclass(frozen=True, slots=True)
class Reduction:
    """What its manual takes off. `factor` is the part that stays; None where nobody looked it up yet."""

    why: str
    factor: Fraction | None
    source: str


@dataclass(frozen=True, slots=True)
class Equipment:
    """`includes` None: nobody knows what the rating already allows for."""

    name: str
    kind: str
    capacity: Fraction | None
    includes: frozenset[str] | None
    reductions: tuple[Reduction, ...] = ()
    circuits: int | None = None
    left_with_one_lost: Fraction | None = None
    people_to_steer: int | None = None
    stop_wind: Fraction | None = None
    source: str = AS_SENT

    @property
    def vacuum(self) -> bool:
        """By whatever name it goes: what holds by suction is asked all that a vacuum lifter is."""
        return self.circuits is not None or any(word in self.kind for word in ("vacuum", "suction"))

    @property
    def lifts(self) -> bool:
        """A cart only rolls: wind that stops a lift in the air is not its maker's business."""
        return not self.kind.endswith("cart")

    @property
    def capacity_left(self) -> Fraction | None:
        return None if list(lacking(self)) else self.at_best

    @property
    def at_best(self) -> Fraction | None:
        """No more than this is left, whatever is still to be looked up."""
        if self.capacity is None or self.includes is None:
            return self.capacity
        return self.capacity * prod(r.factor for r in self.reductions if r.factor is not None)

    @property
    def stays_with_one_lost(self) -> Fraction | None:
        """The part of what is left that still holds when one vacuum circuit is lost."""
        if self.includes is not None and CIRCUIT_LOST in self.includes:
            return Fraction(1)
        if self.left_with_one_lost is not None:
            return self.left_with_one_lost
        return None if self.circuits is None else Fraction(self.circuits - 1, self.circuits)


    @property
    def holds(self) -> Fraction | None:
        """What it can be trusted with: what is left, of a vacuum with one circuit lost; None until all is known."""
        part = self.stays_with_one_lost if self.vacuum else Fraction(1)
        return None if self.capacity_left is None or part is None else self.capacity_left * part

    @property
    def holds_at_best(self) -> Fraction | None:
        """No more than this, whatever is still to be looked up."""
        part = self.stays_with_one_lost if self.vacuum and self.includes is not None else None
        return None if self.at_best is None else self.at_best * (1 if part is None else part)


def lacking(one: Equipment) -> Iterable[Mapping[str, Any]]:
    """What its manual must still be asked before anything of its rating can be left."""
    if one.capacity is None:
        yield {"what": "capacity"}
    if one.includes is None:
        yield {"what": "rating_includes", "ask": "the_makers_manual", "whether": asked(one)}
        return
    said = {r.why for r in one.reductions} | one.includes
    yield from ({"what": "reduction", "why": why, "ask": "the_makers_manual"} for why in asked(one) if why not in said)
    yield from ({"what": "reduction", "why": r.why, "ask": "the_makers_manual"}
                for r in one.reductions if r.factor is None)


def lacking_to_lift(one: Equipment) -> Iterable[Mapping[str, Any]]:
    """What must be known of it besides, before a panel hangs from it."""
    yield from lacking(one)
    if one.vacuum and one.stays_with_one_lost is None:
        yield {"what": "circuits", "ask": "the_makers_manual"}
    if one.people_to_steer is None:
        yield {"what": "people_to_steer"}


def asked(one: Equipment) -> tuple[str, ...]:
    return (SAFETY_FACTOR, *(ASKED_OF_VACUUM if one.vacuum else ()))


def rated_needed(mass: Fraction, one: Equipment, part: Fraction) -> Fraction | None:
    """The rating at which equipment with the same reductions would do, rounded up to the gram."""
    left = one.at_best * part
    return Fraction(ceil(1000 * mass * one.capacity / left), 1000) if left else None
