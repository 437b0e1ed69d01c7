"""The ledger of earned minutes, kept level with how far the opening is."""

from __future__ import annotations

import uuid
from zoneinfo import ZoneInfo

from django.db.models import Max, Q, Sum

from jobs.acts import Act
from jobs.calc.progress import should_be_earned
from jobs.models import EarnedMinutes, Opening, StageChange, WorkStep
from jobs.services.stages import crew_of
from jobs.stages import Stage
from units.models import Panel


def settle_earned(act: Act, opening: Opening, because: str, record: uuid.UUID | None = None) -> None:
    """Posts what is earned since, or taken off by stepping back; nothing when the ledger is level already."""
    for step, owed in _not_level(opening):
        if owed > 0:
            _post(act, opening, step, crew_of(act, opening), owed, because, record)
        else:
            _take_off(act, opening, step, -owed, because, record)


def earn_as_planned(act: Act, opening: Opening) -> None:
    """After the office planned otherwise: the difference goes to the crew that did the work, not to who has it now."""
    for step, owed in _not_level(opening):
        if owed > 0:
            _post(act, opening, step, _earner(act, opening, step), owed, "planned anew", None)
        else:
            _take_off(act, opening, step, -owed, "planned anew", None)


def _not_level(opening: Opening) -> list[tuple[WorkStep, int]]:
    """The steps whose ledger does not say what it should, and by how many minutes."""
    panels = list(Panel.objects.filter(unit__opening=opening))
    steps = list(WorkStep.objects.filter(opening=opening))
    earned = dict(EarnedMinutes.objects.filter(work_step__in=steps).order_by().values_list("work_step")
                  .annotate(sum=Sum("minutes")))
    owed = ((step, due(step, opening, panels) - earned.get(step.pk, 0)) for step in steps)
    return [(step, minutes) for step, minutes in owed if minutes]


def _earner(act: Act, opening: Opening, step: WorkStep) -> object:
    """Who earned on this step last; where nothing was planned then, who reached its stage."""
    last = EarnedMinutes.objects.filter(work_step=step, minutes__gt=0).order_by("-pk").first()
    if last is not None:
        return last.crew_id
    reached = StageChange.objects.filter(opening=opening, to_stage=step.stage, advanced=True).order_by("-taken_at")
    change = reached.first()
    return crew_of(act, opening) if change is None else change.crew_id


def due(step: WorkStep, opening: Opening, panels: list[Panel]) -> int:
    """What should be earned of this step, as far as the opening is."""
    hung = [p.grams for p in panels if p.state in ("hung", "adjusted")]
    return should_be_earned(Stage(step.stage), step.planned_minutes, Stage(opening.stage), hung,
                            [p.grams for p in panels])


def _take_off(act: Act, opening: Opening, step: WorkStep, minutes: int, because: str,
              record: uuid.UUID | None) -> None:
    """Off the crews that earned it, the last first, in the week it happens."""
    balances = (EarnedMinutes.objects.filter(work_step=step).order_by().values("crew")
                .annotate(sum=Sum("minutes"), last=Max("pk", filter=Q(minutes__gt=0))).order_by("-last"))
    for balance in balances:
        part = min(minutes, max(balance["sum"], 0))
        if part:
            _post(act, opening, step, balance["crew"], -part, because, record)
            minutes -= part


def _post(act: Act, opening: Opening, step: WorkStep, crew: object, minutes: int, because: str,
          record: uuid.UUID | None) -> None:
    day = act.taken_at.astimezone(ZoneInfo(opening.job.time_zone)).date()
    crew_id = getattr(crew, "pk", crew)
    EarnedMinutes.objects.create(work_step=step, crew_id=crew_id, day=day, minutes=minutes, because=because[:60],
                                 record=record)
