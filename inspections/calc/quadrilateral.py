"""Six tapes on an opening: do they fit together, which figure fits them best, how its corners stand.

Corners in order A bottom left, B bottom right, C top right, D top left; `rising` is AC, `falling` BD. Five lengths fix
a plane quadrilateral, six are taken. Laid off along AC by the law of cosines, B stands at

    along = (bottom^2 - right^2 + rising^2) / (2 rising),  beside = sqrt(bottom^2 - along^2)

and D likewise on the other side, so falling^2 = (along_B - along_D)^2 + (beside_B + beside_D)^2 is implied by the
other five, and the misclosure is the taped falling diagonal less that. Its deviation follows from the six deviations
by the slopes of that formula; on a rectangle with equal tapes it is exactly twice one tape's:
2 (w/D)^2 + 2 (h/D)^2 + 2 = 4.

The best figure is the least-squares adjustment with one condition (Gauss-Helmert): each tape gives way by
deviation^2 x slope x misclosure / (deviation of the misclosure)^2, repeated until the figure closes.

Lengths are whole nanometres; inside, decimals of 50 figures, so that a root is good far below the micrometre that
everything coming out of one is rounded to.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction

from jobs.calc.verdict import half_away

SIX = ("bottom", "right", "top", "left", "rising", "falling")
TRIANGLES = (
    ("bottom", "right", "rising"),
    ("left", "top", "rising"),
    ("bottom", "left", "falling"),
    ("right", "top", "falling"),
)
CORNERS = {
    "bottom_left": ("bottom", "left", "falling"),
    "bottom_right": ("bottom", "right", "rising"),
    "top_right": ("top", "right", "falling"),
    "top_left": ("top", "left", "rising"),
}
FIGURES = 50
MICROMETRE = 1000
SURE = 10**9  # of what comes out of a root, so many parts of a nanometre are beyond doubt
ROUNDS = 12
SETTLED = Decimal("1e-12")  # nm; what another round would still change shows nowhere

Lengths = Mapping[str, int | Fraction | Decimal]


@dataclass(frozen=True, slots=True)
class _Corner:
    """A corner beside the rising diagonal, and how it moves with the near side, the far side and the diagonal."""

    along: Decimal
    beside: Decimal
    moves: tuple[tuple[Decimal, Decimal], ...]


def cannot_be(six: Lengths) -> tuple[str, str, str] | None:
    """The first three lengths that no triangle can have; a flat one is no opening either."""
    for names in TRIANGLES:
        if 2 * max(six[n] for n in names) >= sum(six[n] for n in names):
            return names
    return None


def implied_falling(six: Lengths) -> int:
    """The falling diagonal that the other five imply, rounded to the micrometre."""
    with localcontext() as context:
        context.prec = FIGURES
        return _to_micrometre(_implied(_decimals(six))[0])


def misclosure_deviation(six: Lengths, deviations: Lengths) -> int:
    """One standard deviation of the misclosure, rounded to the micrometre."""
    with localcontext() as context:
        context.prec = FIGURES
        slopes, each = _slopes(_decimals(six)), _decimals(deviations)
        return _to_micrometre(sum((slopes[n] * each[n]) ** 2 for n in SIX).sqrt())


def adjusted(six: Lengths, deviations: Lengths) -> dict[str, Decimal] | None:
    """The six lengths nearest to those taped, each weighed by its deviation, that one quadrilateral can have.

    None where they lie so far apart, or the figure is so flat, that there is none near.
    """
    with localcontext() as context:
        context.prec = FIGURES
        taped, variances = _decimals(six), {n: d * d for n, d in _decimals(deviations).items()}
        figure = taped
        for _ in range(ROUNDS):
            slopes = _slopes(figure)
            open_by = figure["falling"] - _implied(figure)[0] + sum(slopes[n] * (taped[n] - figure[n]) for n in SIX)
            share = open_by / sum(slopes[n] ** 2 * variances[n] for n in SIX)
            before, figure = figure, {n: taped[n] - variances[n] * slopes[n] * share for n in SIX}
            if min(figure.values()) <= 0 or cannot_be(figure):
                return None
            if all(abs(figure[n] - before[n]) < SETTLED for n in SIX):
                break
        return figure


def corner_angles(figure: Lengths) -> dict[str, float]:
    """Degrees, rounded to 0.001, at each corner of a figure that closes."""
    angles = {}
    for corner, (one, other, across) in CORNERS.items():
        a, b, c = (float(figure[n]) for n in (one, other, across))
        angle = math.degrees(math.acos(max(-1.0, min(1.0, (a * a + b * b - c * c) / (2 * a * b)))))
        angles[corner] = half_away(angle * 1000) / 1000
    return angles


def top_corners_lean(figure: Lengths) -> dict[str, int]:
    """How far each top corner stands to the right of square over the sill, rounded to the micrometre."""
    bottom, left, right = figure["bottom"], figure["left"], figure["right"]
    with localcontext() as context:
        context.prec = FIGURES
        return {
            "left": _to_micrometre((left**2 + bottom**2 - figure["falling"] ** 2) / (2 * bottom)),
            "right": _to_micrometre((figure["rising"] ** 2 - right**2 - bottom**2) / (2 * bottom)),
        }


def rack(bottom: int, top: int, rising: int, falling: int) -> Fraction:
    """How far the head has slid to the right over the sill: exact for parallel head and sill."""
    return Fraction(rising**2 - falling**2, 2 * (bottom + top))


def rack_deviation(six: Lengths, deviations: Lengths) -> int:
    """One standard deviation of the rack out of the four tapes it is made of, rounded to the micrometre."""
    both = six["bottom"] + six["top"]
    of_width = rack(six["bottom"], six["top"], six["rising"], six["falling"]) / both
    slopes = {"bottom": of_width, "top": of_width}
    slopes |= {name: Fraction(six[name], both) for name in ("rising", "falling")}
    with localcontext() as context:
        context.prec = FIGURES
        return _to_micrometre(_decimal(sum((s * Fraction(deviations[n])) ** 2 for n, s in slopes.items())).sqrt())


# ---- the law of cosines, with its slopes -------------------------------------------------------------------


def _implied(six: Mapping[str, Decimal]) -> tuple[Decimal, _Corner, _Corner]:
    b = _corner(six["bottom"], six["right"], six["rising"])
    d = _corner(six["left"], six["top"], six["rising"])
    return ((b.along - d.along) ** 2 + (b.beside + d.beside) ** 2).sqrt(), b, d


def _corner(near: Decimal, far: Decimal, diagonal: Decimal) -> _Corner:
    along = (near**2 - far**2 + diagonal**2) / (2 * diagonal)
    beside = (near**2 - along**2).sqrt()
    rest = 1 - along / diagonal
    moves = (
        (near / diagonal, near * rest / beside),
        (-far / diagonal, along * far / diagonal / beside),
        (rest, -along * rest / beside),
    )
    return _Corner(along, beside, moves)


def _slopes(six: Mapping[str, Decimal]) -> dict[str, Decimal]:
    """How much the misclosure grows with each of the six."""
    falling, b, d = _implied(six)
    along, beside = (b.along - d.along) / falling, (b.beside + d.beside) / falling
    bottom, right, lower = (along * x + beside * y for x, y in b.moves)
    left, top, upper = (-along * x + beside * y for x, y in d.moves)
    return {"bottom": -bottom, "right": -right, "top": -top, "left": -left, "rising": -lower - upper,
            "falling": Decimal(1)}


def _decimals(lengths: Lengths) -> dict[str, Decimal]:
    return {name: _decimal(lengths[name]) for name in SIX}


def _decimal(value: int | Fraction | Decimal) -> Decimal:
    return Decimal(value.numerator) / value.denominator if isinstance(value, Fraction) else Decimal(value)


def _to_micrometre(nm: Decimal) -> int:
    """What a root's last figures leave open never decides a half: a rectangle's implied diagonal may be on one."""
    sure = half_away(Fraction(nm) * SURE)
    return MICROMETRE * half_away(Fraction(sure, SURE * MICROMETRE))
