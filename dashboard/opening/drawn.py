"""All the drawings of one opening, each with the table that says the same; made of the record and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard import phrases, words
from dashboard.drawings import plan as plans
from dashboard.drawings import profile as profiles
from dashboard.drawings import sill as sills
from dashboard.drawings import wall as walls
from dashboard.measures import Reader
from dashboard.opening.said import joint_words
from dashboard.opening.sheet import OpeningSheet
from inspections.calc import floor
from inspections.models import Inspection
from inspections.services.datums import unit_of
from inspections.services.ended import ended_by
from inspections.services.facts import pockets_of
from inspections.services.judging import limits_at
from inspections.services.laying_out import measured_pocket
from inspections.services.walls import wall_reads
from jobs.calc import reading
from jobs.calc.lengths import from_mm
from jobs.calc.verdict import Limit
from units.calc.fastener import Wall
from units.calc.layout import Layout
from units.calc.pocket import pocket_depth_needed, wall_needed
from units.calc.sealant import NEVER_SEAL, SEAL
from units.services.explaining import wish_of
from units.services.laid_out import LaidOut, laid_out

FASTENER = "fastener"
PARTS = ("board", "stud", "longest")


@dataclass(frozen=True, slots=True)
class Twice:
    """One drawing for a desk and for a telephone."""

    wide: Any
    slim: Any
    desc: str = ""
    small: Any = None  # one of a list


def plan_of(found: LaidOut | None, reader: Reader) -> Twice | None:
    """None where the panels cannot be laid out."""
    if found is None or found.layout is None:
        return None
    wide, slim = (plans.plan(found.layout, found.around, reader, sheet) for sheet in (plans.WIDE, plans.SLIM))
    return Twice(wide, slim, _plan_words(found.layout), plans.small(slim))


def _plan_words(layout: Layout) -> str:
    count, tracks = len(layout.panels), layout.door.tracks
    panels = ngettext("%d panel", "%d panels", count) % count
    return _("%(panels)s on %(tracks)s, %(pocket)s") % {
        "panels": panels, "tracks": ngettext("%d track", "%d tracks", tracks) % tracks,
        "pocket": phrases.POCKETS[layout.door.pocket_side if len(layout.door.sides) == 1 else "both"]}


@dataclass(frozen=True)
class DrawnWall:
    """The wall of one pocket, cut across."""

    place: str
    read: Wall
    reader: Reader

    @property
    def name(self) -> str:
        return words.place(self.place).capitalize() if self.place else ""

    @cached_property
    def drawn(self) -> Twice:
        wide, slim = (walls.section(self.read, self.reader, s) for s in (walls.WIDE, walls.SLIM))
        return Twice(wide, slim, f"{self.name}. {self.said}" if self.name else self.said, walls.small(slim))

    @property
    def source(self) -> str:
        return words.source(self.read.clearance_source)

    @property
    def said(self) -> str:
        if self.read.longest_allowed is None:
            return _("No clearance is set: how long a fastener may be is not known")
        most = walls.at_most_words(self.read.longest_allowed, self.reader)
        return (_("The longest fastener used is too long: %s is the most") if walls.too_long(self.read)
                else _("No fastener longer than %s")) % most

    @property
    def rows(self) -> list[tuple[str, str]]:
        read, length, most = self.read, self.reader.length, self.read.longest_allowed
        return [
            (_("Board it goes through"), length(read.board)), (_("Flat stud behind it"), length(read.stud)),
            (_("Must stay clear"), "–" if read.clearance is None else length(read.clearance)),
            (_("Longest allowed"), "–" if most is None else walls.at_most_words(most, self.reader)),
            (_("Longest used"), "–" if read.longest is None else length(read.longest))]


def _wall_of(read: Inspection, limit: Limit | None) -> Wall | None:
    unit = reading.unit_of(read.given)
    sent = {name: int(reading.length(read.given[name], name, unit=unit)) for name in PARTS
            if read.given.get(name) is not None}
    if not {"board", "stud"} <= sent.keys():
        return None
    clearance, source = (None, "") if limit is None else (limit.value, limit.source)
    return Wall(sent["board"], sent["stud"], None if clearance is None else int(clearance), source,
                longest=sent.get("longest"))


@dataclass
class Drawings:
    """Of one opening, on the facts its sheet has read."""

    sheet: OpeningSheet

    # ---- elevation --------------------------------------------------------------------------------------

    @property
    def rough_size(self) -> str:
        size, opening = self.sheet.reader.size, self.sheet.opening
        return _("%(width)s wide, %(height)s high") % {"width": size(opening.rough_width),
                                                       "height": size(opening.rough_height)}

    # ---- plan -------------------------------------------------------------------------------------------

    @cached_property
    def laid_out(self) -> LaidOut | None:
        """None where there is no unit."""
        opening = self.sheet.opening
        unit = unit_of(opening)
        return None if unit is None else laid_out(wish_of(unit, measured_pocket(opening)))

    @property
    def _layout(self) -> Layout | None:
        return None if self.laid_out is None else self.laid_out.layout

    @cached_property
    def plan(self) -> Twice | None:
        return plan_of(self.laid_out, self.sheet.reader)

    @cached_property
    def panel_rows(self) -> list[tuple[str, int, str, str, str, str]]:
        """Letter, track, pocket, width, where it stands closed and where stacked."""
        if self._layout is None:
            return []
        size = self.sheet.reader.size
        return [(p.letter, p.track, words.place(p.side), size(p.width), *(
            _("%(start)s to %(end)s") % {"start": size(start), "end": size(end)} for start, end in (
                p.closed, p.stacked))) for p in self._layout.in_hanging_order]

    @cached_property
    def pocket_rows(self) -> list[tuple[str, str, str, str, str]]:
        """Which pocket, how deep it must be and is, how thick its wall must be and is."""
        if self._layout is None:
            return []
        return [(words.place(side), *self._against(
            pocket_depth_needed(self._layout, side, self.laid_out.around), self.laid_out.around.pocket_depth.get(side),
            _("%s, too shallow")), *self._against(
            wall_needed(self._layout, side, self.laid_out.around), self.laid_out.around.wall_clear.get(side),
            _("%s, too thin"))) for side in self._layout.door.sides]

    def _against(self, needed: int | None, there: int | None, short: str) -> tuple[str, str]:
        reader = self.sheet.reader
        is_short = None not in (needed, there) and there < needed
        return reader.needed(needed), short % reader.size(there) if is_short else reader.size(there)

    @cached_property
    def clear_width(self) -> str:
        return "" if self._layout is None else self.sheet.reader.size(self._layout.door.clear_width)

    @cached_property
    def plan_lacks(self) -> tuple[str, ...]:
        """Why there is no plan, or what is not known of it yet."""
        found, reader = self.laid_out, self.sheet.reader
        if found is None:
            return (str(phrases.MISSING["unit"]),)
        if found.refused is not None:
            why = found.refused
            return (f"{words.unit_field(why.field).capitalize()}: {words.right(why.right, reader)}.",)
        return words.unique(words.missing(lack, reader) for lack in found.missing)

    @cached_property
    def entered_otherwise(self) -> tuple[str, ...]:
        """Panels of the record that run on another track or into another pocket than their system says."""
        if self._layout is None:
            return ()
        placed = {p.letter: p for p in self._layout.panels}
        entered = self.sheet.facts.panels
        other = {p.letter for p in entered if p.letter not in placed or p.track != placed[p.letter].track
                 or p.side not in ("", placed[p.letter].side)}
        return tuple(sorted(other | (placed.keys() - {p.letter for p in entered} if entered else set())))

    # ---- the sill, cut across ---------------------------------------------------------------------------

    @cached_property
    def joints(self) -> tuple[sills.SillJoint, ...]:
        """As the gate asks for them."""
        return sills.numbered((*spot.split(":"), "", "")[:3] for spot in self.sheet.joint_spots)

    @cached_property
    def joint_rows(self) -> list[tuple[str, str, str]]:
        rules = {SEAL: _("sealed"), NEVER_SEAL: _("never sealed: water leaves here")}
        return [("–" if j.number is None else str(j.number), joint_words(SEAL, j.place, j.side),
                 rules.get(j.rule, j.rule)) for j in self.joints]

    @cached_property
    def sill(self) -> Twice | None:
        cut = self._cut
        if cut is None:
            return None
        wide, slim = (sills.section(cut, self.joints, self.sheet.reader, s) for s in (sills.WIDE, sills.SLIM))
        return Twice(wide, slim, ngettext("A sill with %d track", "A sill with %d tracks", cut.tracks) % cut.tracks,
                     sills.small(slim))

    @cached_property
    def _cut(self) -> sills.Cut | None:
        unit = unit_of(self.sheet.opening)
        entered = max((p.track for p in self.sheet.facts.panels), default=0)
        tracks = self._layout.door.tracks if self._layout else entered
        if unit is None or not tracks:
            return None
        system, bed = unit.system, self._bed
        sizes = {name: getattr(system, of, None) for name, of in (
            ("pitch", "track_pitch"), ("covers", "covers"), ("thickness", "panel_thickness"), ("sill", "sill"))}
        least, most = (None if bed is None else from_mm(bed[f"packing_{end}_mm"]) for end in ("least", "greatest"))
        return sills.Cut(tracks, **{name: value or None for name, value in sizes.items()}, bed_least=least,
                         bed_most=most)

    @cached_property
    def cut_rows(self) -> list[tuple[str, str]]:
        cut, size = self._cut, self.sheet.reader.length
        if cut is None:
            return []
        known = ((_("From track to track"), cut.pitch), (_("Covers, both together"), cut.covers),
                 (_("Panel, thick"), cut.thickness), (_("Sill, high"), cut.sill),
                 (_("Bed, least"), cut.bed_least), (_("Bed, most"), cut.bed_most))
        return [(_("Tracks"), str(cut.tracks)), (_("Tracks and covers together"), self.sheet.reader.needed(cut.whole)),
                *((name, "–" if nm is None else size(nm)) for name, nm in known)]

    # ---- the floor --------------------------------------------------------------------------------------

    def _last(self, kind: str) -> Inspection | None:
        return next((i for i in self.sheet.facts.inspections if i.kind == kind), None)

    @property
    def _bed(self) -> dict[str, Any] | None:
        read = self._last(floor.NAME)
        return None if read is None or self.floor_ended else read.verdict.get("computed", {}).get("bed")

    @cached_property
    def floor(self) -> Inspection | None:
        return self._last(floor.NAME)

    @cached_property
    def floor_ended(self) -> str:
        """Of a floor that was poured since it was read, that nothing is packed by that reading."""
        read = self.floor
        since = None if read is None else ended_by(read, self.sheet.facts.events)
        return "" if since is None else _("No longer counts: %(why)s, %(day)s. Read it again.") % {
            "why": phrases.ENDINGS[since.kind], "day": self.sheet.reader.day(since.taken_at)}

    @cached_property
    def profile(self) -> Twice | None:
        """As the floor was judged when it was read last; how to put it right is on its own page."""
        read = self.floor
        if read is None or not read.verdict.get("findings"):
            return None
        payload = {**read.given, **read.asked_of}
        wide, slim = (profiles.plot(payload, read.verdict, None, self.sheet.reader, s)
                      for s in (profiles.WIDE, profiles.SLIM))
        return None if wide is None else Twice(wide, slim, small=profiles.small(slim))

    @cached_property
    def packing(self) -> list[tuple[str, str, str]]:
        """Line, place along the sill, packing."""
        reader = self.sheet.reader
        return [(words.place(p["line"]), reader.place(from_mm(p["at_mm"])), reader.length(from_mm(p["packing_mm"])))
                for p in (self._bed or {}).get("packing", ())]

    # ---- the pocket wall --------------------------------------------------------------------------------

    @cached_property
    def walls(self) -> list[DrawnWall]:
        """As each was read last, with the clearance that stands now; of two pockets those that were read."""
        limit = limits_at(FASTENER, self.sheet.opening, self.sheet.facts.checks).get("clearance")
        return [DrawnWall(read.place, wall, self.sheet.reader)
                for read in wall_reads(self.sheet.opening, self.sheet.facts.inspections)
                if (wall := _wall_of(read, limit)) is not None]

    @cached_property
    def unread_walls(self) -> list[str]:
        """The pockets whose wall nobody has read yet; the only one has no name."""
        read = {wall.place for wall in self.walls}
        places = pockets_of(self.sheet.opening) or (("",) if not read else ())
        return [words.place(place).capitalize() if place else "" for place in places if place not in read]

    # ---- cautions ---------------------------------------------------------------------------------------

    @cached_property
    def cautions(self) -> Sequence[str]:
        return words.unique([str(phrases.CAUTIONS["panels_are_heavy"]), *words.sheet_cautions(FASTENER),
                             str(phrases.SILL_CAUTION)])
