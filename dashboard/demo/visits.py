"""What a crew does on an ordinary visit, stage by stage, through the product's own services."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import Any

from dashboard.demo import pictures, readings
from dashboard.demo.diary import ZONE, Clock
from dashboard.demo.doors import Door, sixteenths
from inspections.services.afterwards import log_adjustment
from inspections.services.closing import accept_opening, put_part_back, raise_punch_item, set_part_aside
from inspections.services.facts import members_of
from inspections.services.gates import advance_opening, release_hold_point
from inspections.services.inspecting import confirm, record_inspection
from inspections.services.joints import do_joint
from inspections.services.panels import handle_panel
from inspections.services.photos import store_photo
from inspections.services.work import report_hours
from jobs.acts import Act, carry_out
from jobs.models import User
from jobs.stages import Stage

LOOKED_AT: dict[str, str] = {
    "pocket-open": "One side of the pocket wall is open from floor to header.",
    "floor-sound": "Tapped along both lines, no hollow spots; edges whole.",
    "header-in": "Header and its posts as on sheet S-3 of the drawings.",
    "unit-matches": "Tag, letters and pocket side against the crates.",
    "sill-supported": "Light and feeler along the sill: bed all the way, bead unbroken.",
    "splices-sealed": "Both splices and every hole in the sill.",
    "set-aside-listed": "Everything taken off is on the list.",
    "studs-clear": "String along the panels' path: nothing in it, nothing runs through.",
    "lifting-fits": "Heaviest panel against the lifter's plate, pads and reach.",
    "rolls-freely": "By hand, both ways.",
    "lock-engages": "Both points, key and thumb turn.",
    "weeps-open": "Water poured in at each weep; it came out outside.",
    "finishing-steps": "The maker's list, one by one.",
    "walked": "From one end to the other, inside and out.",
}
ASIDE = (("Track covers, one bundle", "in the pocket, against the back stud"), ("Head block", "crew's van, left shelf"),
         ("Bag of screw plugs", "lead's tool box"))


@dataclass
class Visit:
    """One stay at one door: everything done there goes through here, a few minutes apart."""

    door: Door
    clock: Clock
    late: dt.timedelta = dt.timedelta()  # how long entries lay on the telephone before there was a signal

    @property
    def chance(self) -> Random:
        return self.door.chance

    def act(self, by: User | None = None) -> Act:
        act = self.clock.act(by or self.chance.choice(self.door.team))
        return act.at_device_time(act.now - self.late) if self.late else act

    def lead(self) -> Act:
        return self.act(self.door.lead)

    def office(self) -> Act:
        return self.act(self.door.office)

    @property
    def id(self) -> int:
        return self.door.opening.pk

    # ---- single entries -----------------------------------------------------------------------------------

    def read(self, kind: str, given: readings.Given, **more: Any) -> Any:
        act = self.act()
        return record_inspection(act, self.id, kind, given, entry_id=self.clock.entry_id(), **more)

    def saw(self, code: str, answer: str = "yes", *, looked_at: str = "", **more: Any) -> Any:
        act = self.act()
        return confirm(act, self.id, code, answer, looked_at=looked_at or LOOKED_AT.get(code, ""),
                       entry_id=self.clock.entry_id(), **more)

    def photo(self, code: str = "", caption: str = "", *, studs: bool = False, **about: Any) -> Any:
        act, data = self.act(), pictures.drawn(self.chance, f"{self.door.opening.tag}  {caption}", studs=studs)
        return store_photo(act, self.id, data, check_code=code, caption=caption, entry_id=self.clock.entry_id(),
                           **about)

    def panel(self, letter: str, what: str, **more: Any) -> Any:
        act = self.act()
        return handle_panel(act, self.door.panel(letter).pk, what, entry_id=self.clock.entry_id(), **more)

    def advance(self, to: Stage, **more: Any) -> Any:
        act = self.lead()
        return advance_opening(act, self.id, to=to.value, entry_id=self.clock.entry_id(), **more)

    def hours(self, stage: Stage, share: float = 1.0, note: str = "") -> None:
        """Reported by the lead: a share of what was planned, times a day's luck."""
        step = self.door.step(stage)
        minutes = round(step.planned_minutes * share * self.chance.uniform(0.85, 1.2) / 15) * 15
        act = self.lead()
        report_hours(act, step.pk, day=act.today(ZONE), minutes=max(minutes, 15), note=note,
                     entry_id=self.clock.entry_id())

    def item(self, key: str, what: str, owner: User, due: dt.date, **more: Any) -> Any:
        item = raise_punch_item(self.act(), self.id, what=what, owner_id=owner.pk, due_day=due,
                                entry_id=self.clock.entry_id(), **more)
        self.door.kept[key] = item.pk
        return item


