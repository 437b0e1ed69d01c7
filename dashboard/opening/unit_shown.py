"""What follows from a unit, as its page shows it: sizes, pocket, weights and verdicts in the reader's words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import phrases, words
from dashboard.measures import Reader
from dashboard.opening.drawn import Twice, plan_of
from jobs.calc.lengths import from_mm
from jobs.calc.verdict import FAIL, NO_LIMIT_SET, NOT_ENOUGH_DATA, PASS
from jobs.models import Opening
from units.models import Panel
from units.services.explaining import Explained, Wish, lighter_glass
from units.services.laid_out import laid_out

WORST_FIRST = (FAIL, NOT_ENOUGH_DATA, NO_LIMIT_SET, PASS)
ASKED_AS = {"clear_width": "frame_width", "clear_height": "frame_height"}  # what somebody types, for what is worked out
MEASURED = {"pocket_depth", "wall_clear"}


@dataclass(frozen=True, slots=True)
class PanelLine:
    letter: str
    position: str
    order: int
    width: str
    height: str
    track: int
    side: str
    glass: str
    computed: str
    weighed: str
    handle: str
    centre: str = ""
    state: str = ""


@dataclass
class UnitShown:
    wish: Wish
    explained: Explained
    panels_kept: Sequence[Panel]
    reader: Reader

    # ---- verdicts ---------------------------------------------------------------------------------------

    @cached_property
    def _verdicts(self) -> tuple[dict[str, Any], ...]:
        shown = self.explained.as_dict()
        return tuple(one for one in (shown["panels"], shown["weights"]) if one is not None)

    @cached_property
    def _said(self) -> tuple[words.Said, ...]:
        return tuple(words.verdict(one, self.reader) for one in self._verdicts)

    @cached_property
    def plan(self) -> Twice | None:
        """Its tracks seen from above, closed and stacked; None where the panels cannot be laid out."""
        return plan_of(laid_out(self.wish), self.reader)

    @property
    def refused(self) -> str:
        why = self.explained.refused
        if why is None:
            return ""
        return _("%(thing)s: %(right)s.") % {"thing": words.unit_field(why.field).capitalize(),
                                             "right": words.right(why.right, self.reader)}

    @cached_property
    def result(self) -> str:
        results = {said.result for said in self._said}
        return next((one for one in WORST_FIRST if one in results), NOT_ENOUGH_DATA)

    @property
    def headline(self) -> str:
        if self.explained.refused is not None:
            return _("This cannot be right")
        if self.result == NOT_ENOUGH_DATA and self.panels and {lack["what"] for lack in self._lacking} <= MEASURED:
            return _("Nothing speaks against it; the pocket is still to be measured")
        return str(phrases.UNIT_RESULTS[self.result])

    @property
    def _lacking(self) -> Iterator[Mapping[str, Any]]:
        return ({**lack, "what": ASKED_AS.get(lack["what"], lack["what"])}
                for verdict in self._verdicts for lack in verdict["missing"])

    @property
    def beyond(self) -> list[words.Note]:
        return [note for said in self._said for note in said.beyond]

    @property
    def judged(self) -> list[words.Note]:
        """What is within its limit, and what has none."""
        return [note for said in self._said for note in said.notes if note.within is not False]

    @property
    def missing(self) -> tuple[str, ...]:
        """Where no door system is chosen, that, and not one by one what it would say."""
        if self.wish.system is not None:
            return words.unique(words.missing(lack, self.reader) for lack in self._lacking)
        first = _("Choose its door system first: panels, pocket, weights and material follow from what its maker says.")
        own = (lack for lack in self._lacking if phrases.MISSING.get(lack["what"]) is not phrases.OF_SYSTEM)
        return words.unique([first, *(words.missing(lack, self.reader) for lack in own)])

    @property
    def second_look(self) -> tuple[str, ...]:
        return words.unique(line for said in self._said for line in said.second_look)

    @property
    def cautions(self) -> tuple[str, ...]:
        return words.unique(line for said in self._said if (line := said.caution)) or (
            str(phrases.CAUTIONS["panels_are_heavy"]),)

    @property
    def others(self) -> list[int]:
        """Numbers of panels that can be built, where this one cannot."""
        return list(self._could.get("can_be_built_with_panels") or ())

    @cached_property
    def _could(self) -> Mapping[str, Any]:
        """Worked out with the panels; or by itself, where the number that was tried makes no door at all."""
        return self._panels or self.explained.as_dict()["refused"] or {}

    @property
    def nearest(self) -> str:
        """`The nearest that can be built: 3 panels, 2020.0 mm wide, on 3 tracks.`"""
        found = self._could.get("nearest_that_can_be_built")
        if not found:
            return ""
        width, lead = (self.reader.printed(found[name]) for name in ("width_mm", "lead_width_mm"))
        said = ngettext("The nearest that can be built: %(panels)d panel, %(width)s wide",
                        "The nearest that can be built: %(panels)d panels, %(width)s wide", found["panels"]) % {
            "panels": found["panels"], "width": width}
        said += "" if lead == width else _(", the lead %s") % lead
        return said + _("; tracks: %d.") % found["tracks"]

    @property
    def is_only_known_in_part(self) -> bool:
        """Something is lacking, or a limit is not set: more may speak against them."""
        return bool(self.missing) or any(finding["within"] is None for one in self._verdicts
                                         for finding in one["findings"])

    @cached_property
    def other_glass(self) -> tuple[str, ...]:
        return lighter_glass(self.wish, self.explained)

    @property
    def no_other(self) -> bool:
        return self._could.get("can_be_built_with_panels") == []

    @property
    def can_be_laid_out(self) -> bool:
        return bool(self.panels) and self.result != FAIL

    # ---- panels -----------------------------------------------------------------------------------------

    @cached_property
    def _panels(self) -> Mapping[str, Any]:
        return self._verdicts[0]["computed"] if self._verdicts else {}

    @cached_property
    def _weights(self) -> Mapping[str, Any]:
        return self._verdicts[1]["computed"] if len(self._verdicts) > 1 else {}

    @cached_property
    def panels(self) -> list[PanelLine]:
        """As they would be laid out."""
        masses = {one["panel"]: one for one in self._weights.get("panels", ())}
        return [self._line(one, masses.get(one["panel"], {})) for one in self._panels.get("panels", ())]

    def _line(self, one: Mapping[str, Any], mass: Mapping[str, Any]) -> PanelLine:
        return PanelLine(
            one["panel"], _position(one["position"]), one["order"], self.reader.printed(one["width_mm"]),
            self.reader.printed(one["height_mm"]) or "–", one["track"], _side(one["side"]), self.glass,
            self._weight(mass.get("computed_kg")), self._weight(mass.get("weighed_kg")),
            self._handle(mass.get("handle_by_kg"), mass.get("handle_by")), self._centre(mass.get("centre")))

    def _weight(self, kg: str | float | None) -> str:
        return "–" if kg is None else self.reader.weight(kg)

    def _handle(self, kg: str | float | None, by: str | None) -> str:
        return "–" if kg is None else f"{self.reader.weight(kg)}, {phrases.HANDLED_BY[by]}"

    def _centre(self, centre: Mapping[str, str] | None) -> str:
        if centre is None:
            return "–"
        return _("%(x)s from the lead edge, %(y)s up") % {
            "x": self.reader.printed(centre["from_lead_edge_mm"]), "y": self.reader.printed(centre["from_bottom_mm"])}

    @cached_property
    def kept(self) -> list[PanelLine]:
        """As they are kept."""
        return [self._kept(panel) for panel in self.panels_kept]

    def _kept(self, panel: Panel) -> PanelLine:
        weighed, computed = panel.weighed_grams, panel.computed_grams
        grams = max((g for g in (weighed, computed) if g is not None), default=None)
        by = "weighed" if grams is not None and grams == weighed else "computed"
        state = str(phrases.PANEL_STATES[panel.state]) + (_(", damaged") if panel.damaged else "")
        return PanelLine(
            panel.letter, _position(panel.position), panel.hanging_order, self._length(panel.width),
            self._length(panel.height), panel.track, _side(panel.side), panel.glass or "–", self._grams(computed),
            self._grams(weighed), self._handle(None if grams is None else grams / 1000, by), state=state)

    def _length(self, nm: int | None) -> str:
        return "–" if nm is None else self.reader.length(nm)

    def _grams(self, grams: int | None) -> str:
        return self._weight(None if grams is None else grams / 1000)

    @property
    def is_kept_so(self) -> bool:
        """Whether the panels kept are those that follow."""
        kept = {p.letter: (p.track, p.side, p.hanging_order, _nm(p.width), _nm(p.height)) for p in self.panels_kept}
        return kept == {one["panel"]: (one["track"], one["side"], one["order"], from_mm(one["width_mm"]),
                                       None if one["height_mm"] is None else from_mm(one["height_mm"]))
                        for one in self._panels.get("panels", ())}

    @property
    def come(self) -> str:
        """The panels that have come: those are changed one by one."""
        return ", ".join(p.letter for p in self.panels_kept if p.state != "expected" or p.damaged)

    # ---- the rest of what follows -----------------------------------------------------------------------

    @property
    def glass(self) -> str:
        system = self.wish.system
        only = [] if system is None else [glass["name"] for glass in system.glasses]
        return self.wish.glass or (only[0] if len(only) == 1 else "–")

    @property
    def facts(self) -> list[tuple[str, str]]:
        return [] if not self._panels else [*self._sizes(), *self._pockets(), *self._masses()]

    def _sizes(self) -> Iterator[tuple[str, str]]:
        found, said = self._panels, self.reader.printed
        yield _("Clear width"), said(found["clear_width_mm"])
        if found["clear_height_mm"] is not None:
            yield _("Clear height"), said(found["clear_height_mm"])
        yield _("Net clear opening"), said(found["net_clear_opening_mm"])
        yield _("Tracks"), str(found["tracks"])
        yield _("Width that fills it"), said(found["exact_width_mm"])
        yield _("Left over by cutting"), self._remainder(found["remainder"])
        yield _("Hanging order"), ", ".join(found["hanging_order"])

    def _remainder(self, remainder: Mapping[str, str]) -> str:
        nm = from_mm(remainder["remainder_mm"])
        if not nm:
            return _("nothing")
        way = _("%(by)s more lap %(where)s") if nm > 0 else _("%(by)s less lap %(where)s")
        return way % {"by": self.reader.difference(nm), "where": phrases.LAPS[remainder["place"]]}

    def _pockets(self) -> Iterator[tuple[str, str]]:
        for pocket in self._panels["pockets"]:
            side = phrases.SIDES[pocket["side"]]
            yield _("Depth, %s") % side, self._against(pocket["depth_needed_mm"], pocket["depth_mm"])
            yield _("Wall, %s") % side, self._against(pocket["wall_needed_mm"], pocket["wall_mm"])
        for last in self._panels["last_panels"]:
            yield _("Gap for panel %s") % last["panel"], self._gap(last)
        yield from self._to_order()
        lean = self._panels["lean_in"]
        if lean is not None:
            yield _("Room to lean a panel in"), self.reader.printed(lean["room_mm"])

    def _to_order(self) -> Iterator[tuple[str, str]]:
        """What is ordered with it, as far as it follows: the sill through its pockets, and where the rollers sit."""
        depths = [pocket["depth_needed_mm"] for pocket in self._panels["pockets"]]
        if self.wish.frame_width is not None and None not in depths:
            sill = self.wish.frame_width + sum(from_mm(depth) for depth in depths)
            yield _("Sill with its run into the pocket, at least"), self.reader.needed(sill)
        edge = None if self.wish.system is None else self.wish.system.roller_from_edge
        if edge is not None and self.panels:
            narrowest = min(from_mm(one["width_mm"]) for one in self._panels["panels"])
            yield _("Rollers apart, of the narrowest panel"), self.reader.length(narrowest - 2 * edge)

    def _against(self, needed: str | None, there: str | None) -> str:
        reader = self.reader
        needs = _("needs %s") % (_("what is not known") if needed is None else reader.needed(from_mm(needed)))
        return f"{needs}, " + (_("not measured") if there is None else _("measured %s") % reader.size(from_mm(there)))

    def _gap(self, last: Mapping[str, str | None]) -> str:
        if last["gap_mm"] is None:
            return _("no limit set")
        said = _("%s to be left") % self.reader.printed(last["gap_mm"])
        if from_mm(last["roll_away_by_mm"]):
            said += _(": roll panel %(before)s on by %(by)s") % {
                "before": last["before"], "by": self.reader.printed(last["roll_away_by_mm"])}
        return f"{said}. {words.source(last['source'])}"

    def _masses(self) -> Iterator[tuple[str, str]]:
        found = self._weights
        if not found:
            return
        glass = found["glass"]
        if glass is not None:
            yield _("Glass"), _("%(name)s, %(thick)s thick") % {
                "name": self.glass, "thick": self.reader.printed(glass["thickness_mm"])}
        if found["total_kg"] is not None:
            yield _("All panels together"), self.reader.weight(found["total_kg"])
        heaviest = next((one for one in found["panels"] if one["panel"] == found["heaviest"]), None)
        if heaviest is not None and heaviest["handle_by_kg"] is not None:
            yield _("Heaviest"), _("panel %(letter)s, %(weight)s") % {
                "letter": heaviest["panel"], "weight": self._handle(heaviest["handle_by_kg"], heaviest["handle_by"])}


def larger_than(opening: Opening, wish: Wish, reader: Reader) -> list[str]:
    """A frame that does not go into the rough opening there is."""
    both = ((_("wide"), wish.frame_width, opening.rough_width), (_("high"), wish.frame_height, opening.rough_height))
    return [_("the frame is %(frame)s %(way)s, the rough opening %(rough)s.") % {
        "frame": reader.size(frame), "way": way, "rough": reader.size(rough)}
        for way, frame, rough in both if None not in (frame, rough) and frame > rough]


def _position(name: str) -> str:
    return str(dict(Panel.POSITIONS)[name]).lower()


def _side(name: str) -> str:
    return words.place(name) if name else "–"


def _nm(length: int | None) -> int | None:
    return None if length is None else int(length)
