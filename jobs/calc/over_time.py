"""How many openings stood at each stage, at the ends of days or weeks.

Reckoned backwards from what stands now, so that the work follows the time asked for and not the whole past:
standing at s at the end of a period = standing at s now - moves to s since + moves from s since;
of the first stage also less the openings entered since. Every move takes one opening from one stage to another, so
the stages of an end always add up to the openings there were.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from jobs.calc.days import monday_of
from jobs.calc.verdict import BadInput
from jobs.stages import ORDER, Stage

DAY, WEEK = "day", "week"
MOST_PERIODS = 106  # two years of weeks


@dataclass(frozen=True, slots=True)
class Period:
    """From its first day to its last, both included; the last one of a report may be cut short by its end."""

    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Moved:
    """So many openings went from one stage to another in the period of that number; after the last one: its length."""

    period: int
    origin: Stage
    to: Stage
    count: int


def periods(first: date, last: date, each: str) -> tuple[Period, ...]:
    """Days, or weeks from Monday to Sunday, from `first` to `last`."""
    if last < first:
        raise BadInput("to", last.isoformat(), "the end cannot be before the start")
    found, start, length = [], monday_of(first) if each == WEEK else first, 7 if each == WEEK else 1
    while start <= last:
        if len(found) == MOST_PERIODS:
            raise BadInput("to", last.isoformat(), f"at most {MOST_PERIODS} {each}s at once")
        end = start + timedelta(days=length)
        found.append(Period(max(start, first), min(end - timedelta(days=1), last)))
        start = end
    return tuple(found)


def standing(now: Mapping[Stage, int], moves: Iterable[Moved], entered: Sequence[int],
             count: int) -> tuple[dict[Stage, int], ...]:
    """Openings by stage at the end of each of `count` periods, and as they stand after them. `entered` holds how many
    openings were entered in each, and after the last."""
    since: list[list[Moved]] = [[] for _ in range(count + 1)]
    for move in moves:
        since[move.period].append(move)
    stands = {stage: now.get(stage, 0) for stage in ORDER}
    found = [dict(stands)]
    for number in range(count, 0, -1):
        for move in since[number]:
            stands[move.to] -= move.count
            stands[move.origin] += move.count
        stands[Stage.TO_BE_MEASURED] -= entered[number]
        found.append(dict(stands))
    return tuple(reversed(found))[:count] if count else ()
