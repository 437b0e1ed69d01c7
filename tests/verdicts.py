"""Vectors: what was given, what must come out. `expect` is part of the verdict; what it does not name is not held."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from jobs.calc import reading
from jobs.calc.verdict import Limit


def vectors(name: str) -> list[dict[str, Any]]:
    return json.loads((Path(__file__).parent / "vectors" / f"{name}.json").read_text(encoding="utf-8"))


def limits_of(vector: Mapping[str, Any], kinds: Mapping[str, str]) -> dict[str, Limit]:
    """Limits in a vector say their unit themselves."""
    return reading.limits(vector.get("limits"), kinds, {}, "mm")


def unlike(expect: Any, actual: Any, where: str = "verdict") -> list[str]:
    """Every place where the actual value is not what was expected; empty when all of it matches."""
    if isinstance(expect, Mapping) and isinstance(actual, Mapping):
        lacking = [f"{where}.{key}: lacking" for key in expect if key not in actual]
        there = {key: value for key, value in expect.items() if key in actual}
        return lacking + [line for key, value in there.items() for line in unlike(value, actual[key], f"{where}.{key}")]
    if isinstance(expect, list) and isinstance(actual, list):
        return _unlike_list(expect, actual, where)
    same = expect == actual and isinstance(expect, bool) == isinstance(actual, bool)
    return [] if same else [f"{where}: {actual!r}, expected {expect!r}"]


def _unlike_list(expect: list[Any], actual: list[Any], where: str) -> list[str]:
    """Findings are matched in order by their quantity, anything else one by one."""
    if not all(isinstance(entry, Mapping) and "quantity" in entry for entry in expect) or not expect:
        if len(expect) != len(actual):
            return [f"{where}: {len(actual)} entries, expected {len(expect)}: {actual!r}"]
        pairs = enumerate(zip(expect, actual, strict=True))
        return [line for i, (one, other) in pairs for line in unlike(one, other, f"{where}[{i}]")]
    rest, found = iter(actual), []
    for entry in expect:
        match = next((other for other in rest if other.get("quantity") == entry["quantity"]), None)
        here = f"{where}.{entry['quantity']}"
        found += [f"{here}: lacking"] if match is None else unlike(entry, match, here)
    return found
