"""Which server is the broker, how it is run, and a cache that may be away."""

import stat

import pytest
import redis

from dashboard import broker
from dashboard.cache import ForgivingRedisCache


@pytest.fixture
def no_wheel(monkeypatch):
    """A platform for which the package with the server does not exist."""
    monkeypatch.setattr(broker, "get_binary_path", None)


@pytest.mark.parametrize("there", ["valkey-server", "redis-server"])
def test_a_server_on_the_path_takes_the_place_of_the_packaged_one(no_wheel, monkeypatch, tmp_path, there):
    monkeypatch.setattr(broker.shutil, "which", {there: f"/usr/bin/{there}"}.get)
    assert broker.command(tmp_path / "socket")[0] == f"/usr/bin/{there}"


def test_where_there_is_none_it_says_what_to_install(no_wheel, monkeypatch, tmp_path):
    monkeypatch.setattr(broker.shutil, "which", lambda _: None)
    with pytest.raises(broker.NoBroker, match="install valkey-server or redis-server, or set REDIS_URL"):
        broker.command(tmp_path / "socket")


def test_only_the_owner_of_its_folder_can_speak_to_it(tmp_path):
    socket = tmp_path / "broker" / "socket"
    words = broker.command(socket)
    assert words[words.index("--port") + 1] == "0"
    assert stat.S_IMODE(socket.parent.stat().st_mode) == 0o700


def test_it_keeps_what_it_was_given_on_disk(broker_url):
    with redis.Redis.from_url(broker_url) as client:
        assert client.config_get("appendonly")["appendonly"] == "yes"
        assert client.config_get("maxmemory-policy")["maxmemory-policy"] == "noeviction"


def test_a_cache_whose_server_is_away_finds_nothing_and_breaks_nothing(tmp_path):
    away = ForgivingRedisCache(f"unix://{tmp_path}/nobody", {})
    away.set("seen", 1)
    assert away.get("seen", "not there") == "not there"
    assert away.delete("seen") is False


def test_a_cache_whose_server_answers_remembers(broker_url):
    cache = ForgivingRedisCache(broker_url, {})
    cache.set("seen", 1)
    assert cache.get("seen") == 1
    assert cache.delete("seen") is True
