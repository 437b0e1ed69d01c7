"""How the story of the demo is told: pages of a diary about doors, by their tags."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from dashboard.demo.company import Company
from dashboard.demo.diary import Clock, Diary
from dashboard.demo.doors import Door, Drawn, draw_door, expect, take_on
from dashboard.demo.visits import ORDINARY, Visit, visit
from inspections.services.work import assign, change_assignment, receive_delivery, tell
from jobs.acts import Act
from jobs.models import Assignment, Delivery
from jobs.stages import Stage

BIG, TALL, SMALL = "Vacuum lifter, big", "Vacuum lifter, tall", "Vacuum lifter, small"
FIRST_PLANS = -43  # nobody plans before there is a company
PENCILLED_AHEAD, INKED_AHEAD = 7, 2  # working days


@dataclass
class Story:
    company: Company
    diary: Diary
    doors: dict[str, Door] = field(default_factory=dict)
    supplier: dict[str, str] = field(default_factory=dict)  # of each door, by its tag

    def day(self, number: int) -> Any:
        return self.diary.calendar.day(number)

    # ---- pages --------------------------------------------------------------------------------------------

    def visit(self, number: int, clock: str, tag: str, *does: Callable[[Visit], Any]) -> None:
        """A page at one door: everything in `does`, in one go."""
        def page(at: Clock) -> None:
            with visit(self.doors[tag], at) as v:
                for do in does:
                    do(v)
        self.diary.on(number, clock, page)

    def office(self, number: int, clock: str, do: Callable[[Act], Any]) -> None:
        self.diary.on(number, clock, lambda at: do(at.act(self.company.office)))

    def job(self, number: int, name: str, title: str, system: str, drawn: Sequence[Drawn], *, supplier: str,
            promised: int, **more: Any) -> None:
        """Taken on, drawn, and its material ordered: frames first, panels with them."""
        def page(at: Clock) -> None:
            act = at.act(self.company.office)
            job = take_on(self.company, act, name, title, promised=self.day(promised), **more)
            for one in drawn:
                self.doors[one.tag] = draw_door(self.company, at.act(self.company.office), job, system, one,
                                                self.diary.seed)
        self.supplier.update({one.tag: supplier for one in drawn})
        self.diary.on(number, "10:00", page)

    # ---- planning -----------------------------------------------------------------------------------------

    def work(self, tag: str, stage: Stage, first: int, last: int | None = None, *does: Callable[[Visit], Any],
             clock: str = "07:30", gear: Sequence[str] = ()) -> None:
        """Planned, told and done, on the last of its days, with hours reported on each."""
        last = first if last is None else last
        self.plan(tag, stage, first, last, gear=gear)
        self.visit(last, clock, tag, *(does or (ORDINARY[stage],)))
        self.hours(tag, stage, first, last)

    def hours(self, tag: str, stage: Stage, first: int, last: int, *, of: int = 0) -> None:
        """A share a day; `of` where more days are planned than are behind us."""
        share = 1 / (of or last - first + 1)
        for number in range(first, last + 1):
            self.visit(number, "16:30", tag, lambda v: v.hours(stage, share))

    def plan(self, tag: str, stage: Stage, first: int, last: int, *, gear: Sequence[str] = (),
             ink: bool = True) -> None:
        """Pencilled early, inked and told two days before; nothing later than yesterday."""
        pencilled, inked = (min(max(first - ahead, FIRST_PLANS), -1) for ahead in (PENCILLED_AHEAD, INKED_AHEAD))
        self.office(pencilled, "15:00", lambda act: self._pencil(act, tag, stage, first, last, gear))
        if ink:
            self.office(inked, "16:00", lambda act: self.ink(act, tag, stage))

    def _pencil(self, act: Act, tag: str, stage: Stage, first: int, last: int, gear: Sequence[str]) -> None:
        door = self.doors[tag]
        given = assign(act, door.step(stage).pk, crew_id=door.crew.pk, start_day=self.day(first),
                       end_day=self.day(last), equipment=[self.company.equipment[name].pk for name in gear])
        door.kept[f"work {stage}"] = given.pk

    def ink(self, act: Act, tag: str, stage: Stage, **moved: Any) -> None:
        """Inked, knowing what stands against it; the lead is told."""
        door = self.doors[tag]
        given = Assignment.objects.get(pk=door.kept[f"work {stage}"])
        change_assignment(act, given.pk, {"firmness": "inked", **moved}, version=given.version, knowing=True)
        tell(act, given.pk, whom=f"{door.lead.name}, crew {door.crew.name}", version=given.version + 1)

    # ---- material -----------------------------------------------------------------------------------------

    def delivery(self, tag: str, what: str, ordered: int, due: int, came: int | None = None, *,
                 condition: str = "complete, dry, nothing dented") -> None:
        """Expected from the day it is ordered; received by the lead, if it came."""
        key = f"delivery {what}"

        def order(act: Act) -> None:
            door = self.doors[tag]
            door.kept[key] = expect(self.company, act, [door], f"{what} of {tag}", self.supplier[tag],
                                    self.day(due)).pk

        def receive(v: Visit) -> None:
            found = Delivery.objects.get(pk=v.door.kept[key])
            receive_delivery(v.lead(), found.pk, condition=condition, version=found.version)

        self.office(ordered, "11:30", order)
        if came is not None:
            self.visit(came, "13:00", tag, receive)

    def material(self, tag: str, ordered: int, came: int) -> None:
        """Frame and panels both came, on the day they were promised."""
        for what in ("Sill, head and jambs", "Panels"):
            self.delivery(tag, what, ordered, came, came)
