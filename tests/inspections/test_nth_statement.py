"""Every act is whole: let its N-th SQL statement fail, for N from the first to the last, and the state is as before."""

import ast
import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from django.apps import apps
from django.db import DatabaseError, OperationalError, connection, transaction

from inspections.models import Callback, Check, Countersignature
from inspections.services import planned
from inspections.services.afterwards import (
    book_return_trip,
    change_return_trip,
    close_callback,
    finish_return_trip,
    log_adjustment,
    log_callback,
)
from inspections.services.builders_link import make_link, report_corrected, revoke_link, take_note, token_of
from inspections.services.checks import change_check, keep_own_limits
from inspections.services.closing import (
    accept_opening,
    change_punch_item,
    close_punch_item,
    put_part_back,
    raise_punch_item,
    set_part_aside,
)
from inspections.services.custody import hand_over
from inspections.services.deliveries import change_delivery, plan_delivery, put_off, receive_delivery
from inspections.services.editions import make_edition
from inspections.services.entries import take_in
from inspections.services.gates import advance_opening, pass_over, release_hold_point, step_back
from inspections.services.inspecting import confirm, record_inspection
from inspections.services.joints import do_joint
from inspections.services.laying_out import (
    keep_and_lay_out,
    keep_as_tried,
    lay_out_panels,
    put_in,
    put_in_and_lay_out,
)
from inspections.services.panels import handle_panel
from inspections.services.parts import change_part, make_part, make_parts, note_part_came, remove_part
from inspections.services.photos import store_photo
from inspections.services.standing import countersign, settle
from inspections.services.waits import clear_wait, raise_wait
from inspections.services.walls import countersign_wall
from inspections.services.weighing import weigh_panels
from inspections.services.work import (
    assign,
    change_assignment,
    note_event,
    report_hours,
    take_back,
    tell,
)
from jobs.calc.lengths import Length
from jobs.errors import Refusal
from jobs.models import Delivery, Opening, Party
from jobs.models.base import new_id
from jobs.services.company import change_settings
from jobs.services.giving import Lot, give
from jobs.services.office import change, create, remove
from jobs.services.once import made_once
from jobs.services.openings import make_opening
from jobs.services.people import change_own_password, change_own_settings, change_person, make_person
from jobs.services.tokens import make_token, revoke_token
from jobs.stages import Stage
from tests.factories import MADE, MM, make_job, make_system, make_unit
from tests.factories import make_opening as make_opening_of
from tests.pictures import jpeg
from tests.running import ROOT
from tests.site import Site, floor, rough_opening, sealing
from units.models import Panel, Part
from units.services.systems import change_system

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 3, 12)

Act = Callable[[], Any]


def _advance(site: Site) -> Act:
    site.evidence(Stage.OPENING_VERIFIED)
    act = site.act()
    return lambda: advance_opening(act, site.opening.pk, to=Stage.OPENING_VERIFIED)


def _keep(site: Site) -> Act:
    act = site.act()
    return lambda: advance_opening(act, site.opening.pk, to=Stage.OPENING_VERIFIED, done_on_site=True)


def _spoilt(site: Site) -> None:
    lean = {"edge": "1/4", "face": "0", "over": "9'"}
    site.evidence(Stage.OPENING_VERIFIED, without=("rough-opening",))
    site.read("rough-opening", rough_opening(plumb={"left": lean, "right": lean}))


def _pass_over(site: Site) -> Act:
    _spoilt(site)
    act = site.act()
    return lambda: pass_over(act, site.opening.pk, "the shims take it up")


def _refuse(site: Site) -> Act:
    _pass_over(site)()
    owed, act = Countersignature.objects.get(), site.act(site.office)
    return lambda: countersign(act, owed.pk, give=False, reason="no", version=owed.version)


def _step_back(site: Site) -> Act:
    site.bring_to(Stage.FRAME_SET)
    site.close_pocket()
    act = site.act()
    return lambda: step_back(act, site.opening.pk, Stage.OPENING_VERIFIED, "the frame comes out")


