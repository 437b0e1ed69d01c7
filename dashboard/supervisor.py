"""Runs web server, worker, beat and broker as one tree: started together, stopped together, nothing left behind.

honcho starts them, merges what they print and stops them. Added here: a process that dies is started again, the broker
goes last, and on Linux every process ends with the one above it, even when that one was killed outright.
"""

import ctypes
import fcntl
import multiprocessing
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from honcho.manager import Manager
from honcho.process import Process

CODE = str(Path(__file__).resolve().parent.parent)
BROKER = "broker"
SOON = 10  # seconds; a process that does not live so long stumbled
STUMBLES = 3  # as many in a row, and it is given up
PR_SET_PDEATHSIG = 1
# A setting of the whole machine that matters to servers of many gigabytes: nobody has to act on it for our queue.
NOISE = (b"Memory overcommit must be enabled",)

Commands = dict[str, list[str]]


class CannotStart(Exception):
    """Why nothing was started, in a sentence."""


def hold(folder: Path) -> int:
    """Takes the data folder for this process and its children until they end; the number of the open lock file."""
    lock = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(lock)
        raise CannotStart(f"Sillbook already runs on the folder {folder}; stop it, or set SILLBOOK_DATA.") from None
    return lock


def check_free(host: str, port: int) -> None:
    """Raises CannotStart where nobody could listen there."""
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, kind, protocol) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except OSError as error:
        raise CannotStart(f"Cannot listen on {host}, port {port} ({error.strerror}); set PORT or BIND.") from None


def run(commands: Commands) -> int:
    """Runs the commands until one gives up or we are told to stop; 0 when told, else 1."""
    # What is written below hands its state to children by forking; newer Pythons would start them afresh.
    multiprocessing.set_start_method("fork", force=True)
    tree = Tree()
    # Found from wherever we were started; the folder stays, as paths in the environment may be relative to it.
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, [CODE, os.environ.get("PYTHONPATH")]))}
    for name, command in commands.items():
        tree.add_process(name, command, env=environment)
    signal.signal(signal.SIGHUP, lambda *_: os.kill(os.getpid(), signal.SIGTERM))
    try:
        tree.loop()
    except OSError as error:  # what we print to is gone
        tree.kill()
        print(f"Stopped: {error}", file=sys.stderr)  # noqa: T201
        return 1
    return 0 if tree.told_to_stop else 1


class Tree(Manager):
    """A honcho manager that restarts what dies and lets the broker outlive those that need it."""

    def __init__(self) -> None:
        super().__init__()
        self._stopping = multiprocessing.Event()
        self._process_ctor = partial(Kept, stopping=self._stopping)
        self._asked_early = False
        self._broker_asked = False

    @property
    def told_to_stop(self) -> bool:
        return self.returncode in (128 + signal.SIGINT, 128 + signal.SIGTERM)

    def terminate(self) -> None:
        self._stopping.set()
        if self._all_started():
            super().terminate()
        else:  # there is nothing to send a signal to yet
            self._asked_early = True

    def _all_started(self) -> bool:
        started = super()._all_started()
        if started and self._asked_early:
            self._asked_early = False
            super().terminate()
        return started

    def _all_stopped(self) -> bool:
        running = self._running()
        if running == {BROKER} and self._terminating and not self._broker_asked:
            self._broker_asked = True
            self._killall()
        return not running

    def _any_stopped(self) -> bool:
        return len(self._running()) < len(self._processes)

    def _running(self) -> set[str]:
        return {name for name, it in self._processes.items() if "returncode" not in it and it["process"].is_alive()}

    def _killall(self, force: bool = False) -> None:
        end = self._procmgr.kill if force else self._procmgr.terminate
        running = self._running()
        for name in running - {BROKER} or running:
            end(self._processes[name]["pid"])


class Kept(Process):
    """Runs one command in a process group of its own, and again when it dies without having been asked to."""

    def __init__(self, *args: Any, stopping: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._stopping = stopping
        self._end_with_supervisor = end_with_parent(signal.SIGKILL)

    def run(self, events: Any = None, ignore_signals: bool = False) -> None:
        self._events = events
        self._end_with_supervisor()
        for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            # A function and not SIG_IGN: what is ignored stays ignored in the command, a function does not.
            signal.signal(name, lambda *_: None)
        self._send_message({"returncode": self._live_on()}, type="stop")

    def _live_on(self) -> int:
        stumbles = 0
        while True:
            began = time.monotonic()
            returncode = self._live_once()
            stumbles = stumbles + 1 if time.monotonic() - began < SOON else 0
            if self._stopping.is_set() or stumbles >= STUMBLES:
                return returncode
            self._send_message(f"ended by itself ({returncode}), is started again\n")
            if self._stopping.wait(1):
                return returncode

    def _live_once(self) -> int:
        child = subprocess.Popen(  # noqa: S603  (our own commands)
            self.cmd,
            env=self.env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            start_new_session=True,
            preexec_fn=end_with_parent(signal.SIGTERM),  # noqa: PLW1509  (no threads here)
        )
        self._send_message({"pid": child.pid}, type="start")
        for line in child.stdout or ():
            if not any(noise in line for noise in NOISE):
                self._send_message(line)
        return child.wait()


def end_with_parent(with_signal: int) -> Callable[[], None]:
    """What a child of this process calls to get the signal when this process ends; does something on Linux only."""
    if not sys.platform.startswith("linux"):
        return lambda: None
    libc, parent = ctypes.CDLL(None), os.getpid()

    def arrange() -> None:
        libc.prctl(PR_SET_PDEATHSIG, with_signal)
        if os.getppid() != parent:  # it ended before we asked
            os.kill(os.getpid(), with_signal)

    return arrange
