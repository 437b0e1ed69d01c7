"""The jobs of the made-up company: each opening with its unit, its panels and the work planned for it."""

from __future__ import annotations

import datetime as dt
import random
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil
from typing import Any

from dashboard.demo.company import HOLIDAYS, SEA, ZONE, Company
from inspections.services.laying_out import put_in_and_lay_out
from jobs.acts import Act
from jobs.models import AccessCode, Crew, Delivery, Job, Opening, User, WorkStep
from jobs.services import office
from jobs.services.openings import make_opening
from jobs.stages import Stage
from units.models import DoorSystem, Panel, Unit

INCH = 25_400_000
ROUND_THE_HOUSE: tuple[dict[str, Any], ...] = (
    {"name": "drive", "kind": "corridor", "sizes": {"width": "9' 0\""}},
    {"name": "corner of the house", "kind": "corner", "sizes": {"in_width": "7' 0\"", "out_width": "6' 0\""}},
    {"name": "along the terrace", "kind": "corridor", "sizes": {"width": "8' 0\""}},
)
# Its hoist hangs outside; inside, the goods lift is where most of what comes by truck goes up.
UP_THE_LOFT: tuple[dict[str, Any], ...] = (
    {"name": "goods lift", "kind": "lift", "sizes": {
        "door_width": "4' 6\"", "door_height": "9' 0\"", "width": "5' 0\"", "depth": "7' 0\"", "height": "9' 4\"",
        "capacity": "2200 lb"}},
    {"name": "landing", "kind": "corner", "sizes": {"in_width": "6' 0\"", "out_width": "6' 6\""}},
)


@dataclass(frozen=True)
class Drawn:
    """What the shop drawing says of one opening. Inches; the frame is an inch smaller than the rough opening."""

    tag: str
    where: str
    crew: str
    width: int
    height: int
    panels: int
    pocket: str = "left"
    substrate: str = "concrete"

    @property
    def ways(self) -> str:
        return "two-way" if self.pocket == "both" else "one-way"


@dataclass
class Door:
    """One opening as the story keeps hold of it."""

    opening: Opening
    unit: Unit
    drawn: Drawn
    crew: Crew
    team: list[User]  # the lead first
    office: User
    chance: random.Random
    kept: dict[str, uuid.UUID | int] = field(default_factory=dict)  # what a later page of the diary comes back to

    @property
    def lead(self) -> User:
        return self.team[0]

    @property
    def system(self) -> DoorSystem:
        return self.unit.system

    @property
    def panels(self) -> list[Panel]:
        return list(self.unit.panels.order_by("hanging_order"))

    def panel(self, letter: str) -> Panel:
        return self.unit.panels.get(letter=letter)

    @property
    def sill(self) -> Fraction:
        """Inches, its run into the pocket included."""
        return Fraction(int(self.unit.sill_length), INCH)

    @property
    def height_mm(self) -> int:
        return int(self.unit.frame_height) // 1_000_000

    def step(self, stage: Stage) -> WorkStep:
        return WorkStep.objects.get(opening=self.opening, stage=stage.value)


def take_on(company: Company, act: Act, number: str, title: str, *, builder: str, owner: str, street: str,
            off_yard: tuple[float, float], promised: dt.date, dollars: int, notes: str = "",
            code: str = "", way_in: Sequence[dict[str, Any]] = ROUND_THE_HOUSE) -> Job:
    """A new job. `off_yard`: degrees north and east of the yard."""
    job = office.create(act, Job, {
        "number": number, "title": title, "builder": company.parties[builder], "owner": company.parties[owner],
        "address": f"{street}, Marrow Bay", "latitude": SEA[0] + off_yard[0], "longitude": SEA[1] + off_yard[1],
        "time_zone": ZONE, "holiday_region": HOLIDAYS, "promised_date": promised, "contract_cents": dollars * 100,
        "access_notes": notes, "way_in": list(way_in)}, record="jobs")
    if code:
        office.create(act, AccessCode, {"job": job, "what": "Gate", "code": code}, record="access-codes")
    return job


