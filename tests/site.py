"""A crew on site: takes one opening through its stages on evidence that passes; a test then spoils one thing."""

from __future__ import annotations

import datetime as dt
from typing import Any

from inspections.models import Check, Photo
from inspections.services.closing import accept_opening
from inspections.services.facts import members_of, pockets_of
from inspections.services.gates import advance_opening, release_hold_point
from inspections.services.inspecting import confirm, record_inspection
from inspections.services.joints import do_joint
from inspections.services.panels import handle_panel
from jobs.acts import Act, carry_out
from jobs.models import Crew, Opening, StageChange, User
from jobs.stages import NUMBER, ORDER, Stage
from tests.factories import NOW, give_work, make_crew, make_opening, make_system, make_unit, make_user
from tests.kept import once
from units.models import Panel

FOOT = 304.8
SIZES = {"width": "20' 1\"", "height": "9' 1\""}  # the rough opening; the unit's frame is an inch smaller
PRODUCT = {"name": "Joint sealant A", "air_least_c": 5, "air_most_c": 40, "surface_least_c": 5, "surface_most_c": 50,
           "skin_minutes": 90, "cure_mm_per_sqrt_day": 2.5, "bead_depth": "12.7 mm", "water_test_after_days": 7,
           "source": "data sheet of an invented sealant"}
LIMITS = {
    "size": {"clearance_least": "1/2 in", "clearance_most": "1 1/2 in"},
    "reveal-gap": {"gap_least": "4 mm", "gap_most": "12 mm"},
    "force": {"force_to_start": 120, "force_to_keep_moving": 80},
}
CONFIRMED = {
    Stage.OPENING_VERIFIED: ("pocket-open", "floor-sound", "header-in", "unit-matches", "material-complete"),
    Stage.FRAME_SET: ("sill-supported", "splices-sealed", "set-aside-listed"),
    Check.HOLD_POINT: ("pan-tested", "studs-clear"),
    Stage.PANELS_HUNG: ("lifting-fits",),
    Stage.ADJUSTED: ("lock-engages",),
    Stage.SEALED: ("weeps-open",),
    Stage.PUNCH_LIST: ("finishing-steps", "walked"),
}
BY_OFFICE = ("material-complete",)
PHOTOGRAPHED = ("floor-sound", "sill-supported", "pocket-photo", "weeps-open")


def rough_opening(**over: Any) -> dict[str, Any]:
    plumb = {"edge": "0", "face": "0", "over": SIZES["height"]}
    given = {
        "widths": dict.fromkeys(("top", "middle", "bottom"), SIZES["width"]),
        "heights": dict.fromkeys(("left", "middle", "right"), SIZES["height"]),
        "diagonals": dict.fromkeys(("rising", "falling"), "264 7/16"),  # of 241 by 109 in: 264.5 less a hair
        "plumb": {"left": plumb, "right": plumb},
    }
    return {**given, **over}


def floor(heights: list[int] | None = None, **over: Any) -> dict[str, Any]:
    """Stations a foot apart along both lines, in sixteenths; 26 ft of sill, pocket included, unless told."""
    heights = heights if heights is not None else [0] * 27
    stations = [{"at": f"{n} ft", "reading": f"{h}/16" if h else "0"} for n, h in enumerate(heights)]
    return {"stations": stations, "inner": stations, "sill_from": "0 ft", "sill_to": f"{len(heights) - 1} ft", **over}


def line(reading: float, feet: int = 26) -> list[dict[str, Any]]:
    return [{"at": n * FOOT, "reading": reading} for n in range(0, feet + 1, 1)]


def frame(**over: Any) -> dict[str, Any]:
    member = {"edge": 0, "face": 0, "bow": 0, "height": 2700}
    given = {
        "unit": "mm", "sill": {"stations": line(0), "inner": line(0)}, "head": {"stations": line(2700)},
        "members": {"lock_jamb": member, "interlock": member}, "end_gaps": {"left": 10, "right": 10},
        "head_over_sill": {"left": 0, "right": 0}, "roller_spacing": 1260,
    }
    return {**given, **over}


