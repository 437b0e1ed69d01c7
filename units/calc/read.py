"""What the sums of a unit read alike: lengths that may be lacking, whole numbers, masses, letters."""

from __future__ import annotations

from jobs.calc.amounts import count, linear_mass, mass
from jobs.calc.reading import each_length as lengths
from jobs.calc.reading import letter

__all__ = ["PANELS_ARE_HEAVY", "count", "lengths", "letter", "linear_mass", "mass"]

PANELS_ARE_HEAVY = "panels_are_heavy"  # the caution that goes with every panel's size and mass
