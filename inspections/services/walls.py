"""The wall that hides the panels: who of the builder's side saw how deep anything may be fixed into it.

No gate asks for it: the paper may as well be signed and filed. Where it is kept here it counts as long as the figures
are those that were seen.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from typing import Any

from inspections.models import Inspection, Photo, WallAgreement
from inspections.services.facts import pockets_of
from inspections.services.inspecting import when
from jobs.acts import Act, carry_out
from jobs.calc import reading
from jobs.calc.lengths import to_mm
from jobs.errors import Invalid, Refusal
from jobs.models import Opening
from jobs.models.base import new_id
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already

MAY = "countersign a wall"
KIND = "fastener"
PARTS = ("board", "stud")


def countersign_wall(act: Act, opening_id: int, *, name: str, trade: str, photo_id: uuid.UUID | None = None,
                     seen: str = "", done_on_site: bool = False, entry_id: uuid.UUID | None = None) -> WallAgreement:
    """They saw it, on the figures that stand now. `seen`: the mark of the figures they were shown; when somebody read
    others since, they see these first. `done_on_site`: they signed already, out of reach; it is kept on the figures
    they saw, whatever was read since."""
    mark = fingerprint("wall-agreement", opening_id, name, trade, photo_id, seen)
    with carry_out(act) as done:
        opening = locked(opening_id)
        require(act, MAY, opening)
        had = had_already(WallAgreement, entry_id, mark)
        if had is not None:
            return had
        _check_said(name, trade)
        read, figures = _on_what(opening, act, seen, done_on_site)
        if read is None or figures is None:
            raise Refusal("There are no figures to agree to: how deep anything may be fixed is not known yet. "
                          "Read board, flat stud and the longest fastener first, of two pockets at each.",
                          code="wall-not-read")
        if seen and seen != mark_of(figures):
            raise Refusal("The figures of this wall are others now. Show them first.", code="wall-changed")
        agreement = WallAgreement.objects.create(
            id=entry_id or new_id(), opening=opening, inspection=read, name=name.strip(), trade=trade.strip(),
            figures=figures, figures_sha256=mark_of(figures), photo=_photo(opening, photo_id), **when(act),
            fingerprint=mark)
        done.note(act, "wall countersigned", "wall-agreements", agreement.pk, opening=opening, name=agreement.name,
                  trade=agreement.trade)
    return agreement


def _on_what(opening: Opening, act: Act, seen: str,
             done_on_site: bool) -> tuple[Inspection | None, dict[str, Any] | None]:
    """The figures that stand; of what was signed out of reach, those that were seen, or that stood when it was."""
    reads = list(Inspection.objects.filter(opening=opening, kind=KIND).order_by("-taken_at", "-id"))
    if done_on_site:
        earlier = (reads[n:] for n, read in enumerate(reads) if seen or read.taken_at <= act.taken_at)
        shown = ((stood[0], wall_figures(opening, stood)) for stood in earlier)
        found = next((one for one in shown if not seen or mark_of(one[1]) == seen), None)
        if found is not None:
            return found
    return (reads[0] if reads else None), wall_figures(opening, reads)


def _check_said(name: str, trade: str) -> None:
    wrong = {field: right for field, value, right in (
        ("name", name, "who saw it"), ("trade", trade, "of which trade, or for the builder")) if not value.strip()}
    if wrong:
        raise Invalid("Say who saw it.", fields=wrong)


def _photo(opening: Opening, photo_id: uuid.UUID | None) -> Photo | None:
    if photo_id is None:
        return None
    found = Photo.objects.filter(pk=photo_id, opening=opening).first()
    if found is None:
        raise Invalid("There is no such photo.", fields={"photo": "the id of a photo of this opening"})
    return found


# ---- on what --------------------------------------------------------------------------------------------


def wall_reads(opening: Opening, inspections: Iterable[Inspection]) -> list[Inspection]:
    """Of these, the latest first, the reading that stands; of two pockets that of each, as far as there is one."""
    found = [one for one in inspections if one.kind == KIND]
    each = (next((one for one in found if one.place == place), None) for place in pockets_of(opening))
    return [one for one in each if one is not None] if pockets_of(opening) else found[:1]


def wall_figures(opening: Opening, inspections: Iterable[Inspection]) -> dict[str, Any] | None:
    """Which wall, of what, and what may go into it; of two pockets the wall of each. None where that is not known of
    all of them."""
    found = [_figures(read) for read in wall_reads(opening, inspections)]
    if None in found or len(found) != max(len(pockets_of(opening)), 1):
        return None
    side = {"pocket_side": opening.pocket_side}
    return {**side, **found[0]} if len(found) == 1 else {**side, "walls": found}


def walls_of(figures: dict[str, Any]) -> list[dict[str, Any]]:
    """One, or one a pocket: each with its `place`, `board_mm`, `stud_mm`, `longest_mm` and `used_mm`."""
    return figures.get("walls") or [figures]


def _figures(read: Inspection) -> dict[str, Any] | None:
    finding = next((f for f in read.verdict.get("findings", ()) if f["quantity"] == "longest_fastener"), None)
    if finding is None or finding["limit_mm"] is None:
        return None
    unit = reading.unit_of(read.given)
    parts = {f"{name}_mm": to_mm(int(reading.length(read.given[name], name, unit=unit))) for name in PARTS}
    return {"place": read.place, **parts, "longest_mm": finding["limit_mm"], "used_mm": finding["value_mm"]}


def mark_of(figures: dict[str, Any] | None) -> str:
    return "" if figures is None else fingerprint("wall", figures)


def marks_now(openings: Iterable[int]) -> dict[int, str]:
    """By opening: the mark of the figures that stand now."""
    found: dict[int, list[Inspection]] = {}
    for read in Inspection.objects.filter(opening__in=list(openings), kind=KIND).select_related("opening").order_by(
            "-taken_at", "-id"):
        found.setdefault(read.opening_id, []).append(read)
    return {pk: mark_of(wall_figures(reads[0].opening, reads)) for pk, reads in found.items()}


def still_counts(agreement: WallAgreement, figures: dict[str, Any] | None) -> bool:
    return bool(figures) and agreement.figures_sha256 == mark_of(figures)
