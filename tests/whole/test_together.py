"""Two people at once, each on a connection of their own: one change, never half of two, never a server's error."""

from __future__ import annotations

import datetime as dt
import random
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client
from rest_framework.test import APIClient

from inspections.models import (
    Check,
    Confirmation,
    CorrectionReport,
    Countersignature,
    HoldPoint,
    Inspection,
    PunchItem,
)
from inspections.services.builders_link import make_link, report_corrected, take_note, token_of
from inspections.services.closing import close_punch_item, raise_punch_item
from inspections.services.entries import HAD, KEPT, STORED, take_in
from inspections.services.gates import advance_opening, pass_over, release_hold_point, step_back
from inspections.services.inspecting import record_inspection
from inspections.services.standing import countersign
from inspections.services.waits import clear_wait, raise_wait
from inspections.services.work import assign, change_assignment
from jobs.calc.against import OVERLAP
from jobs.errors import GateSaysNo, Refusal, SomeoneWasFaster
from jobs.models import Assignment, Change, DayOff, Equipment, Opening, StageChange, Tally, TimeReport, Wait
from jobs.models.base import new_id
from jobs.services.office import remove
from tests.factories import act_for, make_crew, make_opening, make_user
from tests.site import Site
from tests.visits import at as page
from units.models import PanelChange

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]

OV, FS = "opening verified", "frame set"
DAY = dt.date(2026, 3, 12)
ROUNDS = 6
MOST_WAIT = 60  # seconds; only a failure waits so long
Work = Callable[[], Any]


def at_once(*works: Work) -> list[Any]:
    """What each of them returned or was refused with; all begin in the same moment."""
    start = threading.Barrier(len(works))

    def alone(work: Work) -> Any:
        try:
            start.wait(MOST_WAIT)
            return work()
        except Refusal as why:
            return why
        finally:
            connection.close()

    with ThreadPoolExecutor(len(works)) as pool:
        doing: list[Future] = [pool.submit(alone, work) for work in works]
        return [one.result(MOST_WAIT) for one in doing]


@pytest.fixture
def site() -> Site:
    """An opening whose next two gates ask nothing, so that a round takes no time."""
    Check.objects.filter(stage__in=(OV, FS)).delete()
    return Site("AB")


@pytest.fixture(autouse=True)
def _feed_without_holes() -> Iterator[None]:
    yield
    positions = list(Change.objects.order_by("position").values_list("position", flat=True))
    assert positions == list(range(1, len(positions) + 1))
    assert Tally.objects.values_list("position", flat=True).first() == (positions[-1] if positions else None)


def again(site: Site, to: str = "to be measured") -> None:
    step_back(site.act(), site.opening.pk, to, "once more")


# ---- one opening ----------------------------------------------------------------------------------------


def test_of_two_who_advance_at_once_one_moves_it_and_one_hears_that_it_is_done(site: Site) -> None:
    for n in range(1, ROUNDS + 1):
        acts = [site.act(), site.act(site.office)]
        told = at_once(*(partial(advance_opening, a, site.opening.pk, to=OV) for a in acts))
        assert Counter(map(type, told)) == {StageChange: 1, GateSaysNo: 1}
        reasons = next(one.reasons for one in told if isinstance(one, GateSaysNo))
        assert reasons[0]["reason"] == "already-there"
        assert StageChange.objects.filter(kind="advance", advanced=True).count() == n
        again(site)


def test_of_two_telephones_that_say_it_is_done_one_moves_it_and_the_other_is_kept(site: Site) -> None:
    acts = [site.act(), site.act(site.office)]
    told = at_once(*(partial(advance_opening, a, site.opening.pk, to=OV, done_on_site=True) for a in acts))
    assert sorted(change.advanced for change in told) == [False, True]


