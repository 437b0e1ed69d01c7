"""What the scale said of a unit's panels, kept beside what was computed."""

from __future__ import annotations

from collections.abc import Mapping

from inspections.services import planned
from jobs.acts import Act, carry_out
from jobs.errors import NotThere
from jobs.services.access import locked, require
from units.models import Panel, Unit


def weigh_panels(act: Act, unit_id: int, said: Mapping[int, int | None], *, versions: Mapping[int, int]) -> Unit:
    """Grams by panel, all of them or none; None takes it back. What lifts the heaviest follows in the same act."""
    with carry_out(act):
        require(act, planned.MAY)
        unit = Unit.objects.filter(pk=unit_id).first()
        if unit is None:
            raise NotThere("There is no such unit.")
        locked(unit.opening_id)
        panels = {panel.pk: panel for panel in Panel.objects.filter(unit=unit).select_related("unit__opening")}
        if not said.keys() <= panels.keys():
            raise NotThere("There is no such panel in this unit.")
        for pk, grams in said.items():
            planned.change(act, panels[pk], {"weighed_grams": grams}, version=versions.get(pk, 0), record="panels")
    return unit
