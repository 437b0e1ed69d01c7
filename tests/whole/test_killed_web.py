"""The web process is killed while telephones send what they kept; they send again what nobody acknowledged.

What must come out is always the same: everything acknowledged is there, and everything is there once.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import uuid
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import Any

import psutil
import pytest
from django.db import connection
from django.utils import timezone

from inspections.services.entries import HAD, STORED
from jobs.acts import Act
from jobs.models.base import new_id
from jobs.services.tokens import make_token
from tests.running import ROOT, environment, free_port
from tests.site import Site, floor

TABLES = {"inspection": "inspections_inspection", "confirmation": "inspections_confirmation",
          "punch-item": "inspections_punchitem", "time-report": "jobs_timereport", "event": "jobs_event"}
BROKE_OFF = (ConnectionError, http.client.HTTPException, OSError)


class Web:
    """The web server alone, as the supervisor starts it; its workers are made by forking, and come back soon."""

    def __init__(self, data: Path) -> None:
        self.data, self.port = data, free_port()
        self.start()

    def start(self) -> None:
        with (self.data / "printed").open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "gunicorn", "tests.warm", "--bind", f"127.0.0.1:{self.port}", "--preload",
                 "--workers", "1", "--worker-class", "gthread", "--threads", "4", "--no-control-socket",
                 "--log-level", "critical"],
                env=environment(self.data, self.port), cwd=ROOT, stdout=log, stderr=log, start_new_session=True)

    def kill(self, all_of_it: bool) -> None:
        """The process that is at work, or the whole server, which somebody then starts again."""
        if not all_of_it:
            for worker in psutil.Process(self.process.pid).children():
                worker.kill()
            return
        self.end()
        self.start()

    def end(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(10)


class Telephone:
    """Sends its entries batch by batch; a batch that was not acknowledged is sent again as it is."""

    def __init__(self, web: Web, secret: str, site: Site) -> None:
        self.web, self.site, self.secret = web, site, secret
        self.step = site.opening.work_steps.first().pk
        self.sent: dict[str, str] = {}  # id: kind
        self.told: dict[str, Counter[str]] = {}
        self.broken_off = 0

    def batch(self) -> list[dict[str, Any]]:
        """Something of everything, and what only the first of two could do right: numbers, sums."""
        pk = self.site.opening.pk
        entries = [
            {"entry": "inspection", "opening": pk, "data": {"kind": "floor-profile", "given": floor([0, 1, 0])}},
            {"entry": "confirmation", "opening": pk, "data": {"check_code": "header-in", "answer": "yes"}},
            {"entry": "punch-item", "opening": pk, "data": {
                "what": "dent", "owner_id": self.site.lead.pk, "due_day": "2026-03-20"}},
            {"entry": "time-report", "work_step": self.step, "data": {"day": "2026-03-10", "minutes": 10}},
            {"entry": "event", "opening": pk, "data": {"kind": "other-trades"}},
        ]
        entries = [{"id": str(new_id()), **entry} for entry in entries]
        self.sent.update({entry["id"]: entry["entry"] for entry in entries})
        return entries

    def send(self, killing: threading.Timer | None = None) -> None:
        body = json.dumps({"entries": self.batch()})
        until = time.monotonic() + 60
        while time.monotonic() < until:
            answer = self._once(body, killing)
            if answer is not None:
                for one in answer["results"]:
                    self.told.setdefault(one["id"], Counter())[one["result"]] += 1
                return
            self.broken_off += 1
            killing = None
        raise AssertionError((self.web.data / "printed").read_text()[-3000:])

    def _once(self, body: str, killing: threading.Timer | None) -> dict[str, Any] | None:
        """The answer; None when there was none."""
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", self.web.port, timeout=20)) as line:
                line.request("POST", "/api/v1/site-entries/", body, {
                    "Content-Type": "application/json", "Authorization": f"Bearer {self.secret}"})
                if killing is not None:
                    killing.start()
                response = line.getresponse()
                content = response.read()
        except BROKE_OFF:
            self.wait_until_somebody_listens()
            return None
        assert response.status == 200, content[:500]
        return json.loads(content)

    def wait_until_somebody_listens(self) -> None:
        until = time.monotonic() + 30
        while time.monotonic() < until:
            try:
                with socket.create_connection(("127.0.0.1", self.web.port), timeout=1):
                    return
            except OSError:
                threading.Event().wait(0.02)


@pytest.fixture
def data(transactional_db: None, tmp_path: Path) -> Path:
    return tmp_path


def stream(data: Path, kills: int, dice: random.Random) -> list[Telephone]:
    """Two telephones send while the server is killed so many times, at any moment of a request."""
    sites = [Site("AB"), Site("AB")]
    secrets = [make_token(Act.of(site.lead, timezone.now()), name="telephone")[1] for site in sites]
    connection.ensure_connection()
    with closing(sqlite3.connect(data / "sillbook.sqlite3")) as copy:
        connection.connection.backup(copy)
    web = Web(data)
    try:
        one, other = (Telephone(web, secret, site) for secret, site in zip(secrets, sites, strict=True))
        one.wait_until_somebody_listens()
        with ThreadPoolExecutor(1) as beside:
            for n in range(kills):
                began = time.monotonic()
                one.send()
                killing = threading.Timer(dice.uniform(0, min(time.monotonic() - began, 0.2)), web.kill, [n % 10 == 4])
                meanwhile = beside.submit(other.send)
                one.send(killing)
                meanwhile.result()
                killing.join()
    finally:
        web.end()
    return [one, other]


def check(data: Path, telephones: list[Telephone]) -> None:
    sent = {key: kind for one in telephones for key, kind in one.sent.items()}
    told = {key: results for one in telephones for key, results in one.told.items()}
    assert told.keys() == sent.keys()
    assert all(results[STORED] + results[HAD] == 1 for results in told.values()), "each was acknowledged, once"
    with closing(sqlite3.connect(data / "sillbook.sqlite3")) as kept:
        assert kept.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        for kind, table in TABLES.items():
            found = [str(uuid.UUID(key)) for (key,) in kept.execute(f"SELECT id FROM {table}")]
            assert Counter(found) == Counter(key for key, of in sent.items() if of == kind)
        readings = kept.execute("SELECT count(*) FROM inspections_reading").fetchone()[0]
        assert readings == 6 * sum(kind == "inspection" for kind in sent.values())
        feed = kept.execute("SELECT position, record_id FROM jobs_change ORDER BY position").fetchall()
        assert [position for position, _ in feed] == list(range(1, len(feed) + 1))
        assert Counter(key for _, key in feed if key in sent) == Counter(sent.keys()), "one line of the feed each"
        for one in telephones:
            numbers = [n for (n,) in kept.execute("SELECT number FROM inspections_punchitem WHERE opening_id = ? "
                                                  "ORDER BY number", [one.site.opening.pk])]
            assert numbers == list(range(1, len(numbers) + 1))


def test_what_was_acknowledged_is_there_once_though_the_web_process_is_killed_twenty_times(data: Path) -> None:
    telephones = stream(data, 20, random.Random(7))
    assert sum(one.broken_off for one in telephones) > 5
    check(data, telephones)


@pytest.mark.long
def test_what_was_acknowledged_is_there_once_though_the_web_process_is_killed_two_hundred_times(data: Path) -> None:
    telephones = stream(data, 200, random.Random())
    assert any(results[HAD] for one in telephones for results in one.told.values()), "some were killed after the commit"
    check(data, telephones)
