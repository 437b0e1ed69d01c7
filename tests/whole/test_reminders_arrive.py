"""Reminders with nothing pretended: a mail server, a broker, workers and beats as processes; workers are killed.

What must come out is always the same: whom the mail server heard of are exactly those who were due; a message came
twice only where its worker was killed while handing it over, and then under the same Message-ID.
"""

import datetime as dt
import email
import email.policy
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import psutil
import pytest
import redis
from aiosmtpd.controller import Controller
from django.db import connection

from inspections.models import PunchItem
from jobs.models import OfficeSettings, User
from tests.factories import make_job, make_opening, make_user
from tests.running import ROOT, environment, free_port

COMES_BACK = 5  # seconds, instead of the minute that is shipped
CELERY = [sys.executable, "-W", "ignore", "-m", "celery", "-q", "-A", "dashboard.celery"]
BEFORE, AFTER = "before it was handed over", "after it was handed over"


class MailServer:
    """A real one. It may kill whoever is just talking to it: before it has the message, or when it has."""

    def __init__(self) -> None:
        self.got: list[tuple[str, str, str]] = []  # to whom, Message-ID, text
        self.killed: dict[str, list[str]] = {BEFORE: [], AFTER: []}
        self.kill: Callable[[str, int], str] = lambda to, so_far: ""
        self.on_kill: Callable[[], object] = lambda: None
        self._controller = Controller(self, hostname="127.0.0.1", port=free_port())

    async def handle_RCPT(self, server, session, envelope, address, options):
        envelope.rcpt_tos.append(address)
        envelope.fate = self.kill(address, len(self.got))
        if envelope.fate == BEFORE:
            self._kill(session, address, BEFORE)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        if envelope.fate == BEFORE:
            return "451 Who sent this is dead"
        letter = email.message_from_bytes(envelope.content, policy=email.policy.default)
        self.got += [(to, letter["Message-ID"], letter.get_body(["plain"]).get_content()) for to in envelope.rcpt_tos]
        if envelope.fate == AFTER:
            self._kill(session, envelope.rcpt_tos[0], AFTER)
        return "250 OK"

    def _kill(self, session, to: str, when: str) -> None:
        os.killpg(os.getpgid(who_has_port(session.peer[1])), signal.SIGKILL)
        self.killed[when].append(to)
        self.on_kill()

    def __enter__(self) -> "MailServer":
        self._controller.start()
        self.port = self._controller.port
        return self

    def __exit__(self, *_) -> None:
        self._controller.stop()


def who_has_port(port: int) -> int:
    ours = (process for process in psutil.Process().children(recursive=True))
    return next(process.pid for process in ours for link in process.net_connections("tcp") if link.laddr.port == port)


class Processes:
    """Workers and beats, each the head of a process group; the groups are ended when the test is."""

    def __init__(self, data: Path, **more: str) -> None:
        self.data = data
        self.environment = {**environment(data, free_port()), "DJANGO_SETTINGS_MODULE": "tests.hurried",
                            "TASK_COMES_BACK_AFTER": str(COMES_BACK), **more}
        self.running: dict[str, list[subprocess.Popen]] = {"worker": [], "beat": []}

    def worker(self) -> None:
        self._start("worker", "worker", "--concurrency", "1", "--loglevel", "WARNING", "--without-gossip",
                    "--without-mingle")

    def beat(self, *more: str) -> None:
        n = len(self.running["beat"])
        self._start("beat", "beat", "--pidfile", "", "-s", str(self.data / f"beat-{n}"), "--loglevel", "WARNING", *more)

    def _start(self, what: str, *words: str) -> None:
        with (self.data / "printed").open("ab") as log:
            self.running[what].append(subprocess.Popen([*CELERY, *words], env=self.environment, cwd=ROOT, stdout=log,
                                                       stderr=log, start_new_session=True))

    def keep_workers(self, number: int) -> None:
        self.running["worker"] = [worker for worker in self.running["worker"] if worker.poll() is None]
        for _ in range(number - len(self.running["worker"])):
            self.worker()

    def end(self) -> None:
        everyone = [process for some in self.running.values() for process in some]
        for process in everyone:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)
            process.wait(10)


@contextmanager
def running(data: Path, broker: str, server: MailServer) -> Iterator[Processes]:
    processes = Processes(data, REDIS_URL=broker, EMAIL_HOST="127.0.0.1", EMAIL_PORT=str(server.port),
                          DEFAULT_FROM_EMAIL="Sillbook <sillbook@marrow.example>")
    try:
        yield processes
    finally:
        processes.end()


