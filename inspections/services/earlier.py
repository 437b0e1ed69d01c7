"""What was read before and is wanted again: the head as it was set, beside which it is read under its load."""

from __future__ import annotations

from collections.abc import Mapping

from inspections.calc import frame, head
from inspections.models import Inspection, Reading
from jobs.models import Opening

AS_SET = f"head_less_sill_{head.WHEN[0]}"
Gaps = dict[int, int]  # nm: where along the sill, from sill to head


def head_as_set(opening: Opening) -> tuple[Inspection, Gaps] | None:
    """From the latest readings that tell it: an earlier head watch, or the frame as it was set."""
    found = Inspection.objects.filter(opening=opening, kind=frame.NAME, occasion__in=("frame-set", "under-load"))
    for inspection in found.order_by("-taken_at", "-pk"):
        gaps = _gaps(inspection)
        if gaps:
            return inspection, gaps
    return None


def _gaps(inspection: Inspection) -> Gaps:
    lines: dict[str, Gaps] = {}
    for quantity, at, length in Reading.objects.filter(inspection=inspection, at__isnull=False).values_list(
            "quantity", "at", "length"):
        lines.setdefault(quantity, {})[at] = length
    if inspection.occasion == "under-load":
        return lines.get(AS_SET, {})
    return lines.get("gaps_outer") or _between(lines, -1 if inspection.given.get("read_as") == "down_from_level" else 1)


def _between(lines: Mapping[str, Gaps], up: int) -> Gaps:
    """Head less sill where both were read; none where they were read off different datums, which is no gap at all."""
    above, below = lines.get("head_outer", {}), lines.get("sill_outer", {})
    gaps = {at: up * (above[at] - below[at]) for at in sorted(above.keys() & below.keys())}
    return gaps if gaps and min(gaps.values()) > 0 else {}
