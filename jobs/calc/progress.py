"""How far the work has got, in person-minutes: planned, earned, used.

- *earned*: a step's planned minutes, when its stage is reached; hanging panel by panel, in proportion to mass.
  Kept as ledger rows of signed minutes, each the difference between what should be earned now and what was
  (`minutes_to_post`), so that sums by opening, job, crew and week are sums of the same rows and agree to the minute.
- *planned to date*: an assignment's minutes, spread over its worked days, up to and including today.
- *used*: as reported.

Every share is the difference of two rounded running totals, so shares add up to the whole exactly, in any order.
Earned-value formulas: USPS SPP 5-1.3 (public): CV = EV - AC, SV = EV - PV, CPI = EV/AC, SPI = EV/PV, EAC = BAC/CPI,
ETC = EAC - AC, VAC = BAC - EAC.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from jobs.calc.days import monday_of
from jobs.calc.verdict import half_away
from jobs.stages import NUMBER, Stage


@dataclass(frozen=True, slots=True)
class Minutes:
    """One row of a ledger: person-minutes earned (negative when taken off again), planned or used."""

    minutes: int
    day: date
    crew: Hashable = None
    opening: Hashable = None
    job: Hashable = None

    @property
    def week(self) -> date:
        """The Monday of its week."""
        return monday_of(self.day)


@dataclass(frozen=True, slots=True)
class Assigned:
    """Minutes given to a crew, and the days it will work on them, first to last (`days.worked` finds them)."""

    minutes: int
    days: tuple[date, ...]
    crew: Hashable = None
    opening: Hashable = None
    job: Hashable = None


@dataclass(frozen=True, slots=True)
class Standing:
    """What was sold, what should be done by now, what is done, what it took. An index with nothing under it is None."""

    sold: int  # all planned minutes (BAC)
    planned: int  # planned to date (PV)
    earned: int  # EV
    used: int  # AC

    @property
    def under_use(self) -> int:
        """CV: minutes earned beyond those used; negative when the work took more than was sold for it."""
        return self.earned - self.used

    @property
    def ahead(self) -> int:
        """SV: minutes earned beyond those planned to date; negative when behind."""
        return self.earned - self.planned

    @property
    def cpi(self) -> Fraction | None:
        return Fraction(self.earned, self.used) if self.used else None

    @property
    def spi(self) -> Fraction | None:
        """Comes back to 1 when the work is done, however late: judge lateness by dates."""
        return Fraction(self.earned, self.planned) if self.planned else None

    @property
    def at_completion(self) -> Fraction | None:
        """EAC: what it will all have taken if the rest goes as it has gone so far."""
        return self.sold / self.cpi if self.cpi else None

    @property
    def to_go(self) -> Fraction | None:
        """ETC: what is still to be used, at that rate."""
        return None if self.at_completion is None else self.at_completion - self.used

    @property
    def left_over(self) -> Fraction | None:
        """VAC: what was sold less what it will have taken."""
        return None if self.at_completion is None else self.sold - self.at_completion

    @property
    def done(self) -> Fraction | None:
        """The part of what was sold that is earned."""
        return Fraction(self.earned, self.sold) if self.sold else None


# ---- earning --------------------------------------------------------------------------------------------


def share_of_hanging(planned_minutes: int, masses_hung: Sequence[int | None], masses_all: Sequence[int | None]) -> int:
    """Minutes earned once these panels hang, of a step planned for all. Where a mass is lacking, each counts alike."""
    if any(not mass for mass in masses_all):
        hung, whole = len(masses_hung), len(masses_all)
    else:
        hung, whole = sum(mass or 0 for mass in masses_hung), sum(mass or 0 for mass in masses_all)
    if hung > whole:
        raise ValueError("more hangs than there is")
    return half_away(Fraction(planned_minutes * hung, whole)) if whole else 0


def should_be_earned(step: Stage, planned_minutes: int, reached: Stage, masses_hung: Sequence[int | None] = (),
                     masses_all: Sequence[int | None] = ()) -> int:
    """Minutes of one step that stand earned for an opening at stage `reached`, with these panels hung."""
    if NUMBER[reached] >= NUMBER[step]:
        return planned_minutes
    return share_of_hanging(planned_minutes, masses_hung, masses_all) if step is Stage.PANELS_HUNG else 0


def minutes_to_post(before: int, after: int) -> int:
    """The ledger row that takes what stands earned to what should; negative when work was undone, 0: post nothing."""
    return after - before


# ---- planned --------------------------------------------------------------------------------------------


def day_by_day(assigned: Assigned) -> tuple[Minutes, ...]:
    """An assignment's minutes spread evenly over its days, whole minutes, adding up exactly."""
    count, rows, before = len(assigned.days), [], 0
    for n, day in enumerate(assigned.days, start=1):
        after = half_away(Fraction(assigned.minutes * n, count))
        rows.append(Minutes(after - before, day, assigned.crew, assigned.opening, assigned.job))
        before = after
    return tuple(rows)


def planned_to_date(assignments: Iterable[Assigned], today: date) -> int:
    """Minutes assigned up to and including today."""
    return sum(row.minutes for assigned in assignments for row in day_by_day(assigned) if row.day <= today)


# ---- sums -----------------------------------------------------------------------------------------------


def sums(rows: Iterable[Minutes], by: str) -> dict[Any, int]:
    """Minutes by "opening", "job", "crew", "week" or "day". Whatever `by` is, the sums add up to the same total."""
    totals: dict[Any, int] = defaultdict(int)
    for row in rows:
        totals[getattr(row, by)] += row.minutes
    return dict(totals)


def hours(minutes: int) -> str:
    """`12 h 30 min`, exact to the minute, so that what is printed adds up too."""
    whole, rest = divmod(abs(minutes), 60)
    words = [f"{whole} h"] if whole or not rest else []
    words += [f"{rest} min"] if rest else []
    return ("-" if minutes < 0 else "") + " ".join(words)