def somewhere(hour: int) -> str:
    """A time zone where it is about this hour now, so that the test may run at any time of the day."""
    off = (hour - dt.datetime.now(dt.UTC).hour + 11) % 24 - 11  # from -11 to +12
    return f"Etc/GMT{-off:+d}"


def make_what_is_due(people: int) -> dict[str, int]:
    """A company at noon with open items; who must hear of how many."""
    noon, midnight = somewhere(12), somewhere(1)
    OfficeSettings.objects.create(pk=1, working_days="1111111", reminder_interval_days=30)
    opening = make_opening(make_job(time_zone=noon))
    today = dt.datetime.now(dt.UTC).date()
    due: Counter[str] = Counter()

    def item(owner: User, days_ago: int, **over) -> None:
        PunchItem.objects.create(opening=opening, number=opening.punch_items.count() + 1, what="Bead is torn", by=owner,
                                 owner=owner, due_day=today - dt.timedelta(days=days_ago),
                                 taken_at=dt.datetime.now(dt.UTC) - dt.timedelta(days=20), **over)

    for n in range(people):
        owner = make_user("installer", time_zone=noon)
        for _ in range(1 + n % 3):
            item(owner, days_ago=2 + n)
            due[owner.email] += 1
        item(owner, days_ago=-5)  # not due yet
        item(owner, days_ago=5, closed_at=dt.datetime.now(dt.UTC), closed_by=owner, closed_how="put right")
    office = make_user("office", time_zone=noon)
    item(make_user("installer", time_zone=noon, is_active=False), days_ago=3)
    item(make_user("lead", time_zone=midnight), days_ago=3)  # asleep
    due[office.email] = 1
    return dict(due)


@pytest.fixture
def data(transactional_db, tmp_path: Path) -> Path:
    return tmp_path


def hand_over_database(data: Path) -> None:
    """The test's own database, with what was put into it, becomes the one the processes work on."""
    connection.ensure_connection()
    with closing(sqlite3.connect(data / "sillbook.sqlite3")) as copy:
        connection.connection.backup(copy)


def states(data: Path) -> Counter[str]:
    with closing(sqlite3.connect(data / "sillbook.sqlite3", timeout=20)) as database:
        return Counter(state for (state,) in database.execute("SELECT state FROM inspections_message"))


def wait_until(true: Callable[[], bool], data: Path, seconds: float) -> None:
    until = time.monotonic() + seconds
    while not true():
        if time.monotonic() > until:
            raise AssertionError(f"{states(data)}\n{(data / 'printed').read_text()[-3000:]}")
        time.sleep(0.05)


def check_what_came(server: MailServer, due: dict[str, int]) -> None:
    ids = {to: {message_id for who, message_id, _ in server.got if who == to} for to, _, _ in server.got}
    came = Counter(to for to, _, _ in server.got)
    assert {to: text.count(", item ") for to, _, text in server.got} == due
    assert all(len(found) == 1 for found in ids.values()), "the same message has the same Message-ID"
    assert len({message_id for _, message_id, _ in server.got}) == len(due), "another message has another"
    assert came == Counter(due.keys()) + Counter(server.killed[AFTER]), "twice only where killed in the handover"


def test_everybody_hears_once_though_a_worker_is_killed_and_the_broker_forgets(data, broker_url):
    due = make_what_is_due(people=8)
    hand_over_database(data)
    with MailServer() as server, running(data, broker_url, server) as processes:
        server.kill = lambda to, so_far: AFTER if so_far == 3 and not server.killed[AFTER] else ""
        with redis.Redis.from_url(broker_url) as broker:
            server.on_kill = broker.flushall  # a broker that lost everything, in the worst moment
            processes.worker(), processes.worker()
            processes.beat(), processes.beat("-S", "celery.beat:PersistentScheduler")  # the second asks for no lock
            wait_until(lambda: states(data) == {"sent": len(due)}, data, seconds=60)
    assert len(server.killed[AFTER]) == 1
    check_what_came(server, due)


@pytest.mark.long
def test_everybody_hears_whatever_is_killed_and_whenever(data, broker_url):
    due = make_what_is_due(people=60)
    hand_over_database(data)
    dice = random.Random(1)
    with MailServer() as server, running(data, broker_url, server) as processes:
        server.kill = lambda to, so_far: dice.choices(["", BEFORE, AFTER], [80, 10, 10])[0]
        processes.beat(), processes.beat("-S", "celery.beat:PersistentScheduler")

        def all_sent() -> bool:
            processes.keep_workers(2)
            return states(data) == {"sent": len(due)}

        wait_until(all_sent, data, seconds=500)
    assert len(server.killed[BEFORE]) > 3
    assert len(server.killed[AFTER]) > 3
    check_what_came(server, due)
