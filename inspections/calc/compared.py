"""Two sets of readings of one kind side by side: what was read both times, what only once, and what each was judged.

Findings are the same when they judge the same thing at the same member, line, panel or side; where none is exactly the
same, those of one name are taken in their order: the worst line of a floor may be the other one by now.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
# Which thing was judged; not where along it that was worst.
OF = ("line", "member", "place", "of", "panel", "panels", "roller", "way", "when", "joint", "side")


@dataclass(frozen=True, slots=True)
class Pair(Generic[Key]):
    key: Key
    before: Any  # None: not read then
    after: Any


def pairs(before: Mapping[Key, Any], after: Mapping[Key, Any]) -> tuple[Pair[Key], ...]:
    """In the order of the first set; what only the second has comes last."""
    return tuple(Pair(key, before.get(key), after.get(key)) for key in dict.fromkeys((*before, *after)))


def findings(before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]) -> tuple[Pair[Hashable], ...]:
    first, second = _keyed(before), _keyed(after)
    left = [key for key in second if key not in first]
    for key in [k for k in first if k not in second]:
        other = next((k for k in left if k[0] == key[0]), None)
        if other is not None:
            left.remove(other)
            second[key] = second.pop(other)
    return pairs(first, second)


def _keyed(found: Iterable[Mapping[str, Any]]) -> dict[tuple[Any, ...], Mapping[str, Any]]:
    """Told twice of one thing, they are counted."""
    keyed: dict[tuple[Any, ...], Mapping[str, Any]] = {}
    for finding in found:
        where = finding.get("where") or {}
        key = (finding["quantity"], *(str(where.get(name, "")) for name in OF))
        number = sum(1 for other in keyed if other[: len(key)] == key)
        keyed[*key, number] = finding
    return keyed
