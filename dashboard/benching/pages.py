"""Every page that people open, measured in the demo: with a short past and with a long one."""

from __future__ import annotations

import gzip
import re
import time
from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import unescape
from statistics import median
from urllib.parse import urlsplit

from django.db import connection
from django.db.models import Count
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import Resolver404, resolve, reverse

from dashboard.benching.past import copies
from dashboard.reports.known import REPORTS
from jobs.models import Opening, User
from jobs.roles import Role
from jobs.stages import Stage

LISTS = ("crew-progress", "needs-somebody", "crews-weeks", "jobs", "punch-items", "callbacks", "reminders",
         "door-systems", "equipment", "crews", "people")
OF_AN_OPENING = ("opening", "unit", "drawings", "assign", "call")
TIMES = 7
LINK = re.compile(r'<a\b[^>]*\bhref="(/[^"#]*)')
NO_PAGE = re.compile(r"^/(api|photos|static|repair)/|\.(pdf|csv|xlsx)$|/(letter|a4)/$")


@dataclass(frozen=True, slots=True)
class Measured:
    name: str
    milliseconds: float
    queries: int
    kilobytes: float  # as it travels


def pages(few: int, many: int) -> Iterator[tuple[Measured, Measured]]:
    """Each page with about so many openings in the past, and with so many: what was there before is still there."""
    accepted = Opening.objects.filter(stage=Stage.ACCEPTED.value).count()
    client, wanted = _signed_in(), dict(_addresses())
    wanted |= _others(client, wanted)
    short = max(1, few // accepted)
    copies(1, short)
    before = [_measured(client, name, path) for name, path in wanted.items()]
    copies(short + 1, many // accepted)
    for one in before:
        yield one, _measured(client, one.name, wanted[one.name])


def _signed_in() -> Client:
    client = Client(headers={"host": "127.0.0.1"})
    client.force_login(User.objects.filter(role=Role.OFFICE.value, is_active=True).earliest("pk"))
    return client


def _addresses() -> Iterator[tuple[str, str]]:
    """Of the opening with the most readings, and its job."""
    busiest = Opening.objects.annotate(read=Count("inspections")).latest("read", "pk")
    for name in LISTS:
        yield name, reverse(name)
    for name in OF_AN_OPENING:
        yield name, reverse(name, args=[busiest.pk])
    yield "job", reverse("job", args=[busiest.job_id])
    yield "find", f"{reverse('find')}?q={busiest.job.number}"
    for key in REPORTS:
        yield f"report {key}", reverse("report", args=[key])


def _others(client: Client, known: Mapping[str, str]) -> dict[str, str]:
    """Of every other kind of page one, as the links lead to it."""
    found: dict[str, str] = {}
    seen, waiting = set(known.values()), deque(known.values())
    while waiting:
        page = client.get(waiting.popleft()).content.decode()
        for path in map(unescape, LINK.findall(page)):
            kind = _kind(path)
            if path not in seen and kind and kind not in found and kind not in known and not NO_PAGE.search(path):
                seen.add(path)
                found[kind] = path
                waiting.append(path)
    return found


def _kind(path: str) -> str:
    try:
        return resolve(urlsplit(path).path).url_name or ""
    except Resolver404:
        return ""


def _measured(client: Client, name: str, path: str) -> Measured:
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(path)
    asked = len(queries)  # forgotten with the next request
    if answer.status_code != 200:
        raise RuntimeError(f"{path}: {answer.status_code}")
    taken = []
    for _ in range(TIMES):
        before = time.process_time()  # the database is in this process
        client.get(path)
        taken.append((time.process_time() - before) * 1000)
    return Measured(name, median(taken), asked, len(gzip.compress(answer.content)) / 1000)
