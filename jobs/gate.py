"""The value that lets an opening move. Only the floor that judges can make one that counts; pure.

The seal is made with a key of this process: a `GateResult` put together by hand, or altered after it was judged,
does not open the gate.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from jobs.stages import Stage

_KEY = secrets.token_bytes(32)


@dataclass(frozen=True, slots=True)
class GateResult:
    """Whether one opening may go from one stage to another, on what; `kind` as in StageChange."""

    opening_id: int
    from_stage: Stage
    to_stage: Stage
    kind: str
    stands_on: Mapping[str, Any] = field(default_factory=dict)
    seal: str = ""


def seal(result: GateResult) -> str:
    content = json.dumps(
        [result.opening_id, result.from_stage, result.to_stage, result.kind, result.stands_on],
        sort_keys=True, default=str,
    )
    return hmac.new(_KEY, content.encode(), hashlib.sha256).hexdigest()


def is_sealed(result: object) -> bool:
    return isinstance(result, GateResult) and hmac.compare_digest(ascii(result.seal), ascii(seal(result)))
