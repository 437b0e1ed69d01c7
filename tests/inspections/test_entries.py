"""A batch from a telephone: in whatever order, each entry has its own answer and none stops another."""

from __future__ import annotations

import copy
import datetime as dt
import itertools
import uuid
from collections.abc import Iterator
from typing import Any

import pytest

from inspections.calc.kinds import KINDS as JUDGED
from inspections.models import Check, Confirmation, Inspection, Joint, PunchItem, Reading, SetAsidePart, WallAgreement
from inspections.services.closing import raise_punch_item, set_part_aside
from inspections.services.entries import HAD, KEPT, KINDS, MOST, REFUSED, STORED, take_in
from inspections.services.waits import raise_wait
from inspections.services.walls import mark_of, wall_figures
from jobs.errors import Invalid
from jobs.models import Change, Event, StageChange, Wait
from jobs.models.base import new_id
from jobs.stages import Stage
from tests.factories import make_user
from tests.site import Site, floor, force, frame, reveal, rough_opening, sealing
from units.models import Part

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> Site:
    return Site("AB")


def entry(what_it_is: str, about: Any, named: str = "opening", /, **more: Any) -> dict[str, Any]:
    top = {key: more.pop(key) for key in ("id", "taken_at") if key in more}
    return {"id": str(new_id()), "entry": what_it_is, named: about, "data": more, **top}


def looked(site: Site, code: str = "header-in", answer: str = "yes", **more: Any) -> dict[str, Any]:
    return entry("confirmation", site.opening.pk, check_code=code, answer=answer, **more)


def gap(site: Site, reading: str = "18", **more: Any) -> dict[str, Any]:
    return entry("inspection", site.opening.pk, kind="last-panel-gap", given={"gap": reading}, **more)


def sent(site: Site, *entries: Any, by: Any = None) -> list[dict[str, Any]]:
    return take_in(site.act(by), list(entries))


def results(answers: list[dict[str, Any]]) -> list[str]:
    return [answer["result"] for answer in answers]


# ---- in order ------------------------------------------------------------------------------------------


def test_answers_come_in_the_order_of_the_entries_each_under_its_id(site: Site) -> None:
    entries = [gap(site), looked(site), gap(site), entry("event", site.opening.pk, kind="re-pour"), gap(site)]
    answers = sent(site, *entries)
    assert [answer["id"] for answer in answers] == [one["id"] for one in entries]
    assert [answer["record"] for answer in answers] == ["inspections", "confirmations", "inspections", "events",
                                                        "inspections"]


def test_what_comes_first_counts_for_what_comes_after(site: Site) -> None:
    site.evidence("opening verified", without=("header-in",))
    done = entry("stage-change", site.opening.pk, to="opening verified")
    assert results(sent(site, done, looked(site))) == [KEPT, STORED]
    site.opening.refresh_from_db()
    assert site.opening.stage == "to be measured"
    again = entry("stage-change", site.opening.pk, to="opening verified")
    no, yes = looked(site, answer="no"), looked(site)
    assert results(sent(site, no, entry("stage-change", site.opening.pk, to="opening verified"))) == [STORED, KEPT]
    assert results(sent(site, yes, again)) == [STORED, STORED]
    site.opening.refresh_from_db()
    assert site.opening.stage == "opening verified"


def test_the_lines_of_a_batch_stand_in_the_feed_in_its_order(site: Site) -> None:
    entries = [looked(site), entry("event", site.opening.pk, kind="re-pour"), gap(site)]
    sent(site, *entries)
    feed = list(Change.objects.order_by("position").values_list("record_id", flat=True))
    assert feed == [one["id"] for one in entries]


# ---- sent again ----------------------------------------------------------------------------------------