def under_load(sag: float = 2) -> dict[str, Any]:
    def gaps(middle: float) -> list[dict[str, float]]:
        return [{"at": 0, "reading": 2700}, {"at": 3000, "reading": middle}, {"at": 6000, "reading": 2700}]
    return {"unit": "mm", "parts": ["watch"], "watch": {
        "readings": [{"when": "frame_set", "gaps": gaps(2700)}, {"when": "weight_on", "gaps": gaps(2700 - sag)}],
        "panel_clearance": 25, "planned_raise": 5, "deflection_allowed": 10, "reading_deviation": 1}}


def sill_again() -> dict[str, Any]:
    return {"unit": "mm", "parts": ["sill"], "sill": {"stations": line(0), "inner": line(0)}}


def reveal(top: float = 8, bottom: float = 8) -> dict[str, Any]:
    screw = {"now": 9.5, "preset": 9.5, "lowest": 4, "highest": 15}
    return {"unit": "mm", "gaps": {"top": top, "middle": (top + bottom) / 2, "bottom": bottom},
            "heights": {"top": 2650, "middle": 1350, "bottom": 50}, "roller_spacing": 1260, "from_edge": 100,
            "thread_pitch": 1.25, "rollers": {"near": screw, "far": screw}, "lock_height": 1000,
            "head_clearance": 10, "head_clearance_least": 3}


def force(panels: list[Panel]) -> dict[str, Any]:
    ways = {"opening": {"start": 70, "keep_moving": 50}, "closing": {"start": 60, "keep_moving": 40}}
    return {"panels": [{"panel": p.letter, "mass": 180, **ways} for p in panels], "train": {"mass": 720, **{
        "opening": {"start": 110, "keep_moving": 75}, "closing": {"start": 100, "keep_moving": 70}}}}


def sealing(surface_c: float = 18) -> dict[str, Any]:
    return {"air_c": 20, "surface_c": surface_c, "humidity_pct": 60, "surface_dry": True, "product": PRODUCT}