def _release(site: Site) -> Act:
    site.bring_to(Stage.FRAME_SET)
    site.evidence("the pocket closes")
    act = site.act()
    return lambda: release_hold_point(act, site.opening.pk)


def _hang(site: Site) -> Act:
    site.bring_to(Stage.FRAME_SET)
    panel = site.panel("A")
    handle_panel(site.act(), panel.pk, "receive")
    act = site.act()
    return lambda: handle_panel(act, panel.pk, "hang")


def _take_out(site: Site) -> Act:
    site.bring_to(Stage.FRAME_SET)
    site.close_pocket()
    site.evidence(Stage.PANELS_HUNG)
    site.advance()
    act, panel = site.act(), site.panel("B")
    return lambda: handle_panel(act, panel.pk, "take-out", reason="scratched")


def _accept(site: Site) -> Act:
    site.bring_to(Stage.PUNCH_LIST)
    item = _item(site)
    act = site.act()
    return lambda: accept_opening(act, site.opening.pk, accepted_by="The owner", how="signed", subject_to=[item.pk])


def _item(site: Site) -> Any:
    return raise_punch_item(site.act(), site.opening.pk, what="scratch", owner_id=site.lead.pk, due_day=DAY)


def _accepted(site: Site) -> Callback:
    Opening.objects.filter(pk=site.opening.pk).update(called_back=True)
    site.bring_to(Stage.ACCEPTED)
    return log_callback(site.act(site.office), site.opening.pk, severity="drags", symptom="drags in the middle")


def _callback(site: Site) -> Act:
    site.bring_to(Stage.ACCEPTED)
    act = site.act(site.office)
    return lambda: log_callback(act, site.opening.pk, severity="drags", symptom="drags in the middle")


def _close_callback(site: Site) -> Act:
    callback, act = _accepted(site), site.act(site.office)
    return lambda: close_callback(act, callback.pk, finding="grit on the track", whose="wear", version=1)


def _trip(site: Site) -> Act:
    callback, act = _accepted(site), site.act(site.office)
    return lambda: book_return_trip(act, callback.pk, day=DAY, crew_id=site.crew.pk)


def _change_trip(site: Site) -> Act:
    trip, act = _trip(site)(), site.act(site.office)
    return lambda: change_return_trip(act, trip.pk, {"day": DAY + dt.timedelta(days=1)}, version=1)


def _finish_trip(site: Site) -> Act:
    trip, act = _trip(site)(), replace(site.act(site.office), now=site.now + dt.timedelta(days=9))
    return lambda: finish_return_trip(act, trip.pk, outcome="put right", version=1)


def _settle(site: Site) -> Act:
    kept = _keep(site)()
    site.evidence(Stage.OPENING_VERIFIED)
    act = site.act()
    return lambda: settle(act, how="advanced", note="read since", stage_change_id=kept.pk)


def _clear(site: Site) -> Act:
    wait = raise_wait(site.act(), site.opening.pk, what_for="the floor", owed_by_kind="builder")
    act = site.act()
    return lambda: clear_wait(act, wait.pk, how="ground", standby_minutes=60)


def _put_back(site: Site) -> Act:
    part, act = set_part_aside(site.act(), site.opening.pk, what="cover"), site.act()
    return lambda: put_part_back(act, part.pk)


def _close_item(site: Site) -> Act:
    item, act = _item(site), site.act()
    return lambda: close_punch_item(act, item.pk, how="polished")


def _change_item(site: Site) -> Act:
    item, act = _item(site), site.act()
    return lambda: change_punch_item(act, item.pk, {"what": "deep scratch"}, version=1)


def _batch(site: Site) -> Act:
    act, opening = site.act(), site.opening.pk
    entries = [
        {"id": str(new_id()), "entry": "inspection", "opening": opening,
         "data": {"kind": "floor-profile", "given": floor()}},
        {"id": str(new_id()), "entry": "confirmation", "opening": opening,
         "data": {"check_code": "header-in", "answer": "yes"}},
        {"id": str(new_id()), "entry": "stage-change", "opening": opening, "data": {"to": "opening verified"}},
    ]
    return lambda: _all_taken(take_in(act, entries))


