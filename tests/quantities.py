"""pint, whose arithmetic ours is held against: its registry takes half a second to make, so it is made once."""

from fractions import Fraction

import pint

UNITS = pint.UnitRegistry()
EXACT = pint.UnitRegistry(non_int_type=Fraction)
