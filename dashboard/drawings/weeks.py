"""The weeks gone by as short rules side by side: earned filled in from the foot, a mark for what was planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.measures import hours
from inspections.services.lately import Week

WIDTH, HEIGHT, TOP, FOOT = 290.0, 74.0, 8.0, 58.0
RULE = 22.0  # how wide one week's is
LEAST = 60  # minutes: an empty week is no reason to draw a large one


@dataclass(frozen=True, slots=True)
class WeekRule:
    """One week, as drawn and as said. `planned` is None where nothing was."""

    x: float
    top: float  # of what is filled in
    filled: float
    planned: float | None
    number: int
    earned_hours: str
    planned_hours: str
    used_hours: str

    @property
    def middle(self) -> float:
        return self.x + RULE / 2


@dataclass(frozen=True, slots=True)
class Weeks:
    rules: tuple[WeekRule, ...]
    most_hours: str  # what the full height stands for
    earned_hours: str
    planned_hours: str
    used_hours: str


def most_minutes(of_crews: Sequence[Sequence[Week]]) -> int:
    """One scale for all crews, so that they can be held beside each other."""
    return max((max(week.minutes.earned, week.minutes.planned) for weeks in of_crews for week in weeks), default=0)


def weeks_drawn(weeks: Sequence[Week], most: int) -> Weeks:
    scale = (FOOT - TOP) / max(most, LEAST)
    step = WIDTH / max(len(weeks), 1)
    earned, planned, used = (sum(getattr(week.minutes, name) for week in weeks) for name in (
        "earned", "planned", "used"))
    return Weeks(tuple(_rule(week, n * step + (step - RULE) / 2, scale) for n, week in enumerate(weeks)),
                 hours(max(most, LEAST)), hours(earned), hours(planned), hours(used))


def _rule(week: Week, x: float, scale: float) -> WeekRule:
    """What was taken off again lies below nought and is drawn as nothing earned."""
    filled = round(max(week.minutes.earned, 0) * scale, 1)
    planned = round(FOOT - week.minutes.planned * scale, 1) if week.minutes.planned else None
    return WeekRule(round(x, 1), round(FOOT - filled, 1), filled, planned, week.monday.isocalendar().week,
                    hours(week.minutes.earned), hours(week.minutes.planned), hours(week.minutes.used))