def test_an_opening_never_advances_over_a_wait_that_was_placed_first(site: Site) -> None:
    for _ in range(ROUNDS):
        one, other = site.act(), site.act(site.office)
        moved, wait = at_once(
            partial(advance_opening, one, site.opening.pk, to=OV),
            partial(raise_wait, other, site.opening.pk, what_for="floor", owed_by_kind="builder"))
        placed = Change.objects.get(record="waits", record_id=str(wait.pk)).position
        if isinstance(moved, StageChange):  # then it had moved before the wait was there
            assert Change.objects.get(record="stage-changes", record_id=str(moved.pk)).position < placed
            again(site)
        else:
            assert [reason["reason"] for reason in moved.reasons] == ["waiting"]
        clear_wait(site.act(), wait.pk, how="it came")


def test_the_pocket_is_released_once_whoever_else_releases_it(site: Site) -> None:
    Check.objects.filter(stage=Check.HOLD_POINT).delete()
    advance_opening(site.act(), site.opening.pk, to=OV)
    advance_opening(site.act(), site.opening.pk, to=FS)
    acts = [site.act() for _ in range(3)]
    told = at_once(*(partial(release_hold_point, a, site.opening.pk) for a in acts))
    assert {one.pk for one in told} == {HoldPoint.objects.get().pk}


def test_a_countersignature_refused_while_somebody_steps_back_moves_it_back_in_one_unbroken_row(site: Site) -> None:
    Check.objects.create(code="plain", title="plain", stage=OV, judged_by="confirmed")
    for _ in range(ROUNDS):
        pass_over(site.act(), site.opening.pk, "agreed")
        advance_opening(site.act(), site.opening.pk, to=FS)
        owed = Countersignature.objects.get(state="owed")
        one, other = site.act(site.office), site.act()
        refused, back = at_once(
            partial(countersign, one, owed.pk, give=False, reason="no", version=owed.version),
            partial(step_back, other, site.opening.pk, OV, "the sill again"))
        assert refused.state == "refused"
        assert isinstance(back, StageChange | Refusal)
        site.opening.refresh_from_db()
        assert site.opening.stage == "to be measured"
    moves = list(StageChange.objects.filter(advanced=True).order_by("server_time", "id"))
    in_order = Change.objects.filter(record="stage-changes").order_by("position").values_list("record_id", flat=True)
    by_id = {str(move.pk): move for move in moves}
    row = [by_id[one] for one in in_order]
    assert all(later.from_stage == earlier.to_stage for earlier, later in zip(row, row[1:], strict=False))


def test_a_countersignature_is_given_or_refused_and_never_both(site: Site) -> None:
    Check.objects.create(code="plain", title="plain", stage=OV, judged_by="confirmed")
    for _ in range(ROUNDS):
        pass_over(site.act(), site.opening.pk, "agreed")
        owed = Countersignature.objects.get(state="owed")
        acts = [site.act(site.office), site.act(site.office)]
        told = at_once(*(partial(countersign, a, owed.pk, give=give, reason="so", version=1)
                         for a, give in zip(acts, (True, False), strict=True)))
        assert Counter(map(type, told)) == {Countersignature: 1, SomeoneWasFaster: 1}
        owed.refresh_from_db()
        site.opening.refresh_from_db()
        assert site.opening.stage == (OV if owed.state == "given" else "to be measured")
        if owed.state == "given":
            again(site)


def test_a_punch_item_closed_by_two_is_closed_once_by_the_first(site: Site) -> None:
    for _ in range(ROUNDS):
        item = raise_punch_item(site.act(), site.opening.pk, what="scratch", owner_id=site.lead.pk, due_day=DAY)
        acts = [site.act(), site.act(site.office)]
        told = at_once(*(partial(close_punch_item, a, item.pk, how=f"by {a.user.pk}") for a in acts))
        item.refresh_from_db()
        assert {one.closed_how for one in told} == {item.closed_how} == {f"by {item.closed_by_id}"}
        assert item.version == 2
        assert Change.objects.filter(what="punch item closed", record_id=str(item.pk)).count() == 1


