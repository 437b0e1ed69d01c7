"""Every kind of inspection that is judged from readings, by name. A new kind is one more entry here."""

from __future__ import annotations

from inspections.calc import floor, force, frame, opening, reveal, sealing, spans
from inspections.calc.kind import Kind

_MODULES = (floor, opening, frame, reveal, force, sealing)

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (*(Kind(m.NAME, m.LIMITS, m.judge, m.readings) for m in _MODULES), *spans.SPANS)
}
