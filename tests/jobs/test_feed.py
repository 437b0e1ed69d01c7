"""Whoever reads the feed by position, as far as they got, never misses a change, however many write at once."""

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as StillWaiting
from typing import Any

import pytest
from django.db import connection, transaction

from jobs.acts import Act, carry_out, position
from jobs.models import Change
from tests.factories import act_for

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]
WRITERS, ACTS_EACH = 8, 25
MOST_WAIT = 30  # seconds; only a failure waits so long


class BrokeOff(Exception):
    pass


@pytest.fixture
def act() -> Act:
    return act_for("office")


@pytest.fixture
def beside() -> Iterator[Callable[..., Future]]:
    """Runs a function on a thread and a database connection of its own."""
    with ThreadPoolExecutor(WRITERS) as pool:
        yield lambda work, *given: pool.submit(_with_own_connection, work, *given)


def _with_own_connection(work: Callable[..., Any], *given: Any) -> Any:
    try:
        return work(*given)
    finally:
        connection.close()


def write(act: Act, *names: str, broken_off: bool = False) -> None:
    with carry_out(act) as done:
        for name in names:
            done.note(act, "tried", "tests", name)
        if broken_off:
            raise BrokeOff


def write_many(act: Act, writer: int) -> None:
    """One, two or three lines an act; every fifth act breaks off and leaves nothing."""
    for n in range(ACTS_EACH):
        names = [f"{writer}.{n}.{line}" for line in range(n % 3 + 1)]
        try:
            write(act, *names, broken_off=n % 5 == 4)
        except BrokeOff:
            continue


def expected() -> set[str]:
    return {f"{writer}.{n}.{line}" for writer in range(WRITERS) for n in range(ACTS_EACH) if n % 5 != 4
            for line in range(n % 3 + 1)}


class Reader:
    """Reads on from the last position it saw."""

    def __init__(self) -> None:
        self.at = 0
        self.seen: list[str] = []

    def read(self) -> list[str]:
        new = list(Change.objects.filter(position__gt=self.at).order_by("position")[:50])
        self.at = new[-1].position if new else self.at
        self.seen += [change.record_id for change in new]
        return [change.record_id for change in new]


def test_a_reader_that_polls_while_many_write_skips_nothing_and_sees_nothing_twice(act, beside):
    reader = Reader()
    at_work = [beside(write_many, act, writer) for writer in range(WRITERS)]
    while not all(future.done() for future in at_work):
        reader.read()
    for future in at_work:
        future.result()
    while reader.read():
        pass
    assert len(reader.seen) == len(expected())
    assert set(reader.seen) == expected()


def test_positions_have_no_holes_though_some_acts_broke_off(act, beside):
    for future in [beside(write_many, act, writer) for writer in range(WRITERS)]:
        future.result()
    positions = list(Change.objects.order_by("position").values_list("position", flat=True))
    assert positions == list(range(1, len(expected()) + 1))
    assert position() == len(expected())


def test_the_lines_of_one_act_stay_together_in_their_order(act, beside):
    for future in [beside(write_many, act, writer) for writer in range(WRITERS)]:
        future.result()
    in_feed = list(Change.objects.order_by("position").values_list("record_id", flat=True))
    for at, name in enumerate(in_feed):
        act_of, line = name.rsplit(".", 1)
        assert line == "0" or in_feed[at - 1] == f"{act_of}.{int(line) - 1}"


def test_who_comes_second_waits_until_the_first_has_committed(act, beside):
    written, may_commit = threading.Event(), threading.Event()

    def slowly() -> None:
        with transaction.atomic():
            write(act, "first")
            written.set()
            assert may_commit.wait(MOST_WAIT)

    reader = Reader()
    first = beside(slowly)
    assert written.wait(MOST_WAIT)
    second = beside(write, act, "second")
    try:
        with pytest.raises(StillWaiting):
            second.result(timeout=0.2)
        assert reader.read() == [], "had the second committed, the reader would pass over the first"
    finally:
        may_commit.set()
    first.result()
    second.result()
    assert reader.read() == ["first", "second"]


def test_who_comes_second_goes_on_when_the_first_gives_up(act, beside):
    written, may_give_up = threading.Event(), threading.Event()

    def given_up() -> None:
        with transaction.atomic():
            write(act, "first")
            written.set()
            assert may_give_up.wait(MOST_WAIT)
            raise BrokeOff

    first = beside(given_up)
    assert written.wait(MOST_WAIT)
    second = beside(write, act, "second")
    may_give_up.set()
    with pytest.raises(BrokeOff):
        first.result()
    second.result()
    assert list(Change.objects.values_list("position", "record_id")) == [(1, "second")]


def test_the_very_first_change_may_come_from_two_at_once(act, beside):
    together = threading.Barrier(2)

    def at_once(name: str) -> None:
        together.wait(MOST_WAIT)
        write(act, name)

    for future in [beside(at_once, name) for name in ("one", "other")]:
        future.result()
    assert sorted(Change.objects.values_list("record_id", flat=True)) == ["one", "other"]
    assert position() == 2


def test_an_act_within_an_act_that_breaks_off_takes_only_its_own_lines_with_it(act):
    with carry_out(act) as done:
        done.note(act, "tried", "tests", "outer")
        with pytest.raises(BrokeOff):
            write(act, "inner", broken_off=True)
        write(act, "another")
    assert list(Change.objects.order_by("position").values_list("record_id", flat=True)) == ["outer", "another"]