def test_punch_items_raised_at_once_have_numbers_of_their_own(site: Site) -> None:
    acts = [site.act() for _ in range(4)]
    at_once(*(partial(raise_punch_item, a, site.opening.pk, what="dent", owner_id=site.lead.pk, due_day=DAY)
              for a in acts))
    assert sorted(PunchItem.objects.values_list("number", flat=True)) == [1, 2, 3, 4]


def test_an_opening_is_removed_or_has_a_reading_and_never_loses_one() -> None:
    for _ in range(ROUNDS):
        pk, office, lead = make_opening().pk, act_for("office"), act_for("office")
        read, removed = at_once(
            partial(record_inspection, lead, pk, "last-panel-gap", {"gap": "18"}),
            partial(remove, office, Opening.objects.get(pk=pk), version=1, record="openings"))
        is_there = Opening.objects.filter(pk=pk).exists()
        assert is_there is isinstance(read, Inspection) is isinstance(removed, Refusal)


# ---- schedulers -----------------------------------------------------------------------------------------


def test_of_two_schedulers_who_change_one_assignment_one_wins_and_the_other_gets_412(site: Site) -> None:
    given = Assignment.objects.get()
    for n in range(1, ROUNDS + 1):
        acts, days = [act_for("office"), act_for("office")], [DAY, DAY + dt.timedelta(days=n)]
        told = at_once(*(
            partial(change_assignment, a, given.pk, {"end_day": day}, version=n)
            for a, day in zip(acts, days, strict=True)))
        assert Counter(map(type, told)) == {Assignment: 1, SomeoneWasFaster: 1}
        won = next(n for n, one in enumerate(told) if isinstance(one, Assignment))
        given.refresh_from_db()
        assert (given.version, given.end_day) == (n + 1, days[won])
        assert next(one for one in told if isinstance(one, Refusal)).status == 412


def test_two_schedulers_who_give_a_crew_work_on_one_day_see_each_other(site: Site) -> None:
    steps = [make_opening().work_steps.first().pk for _ in range(2)]
    acts = [act_for("office"), act_for("office")]
    told = at_once(*(partial(assign, a, step, crew_id=site.crew.pk, start_day=DAY, end_day=DAY)
                     for a, step in zip(acts, steps, strict=True)))
    said = [sum(objection["code"] == OVERLAP for objection in one.against) for one in told]
    assert sorted(said) in ([0, 1], [1, 2])  # the second knows of one more: the first


def test_of_three_schedulers_who_ink_one_lifter_in_one_moment_one_has_it(site: Site) -> None:
    lifter = Equipment.objects.create(name="Beam lifter", kind="beam lifter", rated_grams=400_000)
    for n in range(ROUNDS):
        day = DAY + dt.timedelta(days=n)
        steps = [make_opening().work_steps.first().pk for _ in range(3)]
        crews = [make_crew(make_user("lead")) for _ in range(3)]
        acts = [act_for("office") for _ in range(3)]
        told = at_once(*(partial(assign, a, step, crew_id=crew.pk, start_day=day, end_day=day, firmness="inked",
                                 equipment=[lifter.pk], knowing=True)
                         for a, step, crew in zip(acts, steps, crews, strict=True)))
        assert sorted(type(one).__name__ for one in told) == ["Assignment", "Refusal", "Refusal"]
        assert {one.code for one in told if isinstance(one, Refusal)} == {"booked-twice"}
        assert Assignment.objects.filter(equipment=lifter, firmness="inked", start_day=day).count() == 1


# ---- batches --------------------------------------------------------------------------------------------


def entry(kind: str, about: Any, data: dict[str, Any], named: str = "opening") -> dict[str, Any]:
    return {"id": str(new_id()), "entry": kind, named: about, "data": data}


