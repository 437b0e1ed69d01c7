"""What is known of one place of an opening: a panel, the sill, the head, a jamb, the pocket."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from dashboard import phrases, words
from dashboard.calls.left import adjustment_row
from dashboard.drawings.spots import INTERLOCKS, name_of
from dashboard.measures import Reader
from dashboard.opening.builder import taken_by
from dashboard.opening.said import finding_sentence, joint_words
from inspections.models import (
    Adjustment,
    Callback,
    Confirmation,
    HoldPoint,
    Inspection,
    Joint,
    Photo,
    PunchItem,
    WallAgreement,
)
from inspections.services.facts import Facts
from jobs.models import Opening
from units.models import PanelChange

# Readings that are of one place, whatever they say.
KINDS = {"floor-profile": "sill", "benchmark": "sill", "pocket": "pocket", "fastener": "pocket"}
# Of a frame each finding has its own place.
QUANTITIES = {
    "sill_level": ("sill",), "sill_rise_in_a_foot": ("sill",), "sill_across": ("sill",), "end_gaps": ("sill",),
    "head_level": ("head",), "head_flat": ("head",), "head_parallel": ("head", "sill"), "head_over_sill": ("head",),
    "left_above_panels": ("head",), "members_apart": ("lock-jamb", "interlock", *INTERLOCKS),
    "tightest_height": ("head", "sill"), "loosest_height": ("head", "sill"),
}
MEMBERS = {"lock_jamb": "lock-jamb", "interlock_left": "interlock-left", "interlock_right": "interlock-right"}
CHECKS = {"floor-sound": "sill", "sill-supported": "sill", "pan-tested": "sill", "weeps-open": "sill",
          "splices-sealed": "sill", "header-in": "head", "pocket-open": "pocket", "studs-clear": "pocket",
          "lock-engages": "lock-jamb"}


@dataclass(frozen=True, slots=True)
class Seen:
    """One set of readings, as far as it is about this place."""

    pk: Any
    what: str
    when: str
    by: str
    headline: str
    passes: bool
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Happened:
    at: Any
    when: str
    what: str
    by: str


@dataclass(frozen=True, slots=True)
class AtPlace:
    key: str
    title: str
    readings: tuple[Seen, ...]
    items: tuple[PunchItem, ...]
    happened: tuple[Happened, ...]  # first to last
    calls: tuple[tuple[Callback, str], ...]  # about it, the latest first
    photos: tuple[tuple[Photo, str], ...]

    @property
    def nothing(self) -> bool:
        return not (self.readings or self.items or self.happened or self.calls or self.photos)


@dataclass(frozen=True)
class Looking:
    """At one place of one opening. `key` is a panel's letter or the name of a member."""

    key: str
    facts: Facts
    reader: Reader

    @property
    def opening(self) -> Opening:
        return self.facts.opening

    def at(self, items: Iterable[PunchItem], panel_changes: Iterable[PanelChange]) -> AtPlace:
        readings = [i for i in self.facts.inspections if self._lines(i)]
        items = [i for i in items if self._is_here(i.place, i.panel_id)]
        turned = [a for a in self._adjustments() if self._is_here("", a.panel_id)]
        seen = [c for c in self.facts.confirmations if self._looked_here(c)]
        joints = [j for j in self.facts.joints if j.place == self.key]
        changes = [c for c in panel_changes if c.panel_id == self._panel_id]
        pockets = self._pockets()
        shown = {"inspection": readings, "confirmation": seen, "joint": joints, "punch-item": items,
                 "adjustment": turned, "panel": [c.panel for c in changes[:1]]}
        happened = [*map(self._change, changes), *map(self._looked, seen), *map(self._joint, joints),
                    *map(self._turned, turned), *pockets]
        return AtPlace(
            self.key, name_of(self.key), tuple(map(self._seen, readings)), tuple(items),
            tuple(sorted(happened, key=lambda one: one.at)), self._calls(), tuple(self._photos(shown, seen)))

    # ---- what is about this place -----------------------------------------------------------------------

    @property
    def _panel_id(self) -> int | None:
        return next((p.pk for p in self.facts.panels if p.letter == self.key), None)

    def _is_here(self, place: str, panel: int | None) -> bool:
        return place == self.key or (panel is not None and panel == self._panel_id)

    def _looked_here(self, seen: Confirmation) -> bool:
        return self._is_here(seen.place, seen.panel_id) or CHECKS.get(seen.check_code) == self.key

    def _lines(self, inspection: Inspection) -> tuple[str, ...]:
        """Its findings about this place, each in a sentence."""
        findings = inspection.verdict.get("findings") or ()
        whole = self._is_here(inspection.place, inspection.panel_id) or KINDS.get(inspection.kind) == self.key
        ours = findings if whole else [f for f in findings if self.key in places_of_finding(f)]
        return tuple(dict.fromkeys(finding_sentence(f, self.reader) for f in ours))

    def _adjustments(self) -> Sequence[Adjustment]:
        found = Adjustment.objects.filter(opening=self.opening).select_related("by", "panel", "trip__crew")
        return found if self._panel_id else ()

    def _calls(self) -> tuple[tuple[Callback, str], ...]:
        """Said with the day they came, and whether they are still open."""
        found = Callback.objects.filter(opening=self.opening, panel=self._panel_id) if self._panel_id else ()
        return tuple((call, ", ".join((
            self.reader.day(call.called_at), str(phrases.SEVERITIES[call.severity]).lower(),
            _("open") if call.closed_at is None else _("closed")))) for call in found)

    # ---- in words ---------------------------------------------------------------------------------------

    def _seen(self, inspection: Inspection) -> Seen:
        said = words.verdict(inspection.verdict, self.reader)
        return Seen(inspection.pk, words.kind(inspection.kind, inspection.occasion),
                    self.reader.moment(inspection.taken_at), str(inspection.by), said.headline, not said.stops,
                    self._lines(inspection))

    def _happened(self, at: Any, what: str, by: Any) -> Happened:
        return Happened(at, self.reader.moment(at), what, str(by))

    def _change(self, change: PanelChange) -> Happened:
        what = str(phrases.PANEL_ACTS[change.act])
        return self._happened(change.taken_at, f"{what}: {change.reason}" if change.reason else what, change.by)

    def _looked(self, seen: Confirmation) -> Happened:
        title = next((c.title for c in self.facts.checks if c.code == seen.check_code), seen.check_code)
        answer = str(phrases.ANSWERS[seen.answer])
        return self._happened(seen.taken_at, ". ".join(filter(None, (f"{title}: {answer}", seen.looked_at))), seen.by)

    def _joint(self, joint: Joint) -> Happened:
        state = (_("sealed") if joint.rule == "seal" else _("open, as it must be")) if joint.done else (
            _("not as it must be"))
        said = f"{joint_words('seal', joint.place, joint.side)}: {state}"
        return self._happened(joint.taken_at, ", ".join(filter(None, (said, joint.product))), joint.by)

    def _turned(self, turned: Adjustment) -> Happened:
        row = adjustment_row(turned, self.reader)
        told = (row.turned, row.before and _("before: %s") % row.before, row.after and _("after: %s") % row.after)
        said = "; ".join(filter(None, told))
        return self._happened(turned.taken_at, ": ".join(filter(None, (turned.what.capitalize(), said))), turned.by)

    def _pockets(self) -> list[Happened]:
        if self.key != "pocket":
            return []
        closed = [self._happened(h.taken_at, _("Hold point released: the pocket closes"), h.by)
                  for h in HoldPoint.objects.filter(opening=self.opening, advanced=True).select_related("by")]
        signed = WallAgreement.objects.filter(opening=self.opening).select_related("by")
        return closed + [self._happened(w.taken_at, _("Wall sheet countersigned by %(name)s, %(trade)s") % {
            "name": w.name, "trade": w.trade}, w.by) for w in signed]

    def _photos(self, shown: Mapping[str, Iterable[Any]], seen: Iterable[Confirmation]) -> list[tuple[Photo, str]]:
        records = {(about, str(one.pk)) for about, rows in shown.items() for one in rows}
        checks = {c.check_code for c in seen if CHECKS.get(c.check_code) == self.key}
        ours = [p.pk for p in self.facts.photos
                if (p.about, p.about_id) in records or (p.check_code and p.check_code in checks)]
        found = Photo.objects.filter(pk__in=ours).select_related("by", "correction") if ours else ()
        return [(photo, f"{self.reader.moment(photo.taken_at)}, {taken_by(photo)}") for photo in found]


def places_of_finding(finding: Mapping[str, Any]) -> tuple[str, ...]:
    """Where on an opening a finding is; none, where it is about all of it."""
    where = finding.get("where") or {}
    at = [where.get("panel"), MEMBERS.get(where.get("member") or "")]
    return (*QUANTITIES.get(finding["quantity"], ()), *(place for place in at if place))
