"""Sillbook itself, running as somebody would run it, for tests that look from outside."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import psutil

ROOT = Path(__file__).resolve().parent.parent
KEPT_FROM_US = ("PATH", "HOME", "LANG", "TMPDIR", "VIRTUAL_ENV")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def environment(data: Path | str, port: int | str, **more: str) -> dict[str, str]:
    """What a fresh shell would hold, and where this one keeps its things."""
    ours = {name: os.environ[name] for name in KEPT_FROM_US if name in os.environ}
    return {**ours, "SILLBOOK_DATA": str(data), "PORT": str(port), **more}


def manage(*words: str) -> list[str]:
    return [sys.executable, str(ROOT / "manage.py"), *words]


class Running:
    """`manage.py start` (or another command that stays) as a process tree. What it prints goes to a file."""

    def __init__(self, data: Path, *, command: str = "start", port: int | None = None, **more: str) -> None:
        self.port = port or free_port()
        self.data = data
        self.log = data.parent / f"{data.name}.log"
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                manage(command), env=environment(data, self.port, **more), stdout=log, stderr=log, cwd=data.parent
            )

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def printed(self) -> str:
        return self.log.read_text(encoding="utf-8")

    def health(self) -> dict[str, Any]:
        """What /health/ answers; nothing while nobody answers."""
        try:
            with urllib.request.urlopen(f"{self.address}/health/", timeout=5) as answer:
                return json.load(answer)
        except urllib.error.HTTPError as error:
            return json.load(error)
        except OSError:
            return {}

    def wait_until_alive(self, seconds: float = 60) -> dict[str, Any]:
        """Looks until all parts are alive; the last answer."""
        until = time.monotonic() + seconds
        while time.monotonic() < until and self.process.poll() is None:
            if (health := self.health()).get("ok"):
                return health
            time.sleep(0.05)
        raise AssertionError(f"Not alive: {self.health()}\n{self.printed()[-3000:]}")

    def tree(self) -> list[psutil.Process]:
        """The process and all below it."""
        top = psutil.Process(self.process.pid)
        return [top, *top.children(recursive=True)]

    def end(self, how: int = signal.SIGINT, seconds: float = 20) -> int:
        """Sends the signal to the process alone, as a terminal or a service manager would; its exit code."""
        self.process.send_signal(how)
        return self.process.wait(seconds)

    def __enter__(self) -> "Running":
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.end(signal.SIGTERM)
