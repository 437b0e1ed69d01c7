"""What a kind of inspection is: a calculation, and what is kept of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from jobs.calc.kind import Calculation
from jobs.calc.reading import ReadingValue


@dataclass(frozen=True, slots=True)
class Kind(Calculation):
    """A calculation whose readings are kept; `readings` raises BadInput for what cannot be, as `judge` does."""

    readings: Callable[[Mapping[str, Any]], tuple[ReadingValue, ...]]
