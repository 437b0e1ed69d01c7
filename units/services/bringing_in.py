"""Which panels are still to be brought in, written into the step in which they are hung: the floor below does not
ask. What they are rolled in on and along which legs is kept there."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Prefetch

from jobs.acts import Done
from jobs.models import Opening, WorkStep
from jobs.stages import Stage
from units.models import DoorSystem, Panel, Unit
from units.services.handling import loads_of

TO_HANG = ("expected", "received")
AT_ONCE = 500


def write_at_end(done: Done, opening: Opening) -> None:
    """Once for each opening whose panels an act lays out, weighs, adds, takes away, hangs or takes out."""
    done.once_at_end(("to bring in", opening.pk), lambda: write_for([opening.pk]))


def write_for(openings: Iterable[int]) -> None:
    """Where the panels of an opening are hung there is nothing more to bring in."""
    steps = list(WorkStep.objects.filter(opening__in=list(openings), stage=Stage.PANELS_HUNG.value))
    units = {unit.opening_id: unit for unit in Unit.objects.filter(
        opening__in=[step.opening_id for step in steps]).select_related("system").prefetch_related(
        Prefetch("panels", Panel.objects.filter(state__in=TO_HANG), to_attr="to_hang"))} if steps else {}
    changed = [step for step in steps if _put_right(step, units.get(step.opening_id))]
    WorkStep.objects.bulk_update(changed, ["to_bring_in"])


def write_for_system(system: DoorSystem) -> None:
    """How thick its panels are, or how far one may lean, may be entered after they were laid out."""
    openings = list(Panel.objects.filter(unit__system=system, state__in=TO_HANG).order_by("unit__opening").values_list(
        "unit__opening", flat=True).distinct())
    for start in range(0, len(openings), AT_ONCE):
        some = openings[start:start + AT_ONCE]
        list(Opening.objects.select_for_update(no_key=True).filter(pk__in=some).order_by("pk"))  # as every act does
        write_for(some)


def _put_right(step: WorkStep, unit: Any) -> bool:
    """Whether it is another now."""
    loads = loads_of(unit.to_hang, unit.system) if unit is not None and unit.to_hang else {}
    was, step.to_bring_in = step.to_bring_in, loads
    return loads != was
