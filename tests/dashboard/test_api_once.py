"""Idempotency-Key: the same request under the same key is carried out once."""

from __future__ import annotations

import datetime as dt
import itertools
import threading
import uuid

import pytest
from django.db import OperationalError, connection, transaction
from django.utils import timezone
from rest_framework.test import APIClient

from dashboard.tasks import forget_old_answers
from jobs.models import AccessToken, Change, IdempotentAnswer, Party
from jobs.rest import once
from jobs.services import office as office_service
from tests.factories import make_party, make_user

BODY = {"kind": "builder", "name": "Marrow & Daughters"}
URL = "/api/v1/parties/"


def office() -> APIClient:
    client = APIClient()
    client.force_authenticate(make_user("office"))
    return client


def post(client: APIClient, key: str, body: dict | None = None, url: str = URL):
    return client.post(url, body or BODY, HTTP_IDEMPOTENCY_KEY=key)


@pytest.mark.django_db
def test_the_second_time_gets_the_first_answer():
    client, key = office(), str(uuid.uuid4())
    first, second = post(client, key), post(client, key)
    assert (first.status_code, second.status_code) == (201, 201)
    assert second.content == first.content
    assert second["ETag"] == first["ETag"]
    assert second["Location"] == first["Location"]
    assert second["Idempotent-Replayed"] == "true"
    assert "Idempotent-Replayed" not in first
    assert Party.objects.count() == 1
    assert Change.objects.filter(record="parties").count() == 1


@pytest.mark.django_db
def test_without_a_key_each_request_counts():
    client = office()
    client.post(URL, BODY)
    client.post(URL, BODY)
    assert Party.objects.count() == 2


@pytest.mark.django_db
@pytest.mark.parametrize(("url", "body"), [(URL, {**BODY, "name": "Another"}), ("/api/v1/equipment/", BODY)])
def test_the_key_with_another_request_is_refused(url, body):
    client, key = office(), "a-key"
    post(client, key)
    response = post(client, key, body, url)
    assert response.status_code == 422
    assert response.json()["code"] == "key-with-other-request"
    assert Party.objects.count() == 1


@pytest.mark.django_db
def test_two_people_may_use_the_same_key():
    assert post(office(), "a-key").status_code == 201
    assert post(office(), "a-key").status_code == 201
    assert Party.objects.count() == 2


@pytest.mark.django_db
def test_while_the_first_is_at_work_the_second_is_told_so():
    client, key = office(), "a-key"
    seen = []

    def meanwhile(*args, **kwargs):
        if not seen:
            seen.append(None)
            seen[0] = post(client, key)
        return create(*args, **kwargs)

    create, office_service.create = office_service.create, meanwhile
    try:
        assert post(client, key).status_code == 201
    finally:
        office_service.create = create
    assert seen[0].status_code == 409
    assert seen[0].json()["code"] == "still-at-work"
    assert Party.objects.count() == 1


@pytest.mark.django_db
def test_a_refusal_is_not_kept_for_nothing_was_done():
    client, key = office(), "a-key"
    assert post(client, key, {"kind": "builder"}).status_code == 422
    assert not IdempotentAnswer.objects.exists()
    assert post(client, key).status_code == 201


@pytest.mark.django_db
def test_a_claim_whose_process_died_is_taken_over_after_a_while():
    client, key = office(), "a-key"
    post(client, key)
    claim = IdempotentAnswer.objects.get()
    Party.objects.all().delete()
    IdempotentAnswer.objects.update(finished_at=None, status=None, body="")
    assert post(client, key).status_code == 409
    IdempotentAnswer.objects.update(started_at=claim.started_at - once.STALE - dt.timedelta(seconds=1))
    assert post(client, key).status_code == 201
    assert Party.objects.count() == 1


@pytest.mark.django_db
def test_who_was_overtaken_leaves_nothing_behind():
    client, key = office(), "a-key"

    def overtaken(*args, **kwargs):
        IdempotentAnswer.objects.update(started_at=timezone.now())
        return create(*args, **kwargs)

    create, office_service.create = office_service.create, overtaken
    try:
        assert post(client, key).status_code == 409
    finally:
        office_service.create = create
    assert not Party.objects.exists()


