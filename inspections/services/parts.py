"""A unit's parts: listed from what is known of it, added by hand, and what came of each.

A panel that is listed as a part is tracked by itself: what came of it is said of the panel in the same act.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from django.db.models import F

from inspections.services.inspecting import when
from inspections.services.panels import handle_panel
from inspections.services.readiness import refresh_at_end
from inspections.services.taking_off import taken_off
from jobs.acts import Act, Done, carry_out
from jobs.calc.lengths import Length
from jobs.errors import Invalid, NotThere, Refusal, SomeoneWasFaster
from jobs.models import Delivery, Opening
from jobs.models.base import new_id
from jobs.services import office
from jobs.services.access import locked, require
from jobs.services.entries import fingerprint, had_already
from units.calc import parts
from units.calc.parts import Listed, Made, listed
from units.models import Panel, Part, PartArrival, Unit

MAY = "keep office records"
RECORD = "parts"
RECEIVE = "receive a delivery"
NOT_HUNG = ("expected", "received")
MORE_THAN_LACKS = "more-than-lacks"
MOST = 100_000  # pieces of one part: more is a slip of the finger


# ---- listed ---------------------------------------------------------------------------------------------


def make_parts(act: Act, unit_id: int, *, version: int) -> Unit:
    """Lists the unit's parts anew. What is there already keeps its delivery and what came of it; parts added by hand
    stay as they are."""
    with carry_out(act) as done:
        require(act, MAY)
        unit = Unit.objects.select_related("opening", "system").filter(pk=unit_id).first()
        if unit is None:
            raise NotThere("There is no such unit.")
        opening = locked(unit.opening_id)
        wanted = listed(made_of(unit))
        if unit.version != version and wanted and _stand_listed(unit, wanted):
            return unit  # asked twice
        _claim(unit, version)
        if not wanted:
            raise Invalid("Nothing is known yet that its parts could be listed from.", fields={
                "frame_width": "give the frame its size, or lay its panels out, first"})
        _remove_all_but(unit, wanted)
        _list(act, unit, wanted)
        done.note(act, "parts listed", "units", unit.pk, opening=opening, count=len(wanted))
        refresh_at_end(act, done, opening)
    return unit


def _claim(unit: Unit, version: int) -> None:
    if not Unit.objects.filter(pk=unit.pk, version=version).update(version=F("version") + 1):
        raise SomeoneWasFaster("This unit was changed by somebody else. Read it again.")
    unit.refresh_from_db(fields=["version"])


def _stand_listed(unit: Unit, wanted: tuple[Listed, ...]) -> bool:
    """Whether listing them anew would change nothing."""
    there = unit.parts.filter(by_hand=False).values_list("kind", "name", "length", "wanted")
    return {(kind, name, _nm(length), count) for kind, name, length, count in there} == {
        (one.kind, one.name, one.length, one.wanted) for one in wanted}


def made_of(unit: Unit) -> Made:
    """What is known of a unit that its parts follow from."""
    system, two_way = unit.system, unit.ways == "two-way"
    sill = unit.sill_length if unit.sill_length is not None else unit.frame_width
    pockets = 0 if unit.opening.pocket_side == "none" else 2 if two_way else 1
    letters = unit.panels.order_by("hanging_order", "letter").values_list("letter", flat=True)
    return Made(_nm(sill), _nm(unit.frame_height), None if system is None else _nm(system.longest_piece), two_way,
                pockets, bool(system and system.covers), tuple(letters), _cartridges(unit))


def _nm(length: Length | None) -> int | None:
    return None if not length else int(length)


def _cartridges(unit: Unit) -> dict[str, int]:
    """Of which sealant how many, as the take-off has it; nothing where it does not know."""
    verdict = taken_off(unit).counts.verdict
    uses = () if verdict is None else verdict.computed.get("sealant", ())
    return {use["product"]: use["cartridges"] for use in uses if use["cartridges"] is not None}


def _remove_all_but(unit: Unit, wanted: tuple[Listed, ...]) -> None:
    names = {(part.kind, part.name) for part in wanted}
    gone = [part for part in unit.parts.filter(by_hand=False) if (part.kind, part.name) not in names]
    came = [part.name for part in gone if part.looked_through]
    if came:
        raise Refusal("What is no longer listed came already (" + ", ".join(came) + "); change it part by part.",
                      code="in-use")
    Part.objects.filter(pk__in=[part.pk for part in gone]).delete()


def _list(act: Act, unit: Unit, wanted: tuple[Listed, ...]) -> None:
    there = {(part.kind, part.name): part for part in unit.parts.all()}
    panels = {panel.letter: panel for panel in unit.panels.all()}
    new = []
    for one in wanted:
        length = None if one.length is None else Length(one.length)
        had = there.get((one.kind, one.name))
        if had is None:
            new.append(Part(unit=unit, kind=one.kind, name=one.name, length=length, wanted=one.wanted,
                            panel=panels.get(one.panel), by_hand=False, created_at=act.now))
        elif not had.by_hand and (had.length, had.wanted) != (length, one.wanted):
            Part.objects.filter(pk=had.pk).update(length=length, wanted=one.wanted, version=F("version") + 1)
    Part.objects.bulk_create(new)


# ---- by hand --------------------------------------------------------------------------------------------


def make_part(act: Act, values: Mapping[str, Any]) -> Part:
    with carry_out(act) as done:
        require(act, MAY)
        opening = locked(values["unit"].opening_id)
        _refuse_another_jobs_delivery(values.get("delivery"), opening)
        part = office.create(act, Part, values, record=RECORD)
        refresh_at_end(act, done, opening)
    return part


def change_part(act: Act, found: Part, values: Mapping[str, Any], *, version: int) -> Part:
    """Moved to another delivery, wanted more or fewer: what it stops follows."""
    with carry_out(act) as done:
        require(act, MAY)
        opening = locked(found.unit.opening_id)
        if values.get("unit", found.unit) != found.unit:
            raise Invalid("A part stays with its unit.", fields={"unit": "leave it out; add it to the other unit"})
        _refuse_another_jobs_delivery(values.get("delivery"), opening)
        part = office.change(act, found, values, version=version, record=RECORD)
        refresh_at_end(act, done, opening)
    return part


def remove_part(act: Act, found: Part, *, version: int) -> None:
    with carry_out(act) as done:
        require(act, MAY)
        opening = locked(found.unit.opening_id)
        office.remove(act, found, version=version, record=RECORD)
        refresh_at_end(act, done, opening)


def _refuse_another_jobs_delivery(delivery: Delivery | None, opening: Opening) -> None:
    if delivery is not None and delivery.job_id != opening.job_id:
        raise Invalid("That delivery goes to another job.", fields={"delivery": "a delivery of this opening's job"})


# ---- what came ------------------------------------------------------------------------------------------


def note_part_came(act: Act, part_id: int, *, whole: int = 0, short: int = 0, damaged: int = 0, note: str = "",
                   delivery_id: int | None = None, more_came: bool = False, version: int | None = None,
                   entry_id: uuid.UUID | None = None) -> PartArrival:
    """What came of a part: whole, damaged, or not at all. Where nobody names a delivery, with the one that was to
    bring it, which is here then. More than is lacking is asked back, until `more_came` says that it is so. `version`:
    of the part, as it stood when somebody looked."""
    mark = came_mark(part_id, whole, short, damaged, note, delivery_id)
    with carry_out(act) as done:
        part, opening = _locked_part(part_id)
        require(act, RECEIVE, opening)
        had = had_already(PartArrival, entry_id, mark)
        if had is not None:
            return had
        _check_counts(whole, short, damaged)
        if version is not None and version != part.version:
            raise SomeoneWasFaster(f"Somebody else said meanwhile what came of {part.name}. Read it again.")
        if not more_came:
            _refuse_more_than_lacks(part, whole, short, damaged)
        delivery = _delivery(part, opening, delivery_id)
        arrival = PartArrival.objects.create(
            id=entry_id or new_id(), part=part, delivery=delivery, whole=whole, short=short, damaged=damaged,
            note=note, **when(act), fingerprint=mark)
        _add_up(part)
        if delivery is not None and whole + damaged:
            mark_received(act, done, delivery)
        if part.panel is not None:
            _panel_came(act, part.panel, arrival)
        done.note(act, "part came", RECORD, part.pk, opening=opening, part=part.name, whole=whole, short=short,
                  damaged=damaged)
        refresh_at_end(act, done, opening)
    return arrival


def came_mark(part_id: int, whole: int, short: int, damaged: int, note: str, delivery_id: int | None) -> str:
    return fingerprint("part-came", part_id, whole, short, damaged, note, delivery_id)


def _locked_part(part_id: int) -> tuple[Part, Opening]:
    opening_id = Part.objects.filter(pk=part_id).values_list("unit__opening", flat=True).first()
    if opening_id is None:
        raise NotThere("There is no such part.")
    opening = locked(opening_id)
    return Part.objects.select_related("delivery", "panel").get(pk=part_id), opening


def _check_counts(whole: int, short: int, damaged: int) -> None:
    counts = {"whole": whole, "short": short, "damaged": damaged}
    wrong = {name: f"0 to {MOST}" for name, count in counts.items() if not 0 <= count <= MOST}
    if wrong or not any(counts.values()):
        raise Invalid("Say how many came whole, short or damaged.",
                      fields=wrong or {"whole": "one or more of whole, short and damaged"})


def _refuse_more_than_lacks(part: Part, whole: int, short: int, damaged: int) -> None:
    """A slip of the pen is seen before it stands; that more came than was wanted can be said all the same."""
    here = part.wanted if part.panel is not None and part.panel.state != "expected" else part.whole
    most = parts.most_said(part.missing, here, whole)
    said = whole + short + damaged
    if said > most:
        lacks = f"{part.missing} lacking" if part.missing else "none lacking"
        field = next(name for name, count in (("whole", whole), ("damaged", damaged), ("short", short)) if count)
        raise Invalid(f"{part.name}: {said} said, {lacks} of {part.wanted} wanted. If more came than was wanted, say "
                      "so.", code=MORE_THAN_LACKS, fields={field: f"at most {most}, or say that more came"})


def _delivery(part: Part, opening: Opening, delivery_id: int | None) -> Delivery | None:
    if delivery_id is None or delivery_id == part.delivery_id:
        return part.delivery
    delivery = Delivery.objects.filter(pk=delivery_id, job=opening.job).first()
    if delivery is None:
        raise Invalid("There is no such delivery.", fields={"delivery": "the id of a delivery of this job"})
    return delivery


def _add_up(part: Part) -> None:
    came = list(part.arrivals.values_list("whole", "short", "damaged"))
    whole = parts.here_after(part.wanted, came) if part.panel is None else sum(one[0] for one in came)
    Part.objects.filter(pk=part.pk).update(whole=whole, broken=sum(one[2] for one in came), looked_through=True,
                                           version=F("version") + 1)


def mark_received(act: Act, done: Done, delivery: Delivery) -> None:
    """The first thing that is said to have come of it is when it came."""
    if Delivery.objects.filter(pk=delivery.pk, received_at=None).update(
            received_at=act.taken_at, received_by=act.user, version=F("version") + 1):
        done.note(act, "delivery received", "deliveries", delivery.pk, job=delivery.job)


def _panel_came(act: Act, panel: Panel, arrival: PartArrival) -> None:
    """A new one in the place of a damaged one; else it came, and was damaged where it was."""
    if arrival.whole and panel.damaged:
        if panel.state in NOT_HUNG:  # one that hangs is replaced when it is taken down for it
            handle_panel(act, panel.pk, "replace")
    elif panel.state == "expected" and arrival.whole + arrival.damaged:
        handle_panel(act, panel.pk, "receive")
    if arrival.damaged and not arrival.whole:
        handle_panel(act, panel.pk, "damage", reason=arrival.note or "It came damaged.")
