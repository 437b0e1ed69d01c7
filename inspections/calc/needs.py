"""What needs somebody, worst first: the rule by which the list is ordered. No source: our own, of what an office does.

First by level, the first that fits:

1. *Left standing*: today or tomorrow a crew stands before it (work given that no longer fits, a failed check, a wait
   or a delivery past its day, parts that came short), or an owner does (a callback that cannot be locked, or with
   broken glass).
2. *Went on over a gate*: recorded and not advanced, a countersignature owed; or what failed guards water, structure,
   lifting or the pocket, which nobody can pass over.
3. *A promised day*: lost, or not to be kept as things stand.
4. *Late*: past the day that was said, by whoever said it.
5. *Will not fit*: given to a crew for a later day.
6. *Stands still*: could go on if somebody did something.
7. *In hand*: failed, and asked of somebody whose day is still to come.

Within a level the one that has been so for the most days, then the one promised soonest, then by name.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import IntEnum

FAILED, WAIT, KEPT, COUNTERSIGN = "failed", "wait", "kept", "countersignature"
UNASSIGNED, UNFIT, PROMISE = "unassigned", "unfit", "promise"
ITEM, ASIDE, CALLBACK, CORRECTED = "item", "aside", "callback", "corrected"
DELIVERY, SHORT = "delivery", "short"
KINDS = (FAILED, WAIT, DELIVERY, SHORT, KEPT, COUNTERSIGN, UNFIT, UNASSIGNED, PROMISE, ITEM, ASIDE, CALLBACK,
         CORRECTED)

STOPS_A_CREW = frozenset({FAILED, WAIT, DELIVERY, SHORT, UNFIT})
TOMORROW = 1  # days
UNDATED_FOR = 7  # days a wait may be open with no day said


class Level(IntEnum):
    STANDING = 1
    OVER_A_GATE = 2
    PROMISED = 3
    LATE = 4
    WILL_NOT_FIT = 5
    STILL = 6
    IN_HAND = 7


@dataclass(frozen=True, slots=True)
class Standing:
    """What the order looks at. `days`: for how many it has been so; below nought, in how many it will be."""

    kind: str
    days: int
    crew_in: int | None = None  # days until a crew is given to this opening; 0: it is there
    guards: str = ""  # of a failed check
    asked: bool = False  # of somebody whose day is still to come
    urgent: bool = False  # a callback where nobody can lock up or glass is broken
    promised: date | None = None
    name: str = ""

    @property
    def crew_is_there(self) -> bool:
        return self.crew_in is not None and self.crew_in <= TOMORROW


def level(one: Standing) -> Level:
    if one.urgent or (one.crew_is_there and one.kind in STOPS_A_CREW):
        return Level.STANDING
    if one.kind == FAILED:
        if one.asked:
            return Level.IN_HAND
        return Level.OVER_A_GATE if one.guards else Level.STILL
    return _OF_KIND[one.kind]


_OF_KIND = {
    KEPT: Level.OVER_A_GATE, COUNTERSIGN: Level.OVER_A_GATE, PROMISE: Level.PROMISED, WAIT: Level.LATE,
    ITEM: Level.LATE, ASIDE: Level.LATE, CALLBACK: Level.LATE, UNFIT: Level.WILL_NOT_FIT, UNASSIGNED: Level.STILL,
    CORRECTED: Level.STILL, DELIVERY: Level.LATE, SHORT: Level.STILL,
}


def order(one: Standing) -> tuple[int, int, date, str, str]:
    """Sorted by this, the worst comes first."""
    return level(one), -one.days, one.promised or date.max, one.name, one.kind


def wait_is_due(expected: date | None, since: date, today: date) -> bool:
    """Past the day that was said; where none was, a week gone by."""
    if expected is not None:
        return expected < today
    return (today - since).days > UNDATED_FOR
