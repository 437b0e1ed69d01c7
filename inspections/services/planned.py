"""Work steps, units and panels as the office keeps them: what is earned follows what is planned, in the same act."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from django.db import models

from inspections.services.earning import earn_as_planned
from inspections.services.lifting_needs import needs_at_end
from inspections.services.readiness import refresh_at_end
from jobs.acts import Act, Done, carry_out
from jobs.errors import Invalid, Refusal
from jobs.models import EarnedMinutes, Opening, WorkStep
from jobs.services import office
from jobs.services.access import locked, require
from jobs.stages import NUMBER, Stage
from units.calc.layout import MOST_PANELS
from units.models import Panel, PanelChange, Unit
from units.services.bringing_in import write_at_end
from units.services.systems import refuse_withdrawn

Planned = TypeVar("Planned", WorkStep, Unit, Panel)
MAY = "keep office records"
MAKES_PANELS = ("system", "frame_width", "frame_height", "panel_count", "ways", "more_on", "glass")
RANK = {position: rank for rank, (position, _) in enumerate(Panel.POSITIONS)}


def make(act: Act, model: type[Planned], values: Mapping[str, Any], *, record: str) -> Planned:
    with carry_out(act) as done:
        require(act, MAY)
        _refuse_a_system_withdrawn(act, values)
        _refuse_a_second_unit(model, values)
        made = office.create(act, model, values, record=record)
        opening = locked(opening_of(made).pk)
        _refuse_glass_of_another_system(made, values)
        if isinstance(made, Panel):
            _refuse_a_panel_too_late(opening)
            _refuse_a_track_there_is_not(made, known=made.unit.panel_count is not None)
            _refuse_another_order(made.unit)
        _level(act, done, opening)
    return made


def change(act: Act, found: Planned, values: Mapping[str, Any], *, version: int, record: str) -> Planned:
    """Moved to another opening, both are put right."""
    with carry_out(act) as done:
        require(act, MAY)
        before = locked(opening_of(found).pk)
        _refuse_what_was_handled(found, values)
        if isinstance(found, Unit):
            _refuse_what_made_its_panels(found, values)
        if values.get("system") != getattr(found, "system", None):
            _refuse_a_system_withdrawn(act, values)
        if values.get("opening") != getattr(found, "opening", None):
            _refuse_a_second_unit(type(found), values)
        changed = office.change(act, found, values, version=version, record=record)
        _refuse_glass_of_another_system(changed, values)
        if isinstance(changed, Panel):
            if opening_of(changed).pk != before.pk:
                _refuse_a_panel_too_late(locked(opening_of(changed).pk))
            if "track" in values:
                _refuse_a_track_there_is_not(changed)
            _refuse_another_order(changed.unit)
        for opening in {before.pk: before, opening_of(changed).pk: opening_of(changed)}.values():
            _level(act, done, opening)
    return changed


def change_opening(act: Act, found: Opening, values: Mapping[str, Any], *, version: int) -> Opening:
    """On which side the pocket lies made its panels: once one has come it stays."""
    with carry_out(act) as done:
        require(act, MAY)
        opening = locked(found.pk)
        unit = Unit.objects.filter(opening=opening).first()
        if unit is not None and values.get("pocket_side", opening.pocket_side) != opening.pocket_side:
            refuse_what_has_come(unit, ["pocket_side"])
        changed = office.change(act, found, values, version=version, record="openings")
        refresh_at_end(act, done, opening)  # another pocket is another one to be read
    return changed


def remove(act: Act, found: Planned, *, version: int, record: str) -> None:
    """What minutes were earned on stays: the weeks they were earned in would lose them."""
    with carry_out(act) as done:
        require(act, MAY)
        opening = locked(opening_of(found).pk)
        if isinstance(found, WorkStep) and EarnedMinutes.objects.filter(work_step=found).exists():
            raise Refusal("Minutes were earned on this work step; it stays.", code="in-use")
        office.remove(act, found, version=version, record=record)
        _level(act, done, opening)


def _refuse_a_track_there_is_not(panel: Panel, known: bool = True) -> None:
    """A door has as many tracks as panels run one way. While panels are entered one by one by hand, how many there
    will be is not `known`."""
    unit = panel.unit
    sides = [side for side in unit.panels.values_list("side", flat=True) if side]
    count = max(unit.panel_count or 0, unit.panels.count())
    two_way = max(-(-count // 2), *(sides.count(side) for side in ("left", "right")))
    tracks = (two_way if unit.ways == "two-way" else count) if known else MOST_PANELS
    if panel.track > tracks:
        raise Invalid(f"Panel {panel.letter} cannot run on track {panel.track}.",
                      fields={"track": f"1 to {tracks}; 1 is the outermost"})


def _refuse_what_was_handled(found: Planned, values: Mapping[str, Any]) -> None:
    """What was done with a panel was done in this opening, and its readings are found by its letter."""
    stays = {Unit: ("opening",), Panel: ("unit", "letter")}.get(type(found), ())
    moved = [name for name in stays if name in values and values[name] != getattr(found, name)]
    handled = {"panel": found} if isinstance(found, Panel) else {"panel__unit": found}
    if moved and PanelChange.objects.filter(**handled).exists():
        raise Refusal("Panels were handled under this; it stays as it is.", code="in-use",
                      fields={name: "as it was" for name in moved})


def _refuse_what_made_its_panels(unit: Unit, values: Mapping[str, Any]) -> None:
    """Once a panel has come it is as it was made; what nobody had entered yet may still be filled in."""
    other = [name for name in MAKES_PANELS if name in values and values[name] != getattr(unit, name)
             and getattr(unit, name) not in (None, "")]
    if other:
        refuse_what_has_come(unit, other)


def refuse_what_has_come(unit: Unit, fields: Sequence[str] = ()) -> None:
    come = [panel.letter for panel in unit.panels.all() if panel.state != "expected" or panel.damaged]
    if come:
        raise Refusal("Panels have come already (" + ", ".join(come) + "); change them one by one.", code="in-use",
                      fields=dict.fromkeys(fields, "as it was when its panels were made"))


def _refuse_a_system_withdrawn(act: Act, values: Mapping[str, Any]) -> None:
    if values.get("system") is not None:
        refuse_withdrawn(values["system"], act.today())


def _refuse_a_second_unit(model: type[models.Model], values: Mapping[str, Any]) -> None:
    there = Unit.objects.filter(opening=values.get("opening")).first() if model is Unit else None
    if there is not None:
        raise Invalid("An opening has one unit.", fields={
            "opening": f"an opening without a unit; {there.opening} has unit {there.pk} already: change that"})


def _refuse_glass_of_another_system(unit: models.Model, values: Mapping[str, Any]) -> None:
    """Nothing could be weighed by it. Until the system's glass is entered, any name may wait for it."""
    if not isinstance(unit, Unit) or not {"glass", "system"} & values.keys() or not unit.glass:
        return
    known = [] if unit.system is None else [glass["name"] for glass in unit.system.glasses]
    if known and unit.glass not in known:
        raise Invalid("That glass is not made for this door system.", fields={
            "glass": "a glass of this door system: " + ", ".join(known)})


