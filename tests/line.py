"""The line between a telephone and the office, with what it does to requests on the way. It lies before the real
server, so that whoever sends is struck: the page as much as what sends while no page is open."""

from __future__ import annotations

import io
import json
import socket
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

PATIENCE = 20  # seconds
CONNECTION = "line.connection"
STRUCK = ("/api/v1/site-entries/", "/api/v1/photos/")

Answer = tuple[str, list[tuple[str, str]], bytes]
Fault = Callable[[Callable[[dict], Answer], dict], Answer]


class Line:
    def __init__(self, server: Any) -> None:
        self.office, self.fault, self.hit = server.get_app(), None, threading.Event()
        server.set_app(self)

        class WithItsConnection(server.RequestHandlerClass):
            def get_environ(self) -> dict:
                return {**super().get_environ(), CONNECTION: self.connection}
        server.RequestHandlerClass = WithItsConnection

    def __call__(self, environ: dict, start: Any) -> Iterable[bytes]:
        fault = self.fault
        if fault is None or environ["PATH_INFO"] not in STRUCK:
            return self.office(environ, start)
        sent = environ["wsgi.input"].read(int(environ.get("CONTENT_LENGTH") or 0))
        status, headers, body = fault(self._asked, with_body(environ, sent))
        start(status, headers)
        self.hit.set()
        return cut_off(body, headers, environ[CONNECTION])

    def _asked(self, environ: dict) -> Answer:
        said: list[Any] = []
        answer = self.office(environ, lambda status, headers, *_: said.extend((status, headers)))
        try:
            return said[0], said[1], b"".join(answer)
        finally:
            answer.close()

    @contextmanager
    def struck_by(self, fault: Fault) -> Iterator[None]:
        """Until at least one request was."""
        self.hit.clear()
        self.fault = fault
        try:
            yield
            assert self.hit.wait(PATIENCE), "nothing was sent"
        finally:
            self.fault = None


def with_body(environ: dict, sent: bytes) -> dict:
    return {**environ, "wsgi.input": io.BytesIO(sent), "CONTENT_LENGTH": str(len(sent))}


def cut_off(body: bytes, headers: list[tuple[str, str]], connection: socket.socket) -> Iterator[bytes]:
    """Where more was promised than there is, the connection breaks."""
    yield body
    if int(dict(headers).get("Content-Length", len(body))) > len(body):
        connection.shutdown(socket.SHUT_RDWR)
        raise ConnectionAbortedError


# ---- what it may do ----------------------------------------------------------------------------------------


def says(status: str, body: Any = None, kind: str = "application/json") -> Fault:
    """Answered by somebody, but not by the office."""
    said = body.encode() if isinstance(body, str) else json.dumps(body or {}).encode()
    return lambda _asked, _environ: (status, [("Content-Type", kind), ("Content-Length", str(len(said)))], said)


def answer_lost(asked: Callable, environ: dict) -> Answer:
    """The office took it in; of its answer a few bytes arrive."""
    status, headers, body = asked(environ)
    return status, headers, body[:7]


def request_cut(asked: Callable, environ: dict) -> Answer:
    return asked(with_body(environ, (sent := environ["wsgi.input"].read())[: len(sent) // 2]))


def half_answered(asked: Callable, environ: dict) -> Answer:
    """Of a batch the answer names the first half."""
    status, headers, body = asked(environ)
    results = json.loads(body).get("results")
    return status, headers, body if results is None else _fit(headers, {"results": results[: len(results) // 2]})


def _fit(headers: list[tuple[str, str]], told: Any) -> bytes:
    body = json.dumps(told).encode()
    headers[:] = [(name, str(len(body)) if name == "Content-Length" else value) for name, value in headers]
    return body


def in_turn(*faults: Fault | None) -> Fault:
    """One after the other, over and over; None lets it pass."""
    n = -1

    def next_one(asked: Callable, environ: dict) -> Answer:
        nonlocal n
        n += 1
        fault = faults[n % len(faults)]
        return asked(environ) if fault is None else fault(asked, environ)
    return next_one


class Slow:
    """Takes it in at once and answers when told to."""

    def __init__(self) -> None:
        self.go = threading.Event()

    def __call__(self, asked: Callable, environ: dict) -> Answer:
        answer = asked(environ)
        self.go.wait(PATIENCE)
        return answer
