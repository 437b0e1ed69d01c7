"""Two beats beside each other send everything once."""

import pytest
from celery import Celery

from dashboard import pulse
from dashboard.beat import LOCK, OnlyOneScheduler


@pytest.fixture
def beat(tmp_path, monkeypatch):
    """Makes beats that each write down what they send."""
    made = []

    def make() -> OnlyOneScheduler:
        app = Celery(broker="memory://", set_as_current=False)
        app.conf.beat_schedule = {"look round": {"task": "look_round", "schedule": 0.0}}
        beat = OnlyOneScheduler(app, schedule_filename=str(tmp_path / f"schedule-{len(made)}"), max_interval=5)
        beat.sent = []
        monkeypatch.setattr(beat, "send_task", lambda name, *_, **__: beat.sent.append(name))
        made.append(beat)
        return beat

    yield make
    for one in made:
        one.close()


def test_only_the_one_that_holds_the_lock_sends(beat, broker_url):
    first, second = beat(), beat()
    for _ in range(3):
        assert first.tick() == 0
        assert second.tick() == 5
    assert (first.sent, second.sent) == (["look_round"] * 3, [])


def test_the_other_takes_over_when_the_first_leaves(beat, broker_url):
    first, second = beat(), beat()
    first.tick()
    first.close()
    second.tick()
    assert second.sent == ["look_round"]


def test_one_whose_lock_ran_out_while_it_slept_stands_by(beat, broker_url):
    first, second = beat(), beat()
    first.tick()
    with pulse.client() as broker:
        broker.delete(LOCK)
    second.tick()
    assert first.tick() == 5
    assert (first.sent, second.sent) == (["look_round"], ["look_round"])


def test_it_waits_while_the_broker_is_away(beat, broker_url, settings, tmp_path):
    settings.REDIS_URL = f"unix://{tmp_path}/nobody"
    alone = beat()
    assert alone.tick() == 5
    assert alone.sent == []


def test_both_say_that_they_are_alive(beat, broker_url):
    beat().tick()
    with pulse.client() as broker:
        assert broker.get(pulse.BEAT)
