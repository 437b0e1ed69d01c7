"""What has to be true before anything runs, and what then runs. Each thing that is in the way is one sentence."""

import json
import secrets
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.db import Error, connection, transaction
from django.utils import timezone
from redis.exceptions import RedisError

from dashboard import broker, environment, pulse, static_files
from dashboard.demo.company import SignIn
from dashboard.demo.making import make_demo
from dashboard.supervisor import BROKER, CannotStart, Commands, check_free, hold
from inspections.photos_store import keep
from jobs.roles import Role

FIRST_LOGIN = "office"
STARTING = 0x51_11_B0_0C  # the number of the lock, the same on every machine that uses one PostgreSQL


def get_ready() -> Commands:
    """Checks that everything can run, brings the database up to date; the commands to run. Raises CannotStart."""
    hold(settings.DATA)
    check_free(settings.BIND, settings.PORT)
    commands = {**_broker(), **_servers()}
    _bring_database_up_to_date()
    _collect_static_files()
    return commands


def address() -> str:
    """Where a browser finds the site."""
    host = "127.0.0.1" if settings.BIND in ("0.0.0.0", "::", "") else settings.BIND  # noqa: S104
    return f"http://[{host}]:{settings.PORT}/" if ":" in host else f"http://{host}:{settings.PORT}/"


def make_first_office_account() -> str | None:
    """The password of the first office account, when there was nobody yet who could sign in; else None."""
    users = get_user_model().objects
    with _one_at_a_time(), transaction.atomic():
        if users.exists():
            return None
        password = secrets.token_urlsafe(12)
        users.create_user(FIRST_LOGIN, password=password, name="Office", role=Role.OFFICE.value)
        return password


def demo_sign_ins(seed: int) -> list[SignIn]:
    """Who may sign in to the demo, which is made the first time; the same afterwards. Raises CannotStart."""
    kept = settings.DATA / "demo.json"
    if get_user_model().objects.exists():
        if kept.exists():
            return [SignIn(**one) for one in json.loads(kept.read_text(encoding="utf-8"))]
        raise CannotStart("The database holds real records; give the demo an empty one (DATABASE_URL, SILLBOOK_DATA).")
    with transaction.atomic():
        sign_ins = make_demo(timezone.now(), seed)
        # Before the demo is there for good: cut off in between, it is made again and this written anew.
        keep(kept, json.dumps([asdict(one) for one in sign_ins]).encode())
    return sign_ins


def _broker() -> Commands:
    if settings.OWN_BROKER:
        try:
            return {BROKER: broker.command(environment.broker_socket(settings.DATA))}
        except broker.NoBroker as error:
            raise CannotStart(str(error)) from None
    try:
        with pulse.client() as client:
            client.ping()
    except (RedisError, OSError) as error:
        raise CannotStart(f"The broker at REDIS_URL does not answer ({_first_line(error)}).") from None
    return {}


def _servers() -> Commands:
    python = [sys.executable, "-u", "-m"]
    # Celery warns root because of pickled messages; ours are JSON only.
    celery = [sys.executable, "-u", "-W", "ignore:You're running the worker", "-m", "celery", "-q", "-A",
              "dashboard.celery"]
    bind = f"[{settings.BIND}]" if ":" in settings.BIND else settings.BIND
    return {
        "web": [
            *python, "gunicorn", "dashboard.wsgi", "--bind", f"{bind}:{settings.PORT}", "--log-level", "warning",
            "--workers", str(settings.WEB_WORKERS), "--worker-class", "gthread", "--threads", "4",
            "--no-control-socket",
        ],
        "worker": [*celery, "worker", "--concurrency", "2", "--loglevel", "WARNING", "--without-gossip",
                   "--without-mingle"],
        "beat": [*celery, "beat", "--loglevel", "WARNING", "--pidfile", ""],
    }


def _bring_database_up_to_date() -> None:
    try:
        with _one_at_a_time():
            call_command("migrate", interactive=False, verbosity=0)
    except Error as error:
        raise CannotStart(
            f"The database cannot be used ({_first_line(error)}); check DATABASE_URL, or the data folder without it."
        ) from None
    finally:
        connection.close()


@contextmanager
def _one_at_a_time() -> Iterator[None]:
    """Of several machines that start on one PostgreSQL, the others wait. One data folder has one start anyhow."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT pg_advisory_lock(%s)", [STARTING])
        yield
        if connection.vendor == "postgresql":
            cursor.execute("SELECT pg_advisory_unlock(%s)", [STARTING])


def _collect_static_files() -> None:
    """Copies, compresses and names by content what browsers load, unless nothing changed since the last time."""
    seal, state = Path(settings.STATIC_ROOT) / ".sources", _static_sources()
    if not seal.exists() or seal.read_text(encoding="utf-8") != state:
        call_command("collectstatic", interactive=False, clear=True, verbosity=0)
        seal.write_text(state, encoding="utf-8")


def _static_sources() -> str:
    """Which files they are as they are now, and what makes of them what is sent."""
    files = [static_files.__file__, *(
        storage.path(name) for finder in get_finders() for name, storage in finder.list([]))]
    return "\n".join(sorted(f"{path} {Path(path).stat().st_mtime_ns}" for path in files))


def _first_line(error: Exception) -> str:
    return str(error).strip().partition("\n")[0].rstrip(".")
