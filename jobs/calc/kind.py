"""What a calculation is: its name, the limits it is judged by, how it is judged; and how its input is described."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from jobs.calc.verdict import BadInput, Limit, Verdict


@dataclass(frozen=True, slots=True)
class Calculation:
    """`limits` names each limit with its unit; `judge` raises BadInput for what cannot be."""

    name: str
    limits: Mapping[str, str]
    judge: Callable[[Mapping[str, Any], Mapping[str, Limit]], Verdict]


@dataclass(frozen=True, slots=True)
class Inputs:
    """What a calculation takes, field by field, with an example that can be sent as it is."""

    says: str
    fields: Mapping[str, str]
    example: Mapping[str, Any]

    def refuse_unknown(self, sent: Mapping[str, Any], limits: Mapping[str, str]) -> None:
        """A slip in a name would otherwise be judged as if nothing had been said."""
        for field, value in sent.items():
            if field not in self.fields and field in limits:
                raise BadInput(field, value, f"this is a limit: send it as limits.{field}")
            if field not in self.fields:
                raise BadInput(field, value, "no such field here; there are: " + ", ".join(sorted(self.fields)))


UNIT = {"unit": "`in` or `mm`: what text without a unit is in; `in` where it is left out"}