@contextmanager
def visit(door: Door, clock: Clock) -> Iterator[Visit]:
    """All entries of one visit in one transaction, as a telephone sends them."""
    one = Visit(door, clock)
    with carry_out(one.lead()):
        yield one


# ---- opening verified -----------------------------------------------------------------------------------


def measure(v: Visit, *, floor: readings.Given | None = None) -> Any:
    """Tape, pocket, benchmark and floor; the floor's inspection."""
    unit, drawn = v.door.unit, v.door.drawn
    rough = (Fraction(drawn.width + 1), Fraction(drawn.height + 1))
    v.read("rough-opening", readings.rough_opening(v.chance, *rough))
    needed = (sixteenths(unit.pocket_depth_needed), sixteenths(unit.pocket_thickness_needed))
    v.read("pocket", readings.pocket(v.chance, *needed))
    v.read("benchmark", readings.benchmark(v.chance))
    return v.read("floor-profile", floor or readings.floor(v.chance, v.door.sill))


def look_over(v: Visit) -> None:
    for code in ("pocket-open", "floor-sound", "header-in", "unit-matches"):
        v.saw(code)
    v.photo("floor-sound", "floor along the sill line, tape in view")


def material_complete(v: Visit) -> None:
    confirm(v.office(), v.id, "material-complete", "yes", looked_at="Delivery notes against the take-off.",
            entry_id=v.clock.entry_id())


def verify(v: Visit) -> None:
    look_over(v)
    measure(v)
    material_complete(v)
    v.advance(Stage.OPENING_VERIFIED)


# ---- frame set, and the pocket closes -------------------------------------------------------------------


def frame_evidence(v: Visit) -> None:
    for what, where in ASIDE:
        set_part_aside(v.act(), v.id, what=what, where_kept=where, entry_id=v.clock.entry_id())
    v.read("frame", readings.frame(v.chance, v.door.sill, v.door.height_mm,
                                   [place.replace("-", "_") for place in ends_of(v)]), occasion="frame-set")
    for code in ("sill-supported", "splices-sealed", "set-aside-listed"):
        v.saw(code)
    v.photo("sill-supported", "sill on its bed, pocket end")


def set_frame(v: Visit) -> None:
    frame_evidence(v)
    v.advance(Stage.FRAME_SET)


def pan_test(v: Visit) -> None:
    if v.door.system.pan_test_allowed:
        v.saw("pan-tested", looked_at="Pan filled to the line overnight; the line has not moved.")
    else:
        v.saw("pan-tested", "maker-forbids", stands_at="maker's instructions of an invented system, page 19")


def close_pocket(v: Visit) -> None:
    pan_test(v)
    v.saw("studs-clear")
    v.read("fastener", readings.fastener())
    v.photo("pocket-photo", "pocket before it closes, tape in view", studs=True)
    release_hold_point(v.lead(), v.id, entry_id=v.clock.entry_id())


# ---- panels hung ----------------------------------------------------------------------------------------


def receive(v: Visit, letters: Iterable[str] | None = None) -> None:
    for panel in v.door.panels:
        if panel.state == "expected" and (letters is None or panel.letter in letters):
            v.panel(panel.letter, "receive")


def read_head(v: Visit) -> None:
    width = int(v.door.unit.frame_width) // 1_000_000
    v.read("frame", readings.under_load(v.chance, width, v.door.height_mm), occasion="under-load")
    v.saw("lifting-fits")


def hang(v: Visit, letters: str) -> None:
    for letter in letters:
        v.read("roller-preset", readings.roller_preset(v.chance, letter), place=letter)
        v.panel(letter, "hang")
        v.saw("rolls-freely", place=letter)


def all_hung(v: Visit) -> None:
    v.read("last-panel-gap", {"gap": readings.inches(18 + Fraction(v.chance.randint(4, 30), 8))})
    v.advance(Stage.PANELS_HUNG)


def hang_all(v: Visit) -> None:
    receive(v)
    read_head(v)
    hang(v, "".join(panel.letter for panel in v.door.panels))
    all_hung(v)


