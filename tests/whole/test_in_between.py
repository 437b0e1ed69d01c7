"""What changes between looking and pressing the button: the opening, the clock, the evidence; and codes never leak."""

from __future__ import annotations

import datetime as dt
import logging
import uuid
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse
from rest_framework.test import APIClient

from dashboard.forms.acts import FORMS
from inspections.models import Acceptance
from inspections.services.closing import accept_opening
from inspections.services.entries import take_in
from inspections.services.looking import look_at
from jobs.acts import Act
from jobs.errors import NotAllowed
from jobs.models import AccessCode, Change, EarnedMinutes, IdempotentAnswer, Opening, StageChange
from jobs.services.codes import codes_of
from jobs.services.office import remove
from jobs.stages import Stage
from tests.factories import act_for, make_job, make_opening, make_user
from tests.site import Site, floor, frame

pytestmark = pytest.mark.django_db

ANGELES = "America/Los_Angeles"


def acting(user: Any) -> APIClient:
    client = APIClient()
    client.force_authenticate(user)
    return client


def at(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text)


# ---- an opening deleted under a form ---------------------------------------------------------------------


@pytest.fixture
def gone() -> int:
    """The id of an opening that somebody looked at, and that the office then removed."""
    opening = make_opening()
    key = opening.pk
    remove(act_for("office"), Opening.objects.get(pk=key), version=1, record="openings")
    return key


@pytest.mark.parametrize("name", FORMS)
def test_a_form_sent_for_an_opening_that_is_gone_says_so(gone: int, name: str) -> None:
    client = Client()
    client.force_login(make_user("office"))
    response = client.post(reverse(f"opening-{name}", args=[gone]), {"entry": str(uuid.uuid4())})
    assert response.status_code == 404
    assert "<h1" in response.content.decode()


@pytest.mark.parametrize(("where", "body"), [
    ("openings/{}/advance/", {}), ("openings/{}/accept/", {"accepted_by": "R.", "how": "signed"}),
    ("openings/{}/step-back/", {"to": "to be measured", "reason": "so"}), ("openings/{}/release-hold-point/", {}),
    ("waits/", {"what_for": "the floor", "owed_by_kind": "builder"}), ("events/", {"kind": "re-pour"}),
    ("inspections/", {"kind": "last-panel-gap", "given": {"gap": "18"}}),
])
def test_the_api_says_of_an_opening_that_is_gone_that_there_is_none(gone: int, where: str, body: dict) -> None:
    sent = body if "{}" in where else {"opening": gone, **body}
    response = acting(make_user("office")).post(f"/api/v1/{where.format(gone)}", sent)
    assert response.status_code == 404
    assert response.json()["code"] == "not-there"


def test_entries_for_an_opening_that_is_gone_are_refused_and_the_others_kept(gone: int) -> None:
    entries = [{"id": str(uuid.uuid4()), "entry": "event", "opening": key, "data": {"kind": "re-pour"}}
               for key in (gone, make_opening().pk)]
    assert [one["result"] for one in take_in(act_for("office"), entries)] == ["refused", "stored"]


def test_an_opening_that_work_was_recorded_on_stays() -> None:
    site = Site("AB")
    site.confirm("header-in")
    response = acting(site.office).delete(f"/api/v1/openings/{site.opening.pk}/", HTTP_IF_MATCH='"1"')
    assert response.status_code == 409
    assert "stays" in response.json()["detail"]


# ---- a verdict that goes stale while the button is pressed ------------------------------------------------


def test_a_gate_that_passed_when_it_was_looked_at_says_no_when_the_last_day_is_over(time_machine: Any) -> None:
    site = Site("AB")
    site.evidence(Stage.OPENING_VERIFIED)
    lead, where = acting(site.lead), f"/api/v1/openings/{site.opening.pk}/"
    opened = min(c.taken_at for c in site.opening.confirmations.filter(check_code="pocket-open"))
    time_machine.move_to(opened + dt.timedelta(days=7), tick=False)
    assert lead.get(f"{where}gate/").json()["passes"] is True
    time_machine.shift(dt.timedelta(seconds=1))
    said = lead.post(f"{where}advance/").json()
    assert [(reason["code"], reason["result"]) for reason in said["reasons"]] == [("pocket-open", "stale")]
    assert not StageChange.objects.exists()
    kept = lead.post(f"{where}advance/", {"done_on_site": True}).json()
    assert kept["advanced"] is False