def _all_taken(results: list[dict]) -> list[dict]:
    assert all(r["result"] != "refused" for r in results), results
    return results


def _assigned(site: Site) -> Any:
    step = site.opening.work_steps.get(stage="frame set")
    return assign(site.act(site.office), step.pk, crew_id=site.crew.pk, start_day=DAY, end_day=DAY)


def _assign(site: Site) -> Act:
    step, act = site.opening.work_steps.get(stage="frame set"), site.act(site.office)
    return lambda: assign(act, step.pk, crew_id=site.crew.pk, start_day=DAY, end_day=DAY)


def _give_visit(site: Site) -> Act:
    act = site.act(site.office)
    lots = [Lot(step.pk, DAY, DAY) for step in site.opening.work_steps.all()[1:3]]
    return lambda: give(act, site.opening.pk, lots, crew_id=site.crew.pk, stood="")


def _reassign(site: Site) -> Act:
    given, act = _assigned(site), site.act(site.office)
    return lambda: change_assignment(act, given.pk, {"end_day": DAY + dt.timedelta(days=1)}, version=1)


def _tell(site: Site) -> Act:
    given, act = _assigned(site), site.act(site.office)
    return lambda: tell(act, given.pk, whom="the lead", version=1)


def _take_back(site: Site) -> Act:
    given, act = _assigned(site), site.act(site.office)
    return lambda: take_back(act, given.pk, version=1)


def _office_create(site: Site) -> Act:
    act = site.act(site.office)
    return lambda: create(act, Opening, {"job": site.opening.job, "tag": "Z9"}, record="openings")


def _office_change(site: Site) -> Act:
    act = site.act(site.office)
    return lambda: change(act, site.opening, {"location": "kitchen"}, version=1, record="openings")


def _office_remove(site: Site) -> Act:
    job, act = make_job(), site.act(site.office)
    return lambda: remove(act, type(job).objects.get(pk=job.pk), version=1, record="jobs")


def _give(site: Site) -> Act:
    _pass_over(site)()
    owed, act = Countersignature.objects.get(), site.act(site.office)
    return lambda: countersign(act, owed.pk, give=True, version=owed.version)


def _settle_as_it_stands(site: Site) -> Act:
    kept, act = _keep(site)(), site.act()
    return lambda: settle(act, how="stands", note="it is as it is", stage_change_id=kept.pk)


def _handle(what: str) -> Callable[[Site], Act]:
    def prepared(site: Site) -> Act:
        site.bring_to(Stage.PANELS_HUNG)
        act, panel = site.act(), site.panel("A")
        return lambda: handle_panel(act, panel.pk, what, reason="it fell")
    return prepared


def _receive(site: Site) -> Act:
    act, panel = site.act(), site.panel("A")
    return lambda: handle_panel(act, panel.pk, "receive")


def _out_of_order(site: Site) -> Act:
    act, panel = site.act(), site.panel("B")
    return lambda: handle_panel(act, panel.pk, "hang", done_on_site=True)


def _wait_from_verdict(site: Site) -> Act:
    failed = site.read("floor-profile", floor([0, 8] + [0] * 25))
    assert failed.result == "fail"
    act = site.act()
    return lambda: raise_wait(act, site.opening.pk, what_for="floor", owed_by_kind="builder", inspection_id=failed.pk)


def _other_evidence(site: Site) -> Act:
    act = site.act(site.office)
    return lambda: confirm(act, site.opening.pk, "header-in", "other-evidence", looked_at="the header",
                           stands_at="the engineer's letter")


def _delivery(site: Site) -> Act:
    delivery = Delivery.objects.create(job=site.opening.job, what="panels")
    delivery.openings.add(site.opening)
    act = site.act()
    return lambda: receive_delivery(act, delivery.pk, condition="whole", version=1)