class Site:
    """One opening, its crew, and a clock that moves on a minute with every entry."""

    def __init__(self, panels: str = "ABCD", **opening: Any) -> None:
        self.lead = make_user("lead")
        self.crew: Crew = make_crew(self.lead)
        self.office: User = make_user("office")
        self.opening: Opening = make_opening(
            **{"pocket_depth_needed": 1_600_000_000, "pocket_thickness_needed": 200_000_000, **opening})
        system = make_system(roller_lowest=4_000_000, roller_highest=15_000_000, roller_preset=9_525_000)
        self.unit = make_unit(self.opening, panels, system=system, frame_width=240 * 25_400_000,
                              frame_height=108 * 25_400_000)
        for code, limits in LIMITS.items():
            Check.objects.create(code=code, system=system, limits={
                name: {"value": value, "source": "an invented door system"} for name, value in limits.items()})
        give_work(self.opening, self.crew)
        self.now = NOW

    @property
    def panels(self) -> list[Panel]:
        return list(self.unit.panels.order_by("hanging_order"))

    def panel(self, letter: str) -> Panel:
        return self.unit.panels.get(letter=letter)

    def act(self, user: User | None = None, **over: Any) -> Act:
        self.now += dt.timedelta(minutes=1)
        person = user or self.lead
        return Act(user=person, role=person.role, now=self.now, **over)

    def read(self, kind: str, given: dict[str, Any], **more: Any) -> Any:
        return record_inspection(self.act(), self.opening.pk, kind, given, **more)

    def confirm(self, code: str, answer: str = "yes", **more: Any) -> Any:
        person = self.office if code in BY_OFFICE else self.lead
        return confirm(self.act(person), self.opening.pk, code, answer, **more)

    def photo(self, code: str) -> Photo:
        act = self.act()
        return Photo.objects.create(opening=self.opening, check_code=code, sha256="0" * 64, width=1, height=1, size=1,
                                    by=act.user, taken_at=act.now)

    # ---- evidence that passes ---------------------------------------------------------------------------

    @carry_out(None)  # as one act: what each act sets right at its end is set right once
    def evidence(self, stage: str, *, without: tuple[str, ...] = ()) -> None:
        """All that the gate of this stage asks, except `without` (kinds or check codes)."""
        for code in CONFIRMED.get(stage, ()):
            if code not in without:
                self.confirm(code)
        for code in PHOTOGRAPHED:
            if code in CONFIRMED.get(stage, ()) and code not in without:
                self.photo(code)
        for kind, given, more in self._readings(stage):
            if kind not in without:
                self.read(kind, given, **more)
        if stage == Stage.PANELS_HUNG and "panels" not in without:
            self.hang_all()
        if stage == Stage.SEALED and "joints" not in without:
            self.seal_all()
        if stage == Check.HOLD_POINT and "pocket-photo" not in without:
            self.photo("pocket-photo")

    def _readings(self, stage: str) -> list[tuple[str, dict[str, Any], dict[str, Any]]]:
        if stage == Stage.OPENING_VERIFIED:
            return [("rough-opening", rough_opening(), {}), ("floor-profile", floor(), {}),
                    *(("pocket", {"depth": "65", "thickness": "8"}, {"place": place})
                      for place in pockets_of(self.opening) or ("",)),
                    ("benchmark", {"benchmark_height": "1000 mm", "finish_floor_inside": "0",
                                   "finish_floor_outside": "-3/4"}, {})]
        if stage == Stage.FRAME_SET:
            return [("frame", frame(), {"occasion": "frame-set"})]
        if stage == Check.HOLD_POINT:
            return [("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"}, {"place": place})
                    for place in pockets_of(self.opening) or ("",)]
        if stage == Stage.PANELS_HUNG:
            preset = [("roller-preset", {"panels": [p.letter], "rollers": [
                {"panel": p.letter, "roller": n, "reading": "3/8"} for n in ("1", "2")]}, {"place": p.letter})
                for p in self.panels]
            return [("frame", under_load(), {"occasion": "under-load"}),
                    ("last-panel-gap", {"gap": "18"}, {}), *preset]
        if stage == Stage.ADJUSTED:
            reveals = [("reveal", reveal(), {"place": place}) for place in self._ends()]
            sills = [("frame", sill_again(), {"occasion": "adjusted", "place": p}) for p in ("stacked", "spread")]
            return [*reveals, ("force", force(self.panels), {}), *sills]
        return []

    def _ends(self) -> tuple[str, ...]:
        return members_of(("lock-jamb", "interlock"), self.opening)

    def hang_all(self) -> None:
        for panel in self.panels:
            if panel.state == "expected":
                handle_panel(self.act(), panel.pk, "receive")
            if self.panel(panel.letter).state == "received":
                handle_panel(self.act(), panel.pk, "hang")
            self.confirm("rolls-freely", place=panel.letter)

    def seal_all(self, surface_c: float = 18) -> None:
        conditions = self.read("sealing-conditions", sealing(surface_c))
        outside = [(place, "outside") for place in ("head", *self._ends())]
        for place, side in (*outside, ("sill", "inside")):
            do_joint(self.act(), self.opening.pk, place=place, side=side, product=PRODUCT["name"],
                     conditions_id=conditions.pk)

    # ---- moving -----------------------------------------------------------------------------------------

    def advance(self, to: str | None = None, **more: Any) -> StageChange:
        self.opening.refresh_from_db()
        change = advance_opening(self.act(), self.opening.pk, to=to, **more)
        self.opening.refresh_from_db()
        return change

    def close_pocket(self) -> None:
        self.evidence(Check.HOLD_POINT)
        release_hold_point(self.act(), self.opening.pk)

    def bring_to(self, stage: Stage) -> Site:
        """Through every gate up to `stage`, on evidence that passes."""
        self.now = once(("bring_to", self.opening.pk, stage, self.now), lambda: self._bring_to(stage))
        self.opening.refresh_from_db()
        return self

    @carry_out(None)
    def _bring_to(self, stage: Stage) -> dt.datetime:
        for step in ORDER[NUMBER[Stage(self.opening.stage)] + 1: NUMBER[stage] + 1]:
            if step is Stage.PANELS_HUNG:
                self.close_pocket()
            self.evidence(step)
            if step is Stage.ACCEPTED:
                accept_opening(self.act(), self.opening.pk, accepted_by="The owner", how="signed on site")
            else:
                self.advance(step.value)
        return self.now