def test_what_came_in_between_counts_whatever_the_page_had_shown() -> None:
    site = Site("AB")
    site.evidence(Stage.OPENING_VERIFIED)
    site.now = dt.datetime.now(dt.UTC)
    shown = site.act()
    take_in(site.act(site.office), [{"id": str(uuid.uuid4()), "entry": "event", "opening": site.opening.pk,
                                     "taken_at": (shown.now - dt.timedelta(hours=1)).isoformat(),
                                     "data": {"kind": "re-pour"}}])
    said = acting(site.lead).post(f"/api/v1/openings/{site.opening.pk}/advance/").json()
    assert {"floor-rise", "floor-sound"} <= {reason["code"] for reason in said["reasons"]}


# ---- the night the clocks change (Los Angeles: 8 March and 1 November 2026) -------------------------------

NIGHTS = [
    ("2026-03-08T07:59:59Z", "2026-03-07"), ("2026-03-08T08:00:00Z", "2026-03-08"),  # midnight, still winter
    ("2026-03-08T10:30:00Z", "2026-03-08"),  # half past three, where half past two was skipped
    ("2026-03-09T06:59:59Z", "2026-03-08"), ("2026-03-09T07:00:00Z", "2026-03-09"),  # a day of 23 hours
    ("2026-11-01T06:59:59Z", "2026-10-31"), ("2026-11-01T08:30:00Z", "2026-11-01"),
    ("2026-11-01T09:30:00Z", "2026-11-01"),  # half past one, for the second time
    ("2026-11-02T07:59:59Z", "2026-11-01"), ("2026-11-02T08:00:00Z", "2026-11-02"),  # a day of 25 hours
]


def test_the_warranty_starts_and_minutes_are_earned_on_the_day_it_is_at_the_job() -> None:
    site = Site("AB").bring_to(Stage.PUNCH_LIST)
    for moment, day in NIGHTS:
        site.now = at(moment) - dt.timedelta(minutes=1)
        with transaction.atomic():
            accept_opening(site.act(), site.opening.pk, accepted_by="R. Quillon", how="signed")
            assert Acceptance.objects.get().warranty_from.isoformat() == day
            assert EarnedMinutes.objects.get(work_step__stage="accepted").day.isoformat() == day
            transaction.set_rollback(True)


@pytest.mark.parametrize(("moment", "day"), NIGHTS)
def test_a_code_is_for_the_crew_whose_day_it_is_at_the_job(moment: str, day: str) -> None:
    site = Site("AB")
    job = site.opening.job
    AccessCode.objects.create(job=job, what="gate", code="4711#")
    given = site.opening.assignments.get()
    for off in (-1, 0, 1):
        given.start_day = given.end_day = dt.date.fromisoformat(day) + dt.timedelta(days=off)
        given.save()
        act = Act(site.lead, site.lead.role, at(moment))
        if off == 0:
            assert codes_of(act, job).get().code == "4711#"
        else:
            with pytest.raises(NotAllowed):
                codes_of(act, job)


def test_hours_that_come_twice_or_never_are_kept_apart_by_their_zone() -> None:
    site = Site("AB", job=make_job(time_zone=ANGELES))
    site.now = at("2026-11-01T12:00:00Z")
    told = ["2026-11-01T01:30:00-07:00", "2026-11-01T01:30:00-08:00"]
    entries = [{"id": str(uuid.uuid4()), "entry": "confirmation", "opening": site.opening.pk, "taken_at": time,
                "data": {"check_code": "header-in", "answer": "yes"}} for time in told]
    assert {one["result"] for one in take_in(site.act(), entries)} == {"stored"}
    first, second = site.opening.confirmations.order_by("taken_at")
    assert second.taken_at - first.taken_at == dt.timedelta(hours=1)


# ---- a code in any table, feed, log or refusal -----------------------------------------------------------


def tables_with(word: str) -> set[str]:
    found = set()
    with connection.cursor() as cursor:
        for model in apps.get_models(include_auto_created=True):
            cursor.execute(f'SELECT * FROM "{model._meta.db_table}"')
            if any(word in repr(row) for row in cursor.fetchall()):
                found.add(model._meta.db_table)
    return found


