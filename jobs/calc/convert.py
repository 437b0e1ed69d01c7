"""One length, read and said again in every way the product says lengths."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jobs.calc import lengths, reading
from jobs.calc.verdict import BadInput

NAME = "lengths"
LIMITS: dict[str, str] = {}


def convert(payload: Mapping[str, Any]) -> dict[str, str]:
    """`{"text": "8' 0-1/2\\""}` or `{"value": 2451.1}`, with `unit` for bare text and `parts` of an inch (16)."""
    given = [name for name in ("text", "value") if payload.get(name) is not None]
    if len(given) != 1:
        raise BadInput("text", [payload[name] for name in given] or None, "send either text or value")
    nm = reading.length(payload[given[0]], given[0], unit=reading.unit_of(payload), signed=True)
    if given == ["text"] and not isinstance(payload["text"], str):
        raise BadInput("text", payload["text"], "send text here, or a number of millimetres as value")
    parts = payload.get("parts", 16)
    if isinstance(parts, bool) or not isinstance(parts, int) or parts not in lengths.PARTS:
        raise BadInput("parts", parts, "one of: " + ", ".join(str(p) for p in lengths.PARTS))
    return {
        "length_mm": lengths.to_mm(nm),
        "inches": lengths.format_inches(nm, parts),
        "feet_and_inches": lengths.format_inches(nm, parts, feet=True),
        "millimetres": lengths.format_mm(nm),
    }