def of_every_kind(site: Site, wait: Wait, item: PunchItem, round_: int) -> list[dict[str, Any]]:
    """Entries that name their opening, and entries that name a panel, a wait, an item or a work step of it."""
    pk = site.opening.pk
    return [
        entry("inspection", pk, {"kind": "last-panel-gap", "given": {"gap": f"{18 + round_}"}}),
        entry("confirmation", pk, {"check_code": "header-in", "answer": "yes"}),
        entry("panel-change", site.panel("A").pk, {"what": "adjust"}, "panel"),
        entry("wait-cleared", str(wait.pk), {"how": "it came"}, "wait"),
        entry("punch-item-closed", str(item.pk), {"how": "polished"}, "punch_item"),
        entry("time-report", site.opening.work_steps.first().pk, {"day": "2026-03-10", "minutes": 30}, "work_step"),
    ]


def test_many_batches_over_the_same_openings_in_other_orders_get_through_and_lose_nothing() -> None:
    sites = [Site("AB") for _ in range(4)]
    waits = [raise_wait(s.act(), s.opening.pk, what_for="floor", owed_by_kind="builder") for s in sites]
    items = [raise_punch_item(s.act(), s.opening.pk, what="dent", owner_id=s.lead.pk, due_day=DAY) for s in sites]
    dice, batches = random.Random(4), 12
    office = act_for("office")

    def batch(n: int) -> list[dict[str, Any]]:
        some = [one for s, w, i in zip(sites, waits, items, strict=True) for one in of_every_kind(s, w, i, n)]
        dice.shuffle(some)
        return some

    sent = [batch(n) for n in range(batches)]

    def telephone(mine: list[list[dict[str, Any]]]) -> list[dict[str, Any]]:
        return [result for some in mine for result in take_in(office, some)]

    def scheduler() -> list[dict[str, Any]]:
        for s in sites * 3:  # holds crews while telephones hold openings
            assign(office, s.opening.work_steps.last().pk, crew_id=s.crew.pk, start_day=DAY, end_day=DAY)
        return []

    results = [one for some in at_once(scheduler, *(partial(telephone, sent[k::3]) for k in range(3)))
               for one in some]
    assert Counter(one["result"] for one in results) == {
        STORED: batches * 4 * 3 + 8, HAD: (batches - 1) * 8, KEPT: batches * 4}  # a wait, an item: done by the first
    assert Inspection.objects.count() == Confirmation.objects.count() == batches * 4
    assert TimeReport.objects.count() == PanelChange.objects.filter(advanced=False).count() == batches * 4
    assert not Wait.objects.filter(cleared_at=None).exists()
    assert Assignment.objects.count() == 4 + 12


def test_a_batch_sent_again_while_the_first_is_still_at_work_is_stored_once(site: Site) -> None:
    for _ in range(ROUNDS):
        some = [entry("inspection", site.opening.pk, {"kind": "last-panel-gap", "given": {"gap": "18"}}),
                entry("event", site.opening.pk, {"kind": "re-pour"}),
                entry("stage-change", site.opening.pk, {"to": OV})]
        act = site.act()
        one, other = at_once(partial(take_in, act, some), partial(take_in, act, some))
        for mine, theirs in zip(one, other, strict=True):
            assert {mine["result"], theirs["result"]} == {STORED, HAD}
        again(site)
    assert Inspection.objects.count() == ROUNDS


# ---- a database that does not answer in time --------------------------------------------------------------


@contextmanager
def held_by_somebody(opening: Opening) -> Iterator[None]:
    """Another connection is in the middle of something with this opening, and does not end."""
    held, may_end = threading.Event(), threading.Event()

    def hold() -> None:
        try:
            with transaction.atomic():
                Opening.objects.filter(pk=opening.pk).update(location="in use")
                held.set()
                may_end.wait(MOST_WAIT)
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        doing = pool.submit(hold)
        assert held.wait(MOST_WAIT)
        try:
            yield
        finally:
            may_end.set()
            doing.result()


