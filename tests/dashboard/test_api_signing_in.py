"""Sessions for people, tokens for programs and telephones; guessing locks, hurrying is slowed."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from redis.exceptions import ConnectionError as Gone
from rest_framework.test import APIClient

from jobs.models import AccessToken, Change, Event, User
from jobs.rest import throttles
from jobs.roles import Role, is_within
from tests.factories import make_opening, make_user

pytestmark = pytest.mark.django_db
PASSWORD = "a long enough password"
TOKENS = "/api/v1/tokens/"


def signed_in(user: User) -> APIClient:
    client = APIClient()
    client.force_login(user)
    return client


def with_token(secret: str) -> APIClient:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    return client


def new_token(user: User, **more: object) -> dict:
    response = signed_in(user).post(TOKENS, {"name": "telephone", **more})
    assert response.status_code == 201, response.content
    return response.json()


# --- tokens ---------------------------------------------------------------------------------------------------------

def test_a_token_opens_what_its_person_may_see():
    opening = make_opening()
    made = new_token(make_user("office"))
    assert made["token"].startswith("sill_")
    rows = with_token(made["token"]).get("/api/v1/openings/").json()["results"]
    assert [row["id"] for row in rows] == [opening.pk]


def test_its_secret_is_shown_once_and_kept_nowhere():
    user = make_user("office")
    made = new_token(user)
    kept = AccessToken.objects.get()
    assert made["token"] not in (kept.digest, kept.token_key)
    for where in (TOKENS, f"{TOKENS}{made['id']}/", "/api/v1/changes/"):
        text = signed_in(user).get(where).content.decode()
        assert made["token"] not in text
        assert kept.digest not in text


def test_a_token_is_made_with_a_name_and_password():
    user = make_user("lead")
    response = APIClient().post(TOKENS, {"name": "telephone", "username": user.username, "password": PASSWORD})
    assert response.status_code == 201
    assert response["Cache-Control"] == "no-store"
    assert with_token(response.json()["token"]).get("/api/v1/openings/").status_code == 200


def test_a_token_expires():
    made = new_token(make_user("office"), days=1)
    assert made["expires_at"] > (timezone.now() + dt.timedelta(hours=23)).isoformat()[:19]
    AccessToken.objects.update(expiry=timezone.now() - dt.timedelta(seconds=1))
    response = with_token(made["token"]).get("/api/v1/openings/")
    assert response.status_code == 401
    assert "expired" in response.json()["detail"]
    assert AccessToken.objects.exists()


def test_a_revoked_token_opens_nothing_from_the_next_request_on():
    user = make_user("lead")
    made = new_token(user)
    client = with_token(made["token"])
    mark = client.get("/api/v1/openings/")["ETag"]
    for _ in range(2):
        assert signed_in(user).delete(f"{TOKENS}{made['id']}/").json()["revoked_at"] is not None
    assert client.get("/api/v1/openings/", HTTP_IF_NONE_MATCH=mark).status_code == 401
    assert Change.objects.filter(what="token revoked").count() == 1


def test_the_office_sees_and_revokes_others_and_nobody_else_does():
    made = new_token(make_user("lead"))
    for role in (Role.LEAD, Role.GUEST):
        stranger = signed_in(make_user(role.value))
        assert stranger.get(TOKENS).json()["results"] == []
        assert stranger.delete(f"{TOKENS}{made['id']}/").status_code == 404
    office = signed_in(make_user("office"))
    assert [row["id"] for row in office.get(TOKENS).json()["results"]] == [made["id"]]
    assert office.delete(f"{TOKENS}{made['id']}/").status_code == 200


def test_a_token_may_do_less_than_its_person():
    made = new_token(make_user("office"), role="guest")
    client = with_token(made["token"])
    assert client.get("/api/v1/openings/").status_code == 200
    assert client.post("/api/v1/parties/", {"kind": "builder", "name": "B"}).status_code == 403


def test_a_token_is_never_given_more_than_its_person():
    response = signed_in(make_user("lead")).post(TOKENS, {"name": "telephone", "role": "office"})
    assert response.status_code == 422
    assert "role" in response.json()["fields"]


def test_a_token_wider_than_its_person_became_opens_nothing():
    user = make_user("office")
    made = new_token(user, role="lead")
    own_role = new_token(user)
    User.objects.filter(pk=user.pk).update(role="installer")
    assert with_token(made["token"]).get("/api/v1/openings/").status_code == 401
    client = with_token(own_role["token"])
    assert client.get("/api/v1/openings/").status_code == 200
    assert client.post("/api/v1/parties/", {"kind": "builder", "name": "B"}).status_code == 403


def test_a_token_makes_no_tokens():
    made = new_token(make_user("office"))
    assert with_token(made["token"]).post(TOKENS, {"name": "another"}).status_code == 403


@pytest.mark.parametrize("header", ["Bearer", "Bearer x", "Bearer sill_x y", "Bearer \xff", "Basic YTpi", "Token abc"])
def test_a_header_that_is_no_token_is_refused_politely(header):
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=header)
    response = client.get("/api/v1/openings/")
    assert response.status_code == 401
    assert response["Content-Type"] == "application/problem+json"
    assert response["WWW-Authenticate"] == "Bearer"


def test_roles_lie_within_each_other_as_the_table_says():
    within = {(a.value, b.value) for a in Role for b in Role if a != b and is_within(a, b)}
    assert within == {("lead", "office"), ("installer", "office"), ("customer-service", "office"), ("guest", "office"),
                      ("installer", "lead"), ("guest", "customer-service")}


def test_one_request_with_a_token_asks_for_it_once(django_assert_num_queries):
    client = with_token(new_token(make_user("office"))["token"])
    with django_assert_num_queries(3):  # the token with its person, the mark, the rows
        client.get("/api/v1/openings/")


# --- guessing and hurrying -------------------------------------------------------------------------------------------

def test_guessed_passwords_lock_that_name_from_that_address(settings):
    settings.RATES = {**settings.RATES, "tokens": 100}
    user = make_user("lead")
    guess = {"name": "telephone", "username": user.username, "password": "guessed"}
    answers = [APIClient().post(TOKENS, guess).status_code for _ in range(settings.AXES_FAILURE_LIMIT + 1)]
    assert answers[0] == 401
    assert answers[-1] == 429
    right = APIClient().post(TOKENS, {**guess, "password": PASSWORD})
    assert right.status_code == 429
    assert right["Content-Type"] == "application/problem+json"
    assert right.json()["code"] == "locked-out"
    elsewhere = APIClient(REMOTE_ADDR="198.51.100.7").post(TOKENS, {**guess, "password": PASSWORD})
    assert elsewhere.status_code == 201


def test_a_wrong_name_and_a_wrong_password_are_answered_alike():
    make_user("lead", username="known")
    answers = [APIClient().post(TOKENS, {"name": "t", "username": name, "password": "guessed"}).json()
               for name in ("known", "unknown")]
    assert answers[0] == answers[1]


@pytest.fixture
def clock(monkeypatch) -> list[float]:
    """The time that throttles see: 50 seconds into a minute."""
    now = [6_000_050.0]
    monkeypatch.setattr(throttles, "time", lambda: now[0])
    return now


def test_who_asks_too_often_is_told_when_to_come_back(settings, clock):
    settings.RATES = {**settings.RATES, "writes": 2}
    client, other = signed_in(make_user("office")), signed_in(make_user("office"))
    answers = [client.post("/api/v1/parties/", {}) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [422, 422, 429]
    assert answers[-1]["Retry-After"] == "10"
    assert answers[-1].json()["code"] == "too-often"
    assert other.post("/api/v1/parties/", {}).status_code == 422
    clock[0] += 10
    assert client.post("/api/v1/parties/", {}).status_code == 422


def test_reads_are_counted_by_samples(settings, clock, monkeypatch):
    settings.RATES = {**settings.RATES, "reads": 2 * throttles.SAMPLED}
    client = signed_in(make_user("guest"))
    monkeypatch.setattr(throttles, "randrange", lambda _: 1)
    assert {client.get("/api/v1/openings/").status_code for _ in range(5)} == {200}
    monkeypatch.setattr(throttles, "randrange", lambda _: 0)
    assert [client.get("/api/v1/openings/").status_code for _ in range(3)] == [200, 200, 429]


def test_tokens_are_asked_for_sparingly_from_one_address(settings, clock):
    settings.RATES = {**settings.RATES, "tokens": 1}
    answers = [APIClient().post(TOKENS, {"name": "t"}).status_code for _ in range(2)]
    assert answers == [401, 429]
    assert APIClient(REMOTE_ADDR="198.51.100.7").post(TOKENS, {"name": "t"}).status_code == 401


def test_a_cache_that_is_away_lets_requests_pass(monkeypatch):

    def gone(*args: object, **kwargs: object) -> None:
        raise Gone("away")

    monkeypatch.setattr(throttles.cache, "add", gone)
    assert signed_in(make_user("guest")).post("/api/v1/parties/", {}).status_code == 403


# --- sessions -------------------------------------------------------------------------------------------------------


def test_entries_of_one_person_are_not_taken_in_while_another_is_signed_in():
    mine, theirs = make_user("office"), make_user("office")
    client = signed_in(theirs)
    sent = {"entries": [{"id": "019f5d00-0000-7000-8000-000000000001", "entry": "event", "opening": make_opening().pk,
                         "data": {"kind": "re-pour"}}]}
    for person, status in ((mine.pk, 409), (theirs.pk, 200)):
        response = client.post("/api/v1/site-entries/", sent, format="json", HTTP_SILLBOOK_PERSON=str(person))
        assert response.status_code == status
        assert (response.json().get("code") == "other-person") == (status == 409)
    assert Event.objects.get().by == theirs


def test_a_page_from_before_the_last_sign_in_is_told_so_and_nothing_is_done():
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(make_user("office"))
    response = client.post("/api/v1/site-entries/", {"entries": []}, format="json")
    assert response.status_code == 403
    assert response.json()["code"] == "stale-page"
