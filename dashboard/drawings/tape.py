"""Hours as a tape: a rule with its marks, earned filled in, a mark for planned to today, a line for used."""

from __future__ import annotations

from dataclasses import dataclass

from dashboard.measures import hours

LENGTH = 290.0
STEPS = tuple(n * 10**power for power in range(9) for n in (1, 2, 5))  # hours between two numbers


@dataclass(frozen=True, slots=True)
class Mark:
    x: float
    number: str  # under a long mark
    over: bool  # lies on what is filled in


@dataclass(frozen=True, slots=True)
class Tape:
    earned: float
    planned: float
    used: float
    marks: tuple[Mark, ...]
    earned_hours: str
    planned_hours: str
    used_hours: str


def tape(earned: int, planned: int, used: int) -> Tape:
    """Of person-minutes. What was taken off again lies below nought and is drawn as nothing earned."""
    most = max(earned, planned, used, 60) * 1.06
    scale = LENGTH / most
    step = next((s for s in STEPS if most / 60 / s <= 6), STEPS[-1])
    filled = max(earned, 0) * scale
    marks = []
    for n in range(1, int(most / 60 / step * 4) + 1):
        x = n * step * 60 / 4 * scale
        marks.append(Mark(round(x, 1), "" if n % 4 else str(n // 4 * step), x < filled))
    return Tape(round(filled, 1), round(planned * scale, 1), round(used * scale, 1), tuple(marks), hours(earned),
                hours(planned), hours(used))