def _listed(site: Site) -> Delivery:
    """Its parts, all on one delivery."""
    delivery = Delivery.objects.create(job=site.opening.job, what="all of it")
    make_parts(site.act(site.office), site.unit.pk, version=1)
    site.unit.parts.update(delivery=delivery)
    return delivery


def _delivery_by_part(site: Site) -> Act:
    delivery, sill = _listed(site), site.unit.parts.get(kind="sill")
    act = site.act()
    return lambda: receive_delivery(act, delivery.pk, version=1, parts=[{"part_id": sill.pk, "whole": 1}])


def _panel_came_damaged(site: Site) -> Act:
    _listed(site)
    act, panel = site.act(), site.unit.parts.get(name="Panel A")
    return lambda: note_part_came(act, panel.pk, damaged=1)


def _delivery_slips(site: Site) -> Act:
    delivery, act = _listed(site), site.act(site.office)
    return lambda: change_delivery(act, delivery, {"expected_day": DAY}, version=1)


def _delivery_put_off(site: Site) -> Act:
    delivery, act = _listed(site), site.act(site.office)
    return lambda: put_off(act, delivery.pk, DAY + dt.timedelta(days=3000), version=1)


def _delivery_planned(site: Site) -> Act:
    delivery, act = _listed(site), site.act(site.office)
    sill = site.unit.parts.get(kind="sill").pk
    return lambda: plan_delivery(act, delivery, {"what": "most of it", "openings": [site.opening]}, off=[sill],
                                 kinds=["sill"], version=1)


def _list_again(site: Site) -> Act:
    _listed(site)
    type(site.unit).objects.update(frame_width=5000 * MM, ways="two-way")
    act = site.act(site.office)
    return lambda: make_parts(act, site.unit.pk, version=2)


def _of_a_part(call: Callable[[Any, Part], Any]) -> Callable[[Site], Act]:
    def prepared(site: Site) -> Act:
        _listed(site)
        act, key = site.act(site.office), site.unit.parts.get(kind="sill").pk
        return lambda: call(act, Part.objects.get(pk=key))
    return prepared