def _refuse_a_panel_too_late(opening: Opening) -> None:
    """An opening is *panels hung* only while each of its panels is."""
    if NUMBER[Stage(opening.stage)] >= NUMBER[Stage.PANELS_HUNG]:
        raise Refusal(f"{opening} stands at {opening.stage!r}: step back to 'frame set' before it gets another panel.",
                      code="panels-hung-already")


def _refuse_another_order(unit: Unit) -> None:
    """Into a pocket the lead goes first, the pocket panel last; where two halves meet, each half has an order."""
    ranks = [RANK[panel.position] for panel in unit.panels.order_by("hanging_order")]
    if unit.ways == "one-way" and ranks != sorted(ranks):
        raise Invalid("That is not the order panels are hung in.",
                      fields={"hanging_order": "the lead first, then the intermediates, the pocket panel last"})


def opening_of(record: models.Model) -> Opening:
    return record.unit.opening if isinstance(record, Panel) else record.opening


def _level(act: Act, done: Done, opening: Opening) -> None:
    opening = locked(opening.pk)
    # Once, however many panels an act lays out anew: only what stands at its end was planned.
    done.once_at_end(("earned", opening.pk), lambda: earn_as_planned(act, locked(opening.pk)))
    needs_at_end(act, done, opening)
    write_at_end(done, opening)
    refresh_at_end(act, done, opening)
