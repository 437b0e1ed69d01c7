"""What stands in the tables of an opening's page: each row in words, with the form of what can be done about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from dashboard import words
from dashboard.forms.acts import ActForm
from dashboard.opening.lists import Elsewhere
from inspections.models import PunchItem


@dataclass(frozen=True, slots=True)
class Stood:
    """One check that a stage was reached on, as it stood then."""

    title: str
    stands: bool
    when: str
    reading: str = ""  # the readings it was judged by, where it was


@dataclass(frozen=True, slots=True)
class StageRow:
    """A line of the table of stages, kept like the revisions in a title block."""

    number: str
    name: str
    day: str
    by: str
    on_what: str
    state: str  # done, now, ahead
    passed_over: str = ""
    countersigned: str = ""
    countersign: ActForm | None = None
    went_back: str = ""
    stood: tuple[Stood, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckRow:
    said: words.CheckSaid
    number: int
    sheet: str = ""  # where its readings are entered
    place: str = ""
    confirm: ActForm | None = None
    photo: ActForm | None = None
    wait: ActForm | None = None
    joint: ActForm | None = None
    caution: str = ""
    steps: tuple[str, ...] = ()  # of a check that asks for several things in their order
    read_with: int = 0  # the number of the row above that is judged from the same readings

    @property
    def stops(self) -> bool:
        """Red is for what was seen and is wrong; what is only not done yet is not."""
        return self.said.result not in ("missing", "no limit set", "not enough read", "photo missing")


@dataclass(frozen=True, slots=True)
class GateShown:
    title: str
    target: str
    passes: bool
    standing: int
    asked: int
    blocks: tuple[str, ...]
    not_passing: tuple[CheckRow, ...]
    passing: tuple[CheckRow, ...]
    never: tuple[str, ...]  # why nobody can pass over it

    @property
    def came_back(self) -> bool:
        """Whether a form came back that stands among what passes."""
        return any(row.confirm is not None and row.confirm.is_bound for row in self.passing)


@dataclass(frozen=True, slots=True)
class PanelRow:
    letter: str
    position: str
    mass: str
    track: int
    state: str
    is_next: bool
    since: str
    quick: ActForm | None
    other: ActForm | None


@dataclass(frozen=True, slots=True)
class Kept:
    """Something recorded and not advanced, with its reasons, until it is settled."""

    what: str
    when: str
    by: str
    reasons: tuple[str, ...]
    settled: str
    settle: ActForm | None


@dataclass(frozen=True, slots=True)
class ReadingRow:
    pk: Any
    what: str
    when: str
    by: str
    result: str
    passes: bool
    worst: str


@dataclass(frozen=True, slots=True)
class WaitRow:
    said: str
    raised: str
    because: tuple[str, ...]
    cautions: tuple[str, ...]
    cleared: str
    clear: ActForm | Elsewhere | None
    reported: str = ""


@dataclass(frozen=True, slots=True)
class ItemRow:
    item: PunchItem
    place: str
    owner: str
    due: str
    overdue: bool
    closed: str
    close: ActForm | Elsewhere | None
