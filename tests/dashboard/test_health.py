"""/health/ says who is alive, to anybody, and nothing more."""

import pytest
from django.db import OperationalError

from dashboard import pulse

ALIVE = {"ok": True, "database": True, "broker": True, "worker": True, "beat": True}


def all_alive() -> None:
    for who in (pulse.WORKER, pulse.BEAT):
        pulse.mark(who)


@pytest.mark.database
def test_everything_alive_is_200(client, db, broker_url):
    all_alive()
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()) == (200, ALIVE)
    assert answer["Cache-Control"] == "no-store"


@pytest.mark.parametrize(("silent", "named"), [(pulse.WORKER, "worker"), (pulse.BEAT, "beat")])
def test_one_that_left_no_mark_is_503(client, db, broker_url, silent, named):
    all_alive()
    with pulse.client() as broker:
        broker.delete(silent)
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()) == (503, {**ALIVE, "ok": False, named: False})


def test_a_mark_fades(broker_url):
    pulse.mark(pulse.BEAT)
    with pulse.client() as broker:
        assert 0 < broker.ttl(pulse.BEAT) <= pulse.FADES_AFTER


def test_a_broker_that_does_not_answer_is_503(client, db, settings, tmp_path):
    settings.REDIS_URL = f"unix://{tmp_path}/nobody"
    answer = client.get("/health/")
    assert answer.status_code == 503
    assert answer.json() == {"ok": False, "database": True, "broker": False, "worker": False, "beat": False}


def test_a_database_that_does_not_answer_is_503_without_its_reasons(client, db, broker_url, monkeypatch):
    class Away:
        def cursor(self) -> None:
            raise OperationalError("password authentication failed for user sillbook")

    all_alive()
    monkeypatch.setattr(pulse, "connection", Away())
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()) == (503, {**ALIVE, "ok": False, "database": False})


def test_it_is_for_reading_only(client):
    assert client.post("/health/").status_code == 405
