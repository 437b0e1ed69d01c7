"""A floor's heights as a builder works to them: against the benchmark where it was read, else the highest place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.drawings.profile import heights
from dashboard.measures import Reader
from jobs.calc.lengths import from_mm


@dataclass(frozen=True, slots=True)
class Station:
    """`cells`: of each line, as it was read and as it is to be; what stays as it is has no second."""

    at: str
    cells: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Heights:
    caption: str
    lines: tuple[str, ...]
    stations: tuple[Station, ...]


def highest_said(payload: Mapping[str, Any], reader: Reader) -> str:
    """Where the floor stands against the benchmark; nothing where that was not read with it."""
    if payload.get("benchmark_reading") is None:
        return ""
    highest = _highest(payload)
    return "" if highest is None else _("The highest place lies %s the benchmark.") % _against(
        highest, reader, _("level with"))


def worked_heights(payload: Mapping[str, Any], correction: Mapping[str, Any] | None, reader: Reader) -> Heights | None:
    """Every station at which something is ground or filled; None where nothing is."""
    lines: dict[str, dict[int, Mapping[str, Any]]] = {}
    for one in (correction or {}).get("stations") or ():
        lines.setdefault(one["line"], {})[from_mm(one["at_mm"])] = one
    worked = sorted({at for line in lines.values() for at, one in line.items() if _moved(one)})
    if not worked:
        return None
    on_benchmark = payload.get("benchmark_reading") is not None
    zero = 0 if on_benchmark else _highest(payload) or 0
    return Heights(
        _("Heights against the benchmark, where something is done") if on_benchmark else
        _("Heights against the highest place as it was read, where something is done"),
        tuple(words.place(line) for line in lines),
        tuple(Station(reader.along(at), tuple(_cell(line.get(at), zero, reader) for line in lines.values()))
              for at in worked))


def _highest(payload: Mapping[str, Any]) -> int | None:
    return max((height for line in heights(payload).values() for _at, height in line), default=None)


def _moved(one: Mapping[str, Any]) -> int:
    """Up where it is filled."""
    return from_mm(one["fill_mm"]) - from_mm(one["grind_mm"])


def _cell(one: Mapping[str, Any] | None, zero: int, reader: Reader) -> tuple[str, str]:
    if one is None:  # the other line was read here, this one was not
        return "–", ""
    to_be, moved = from_mm(one["height_mm"]) - zero, _moved(one)
    return _against(to_be - moved, reader), _against(to_be, reader) if moved else ""


def _against(height: int, reader: Reader, level: str = "") -> str:
    """`1/8" below`, or `level` for what is level with it."""
    if height == 0:
        return level or _("level")
    how_far = reader.length(abs(height))
    return (_("%s above") if height > 0 else _("%s below")) % how_far
