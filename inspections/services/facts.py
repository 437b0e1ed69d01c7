"""All that the gate of one opening is judged from, read in a fixed number of queries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from inspections.calc.gate import Asked, Ending, Evidence, at_panel
from inspections.models import (
    Acceptance,
    Check,
    Confirmation,
    HoldPoint,
    Inspection,
    Joint,
    Photo,
    PunchItem,
    SetAsidePart,
)
from inspections.services.checks import MATERIAL_COMPLETE, SPLICES_SEALED, checks_for
from inspections.services.datums import unit_of
from inspections.services.judging import judged_again, limits_at
from jobs.models import Event, Opening, StageChange, Wait
from jobs.stages import NUMBER, Stage
from units.calc.parts import splices
from units.models import Panel, Part

HOLD_POINT = Check.HOLD_POINT
# Of a door that opens two ways: what is called so on one that opens one way.
TWO_WAYS: Mapping[str, tuple[str, ...]] = {"lock-jamb": (), "interlock": ("interlock-left", "interlock-right")}
EACH_POCKET, POCKETS = "each-pocket", ("left pocket", "right pocket")
# The hold point stands between *frame set* and *panels hung*: stepping back before either undoes it.
HOLD_POINT_STANDS_ON = Stage.FRAME_SET


@dataclass
class Facts:
    """Read once; `evidence_for` then answers from memory."""

    opening: Opening

    @classmethod
    def of(cls, opening: Opening) -> Facts:
        return cls(opening=opening)

    @cached_property
    def checks(self) -> list[Asked]:
        return checks_for(self.opening)

    # ---- what was recorded ------------------------------------------------------------------------------

    @cached_property
    def inspections(self) -> list[Inspection]:
        return list(Inspection.objects.filter(opening=self.opening).select_related("by")
                    .defer("device_verdict", "limits").order_by("-taken_at", "-id"))

    @cached_property
    def confirmations(self) -> list[Confirmation]:
        return list(Confirmation.objects.filter(opening=self.opening).select_related("by")
                    .order_by("-taken_at", "-id"))

    @cached_property
    def photos(self) -> list[Photo]:
        """First to last, so that in what is keyed from them the latest stands."""
        return list(Photo.objects.filter(opening=self.opening).select_related("by").order_by("taken_at", "id"))

    @cached_property
    def photos_of_checks(self) -> dict[str, Photo]:
        return {p.check_code: p for p in self.photos if p.check_code}

    @cached_property
    def photos_of_records(self) -> dict[tuple[str, str], Photo]:
        return {(p.about, p.about_id): p for p in self.photos if p.about}

    def photo_at(self, asked: Asked, about: str, about_id: str) -> dt.datetime | None:
        """When the latest photo of this check, or of the record that answers it, was taken."""
        shown = [self.photos_of_checks.get(asked.code), self.photos_of_records.get((about, about_id))]
        return max((p.taken_at for p in shown if p is not None), default=None)

    @cached_property
    def waits(self) -> list[Wait]:
        return list(Wait.objects.filter(opening=self.opening, cleared_at=None).select_related("owed_by", "by"))

    @cached_property
    def panels(self) -> list[Panel]:
        unit = unit_of(self.opening)
        return [] if unit is None else list(unit.panels.order_by("hanging_order", "letter"))

    @cached_property
    def parts(self) -> list[Part]:
        unit = unit_of(self.opening)
        return [] if unit is None else list(unit.parts.select_related("panel", "delivery").order_by("pk"))

    @property
    def splices(self) -> tuple[str, ...]:
        """Where pieces of its sill and head meet."""
        return splices((part.kind, part.wanted) for part in self.parts)

    def counts_material(self, asked: Asked) -> bool:
        """Whether this check is counted from the unit's parts; a unit that lists none is looked at by the office."""
        return asked.code == MATERIAL_COMPLETE and asked.judged_by == "confirmed" and bool(self.parts)

    def spliced(self, asked: Asked) -> tuple[str, ...]:
        """The splices this check is asked at, beside what somebody confirms once."""
        return self.splices if asked.code == SPLICES_SEALED and asked.judged_by == "confirmed" else ()

    @cached_property
    def joints(self) -> list[Joint]:
        return list(Joint.objects.filter(opening=self.opening).select_related("by", "conditions")
                    .order_by("-taken_at", "-id"))

    @cached_property
    def parts_away(self) -> list[SetAsidePart]:
        return list(SetAsidePart.objects.filter(opening=self.opening, back_at=None))

    @cached_property
    def punch_items_open(self) -> list[PunchItem]:
        return list(PunchItem.objects.filter(opening=self.opening).still_open().select_related("owner"))

    @cached_property
    def hold_point(self) -> HoldPoint | None:
        standing = HoldPoint.objects.filter(opening=self.opening, undone_at=None, advanced=True)
        return standing.select_related("by").first()

    @cached_property
    def acceptance(self) -> Acceptance | None:
        return Acceptance.objects.filter(opening=self.opening, change__advanced=True).order_by("-taken_at").first()

    # ---- what ended evidence ----------------------------------------------------------------------------

    @cached_property
    def events(self) -> list[Event]:
        return list(Event.objects.filter(opening=self.opening))

    @cached_property
    def steps_back(self) -> list[StageChange]:
        return list(StageChange.objects.filter(opening=self.opening, kind="step-back", advanced=True))

    def endings(self, stage: str) -> list[Ending]:
        """What ended evidence for checks of this stage (or hold point)."""
        ended = [Ending(e.taken_at, e.kind) for e in self.events]
        ended += [Ending(c.server_time, "step-back", all_checks=True) for c in self.steps_back if undoes(c, stage)]
        return ended

    # ---- evidence ---------------------------------------------------------------------------------------

    def evidence_for(self, asked: Asked, place: str = "") -> Evidence | None:
        """The latest of what was read and what somebody confirmed about this check."""
        found = [e for e in (self._read(asked, place), self._confirmed(asked, place), self._photographed(asked))
                 if e is not None]
        return max(found, key=lambda e: e.taken_at, default=None)

    def _confirmed(self, asked: Asked, place: str) -> Evidence | None:
        for row in self.confirmations:
            if row.check_code == asked.code and row.place in (place, ""):
                photo_at = self.photo_at(asked, "confirmation", str(row.pk))
                return Evidence("confirmations", str(row.pk), row.taken_at, str(row.by), row.answer, None, photo_at,
                                row.stands_at or row.looked_at)
        return None

    def other_evidence(self, asked: Asked, place: str, since: dt.datetime | None) -> Evidence | None:
        """What the office recorded in the place of evidence that can no longer be had, if nothing was done since."""
        seen = self._confirmed(asked, place)
        stands = seen is not None and seen.answer == "other-evidence" and (since is None or seen.taken_at >= since)
        return seen if stands else None

    def _photographed(self, asked: Asked) -> Evidence | None:
        photo = self.photos_of_checks.get(asked.code) if asked.judged_by == "photo" else None
        if photo is None:
            return None
        return Evidence("photos", str(photo.pk), photo.taken_at, str(photo.by), "yes", None, photo.taken_at,
                        photo.caption)

    def _read(self, asked: Asked, place: str) -> Evidence | None:
        inspection = self._latest_inspection(asked, place)
        if inspection is None:
            return None
        verdict = self.judged(inspection, asked)
        if place and not inspection.place:
            verdict = at_panel(verdict, place)
        return Evidence("inspections", str(inspection.pk), inspection.taken_at, str(inspection.by), "", verdict,
                        self.photo_at(asked, "inspection", str(inspection.pk)))

    def _latest_inspection(self, asked: Asked, place: str) -> Inspection | None:
        """The latest that says something about what this check looks at; else the latest of its kind at all."""
        of_kind = [i for i in self.inspections if i.kind == asked.judged_by and _at(i, asked, place)]
        about = [i for i in of_kind if any(_about(q, asked.findings) for q in i.quantities)]
        return next(iter(about or of_kind), None)

    def judged(self, inspection: Inspection, asked: Asked) -> Mapping[str, Any]:
        """By the limits that stand now: a limit set since counts, without reading again."""
        limits = limits_at(inspection.kind, self.opening, self.checks, first=asked)
        key = (inspection.pk, tuple(sorted((n, str(v.value), v.source) for n, v in limits.items())))
        if key not in self._verdicts:
            self._verdicts[key] = judged_again(inspection, limits).as_dict()
        return self._verdicts[key]

    @cached_property
    def _verdicts(self) -> dict[Any, Mapping[str, Any]]:
        return {}

    def places_of(self, asked: Asked) -> tuple[str, ...]:
        """Where the check is asked: `each-panel` is every panel's letter, `each-pocket` each of two pockets; nowhere
        named, or one pocket: once, for the opening."""
        if EACH_POCKET in asked.places:
            return pockets_of(self.opening) or ("",)
        if "each-panel" not in asked.places:
            return members_of(asked.places, self.opening) or ("",)
        letters = tuple(p.letter for p in self.panels)
        return letters or ("",)