def test_a_code_stands_in_its_own_table_and_nowhere_else_whatever_is_done_with_it(caplog: Any) -> None:
    caplog.set_level(logging.DEBUG)
    logging.getLogger("django.db.backends").setLevel(logging.WARNING)  # statements with values: off unless debugging
    office, job = acting(make_user("office")), make_job()
    where, planted = f"/api/v1/jobs/{job.pk}/access-codes/", "80085#planted"
    answers = []
    for _ in range(2):
        answers.append(office.post(where, {"what": "gate", "code": planted}, HTTP_IDEMPOTENCY_KEY="once"))
    made = answers[0].json()
    answers.append(office.post(where, {"what": "gate", "code": planted * 20}))
    answers.append(office.post(where, {"what": "x" * 900, "code": planted}))
    answers.append(office.post(where, {"what": "gate", "code": {"is": planted}}))
    answers.append(office.patch(f"{where}{made['id']}/", {"code": f"{planted}2"}, HTTP_IDEMPOTENCY_KEY="again"))
    answers.append(office.patch(f"{where}{made['id']}/", {"code": f"{planted}2"}, HTTP_IF_MATCH='"1"',
                                HTTP_IDEMPOTENCY_KEY="third"))
    answers.append(office.get("/api/v1/changes/"))
    assert [one.status_code for one in answers] == [201, 201, 422, 422, 422, 428, 200, 200]
    assert [one.content for one in answers if b"planted" in one.content] == []
    assert IdempotentAnswer.objects.exists()
    assert Change.objects.filter(record="access-codes").count() == 2
    assert tables_with("planted") == {"jobs_accesscode"}
    assert "planted" not in caplog.text


# ---- a reading for another stage, and stations out of order -------------------------------------------------


def sent(site: Site, *entries: dict[str, Any]) -> list[dict[str, Any]]:
    return take_in(site.act(), [{"id": str(uuid.uuid4()), "entry": "inspection", "opening": site.opening.pk,
                                 "data": data} for data in entries])


def outcomes(site: Site, to: Stage) -> dict[str, str]:
    site.opening.refresh_from_db()
    return {outcome.code: outcome.result for outcome in look_at(site.opening, site.now, to).outcomes}


def test_a_reading_for_a_later_stage_is_kept_says_nothing_of_this_one_and_counts_when_its_turn_comes() -> None:
    site = Site("AB")
    before = outcomes(site, Stage.OPENING_VERIFIED)
    [told] = sent(site, {"kind": "frame", "given": frame(), "occasion": "frame-set"})
    assert (told["result"], told["verdict"]["result"]) == ("stored", "pass")
    assert outcomes(site, Stage.OPENING_VERIFIED) == before
    site.bring_to(Stage.OPENING_VERIFIED)
    assert outcomes(site, Stage.FRAME_SET)["sill-level"] == "passes"


def test_a_reading_of_another_occasion_does_not_stand_for_this_ones() -> None:
    site = Site("AB").bring_to(Stage.OPENING_VERIFIED)
    before = outcomes(site, Stage.FRAME_SET)
    sent(site, {"kind": "frame", "given": frame(), "occasion": "adjusted", "place": "stacked"})
    assert outcomes(site, Stage.FRAME_SET) == before
    assert before["sill-level"] == "missing"


def test_a_stage_further_on_than_the_next_is_kept_and_not_advanced() -> None:
    site = Site("AB")
    [told] = take_in(site.act(), [{"id": str(uuid.uuid4()), "entry": "stage-change", "opening": site.opening.pk,
                                   "data": {"to": "sealed"}}])
    assert (told["result"], bool(told["reasons"])) == ("recorded, not advanced", True)
    site.opening.refresh_from_db()
    assert site.opening.stage == Stage.TO_BE_MEASURED


def test_stations_out_of_order_are_refused_by_name_and_the_next_entry_is_stored() -> None:
    site = Site("AB")
    crossed = floor()
    crossed["stations"] = [*crossed["stations"]]
    crossed["stations"][4], crossed["stations"][5] = crossed["stations"][5], crossed["stations"][4]
    refused, twice, stored = sent(
        site, {"kind": "floor-profile", "given": crossed},
        {"kind": "floor-profile", "given": floor(inner=[{"at": "0", "reading": "0"}] * 3)},
        {"kind": "floor-profile", "given": floor()})
    assert [one["result"] for one in (refused, twice, stored)] == ["refused", "refused", "stored"]
    assert [list(one["problem"]["fields"]) for one in (refused, twice)] == [["stations[5].at"], ["inner[1].at"]]
    assert "must lie beyond" in refused["problem"]["detail"]
    assert site.opening.inspections.count() == 1