@pytest.mark.django_db
def test_answers_are_kept_for_a_day():
    client, key = office(), "a-key"
    post(client, key)
    IdempotentAnswer.objects.update(started_at=timezone.now() - once.KEPT - dt.timedelta(seconds=1))
    assert "Idempotent-Replayed" not in post(client, key)
    assert Party.objects.count() == 2
    forget_old_answers()
    assert IdempotentAnswer.objects.count() == 1
    IdempotentAnswer.objects.update(started_at=timezone.now() - once.KEPT - dt.timedelta(seconds=1))
    forget_old_answers()
    assert not IdempotentAnswer.objects.exists()


@pytest.mark.django_db
def test_a_change_under_a_key_is_made_once():
    client, party = office(), make_party()
    for _ in range(2):
        response = client.patch(f"{URL}{party.pk}/", {"name": "Another"}, HTTP_IF_MATCH='"1"', HTTP_IDEMPOTENCY_KEY="k")
        assert response.status_code == 200
        assert response.json()["version"] == 2


@pytest.mark.django_db
@pytest.mark.parametrize("key", ["", "two words", "x" * 121, "ключ"])
def test_a_key_nobody_can_keep_is_refused(key):
    assert post(office(), key.encode().decode("latin-1")).status_code == 400


@pytest.mark.django_db
def test_an_act_that_is_not_done_here_is_refused_with_a_key_as_without():
    response = office().put(URL, BODY, HTTP_IDEMPOTENCY_KEY="a-key")
    assert response.status_code == 405
    assert not IdempotentAnswer.objects.exists()


@pytest.mark.django_db
def test_a_replay_does_not_show_a_tokens_secret_again():
    client, user = APIClient(), make_user("lead")
    client.force_login(user)
    first = post(client, "a-key", {"name": "telephone"}, "/api/v1/tokens/").json()
    again = post(client, "a-key", {"name": "telephone"}, "/api/v1/tokens/").json()
    assert first["token"].startswith("sill_")
    assert again == {**first, "token": None}
    assert AccessToken.objects.count() == 1
    assert first["token"] not in IdempotentAnswer.objects.get().body


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_of_two_at_the_same_moment_one_is_carried_out():
    user = make_user("office")
    start, answers = threading.Barrier(2), []

    def send() -> None:
        client = APIClient()
        client.force_authenticate(user)
        start.wait()
        answers.append(post(client, "a-key").status_code)
        connection.close()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) in ([201, 201], [201, 409])
    assert Party.objects.count() == 1
    with transaction.atomic():
        assert IdempotentAnswer.objects.get().status == 201


@pytest.mark.django_db(transaction=True)
def test_whichever_statement_fails_the_same_request_sent_again_is_carried_out_once():
    """Claim, act, answer: whatever the database refuses in between, the one who sends again ends with one party."""
    client, n, failed = office(), 0, True
    client.raise_request_exception = False
    while failed:
        n += 1
        counted = itertools.count(1)

        def failing(execute, sql, params, many, context, counted=counted, n=n):
            if next(counted) == n:
                raise OperationalError("the disk is full")
            return execute(sql, params, many, context)

        with connection.execute_wrapper(failing):
            said = post(client, f"key-{n}")
        failed = next(counted) > n
        assert said.status_code in ((201, 503) if failed else (201,)), n
        assert Party.objects.count() == (said.status_code == 201), f"what was answered is not what was done at {n}"
        IdempotentAnswer.objects.filter(finished_at=None).update(started_at=timezone.now() - 2 * once.STALE)
        assert post(client, f"key-{n}").status_code == 201, n
        assert Party.objects.count() == Change.objects.filter(record="parties").count() == 1, n
        Party.objects.all().delete()
        Change.objects.all().delete()
    assert n > 10