def pockets_of(opening: Opening) -> tuple[str, ...]:
    """What each is called where there are two; of one it need not be said."""
    return POCKETS if opening.pocket_side == "both" else ()


def members_of(places: Sequence[str], opening: Opening) -> tuple[str, ...]:
    """As this door has them: two ways the panels meet in the middle, there is no lock jamb and an interlock at either
    end."""
    unit = getattr(opening, "unit", None)
    if unit is None or unit.ways != "two-way":
        return tuple(places)
    named = ((place, place.strip().lower().replace(" ", "-")) for place in places)
    return tuple(member for place, name in named for member in TWO_WAYS.get(name, (place,)))


def undoes(change: StageChange, stage: str) -> bool:
    """Whether stepping back as in `change` re-opens the checks of this stage, or of the hold point."""
    back_to, came_from = NUMBER[Stage(change.to_stage)], NUMBER[Stage(change.from_stage)]
    frame_again = back_to < NUMBER[HOLD_POINT_STANDS_ON]  # then all that stood on the frame is done again
    if stage == HOLD_POINT:
        return frame_again
    number = NUMBER[Stage(stage)]
    return back_to < number and (number <= came_from or (frame_again and came_from >= NUMBER[HOLD_POINT_STANDS_ON]))


def _at(inspection: Inspection, asked: Asked, place: str) -> bool:
    if place and inspection.place != place and not _of_several_panels(inspection, place):
        return False
    return not asked.occasion or inspection.occasion in ("", asked.occasion)


def _of_several_panels(inspection: Inspection, letter: str) -> bool:
    """Rollers of several panels may be read in one go, at no place of their own."""
    return inspection.kind == "roller-preset" and not inspection.place and any(
        f["where"].get("panel") == letter for f in inspection.verdict["findings"])


def _about(quantity: str, wanted: Iterable[str]) -> bool:
    return any(quantity == w or quantity.startswith(w + "_") for w in wanted)