def _stud(drawn: Drawn) -> str:
    return "left-jamb" if drawn.pocket == "both" else "lock-jamb"


def draw_door(company: Company, act: Act, job: Job, system: str, drawn: Drawn, seed: int) -> Door:
    """The opening, its unit and panels off the shop drawing, and what each step is planned to take."""
    made = company.systems[system]
    opening = make_opening(act, {
        "job": job, "tag": drawn.tag, "location": drawn.where, "rough_width": (drawn.width + 1) * INCH,
        "rough_height": (drawn.height + 1) * INCH, "substrate": drawn.substrate, "pocket_side": drawn.pocket,
        "recess": 2 * INCH, "benchmark": f"Red line on the {_stud(drawn)} stud, 1000 mm above finish floor",
        "deflection_allowed": drawn.width * INCH // 720})
    unit = _with_its_sill(act, put_in_and_lay_out(act, opening.pk, {
        "system": made, "order_number": f"{job.number}-{drawn.tag}", "panel_count": drawn.panels,
        "ways": drawn.ways, "glass": made.glasses[0]["name"], "frame_width": drawn.width * INCH,
        "frame_height": drawn.height * INCH}))
    door = Door(opening, unit, drawn, company.crews[drawn.crew], company.team(drawn.crew), company.office,
                random.Random(f"{seed} {drawn.tag}"))  # noqa: S311  (dice, not secrets)
    _plan(act, door)
    return door


def sixteenths(nm: int) -> Fraction:
    """Inches as a tape is read, and never less."""
    return Fraction(ceil(Fraction(int(nm), INCH) * 16), 16)


def wait_for_choice(act: Act, job: Job, tag: str, where: str, width: int, height: int) -> Opening:
    """An opening whose owner has not chosen a door for it yet."""
    return make_opening(act, {"job": job, "tag": tag, "location": where, "rough_width": (width + 1) * INCH,
                              "rough_height": (height + 1) * INCH, "substrate": "wood", "pocket_side": "right"})


def _with_its_sill(act: Act, unit: Unit) -> Unit:
    """As laid out by its door system; then the sill, which runs on through each pocket, and its rollers."""
    narrowest = min(int(panel.width) for panel in unit.panels.all())
    pockets = 2 if unit.ways == "two-way" else 1
    return office.change(act, unit, {
        "sill_length": int(sixteenths(unit.frame_width + pockets * unit.pocket_depth_needed) * INCH),
        "roller_spacing": narrowest - 2 * unit.system.roller_from_edge}, version=unit.version, record="units")


SKILLS: Mapping[Stage, list[str]] = {Stage.FRAME_SET: ["frame"], Stage.PANELS_HUNG: ["hanging", "lifter"],
                                     Stage.SEALED: ["sealing"]}


def _plan(act: Act, door: Door) -> None:
    """Person-minutes by size: a longer sill is more levelling, each panel is half a morning for the crew."""
    count, feet = door.drawn.panels, door.drawn.width // 12
    minutes = {Stage.OPENING_VERIFIED: 120 + 6 * feet, Stage.FRAME_SET: 720 + 30 * feet, Stage.PANELS_HUNG: 420 * count,
               Stage.ADJUSTED: 180 * count, Stage.SEALED: 240 + 12 * feet, Stage.PUNCH_LIST: 240, Stage.ACCEPTED: 60}
    for stage, planned in minutes.items():
        lifts = stage is Stage.PANELS_HUNG
        step = door.step(stage)
        office.change(act, step, {
            "planned_minutes": planned, "hands": 3 if lifts else 2 if stage is Stage.FRAME_SET else 1,
            "skills": SKILLS.get(stage, []),
            "wait_after_minutes": 24 * 60 if stage is Stage.SEALED else 0,
        }, version=step.version, record="work-steps")


def expect(company: Company, act: Act, doors: list[Door], what: str, supplier: str, day: dt.date) -> Delivery:
    return office.create(act, Delivery, {
        "job": doors[0].opening.job, "openings": [door.opening for door in doors], "what": what, "expected_day": day,
        "supplier": company.parties[supplier]}, record="deliveries")