WALL = {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"}


def one_of_each(site: Site) -> list[dict[str, Any]]:
    pk, panel = site.opening.pk, site.panel("A").pk
    wait = raise_wait(site.act(), pk, what_for="floor", owed_by_kind="builder")
    item = raise_punch_item(site.act(), pk, what="dent", owner_id=site.lead.pk, due_day=dt.date(2026, 3, 20))
    part = set_part_aside(site.act(), pk, what="cover")
    sill = Part.objects.create(unit=site.unit, kind="sill", name="Sill")
    site.read("fastener", WALL)
    return [
        gap(site), looked(site), entry("stage-change", pk, to="opening verified"),
        entry("panel-change", panel, "panel", what="receive"), entry("panel-change", panel, "panel", what="hang"),
        entry("joint", pk, place="head", side="outside"),
        entry("punch-item", pk, what="scratch", owner_id=site.lead.pk, due_day="2026-03-20"),
        entry("punch-item-closed", str(item.pk), "punch_item", how="polished"),
        entry("part-set-aside", pk, what="cover"), entry("part-put-back", str(part.pk), "part"),
        entry("adjustment", pk, what="rollers", turns=[{"roller": 1, "turns": 2}], before={"top": 8}, after={"top": 7}),
        entry("wait", pk, what_for="the wall", owed_by_kind="builder", expected_day="2026-03-20"),
        entry("wait-cleared", str(wait.pk), "wait", how="ground", standby_minutes=30),
        entry("time-report", site.opening.work_steps.first().pk, "work_step", day="2026-03-10", minutes=30),
        entry("event", pk, kind="re-pour"), entry("part-came", sill.pk, "unit_part", whole=1),
        entry("custody", pk, holder="other-trades", who="plasterers", condition="sill covered"),
        entry("wall-agreement", pk, name="Pat Lund", trade="drywall"),
        entry("acceptance", pk, accepted_by="R. Quillon", how="signed on site", subject_to=[str(item.pk)]),
    ]


FIRST = {"stage-change": KEPT, "hang": KEPT, "acceptance": KEPT}


def test_every_kind_of_entry_is_stored_once_however_often_and_in_whatever_order_it_is_sent(site: Site) -> None:
    entries = one_of_each(site)
    assert {one["entry"] for one in entries} | {"step-back", "hold-point"} == {*KINDS, "inspection"}
    first = sent(site, *entries)
    assert results(first) == [FIRST.get(one["data"].get("what"), FIRST.get(one["entry"], STORED)) for one in entries]
    position = Change.objects.count()
    for order in (entries, entries[::-1], entries[1::2] + entries[::2]):
        again = sent(site, *order)
        assert set(results(again)) == {HAD, KEPT}
        assert all(answer.get("had_already", True) for answer in again)
        assert {answer["id"]: answer["record_id"] for answer in again} == {a["id"]: a["record_id"] for a in first}
    assert Change.objects.count() == position


def test_an_entry_twice_in_one_batch_is_one(site: Site) -> None:
    reading, look = gap(site), looked(site)
    assert results(sent(site, reading, look, reading, look)) == [STORED, STORED, HAD, HAD]
    assert (Inspection.objects.count(), Confirmation.objects.count()) == (1, 1)


@pytest.mark.parametrize("apart", [False, True], ids=["in one batch", "in two"])
def test_the_same_id_with_other_content_is_refused_and_the_first_stays(site: Site, apart: bool) -> None:
    first = [gap(site, "18"), looked(site, answer="yes"), entry("event", site.opening.pk, kind="re-pour")]
    other = [gap(site, "19", id=first[0]["id"]), looked(site, answer="no", id=first[1]["id"]),
             entry("event", site.opening.pk, kind="structure", id=first[2]["id"])]
    answers = sent(site, *first) + sent(site, *other) if apart else sent(site, *first, *other)
    assert results(answers) == [STORED] * 3 + [REFUSED] * 3
    assert {answer["problem"]["code"] for answer in answers[3:]} == {"same-id-other-content"}
    assert Inspection.objects.get().given == {"gap": "18"}
    assert Confirmation.objects.get().answer == "yes"
    assert Event.objects.get().kind == "re-pour"


def test_the_same_content_with_its_keys_in_another_order_or_sent_at_another_time_is_the_same(site: Site) -> None:
    first = gap(site, note="by the window")
    again = {"data": dict(reversed(first["data"].items())), **{k: v for k, v in first.items() if k != "data"}}
    assert results(sent(site, first, again, {**first, "taken_at": site.now.isoformat()})) == [STORED, HAD, HAD]


def test_an_id_another_person_used_on_an_opening_of_theirs_is_refused(site: Site) -> None:
    theirs = Site("AB")
    first = looked(theirs)
    assert results(sent(theirs, first)) == [STORED]
    answer, = sent(site, looked(site, id=first["id"]))
    assert answer["problem"]["code"] == "same-id-other-content"
    assert "reasons" not in answer
    assert Confirmation.objects.get().opening == theirs.opening


# ---- what happened on site is kept ----------------------------------------------------------------------


def test_a_stage_the_gate_says_no_to_is_recorded_with_every_reason(site: Site) -> None:
    answer, = sent(site, entry("stage-change", site.opening.pk, to="opening verified"))
    assert (answer["result"], answer["had_already"]) == (KEPT, False)
    assert {reason["code"] for reason in answer["reasons"]} >= {"rack", "floor-rise", "header-in"}
    assert StageChange.objects.get().advanced is False


def test_a_step_back_is_taken_with_its_reason_and_refused_without(site: Site) -> None:
    site.bring_to("opening verified")
    back = {"to": "to be measured"}
    without, with_ = sent(site, entry("step-back", site.opening.pk, **back),
                          entry("step-back", site.opening.pk, **back, reason="poured again"))
    assert (without["result"], with_["result"]) == (REFUSED, STORED)
    assert without["problem"]["fields"] == {"data.reason": "this is needed"}


def test_a_wall_signed_before_others_were_read_is_kept_on_the_figures_that_were_seen(site: Site) -> None:
    seen = mark_of(wall_figures(site.opening, [site.read("fastener", WALL)]))
    signed_at = site.now.isoformat()
    site.read("fastener", {**WALL, "stud": "2 1/2"})
    by_mark = entry("wall-agreement", site.opening.pk, name="Pat Lund", trade="drywall", seen=seen)
    by_time = {**entry("wall-agreement", site.opening.pk, name="Kim Berg", trade="joinery"), "taken_at": signed_at}
    assert results(sent(site, by_mark, by_time)) == [STORED, STORED]
    assert {kept.figures_sha256 for kept in WallAgreement.objects.all()} == {seen}


def test_a_wall_nobody_read_or_whose_figures_were_never_these_is_told_so(site: Site) -> None:
    unread, = sent(site, entry("wall-agreement", site.opening.pk, name="Pat Lund", trade="drywall"))
    site.read("fastener", WALL)
    never, = sent(site, entry("wall-agreement", site.opening.pk, name="Pat Lund", trade="drywall", seen="0" * 64))
    assert [answer["problem"]["code"] for answer in (unread, never)] == ["wall-not-read", "wall-changed"]


# ---- one bad among good ----------------------------------------------------------------------------------


GOOD = {"entry": "event", "data": {"kind": "re-pour"}}
OTHER_KINDS = [7, -1, 2**70, 1.5, True, [], {"a": {"b": []}}, "", "x" * 5000]


def spoilt(fine: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """The entry with each of its fields left out, made into something else, and with one too many."""
    for path in itertools.chain([(k,) for k in fine], [("data", k) for k in fine["data"]]):
        for wrong in (None, *OTHER_KINDS):
            one = copy.deepcopy(fine)
            place = one if len(path) == 1 else one["data"]
            place[path[-1]] = wrong
            yield f"{'.'.join(path)} = {wrong!r:.40}", one
        one = copy.deepcopy(fine)
        del (one if len(path) == 1 else one["data"])[path[-1]]
        yield f"no {'.'.join(path)}", one
    yield "one too many", {**fine, "colour": "red"}
    yield "one too many within", {**fine, "data": {**fine["data"], "colour": "red"}}


@pytest.mark.database
def test_whatever_is_wrong_with_an_entry_the_others_are_stored_and_it_is_told_what(site: Site) -> None:
    for fine in [*one_of_each(site), entry("step-back", site.opening.pk, to="to be measured", reason="so")]:
        wrong = list(spoilt(fine))
        batch: list[dict[str, Any]] = []
        for n, (_, one) in enumerate(wrong):  # a fine one after every eighth
            batch += [one, *([{**GOOD, "opening": site.opening.pk, "id": str(new_id())}] if n % 8 == 7 else [])]
        answers = sent(site, *batch)
        assert results(answers[8::9]) == [STORED] * (len(wrong) // 8)
        del answers[8::9]
        refused = [(what, one["problem"]) for (what, _), one in zip(wrong, answers, strict=True)
                   if one["result"] == REFUSED]
        assert len(refused) > len(wrong) / 2
        assert [(what, problem) for what, problem in refused
                if not (400 <= problem["status"] < 500 and problem["detail"])] == []


def test_what_is_lacking_is_named_field_by_field(site: Site) -> None:
    pk = site.opening.pk
    lacking = sent(site, entry("punch-item", pk, what="dent"), entry("confirmation", pk), entry("inspection", pk),
                   {"id": str(new_id()), "entry": "event", "data": {"kind": "re-pour"}},
                   {"entry": "event", "opening": pk, "data": {"kind": "re-pour"}})
    assert [set(answer["problem"]["fields"]) for answer in lacking] == [
        {"data.owner_id", "data.due_day"}, {"data.check_code", "data.answer"}, {"data.kind"}, {"opening"}, {"id"}]


@pytest.mark.parametrize("unknown", ["dance", "", "Inspection", "stage_change", None, 7, ["event"]])
def test_a_kind_there_is_not_is_refused_with_those_there_are(site: Site, unknown: Any) -> None:
    answer, fine = sent(site, {**looked(site), "entry": unknown}, looked(site))
    assert answer["result"] == REFUSED
    assert "stage-change" in answer["problem"]["fields"]["entry"]
    assert fine["result"] == STORED


@pytest.mark.database
@pytest.mark.parametrize("field", ["place", "occasion", "note", "kind"])
def test_text_longer_than_its_column_is_refused_alone_on_every_database(site: Site, field: str) -> None:
    long = gap(site)
    long["data"][field] = "x" * 241
    answers = sent(site, gap(site), long, gap(site))
    assert results(answers) == [STORED, REFUSED, STORED]
    assert f"data.{field}" in answers[1]["problem"]["fields"]


def test_objects_nested_without_end_are_refused_alone(site: Site) -> None:
    deep: dict[str, Any] = {}
    for _ in range(400):
        deep = {"a": deep}
    answers = sent(site, gap(site), entry("inspection", site.opening.pk, kind="last-panel-gap", given=deep),
                   entry("adjustment", site.opening.pk, what="rollers", before=deep), gap(site))
    assert results(answers) == [STORED, REFUSED, REFUSED, STORED]


def given(site: Site) -> dict[str, dict[str, Any]]:
    return {"floor-profile": floor(), "rough-opening": rough_opening(), "frame": frame(), "reveal": reveal(),
            "force": force(site.panels), "sealing-conditions": sealing(), "last-panel-gap": {"gap": "18"},
            "pocket": {"depth": "65", "thickness": "8"},
            "fastener": WALL,
            "benchmark": {"benchmark_height": "1000 mm", "finish_floor_inside": "0", "finish_floor_outside": "-3/4"},
            "roller-preset": {"panels": ["A"], "rollers": [{"panel": "A", "roller": "1", "reading": "3/8"}]}}


def leaves(value: Any, path: tuple = ()) -> Iterator[tuple]:
    if path:
        yield path
    inner = value.items() if isinstance(value, dict) else enumerate(value[:2]) if isinstance(value, list) else ()
    for key, below in inner:
        yield from leaves(below, (*path, key))


def replaced(value: Any, path: tuple, new: Any) -> Any:
    changed = copy.deepcopy(value)
    place = changed
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = new
    return changed


@pytest.mark.database
@pytest.mark.parametrize("kind", sorted(JUDGED))
def test_readings_spoilt_in_any_place_are_judged_or_refused_and_never_break_the_batch(site: Site, kind: str) -> None:
    fine = given(site)[kind]
    wrong = [replaced(fine, path, new) for path in leaves(fine)
             for new in (None, "1/0", "5 feet of snow", -1, 1e300, 2**62, True, [], {}, "1" * 400)]
    batch = [entry("inspection", site.opening.pk, kind=kind, given=one) for one in wrong[:MOST - 1]]
    answers = sent(site, *batch, gap(site))
    assert set(results(answers)) <= {STORED, REFUSED}
    assert answers[-1]["result"] == STORED
    assert results(answers).count(REFUSED) > len(batch) / 3
    assert all(answer["problem"]["fields"] for answer in answers if answer["result"] == REFUSED)
    kept = Inspection.objects.count()
    assert kept == results(answers).count(STORED)


# ---- who -------------------------------------------------------------------------------------------------


def test_a_lead_without_a_signal_releases_the_hold_point_and_takes_the_acceptance(site: Site) -> None:
    site.bring_to(Stage.FRAME_SET)
    site.evidence(Check.HOLD_POINT)
    release = entry("hold-point", site.opening.pk)
    assert results(sent(site, release)) == [STORED]
    assert results(sent(site, release)) == [HAD]
    taken = entry("acceptance", site.opening.pk, accepted_by="R. Quillon", how="signed on site", subject_to=[])
    answers = sent(site, taken, taken)
    assert results(answers) == [KEPT, KEPT]
    assert [answer["had_already"] for answer in answers] == [False, True]
    assert answers[0]["reasons"][0]["reason"] == "not-next"
    assert StageChange.objects.get(pk=taken["id"]).acceptance.accepted_by == "R. Quillon"


def test_an_installers_telephone_does_neither(site: Site) -> None:
    site.bring_to(Stage.FRAME_SET)
    installer = make_user("installer")
    site.crew.members.create(user=installer, from_day=dt.date(2020, 1, 1))
    answers = sent(site, entry("hold-point", site.opening.pk),
                   entry("acceptance", site.opening.pk, accepted_by="R. Quillon", how="signed"), by=installer)
    assert [answer["problem"]["code"] for answer in answers] == ["not-allowed", "not-allowed"]


def test_a_reading_for_anothers_opening_is_as_if_there_were_no_such_opening(site: Site) -> None:
    theirs = Site("AB")
    nobodys = {**gap(site), "opening": 10**9}
    answers = sent(site, gap(theirs), gap(site), nobodys, looked(theirs),
                   entry("panel-change", theirs.panel("A").pk, "panel", what="receive"))
    assert results(answers) == [REFUSED, STORED, REFUSED, REFUSED, REFUSED]
    assert answers[0]["problem"] == answers[2]["problem"]
    assert {answer["problem"]["status"] for answer in answers if answer["result"] == REFUSED} == {404}
    assert Inspection.objects.get().opening == site.opening


def test_a_panel_a_verdict_or_conditions_of_another_opening_are_refused(site: Site) -> None:
    theirs = Site("AB")
    panel = theirs.panel("A").pk
    conditions = theirs.read("sealing-conditions", sealing())
    pk = site.opening.pk
    answers = sent(site, gap(site, panel_id=panel), looked(site, panel_id=panel),
                   entry("joint", pk, place="head", conditions_id=str(conditions.pk)),
                   entry("wait", pk, what_for="floor", owed_by_kind="builder", inspection_id=str(conditions.pk)))
    assert results(answers) == [REFUSED] * 4
    assert not Joint.objects.exists()
    assert not Wait.objects.exists()


def test_customer_service_records_adjustments_and_no_readings(site: Site) -> None:
    site.bring_to("accepted")
    person = make_user("customer-service")
    before = Inspection.objects.count()
    turned = entry("adjustment", site.opening.pk, what="rollers", before={"top": "8 mm"}, after={"top": "7 mm"})
    answers = sent(site, turned, gap(site), by=person)
    assert results(answers) == [STORED, REFUSED]
    assert answers[1]["problem"]["status"] == 403
    assert Inspection.objects.count() == before


def test_an_installer_closes_their_own_item_and_no_other(site: Site) -> None:
    installer = make_user("installer")
    site.crew.members.create(user=installer, from_day=dt.date(2020, 1, 1))
    items = [raise_punch_item(site.act(), site.opening.pk, what="dent", owner_id=owner.pk, due_day=dt.date(2026, 4, 1))
             for owner in (installer, site.lead)]
    answers = sent(site, *(entry("punch-item-closed", str(item.pk), "punch_item", how="polished") for item in items),
                   by=installer)
    assert results(answers) == [STORED, REFUSED]
    assert PunchItem.objects.still_open().get() == items[1]


# ---- clocks ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("off", [dt.timedelta(days=365), dt.timedelta(days=-365), dt.timedelta(days=365 * 400)])
def test_a_telephone_a_year_off_is_taken_at_the_servers_time_and_marked(site: Site, off: dt.timedelta) -> None:
    told = (site.now + off).isoformat()
    assert results(sent(site, gap(site, taken_at=told), looked(site, taken_at=told))) == [STORED, STORED]
    kept, look = Inspection.objects.get(), Confirmation.objects.get()
    assert kept.taken_at == look.taken_at == kept.server_time == site.now
    assert kept.device_time == look.device_time == dt.datetime.fromisoformat(told)
    assert kept.clock_doubtful


@pytest.mark.database
@pytest.mark.parametrize("told", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "2026-03-10", "yesterday",
                                  "2026-03-10T10:00:00", "2026-02-30T10:00:00Z", 1773129600, [], "", "2026-W11-2"])
def test_a_time_nobody_can_read_is_refused_and_named(site: Site, told: Any) -> None:
    answers = sent(site, looked(site, taken_at=told), gap(site, taken_at=told), gap(site))
    assert results(answers) == [REFUSED, REFUSED, STORED]
    assert {*answers[0]["problem"]["fields"]} == {*answers[1]["problem"]["fields"]} == {"taken_at"}


def test_each_entry_of_a_batch_has_its_own_time(site: Site) -> None:
    times = [site.now - dt.timedelta(hours=hours) for hours in (9, 5, 7)]
    sent(site, *(looked(site, taken_at=time.isoformat()) for time in times))
    assert set(Confirmation.objects.values_list("taken_at", flat=True)) == set(times)


# ---- how many --------------------------------------------------------------------------------------------


def test_a_thousand_entries_are_taken_and_one_more_is_refused_as_a_whole(site: Site) -> None:
    entries = [entry("inspection", site.opening.pk, kind="last-panel-gap", given={"gap": "18"}) for _ in range(MOST)]
    assert set(results(sent(site, *entries))) == {STORED}
    assert (Inspection.objects.count(), Reading.objects.count()) == (MOST, MOST)
    with pytest.raises(Invalid) as said:
        sent(site, *entries, looked(site))
    assert said.value.fields == {"entries": "at most 1000 in one batch"}
    assert not Confirmation.objects.exists()


def test_no_entries_are_no_trouble(site: Site) -> None:
    assert sent(site) == []
    assert not Change.objects.exists()


def test_a_part_put_back_and_an_item_closed_by_somebody_else_meanwhile_is_said_to_be_so(site: Site) -> None:
    part = set_part_aside(site.act(), site.opening.pk, what="cover")
    first, second = (entry("part-put-back", str(part.pk), "part", note=note) for note in ("by me", "by them"))
    assert results(sent(site, first)) == [STORED]
    assert results(sent(site, second)) == [HAD]
    assert SetAsidePart.objects.get().back_note == "by me"
    assert uuid.UUID(second["id"])  # it has an id, and needs none