# ---- adjusted -------------------------------------------------------------------------------------------


def ends_of(v: Visit) -> tuple[str, ...]:
    """Lock jamb and interlock; two interlocks where it opens two ways."""
    return members_of(("lock-jamb", "interlock"), v.door.opening)


def turn_rollers(v: Visit, place: str) -> None:
    """The gap tapers; the rollers are turned as the verdict says; it is even."""
    panel = v.door.panels[0 if place == ends_of(v)[0] else -1]
    before = readings.reveal(v.chance, v.door.height_mm, taper=2.5)
    found = v.read("reveal", before, place=place)
    turned = next((f["remedy"] for f in found.verdict["findings"] if f["quantity"] == "taper"), None) or {}
    after = readings.reveal(v.chance, v.door.height_mm)
    v.read("reveal", after, place=place)
    turns = [{"roller": t["roller"], "eighths": t["turns_eighths"] * (1 if t["way"] == "up" else -1)}
             for t in turned.get("values", {}).get("rollers", [])]
    log_adjustment(v.act(), v.id, what="rollers", turns=turns, panel_id=panel.pk, before={"gaps": before["gaps"]},
                   after={"gaps": after["gaps"]}, note=f"Taper at the {place} taken out.",
                   entry_id=v.clock.entry_id())
    v.panel(panel.letter, "adjust")


def even_out(v: Visit) -> None:
    """Reveals: one of the two always wants turning."""
    ends = ends_of(v)
    turned = v.chance.choice(ends)
    for place in ends:
        if place == turned:
            turn_rollers(v, place)
        else:
            v.read("reveal", readings.reveal(v.chance, v.door.height_mm), place=place)
    for place in ("stacked", "spread"):
        v.read("frame", readings.sill_again(v.chance, v.door.sill), occasion="adjusted", place=place)


def pull(v: Visit) -> None:
    v.read("force", readings.force(v.chance, {p.letter: p.grams or 0 for p in v.door.panels}))


def adjust_panels(v: Visit) -> None:
    for panel in v.door.panels:
        if panel.state == "hung":
            v.panel(panel.letter, "adjust")


def adjust(v: Visit) -> None:
    even_out(v)
    pull(v)
    v.saw("lock-engages")
    adjust_panels(v)
    v.advance(Stage.ADJUSTED)


# ---- sealed, walked, accepted ---------------------------------------------------------------------------


def joint(v: Visit, place: str, side: str, conditions: Any, *, note: str = "") -> None:
    do_joint(v.act(), v.id, place=place, side=side, product=v.door.system.products[0]["name"],
             conditions_id=conditions.pk, note=note, entry_id=v.clock.entry_id())


def seal_joints(v: Visit, *, without: tuple[tuple[str, str], ...] = ()) -> None:
    conditions = v.read("sealing-conditions", readings.sealing(v.chance))
    for spot in v.door.system.joints:
        for place in members_of((spot["place"],), v.door.opening):
            if spot["rule"] == "seal" and (spot["place"], spot["side"]) not in without:
                joint(v, place, spot["side"], conditions)
    do_joint(v.act(), v.id, place="sill", side="outside", rule="never-seal", note="open, as it must be",
             entry_id=v.clock.entry_id())


def seal(v: Visit) -> None:
    seal_joints(v)
    v.saw("weeps-open")
    v.photo("weeps-open", "weeps along the sill, open")
    v.advance(Stage.SEALED)


def parts_back(v: Visit) -> None:
    for part in v.door.opening.set_aside_parts.filter(back_at=None):
        put_part_back(v.act(), part.pk, note="back where it belongs")


def walk(v: Visit) -> None:
    parts_back(v)
    v.saw("finishing-steps")
    v.saw("walked")
    v.advance(Stage.PUNCH_LIST)


def accept(v: Visit, by: str, *, subject_to: tuple[Any, ...] = ()) -> None:
    accept_opening(v.lead(), v.id, accepted_by=by, how="signed on site", subject_to=subject_to,
                   entry_id=v.clock.entry_id())


ORDINARY = {Stage.OPENING_VERIFIED: verify, Stage.FRAME_SET: set_frame, Stage.PANELS_HUNG: hang_all,
            Stage.ADJUSTED: adjust, Stage.SEALED: seal, Stage.PUNCH_LIST: walk}
