"""A unit's panels out of its door system and size: worked out, then kept as its panels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from inspections.models import Inspection
from inspections.services import planned
from inspections.services.facts import pockets_of
from jobs.acts import Act, carry_out
from jobs.calc import reading
from jobs.calc.lengths import Length
from jobs.calc.verdict import FAIL, Verdict
from jobs.errors import Invalid, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Opening
from jobs.services.access import locked, require
from units.models import Panel, Unit
from units.services.explaining import Explained, explain, wish_of

MEASURED = {"depth": "pocket_depth", "thickness": "wall_clear"}


def explained(unit: Unit) -> Explained:
    """What follows from the unit as it stands, in the pocket as it was measured last."""
    return explain(wish_of(unit, measured_pocket(unit.opening)))


def measured_pocket(opening: Opening) -> dict[str, int]:
    """Depth and clear thickness as last read, the tightest of each, of two pockets the tighter; nothing where nobody
    read it."""
    found: dict[str, list[int]] = {}
    for last in _last_of_each_pocket(opening):
        unit = reading.unit_of(last.given)
        for read, name in MEASURED.items():
            if last.given.get(read) not in (None, []):
                found.setdefault(name, []).extend(_lengths(last.given[read], read, unit))
    return {name: min(lengths) for name, lengths in found.items()}


def _last_of_each_pocket(opening: Opening) -> list[Inspection]:
    read = list(Inspection.objects.filter(opening=opening, kind="pocket").order_by("-taken_at", "-id"))
    each = (next((one for one in read if one.place == place), None) for place in pockets_of(opening))
    return [one for one in each if one is not None] or read[:1]


def _lengths(sent: Any, field: str, unit: str) -> list[int]:
    several = sent if isinstance(sent, list) else [sent]
    return [int(reading.length(one, field, unit=unit)) for one in several]


def lay_out_panels(act: Act, unit_id: int, *, version: int) -> Unit:
    """Its panels, with letters, tracks, sizes, weights and order of hanging, in place of those it had; and the pocket
    and the wall that it needs. Refused once a panel has come, or where it cannot be built."""
    with carry_out(act):
        require(act, planned.MAY)
        unit = Unit.objects.select_related("opening", "system").filter(pk=unit_id).first()
        if unit is None:
            raise NotThere("There is no such unit.")
        locked(unit.opening_id)
        planned.refuse_what_has_come(unit)
        found = explained(unit)
        laid_out = _whole(found)
        masses = _grams(found.weights)
        unit = planned.change(act, unit, _needed(laid_out), version=version, record="units")
        for panel in unit.panels.all():
            planned.remove(act, panel, version=panel.version, record="panels")
        for values in _panels(laid_out, masses, unit.glass):
            planned.make(act, Panel, {"unit": unit, **values}, record="panels")
    return unit


def put_in(act: Act, opening_id: int, wished: Mapping[str, Any], *, pocket_side: str = "",
           opening_version: int = 0) -> Unit:
    """A unit for an opening that has none; the opening too, where the pocket is to lie elsewhere. All or nothing."""
    with carry_out(act):
        require(act, planned.MAY)
        opening = locked(opening_id)
        unit = planned.make(act, Unit, {"opening": opening, **wished}, record="units")
        _move_the_pocket(act, opening, pocket_side, opening_version)
    return unit


def put_in_and_lay_out(act: Act, opening_id: int, wished: Mapping[str, Any], *, pocket_side: str = "",
                       opening_version: int = 0) -> Unit:
    with carry_out(act):
        unit = put_in(act, opening_id, wished, pocket_side=pocket_side, opening_version=opening_version)
        return lay_out_panels(act, unit.pk, version=unit.version)


def keep_as_tried(act: Act, unit_id: int, wished: Mapping[str, Any], *, version: int, pocket_side: str = "",
                  opening_version: int = 0) -> Unit:
    """The unit as it was tried; the opening too, where the pocket is to lie elsewhere. All of it or nothing. Once a
    panel has come, what makes its panels stays."""
    with carry_out(act):
        require(act, planned.MAY)
        unit = Unit.objects.select_related("opening", "system").filter(pk=unit_id).first()
        if unit is None:
            raise NotThere("There is no such unit.")
        opening = locked(unit.opening_id)
        if unit.version != version:
            raise SomeoneWasFaster("This unit was changed by somebody else. Read it again, then change it.")
        other = {name: value for name, value in wished.items() if getattr(unit, name) != value}
        _move_the_pocket(act, opening, pocket_side, opening_version)
        return planned.change(act, unit, other, version=version, record="units") if other else unit


def keep_and_lay_out(act: Act, unit_id: int, wished: Mapping[str, Any], *, version: int, pocket_side: str = "",
                     opening_version: int = 0) -> Unit:
    """The same, and its panels laid out."""
    with carry_out(act):
        unit = keep_as_tried(act, unit_id, wished, version=version, pocket_side=pocket_side,
                             opening_version=opening_version)
        return lay_out_panels(act, unit_id, version=unit.version)


def _move_the_pocket(act: Act, opening: Opening, side: str, version: int) -> None:
    if side not in ("", opening.pocket_side):
        planned.change_opening(act, opening, {"pocket_side": side}, version=version)


def _whole(found: Explained) -> Verdict:
    if found.refused is not None:
        raise Invalid("This unit cannot be laid out.", fields={found.refused.field: found.refused.right})
    if "panels" not in found.panels.computed:
        raise Invalid("This unit cannot be laid out yet.",
                      fields={lack["what"]: "to be given first" for lack in found.panels.missing
                              if lack["what"] not in MEASURED.values()})
    judged = [verdict for verdict in (found.panels, found.weights) if verdict is not None]
    failed = [finding.as_dict() for verdict in judged for finding in verdict.findings if finding.within is False]
    if FAIL in {verdict.result for verdict in judged}:
        raise Refusal("This cannot be built.", code="cannot-be-built", reasons=failed)
    return found.panels


def _grams(weighed: Verdict | None) -> Mapping[str, int | None]:
    if weighed is None:
        return {}
    return {panel["panel"]: panel["computed_grams"] for panel in weighed.computed["panels"]}


def _needed(laid_out: Verdict) -> dict[str, Any]:
    """The pocket and the wall, of two pockets what the larger takes; what is not known stays as it was."""
    needs = {"pocket_depth_needed": "depth_needed_mm", "pocket_thickness_needed": "wall_needed_mm"}
    pockets = laid_out.computed["pockets"]
    known = {name: [pocket[key] for pocket in pockets if pocket[key] is not None] for name, key in needs.items()}
    return {name: Length(max(values)) for name, values in known.items() if values}


def _panels(laid_out: Verdict, masses: Mapping[str, int | None], glass: str) -> Iterator[dict[str, Any]]:
    for panel in sorted(laid_out.computed["panels"], key=lambda one: one["order"]):
        height = panel["height_mm"]
        yield {
            "letter": panel["panel"], "position": panel["position"], "track": panel["track"], "side": panel["side"],
            "hanging_order": panel["order"], "width": Length(panel["width_mm"]),
            "height": None if height is None else Length(height), "glass": glass,
            "computed_grams": masses.get(panel["panel"]),
        }
