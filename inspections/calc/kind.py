"""What a kind of inspection is: its name, the limits it is judged by, how it is judged, what is kept of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import Limit, Verdict


@dataclass(frozen=True, slots=True)
class Kind:
    """`limits` names each limit with its unit; `judge` and `readings` raise BadInput for what cannot be."""

    name: str
    limits: Mapping[str, str]
    judge: Callable[[Mapping[str, Any], Mapping[str, Limit]], Verdict]
    readings: Callable[[Mapping[str, Any]], tuple[ReadingValue, ...]]