def _wall(site: Site) -> Act:
    site.read("fastener", {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"})
    act = site.act()
    return lambda: countersign_wall(act, site.opening.pk, name="Pat Lund", trade="drywall")


def _photo(site: Site) -> Act:
    act, taken = site.act(), jpeg()
    return lambda: store_photo(act, site.opening.pk, taken, check_code="floor-sound")


def _office(call: Callable[[Any, Site], Any]) -> Callable[[Site], Act]:
    def prepared(site: Site) -> Act:
        act = site.act(site.office)
        return lambda: call(act, site)
    return prepared


def _new_person(site: Site) -> Act:
    act, password = site.act(site.office), "quite a long password"
    values = {"username": "new", "name": "Somebody New", "role": "installer", "email": "new@marrow.example"}
    return lambda: make_person(act, values, password)


def _revoke(site: Site) -> Act:
    token, act = make_token(site.act(), name="telephone")[0], site.act()
    return lambda: revoke_token(act, token)


def _plan_anew(site: Site) -> Act:
    site.bring_to(Stage.OPENING_VERIFIED)
    step, act = site.opening.work_steps.get(stage="opening verified"), site.act(site.office)
    return lambda: planned.change(act, step, {"planned_minutes": 700}, version=1, record="work-steps")


def _panel_more(site: Site) -> Act:
    site.bring_to(Stage.FRAME_SET)
    act = site.act(site.office)
    values = {"unit": site.unit, "letter": "C", "position": "pocket", "track": 3, "hanging_order": 3}
    return lambda: planned.make(act, Panel, values, record="panels")


def _step_less(site: Site) -> Act:
    steps, act = site.opening.work_steps, site.act(site.office)
    return lambda: planned.remove(act, steps.get(stage="sealed"), version=1, record="work-steps")


def _lay_out(site: Site) -> Act:
    """Over panels that were laid out before."""
    act, opening = site.act(site.office), make_opening_of(site.opening.job, pocket_side="right")
    unit = make_unit(opening, "", system=make_system(**MADE), panel_count=1, frame_width=2000 * MM,
                     frame_height=3000 * MM)
    lay_out_panels(act, unit.pk, version=1)
    return lambda: lay_out_panels(act, unit.pk, version=2)


def _keep_and_lay_out(site: Site) -> Act:
    """Of another size, into another pocket."""
    _lay_out(site)
    opening = Opening.objects.exclude(pk=site.opening.pk).get()
    act, unit = site.act(site.office), opening.unit
    return lambda: keep_and_lay_out(act, unit.pk, {"frame_width": Length(2010 * MM)}, version=2, pocket_side="left",
                                    opening_version=opening.version)


def _weigh(site: Site) -> Act:
    act, panels = site.act(site.office), list(site.unit.panels.all())
    return lambda: weigh_panels(act, site.unit.pk, {one.pk: 190_000 for one in panels},
                                versions={one.pk: one.version for one in panels})


def _keep_as_tried(site: Site) -> Act:
    _lay_out(site)
    opening = Opening.objects.exclude(pk=site.opening.pk).get()
    act, unit = site.act(site.office), opening.unit
    return lambda: keep_as_tried(act, unit.pk, {"panel_count": 2}, version=2, pocket_side="left",
                                 opening_version=opening.version)


def _put_in(does: Callable[..., Any], pocket: str = "right") -> Callable[[Site], Act]:
    """Into a pocket on the right, or on another side."""
    def prepared(site: Site) -> Act:
        act = site.act(site.office)
        opening = Opening.objects.create(job=site.opening.job, tag="Z1", pocket_side="right")
        values = {"system": make_system(**MADE), "panel_count": 1, "frame_width": Length(2000 * MM),
                  "frame_height": Length(3000 * MM)}
        return lambda: does(act, opening.pk, values, pocket_side=pocket, opening_version=opening.version)
    return prepared


def _revoke_link(site: Site) -> Act:
    link, act = make_link(site.act(), site.opening.pk), site.act()
    return lambda: revoke_link(act, link.pk)


def _report_corrected(site: Site) -> Act:
    token, taken, now = token_of(make_link(site.act(), site.opening.pk)), jpeg(), site.act().now
    return lambda: report_corrected(token, now, note="Ground at 8 ft.", picture=taken)


def _take_note(site: Site) -> Act:
    token = token_of(make_link(site.act(), site.opening.pk))
    report, act = report_corrected(token, site.act().now, note="Ground at 8 ft."), site.act()
    return lambda: take_note(act, report.pk)


def _simple(call: Callable[[Any, Site], Any]) -> Callable[[Site], Act]:
    def prepared(site: Site) -> Act:
        act = site.act()
        return lambda: call(act, site)
    return prepared


ACTS: dict[str, Callable[[Site], Act]] = {
    "record an inspection": _simple(lambda a, s: record_inspection(a, s.opening.pk, "floor-profile", floor())),
    "confirm": _simple(lambda a, s: confirm(a, s.opening.pk, "header-in", "yes")),
    "do a joint": _simple(lambda a, s: do_joint(a, s.opening.pk, place="head", side="outside")),
    "raise a punch item": _simple(lambda a, s: raise_punch_item(
        a, s.opening.pk, what="scratch", owner_id=s.lead.pk, due_day=DAY)),
    "set a part aside": _simple(lambda a, s: set_part_aside(a, s.opening.pk, what="cover")),
    "raise a wait": _simple(lambda a, s: raise_wait(a, s.opening.pk, what_for="floor", owed_by_kind="builder")),
    "note an event": _simple(lambda a, s: note_event(a, s.opening.pk, "re-pour")),
    "report hours": _simple(lambda a, s: report_hours(
        a, s.opening.work_steps.first().pk, day=a.today(), minutes=60)),
    "log an adjustment": _simple(lambda a, s: log_adjustment(a, s.opening.pk, what="roller")),
    "record sealing conditions": _simple(lambda a, s: record_inspection(
        a, s.opening.pk, "sealing-conditions", sealing())),
    "put a part back": _put_back, "close a punch item": _close_item, "change a punch item": _change_item,
    "clear a wait": _clear, "advance": _advance, "keep, not advanced": _keep, "pass over": _pass_over,
    "refuse a countersignature": _refuse, "settle": _settle, "step back": _step_back,
    "release the hold point": _release,
    "hang a panel": _hang, "take a panel out": _take_out, "accept": _accept, "log a callback": _callback,
    "book a return trip": _trip, "close a callback": _close_callback, "take a batch in": _batch,
    "give work to a crew": _assign, "give a visit": _give_visit,
    "change an assignment": _reassign, "tell": _tell, "take work back": _take_back,
    "make an office record": _office_create, "change an office record": _office_change,
    "remove an office record": _office_remove, "give a countersignature": _give,
    "settle as it stands": _settle_as_it_stands, "receive a panel": _receive, "adjust a panel": _handle("adjust"),
    "damage a panel": _handle("damage"), "replace a panel that hangs": _handle("replace"),
    "keep a panel out of order": _out_of_order, "raise a wait from a verdict": _wait_from_verdict,
    "give other evidence": _other_evidence, "receive a delivery": _delivery, "add a photo": _photo,
    "make a token": _simple(lambda a, s: make_token(a, name="telephone")), "revoke a token": _revoke,
    "make a person": _new_person, "lay a unit's panels out": _lay_out,
    "keep a unit as it was tried": _keep_and_lay_out, "keep a unit, its panels as they are": _keep_as_tried,
    "weigh panels": _weigh, "put a unit in": _put_in(put_in, "left"),
    "put a unit in and lay it out": _put_in(put_in_and_lay_out),
    "change one's own password": _office(lambda a, s: change_own_password(a, "another long enough one")),
    "change one's own settings": _office(lambda a, s: change_own_settings(a, {"units": "mm"}, version=1)),
    "set a limit of a check": _office(lambda a, s: change_check(
        a, Check.objects.get(code="rack"), {"limits": {"rack": {"value": "3 mm", "source": "ours"}}}, version=1)),
    "set a limit of a door system's own": _office(lambda a, s: keep_own_limits(
        a, s.unit.system, {"rack": {"rack": {"value": "3 mm", "source": "page 4"}}}, {})),
    "change a person": _office(lambda a, s: change_person(a, s.lead, {"name": "Another"}, version=1)),
    "make an opening": _office(lambda a, s: make_opening(a, {"job": s.opening.job, "tag": "Z9"})),
    "make what a form makes": _office(lambda a, s: made_once(a, "1", Party, lambda: create(
        a, Party, {"kind": "owner", "name": "Ada"}, record="parties"))),
    "change the company": _office(lambda a, s: change_settings(a, {"company": "Marrow Doors"}, version=1)),
    "change a return trip": _change_trip, "finish a return trip": _finish_trip,
    "receive a delivery part by part": _delivery_by_part, "receive a damaged panel": _panel_came_damaged,
    "put a delivery off": _delivery_slips, "give a delivery its new day": _delivery_put_off,
    "plan a delivery with its parts": _delivery_planned, "list a unit's parts again": _list_again,
    "fill in a door system": _office(lambda a, s: change_system(a, s.unit.system, {"pull": Length(MM)}, version=1)),
    "enter a new edition": _office(lambda a, s: make_edition(a, s.unit.system, {"name": "Next", "edition": "9"})),
    "add a part": _office(lambda a, s: make_part(a, {"unit": s.unit, "kind": "other", "name": "Head block"})),
    "want more of a part": _of_a_part(lambda a, part: change_part(a, part, {"wanted": 2}, version=1)),
    "take a part off": _of_a_part(lambda a, part: remove_part(a, part, version=1)),
    "countersign a wall": _wall,
    "make a builder's link": _simple(lambda a, s: make_link(a, s.opening.pk)), "revoke a builder's link": _revoke_link,
    "report it corrected": _report_corrected, "take note of a correction": _take_note,
    "hand an opening over": _simple(lambda a, s: hand_over(a, s.opening.pk, holder="other-trades", condition="Open.")),
    "move a pocket": _office(lambda a, s: planned.change_opening(a, s.opening, {"pocket_side": "right"}, version=1)),
    "plan anew": _plan_anew, "make a panel more": _panel_more, "take a work step away": _step_less,
}


def acts_of_the_services() -> set[str]:
    """Every function of a service that carries out an act of somebody's, by name."""
    found = set()
    for path in (p for app in ("jobs", "units", "inspections") for p in (ROOT / app / "services").glob("*.py")):
        for node in ast.parse(path.read_text()).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                calls = {c.func.id for c in ast.walk(node) if isinstance(c, ast.Call) and isinstance(c.func, ast.Name)}
                if node.args.args and node.args.args[0].arg == "act" and calls & {"carry_out", "_recorded"}:
                    found.add(f"{path.stem}.{node.name}")
    return found


def test_no_act_is_left_out_here():
    tried = {f"{f.__module__.rsplit('.', 1)[-1]}.{f.__name__}" for f in [*globals().values(), *vars(planned).values()]
             if callable(f) and ".services." in getattr(f, "__module__", "")}
    acts = acts_of_the_services()
    assert len(acts) > 30
    assert acts - tried == set()


class FailAt:
    """Lets the N-th statement fail, and keeps what was said until then."""

    def __init__(self, n: int) -> None:
        self.n, self.said = n, []

    def __call__(self, execute: Callable, sql: str, params: Any, many: bool, context: dict) -> Any:
        self.said.append(sql)
        if len(self.said) == self.n:
            raise OperationalError("the disk is full")
        return execute(sql, params, many, context)


def state() -> dict[str, list]:
    """Every row of every table of ours."""
    models = [m for app in ("jobs", "units", "inspections") for m in apps.get_app_config(app).get_models(True)]
    found = {}
    with connection.cursor() as cursor:
        for table in sorted({m._meta.db_table for m in models}):
            cursor.execute(f'SELECT * FROM "{table}" ORDER BY 1')
            found[table] = cursor.fetchall()
    return found


@pytest.mark.parametrize("name", ACTS)
def test_an_act_whose_nth_statement_fails_leaves_the_state_as_it_was(name):
    """Each that writes, and the one after it: until the next that writes, nothing more could be half done."""
    fails_at(ACTS[name](Site("AB")), lambda said: [
        n for n, (before, sql) in enumerate(pairwise(["", *said]), 1) if writes(sql) or writes(before)])


@pytest.mark.long
@pytest.mark.parametrize("name", ACTS)
def test_an_act_leaves_the_state_as_it_was_whichever_statement_fails(name):
    fails_at(ACTS[name](Site("AB")), lambda said: range(1, len(said) + 1))


def writes(sql: str) -> bool:
    return sql.startswith(("INSERT", "UPDATE", "DELETE"))


def fails_at(act: Callable[[], Any], chosen: Callable[[list[str]], Any]) -> None:
    before, compared = state(), 0
    done, after, said = tried(act, 0)
    assert done and after != before, "the act did nothing"
    statements = chosen(said)
    for n in statements:
        done, after, said = tried(act, n)
        if done and len(said) < n:  # what is kept after the first time need not be read again
            continue
        if after is not None:
            compared += 1
            assert (after != before) if done else (after == before), f"half done at statement {n}: {said[n - 1]}"
    assert compared and len(statements) <= compared + 3


def tried(act: Callable[[], Any], n: int) -> tuple[bool, dict[str, list] | None, list[str]]:
    """Whether it was done, though its N-th statement failed; the state afterwards, and what was said."""
    failing, done = FailAt(n), False
    with transaction.atomic():
        try:
            with connection.execute_wrapper(failing):
                act()
            done = True
        except (DatabaseError, Refusal):
            pass
        # A savepoint that could not be made spoils the transaction as a whole: there is nothing to compare then.
        after = None if connection.needs_rollback else state()
        transaction.set_rollback(True)
    return done, after, failing.said
