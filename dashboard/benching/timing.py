"""Measuring: medians, and requests a second over a few connections kept open."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from statistics import median
from typing import Any


def milliseconds(work: Callable[[], Any], times: int = 5) -> float:
    """The median of so many runs."""
    taken = []
    for _ in range(times):
        before = time.perf_counter()
        work()
        taken.append((time.perf_counter() - before) * 1000)
    return median(taken)


@contextmanager
def served(application: str, workers: int = 2, **environment: str) -> Iterator[int]:
    """The application behind gunicorn as the product runs it; the port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "gunicorn", application, "--bind", f"127.0.0.1:{port}", "--workers", str(workers),
               "--worker-class", "gthread", "--threads", "4", "--log-level", "error", "--no-control-socket"]
    process = subprocess.Popen(command, env={**os.environ, **environment})  # noqa: S603
    try:
        _wait_for(port)
        yield port
    finally:
        process.terminate()
        process.wait(20)


def _wait_for(port: int) -> None:
    for _ in range(400):
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            time.sleep(0.05)
    raise TimeoutError("the server did not come up")


def requests_a_second(port: int, path: str, headers: Mapping[str, str], *, status: int = 200, connections: int = 4,
                      seconds: float = 2.0) -> float:
    """How many answers a second over these connections; each must have `status`."""
    _ask(port, path, headers, status, 0.4)  # warm
    counts: list[int] = []
    threads = [threading.Thread(target=lambda: counts.append(_ask(port, path, headers, status, seconds)))
               for _ in range(connections)]
    before = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if len(counts) < connections:
        raise RuntimeError(f"{path}: some connections failed")
    return sum(counts) / (time.perf_counter() - before)


def _ask(port: int, path: str, headers: Mapping[str, str], status: int, seconds: float) -> int:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    until, count = time.perf_counter() + seconds, 0
    while time.perf_counter() < until:
        connection.request("GET", path, headers=dict(headers))
        answer = connection.getresponse()
        body = answer.read()
        if answer.status != status:
            raise RuntimeError(f"{path}: {answer.status} {body[:300]!r}")
        count += 1
    connection.close()
    return count


def answer_to(port: int, path: str, headers: Mapping[str, str]) -> tuple[Mapping[str, str], bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.request("GET", path, headers=dict(headers))
    answer = connection.getresponse()
    return dict(answer.getheaders()), answer.read()
