"""What every report is: what it tells, by what, to whom; and what comes of asking for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from dashboard.drawings.bars import Bars
from dashboard.drawings.strips import Strips
from dashboard.measures import Reader
from dashboard.reports.asked import Asked
from dashboard.reports.table import Table
from inspections.services.reporting import Scope
from jobs.acts import Act
from jobs.roles import reach

Choice = tuple[str, Any]


@dataclass(frozen=True, slots=True)
class Drawn:
    """One plot, twice: to the width of a desk and of a telephone; with what it shows, in words."""

    key: str
    title: str
    desc: str
    wide: Bars | Strips
    slim: Bars | Strips

    @property
    def template(self) -> str:
        return f"dashboard/{'_strips' if isinstance(self.wide, Strips) else '_bars'}.html"


@dataclass(frozen=True, slots=True)
class Ground:
    """Who asks, how they read, what they may see of it."""

    act: Act
    reader: Reader
    asked: Asked
    scope: Scope

    def may(self, what: str) -> bool:
        return reach(self.act.role, what) is not None


@dataclass(frozen=True, slots=True)
class Made:
    table: Table
    plots: Sequence[Drawn] = ()
    legend: str = ""


@dataclass(frozen=True, slots=True)
class Report:
    key: str
    title: Any
    says: Any  # what it answers, in a sentence
    make: Callable[[Ground], Made]
    ways: Sequence[Choice] = ()  # by what it may be told
    each: bool = False  # by day or by week
    may: str = "read"
    of_crews: Sequence[str] = ()  # ways that need to know who works where

    def ways_for(self, act: Act) -> list[Choice]:
        named = reach(act.role, "read people") is not None
        return [(way, said) for way, said in self.ways if named or way not in self.of_crews]