@pytest.fixture
def impatient() -> Iterator[None]:
    """This connection gives up soon, as it would after twenty seconds."""
    is_sqlite = connection.vendor == "sqlite"
    soon, later = ("PRAGMA busy_timeout=30", "PRAGMA busy_timeout=20000") if is_sqlite else (
        "SET lock_timeout='30ms'", "SET lock_timeout=0")
    with connection.cursor() as cursor:
        cursor.execute(soon)
    yield
    with connection.cursor() as cursor:
        cursor.execute(later)


def test_a_database_that_stays_busy_is_answered_as_busy_and_the_same_request_works_later(
        site: Site, impatient: None) -> None:
    client = APIClient()
    client.force_authenticate(site.office)
    some = [entry("event", site.opening.pk, {"kind": "re-pour"})]

    def send() -> Any:
        return client.post("/api/v1/site-entries/", {"entries": some})

    with held_by_somebody(site.opening):
        response = send()
        assert response.status_code == 503
        assert response["Retry-After"] == "1"
        assert "Nothing was done" in response.json()["detail"]
    assert send().json()["results"][0]["result"] == STORED


def test_a_page_says_that_the_database_is_busy(site: Site, impatient: None) -> None:
    client = Client()
    client.force_login(site.office)
    url, words = page(site, "opening-wait"), {"what_for": "the floor", "owed_by_kind": "builder"}
    with held_by_somebody(site.opening):
        response = client.post(url, {"entry": str(new_id()), **words})
    assert response.status_code == 409
    assert "Nothing was done" in response.content.decode()
    assert not Wait.objects.exists()


def test_an_office_user_made_twice_at_once_is_one(site: Site) -> None:
    body = {"username": "twice", "name": "Twice", "role": "lead", "password": "a harder one to guess"}
    clients = [APIClient(), APIClient()]
    for client in clients:
        client.force_authenticate(make_user("office"))
    told = at_once(*(partial(c.post, "/api/v1/people/", body) for c in clients))
    assert sorted(one.status_code for one in told) == [201, 422]


def test_a_form_sent_twice_in_one_moment_makes_one_record_and_leads_both_on(site: Site) -> None:
    clients = [Client(), Client()]
    for client in clients:
        client.force_login(site.office)
    for n in range(1, ROUNDS + 1):
        sent = {"entry": str(new_id()), "who": f"person-{site.lead.pk}", "from_day": f"{DAY:%Y-%m-}{n:02}",
                "to_day": f"{DAY:%Y-%m-}{n:02}", "reason": "sick"}
        told = at_once(*(partial(client.post, "/days-off/new/", sent) for client in clients))
        assert {one.status_code for one in told} == {302}
        assert DayOff.objects.count() == n


# ---- the builder's link ---------------------------------------------------------------------------------


def test_of_one_report_sent_twice_in_one_moment_one_is_kept_and_of_two_both(site: Site) -> None:
    link = make_link(site.act(), site.opening.pk)
    say = partial(report_corrected, token_of(link), site.now)
    for n in range(ROUNDS):
        entry = new_id()
        told = at_once(*(partial(say, note=f"Ground, {n}.", entry_id=entry) for _ in range(2)))
        assert [one.pk for one in told] == [entry] * 2
    told = at_once(partial(say, note="Filled.", entry_id=new_id()), partial(say, note="Moved.", entry_id=new_id()))
    assert len({one.pk for one in told}) == 2
    assert CorrectionReport.objects.count() == ROUNDS + 2


def test_of_two_who_take_note_at_once_the_first_stays(site: Site) -> None:
    report = report_corrected(token_of(make_link(site.act(), site.opening.pk)), site.now, note="Ground.")
    acts = [site.act(), site.act(site.office)]
    seen = {one.seen_by_id for one in at_once(*(partial(take_note, act, report.pk) for act in acts))}
    assert len(seen) == 1
    assert Change.objects.filter(what="correction taken note of").count() == 1
