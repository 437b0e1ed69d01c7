"""Openings driven at random through their stages, held after every step to a short model of the rules.

The model knows nothing of the code: it is the rules as they are told on site. To keep it short the checks are few: at
each stage one that may be passed over and goes stale, and one that guards against water.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from inspections.models import Acceptance, Check, Countersignature, HoldPoint, PunchItem, SetAsidePart
from inspections.services.closing import (
    accept_opening,
    close_punch_item,
    put_part_back,
    raise_punch_item,
    set_part_aside,
)
from inspections.services.gates import advance_opening, pass_over, release_hold_point, step_back
from inspections.services.inspecting import confirm
from inspections.services.looking import look_at, look_at_hold_point
from inspections.services.panels import handle_panel
from inspections.services.standing import countersign, settle
from inspections.services.waits import clear_wait, raise_wait
from inspections.services.work import note_event
from jobs.acts import Act
from jobs.errors import AlreadyHasOther, GateSaysNo, NotAllowed, Refusal, SomeoneWasFaster
from jobs.models import Change, Opening, StageChange, Tally, Wait
from jobs.models.base import new_id
from tests.factories import NOW, give_work, make_crew, make_opening, make_unit, make_user
from units.models import Panel, PanelChange

STAGES = ("to be measured", "opening verified", "frame set", "panels hung", "adjusted", "sealed", "punch list",
          "accepted")
FRAME_SET, PANELS_HUNG, ACCEPTED = 2, 3, 7
POCKET = "the pocket closes"
FRESH = 14  # days
LETTERS = "ABC"
CHECKED = (*STAGES[1:-1], POCKET)
PLAIN = {stage: f"plain-{n}" for n, stage in enumerate(CHECKED)}
WATER = {stage: f"water-{n}" for n, stage in enumerate(CHECKED)}
STAGE_OF = {code: stage for codes in (PLAIN, WATER) for stage, code in codes.items()}
ENOUGH = 60  # steps of one example


# ---- the rules, as they are told on site --------------------------------------------------------------------


@dataclass
class Seen:
    at: dt.datetime
    fine: bool


@dataclass
class Rules:
    """One opening. `seen` holds the latest that was recorded of each check; `ended` what no longer counts."""

    stage: int = 0
    seen: dict[str, Seen] = field(default_factory=dict)
    ended: dict[str, dt.datetime] = field(default_factory=dict)
    pocket_closed: bool = False
    panels: dict[str, str] = field(default_factory=lambda: dict.fromkeys(LETTERS, "expected"))
    broken: set[str] = field(default_factory=set)
    waits: list[Any] = field(default_factory=list)
    items: list[Any] = field(default_factory=list)  # open punch items
    parts: list[Any] = field(default_factory=list)  # parts in the van
    owed: dict[int, int] = field(default_factory=dict)  # countersignature -> the stage it would be put back to
    undone: set[int] = field(default_factory=set)  # countersignatures of moves that were stepped back over since
    kept: list[tuple[Any, int, Any]] = field(default_factory=list)  # not advanced: to which stage, subject to what
    moves: int = 0

    def counts(self, code: str, now: dt.datetime) -> bool:
        seen, ended = self.seen.get(code), self.ended.get(code)
        if seen is None or not seen.fine or (ended is not None and seen.at <= ended):
            return False
        return code in WATER.values() or now <= seen.at + dt.timedelta(days=FRESH)

    def lacking(self, stage: str, now: dt.datetime) -> set[str]:
        return {code for code in (PLAIN.get(stage), WATER.get(stage)) if code and not self.counts(code, now)}

    def all_hang(self) -> bool:
        return not self.broken and all(state in ("hung", "adjusted") for state in self.panels.values())

    def held(self, to: int) -> bool:
        """By what is no check, and nobody can pass over."""
        return (bool(self.waits) or to != self.stage + 1 or (to == PANELS_HUNG and not self.pocket_closed)
                or (to > PANELS_HUNG and bool(self.broken)))

    def may_advance(self, to: int, now: dt.datetime, subject_to: tuple = ()) -> bool:
        if to == ACCEPTED and (self.parts or set(self.items) - set(subject_to)):
            return False
        if to == PANELS_HUNG and not self.all_hang():
            return False
        return not self.held(to) and not self.lacking(STAGES[to], now)

    def may_be_passed_over(self, to: int, now: dt.datetime) -> bool:
        if self.held(to) or to == ACCEPTED or (to == PANELS_HUNG and not self.all_hang()):
            return False
        return self.lacking(STAGES[to], now) == {PLAIN[STAGES[to]]}

    def pocket_may_close(self, now: dt.datetime) -> bool:
        return self.stage >= FRAME_SET and not self.waits and not self.lacking(POCKET, now)

    def against_hanging(self, letter: str) -> bool:
        before = LETTERS[:LETTERS.index(letter)]
        waiting = any(self.panels[one] not in ("hung", "adjusted") for one in before)
        return self.stage < FRAME_SET or letter in self.broken or waiting or bool(self.waits)

    def against(self, letter: str, what: str) -> bool:
        start = {"receive": ("expected",), "hang": ("received",), "adjust": ("hung", "adjusted"),
                 "take-out": ("hung", "adjusted")}.get(what)
        return ((start is not None and self.panels[letter] not in start) or (what == "adjust" and letter in self.broken)
                or (what == "hang" and self.against_hanging(letter)))

    def move_on(self, to: int) -> None:
        self.stage, self.moves = to, self.moves + 1

    def move_back(self, to: int, now: dt.datetime, *, work_is_undone: bool = True) -> None:
        """What was done after `to` is to be done again; with the frame out, all that stood on it. A refused
        countersignature puts the opening back without undoing any work."""
        frame_out = to < FRAME_SET <= self.stage
        if work_is_undone:
            again = set(STAGES[to + 1:] if frame_out else STAGES[to + 1:self.stage + 1])
            again |= {POCKET} if to < FRAME_SET else set()
            self.ended.update({code: now for code, stage in STAGE_OF.items() if stage in again})
        if to < FRAME_SET:
            self.pocket_closed = False
        if to < FRAME_SET and work_is_undone:  # no panel hangs in a frame that is out
            self.panels = {one: "received" if was in ("hung", "adjusted") else was for one, was in self.panels.items()}
        self.undone |= {one for one, before in self.owed.items() if to <= before}
        self.stage, self.moves = to, self.moves + 1


# ---- the machine --------------------------------------------------------------------------------------------


def make_checks() -> None:
    """In place of those that are shipped."""
    Check.objects.exclude(judged_by__in=("panels", "punch-items", "set-aside-parts", "acceptance")).delete()
    for stage in CHECKED:
        Check.objects.create(code=PLAIN[stage], title="plain", stage=stage, judged_by="confirmed", fresh_days=FRESH)
        Check.objects.create(code=WATER[stage], title="water", stage=stage, judged_by="confirmed", guards="water")


class World:
    """Two openings side by side: what happens to one is nothing to the other."""

    def __init__(self) -> None:
        make_checks()
        self.lead, self.office = make_user("lead"), make_user("office")
        crew = make_crew(self.lead)
        self.openings = [make_opening().pk for _ in range(2)]
        self.panels: list[dict[str, int]] = []
        for opening in Opening.objects.filter(pk__in=self.openings).order_by("pk"):
            give_work(opening, crew)
            unit = make_unit(opening, LETTERS)
            self.panels.append(dict(Panel.objects.filter(unit=unit).values_list("letter", "pk")))


WORLD: list[World] = []
WHICH = st.sampled_from([0, 0, 0, 1])
TO = st.sampled_from([1, 1, 1, 1, 1, 2, 0, -1])  # stages on from where it stands
LATE = st.sampled_from([0, 0, 0, 3, 48])  # hours the telephone was without a signal


class Openings(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.within = transaction.atomic()
        self.within.__enter__()
        self.world = WORLD[0]
        self.rules = [Rules(), Rules()]
        self.now = NOW
        self.sent: list[tuple[Callable[[], Any], Callable[[], Any]]] = []
        self.touched: set[int] = {0, 1}

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.within.__exit__(None, None, None)

    # ---- acting ------------------------------------------------------------------------------------------

    def act(self, person: Any = None, late: int = 0) -> Act:
        """A minute later; `late` by the telephone's own clock, which it had with it when it was out of reach."""
        self.now += dt.timedelta(minutes=1)
        user = person or self.world.lead
        told = self.now - dt.timedelta(hours=late, seconds=30) if late else None
        return Act(user=user, role=user.role, now=self.now, device_time=told)

    def of(self, which: int) -> tuple[Rules, int]:
        self.touched.add(which)
        return self.rules[which], self.world.openings[which]

    def remember(self, again: Callable[[], Any], other: Callable[[], Any]) -> None:
        """What may be sent a second time, and what the same id must not be sent with."""
        self.sent.append((again, other))

    def try_to(self, work: Callable[[], Any], allowed: bool, *refusals: type[Refusal]) -> Any:
        if allowed:
            return work()
        with pytest.raises(refusals):
            work()
        return None

    # ---- what people do ----------------------------------------------------------------------------------

    @initialize(far=st.sampled_from([0, 0, 1, 1, 2, 3, 6]))
    def start_somewhere(self, far: int) -> None:
        for _ in range(far):
            self.all_is_looked_at(0, True)
            if self.rules[0].stage + 1 == PANELS_HUNG:
                self.the_pocket_closes(0)
                self.everything_is_hung(0)
            self.advance(0, 1, False)

    @rule(which=WHICH, code=st.sampled_from(sorted(STAGE_OF)), fine=st.booleans(), late=LATE)
    def look(self, which: int, code: str, fine: bool, late: int) -> None:
        rules, opening = self.of(which)
        act, entry, answer = self.act(late=late), new_id(), "yes" if fine else "no"
        confirm(act, opening, code, answer, entry_id=entry)
        if code not in rules.seen or act.taken_at >= rules.seen[code].at:
            rules.seen[code] = Seen(act.taken_at, fine)
        self.remember(lambda: confirm(self.act(), opening, code, answer, entry_id=entry),
                      lambda: confirm(self.act(), opening, code, answer, entry_id=entry, looked_at="elsewhere"))

    @rule(which=WHICH, plainly=st.booleans())
    def all_is_looked_at(self, which: int, plainly: bool) -> None:
        """All that the next gate asks, and the pocket, so that openings get on; or all but what may be passed over."""
        rules, opening = self.of(which)
        after = STAGES[rules.stage + 1:rules.stage + 2]
        fine = {WATER.get(stage): True for stage in after} | {PLAIN.get(stage): plainly for stage in after}
        if rules.stage == FRAME_SET:
            fine |= {WATER[POCKET]: True, PLAIN[POCKET]: True}
        for code in fine.keys() - {None}:
            confirm(self.act(), opening, code, "yes" if fine[code] else "no")
            rules.seen[code] = Seen(self.now, fine[code])

    @rule(which=WHICH, on=TO, on_site=st.booleans(), ready=st.booleans())
    def advance(self, which: int, on: int, on_site: bool, ready: bool = False) -> None:
        if ready:
            self.all_is_looked_at(which, True)
        rules, opening = self.of(which)
        to, entry = min(max(rules.stage + on, 0), ACCEPTED), new_id()
        passes = to != ACCEPTED and rules.may_advance(to, self.now + dt.timedelta(minutes=1))

        def work(to: int = to) -> StageChange:
            return advance_opening(self.act(), opening, to=STAGES[to], entry_id=entry, done_on_site=on_site)

        change = self.try_to(work, passes or on_site, GateSaysNo)
        if change is None:
            return
        assert change.advanced is passes
        if passes:
            rules.move_on(to)
        else:
            assert change.reasons
            rules.kept.append((entry, to, None))
        self.remember(work, lambda: work((to + 1) % len(STAGES)))

    @rule(which=WHICH, on=TO, by_lead=st.sampled_from([True, True, False]), ready=st.booleans())
    def pass_the_gate_over(self, which: int, on: int, by_lead: bool, ready: bool) -> None:
        if ready:
            self.all_is_looked_at(which, False)
        rules, opening = self.of(which)
        to, before, entry = min(max(rules.stage + on, 0), ACCEPTED), rules.stage, new_id()
        person = self.world.lead if by_lead else self.world.office

        def work(reason: str = "agreed on site") -> StageChange:
            return pass_over(self.act(person), opening, reason, to=STAGES[to], entry_id=entry)

        allowed = rules.may_be_passed_over(to, self.now + dt.timedelta(minutes=1))
        if self.try_to(work, allowed, NotAllowed, Refusal) is None:
            return
        rules.move_on(to)
        if by_lead:
            rules.owed[Countersignature.objects.get(change_id=entry).pk] = before
        self.remember(work, lambda: work("another reason"))

    @rule(which=WHICH, steps=st.sampled_from([1, 1, 2, 4, 0, -1]))
    def go_back(self, which: int, steps: int) -> None:
        rules, opening = self.of(which)
        to, entry, person = min(max(rules.stage - steps, 0), ACCEPTED), new_id(), self.world.lead

        def work(reason: str = "it comes out") -> StageChange:
            return step_back(self.act(person), opening, STAGES[to], reason, entry_id=entry)

        if self.try_to(work, to < rules.stage, Refusal) is not None:
            rules.move_back(to, self.now)
            self.remember(work, lambda: work("something else"))

    @precondition(lambda self: any(rules.owed for rules in self.rules))
    @rule(data=st.data(), give=st.booleans(), stale=st.integers(0, 5))
    def the_office_says_its_word(self, data: st.DataObject, give: bool, stale: int) -> None:
        which = data.draw(st.sampled_from([n for n in (0, 1) if self.rules[n].owed]))
        rules, _ = self.of(which)
        one = data.draw(st.sampled_from(sorted(rules.owed)))
        version = 1 + (stale == 0)
        done = self.try_to(lambda: countersign(self.act(self.world.office), one, give=give, reason="we looked",
                                               version=version), stale != 0, SomeoneWasFaster)
        if done is None:
            return
        before = rules.owed.pop(one)
        if not give and one not in rules.undone and rules.stage > before:
            rules.move_back(before, self.now, work_is_undone=False)
            assert done.put_back is not None
        with pytest.raises(SomeoneWasFaster):  # a word is given once
            countersign(self.act(self.world.office), one, give=not give, reason="again", version=version)

    def wait_for_somebody(self, which: int) -> None:
        rules, opening = self.of(which)
        entry = new_id()

        def work(what: str = "the floor") -> Wait:
            return raise_wait(self.act(), opening, what_for=what, owed_by_kind="builder", entry_id=entry)

        rules.waits.append(work().pk)
        self.remember(work, lambda: work("the wall"))

    def what_was_waited_for_comes(self, which: int) -> None:
        rules, _ = self.of(which)
        for wait in rules.waits:
            clear_wait(self.act(), wait, how="it came")
            clear_wait(self.act(), wait, how="it came twice")
        rules.waits.clear()

    @rule(which=WHICH, letter=st.sampled_from(LETTERS), on_site=st.booleans(),
          what=st.sampled_from(["receive", "hang", "hang", "adjust", "take-out", "damage", "replace"]))
    def handle(self, which: int, letter: str, what: str, on_site: bool) -> None:
        rules, _ = self.of(which)
        panel, entry = self.world.panels[which][letter], new_id()
        against = rules.against(letter, what)

        def work(reason: str = "so it was") -> PanelChange:
            return handle_panel(self.act(), panel, what, reason=reason, entry_id=entry, done_on_site=on_site)

        change = self.try_to(work, not against or on_site, GateSaysNo)
        if change is None:
            return
        assert change.advanced is not against
        if not against:
            self._handled(rules, letter, what)
        self.remember(work, lambda: work("so it was not"))

    def _handled(self, rules: Rules, letter: str, what: str) -> None:
        hung = rules.panels[letter] in ("hung", "adjusted")
        ends = {"receive": "received", "hang": "hung", "adjust": "adjusted", "take-out": "received",
                "replace": "received"}
        rules.panels[letter] = ends.get(what, rules.panels[letter])
        if what == "damage":
            rules.broken.add(letter)
        if what == "replace":
            rules.broken.discard(letter)
        if hung and rules.panels[letter] == "received" and rules.stage >= PANELS_HUNG:
            rules.move_back(FRAME_SET, self.now)

    @rule(which=WHICH)
    def everything_is_hung(self, which: int) -> None:
        """In order, so that openings get on."""
        rules, _ = self.of(which)
        for letter in LETTERS:
            steps = {"expected": ("receive", "hang"), "received": ("hang",)}.get(rules.panels[letter], ())
            for what in (*(("replace", "hang") if letter in rules.broken else steps),):
                if not rules.against(letter, what):
                    handle_panel(self.act(), self.world.panels[which][letter], what)
                    self._handled(rules, letter, what)

    @rule(which=WHICH)
    def the_pocket_closes(self, which: int) -> None:
        rules, opening = self.of(which)
        allowed = rules.pocket_closed or rules.pocket_may_close(self.now + dt.timedelta(minutes=1))
        if self.try_to(lambda: release_hold_point(self.act(), opening), allowed, GateSaysNo) is not None:
            rules.pocket_closed = True

    def others_were_in_the_opening(self, which: int) -> None:
        """What had a freshness, and was taken before, counts no longer; even if one hears of it hours later."""
        rules, opening = self.of(which)
        act = self.act(late=5)
        note_event(act, opening, "other-trades")
        for code in PLAIN.values():
            rules.ended[code] = max(act.taken_at, rules.ended.get(code, act.taken_at))

    def days_pass(self, which: int) -> None:
        self.now += dt.timedelta(days=FRESH - 1, hours=23)
        self.touched = {0, 1}

    @precondition(lambda self: any(rules.kept for rules in self.rules))
    @rule(data=st.data(), how=st.sampled_from(["advanced", "stands", "mistaken"]))
    def somebody_settles(self, data: st.DataObject, how: str) -> None:
        which = data.draw(st.sampled_from([n for n in (0, 1) if self.rules[n].kept]))
        rules, _ = self.of(which)
        kept, to, subject_to = one = data.draw(st.sampled_from(rules.kept))
        moves = how == "advanced" and rules.stage < to
        may = rules.may_advance(to, self.now + dt.timedelta(minutes=1), subject_to or ())
        allowed = not moves or (may and (to != ACCEPTED or subject_to is not None))
        if self.try_to(lambda: settle(self.act(), how=how, note="looked into", stage_change_id=kept), allowed,
                       GateSaysNo) is not None:
            rules.kept.remove(one)
            if moves:
                rules.move_on(to)

    def an_item_is_raised(self, which: int) -> None:
        rules, opening = self.of(which)
        entry = new_id()

        def work(what: str = "scratch") -> PunchItem:
            return raise_punch_item(self.act(), opening, what=what, owner_id=self.world.lead.pk, due_day=NOW.date(),
                                    entry_id=entry)

        rules.items.append(work().pk)
        self.remember(work, lambda: work("dent"))

    def items_are_closed(self, which: int) -> None:
        rules, _ = self.of(which)
        for item in rules.items:
            close_punch_item(self.act(), item, how="polished")
        rules.items.clear()

    def a_part_goes_into_the_van(self, which: int) -> None:
        rules, opening = self.of(which)
        rules.parts.append(set_part_aside(self.act(), opening, what="cover").pk)

    def parts_come_back(self, which: int) -> None:
        rules, _ = self.of(which)
        while rules.parts:
            put_part_back(self.act(), rules.parts.pop())

    @rule(which=WHICH, what=st.sampled_from([
        wait_for_somebody, what_was_waited_for_comes, what_was_waited_for_comes, others_were_in_the_opening, days_pass,
        an_item_is_raised, items_are_closed, a_part_goes_into_the_van, parts_come_back]))
    def something_else_happens(self, which: int, what: Callable[[Openings, int], None]) -> None:
        what(self, which)

    @rule(which=WHICH, named=st.booleans(), on_site=st.booleans())
    def the_owner_accepts(self, which: int, named: bool, on_site: bool) -> None:
        rules, opening = self.of(which)
        entry, subject_to = new_id(), tuple(rules.items) if named else ()
        passes = rules.may_advance(ACCEPTED, self.now + dt.timedelta(minutes=1), subject_to)

        def work(who: str = "The owner") -> StageChange:
            return accept_opening(self.act(), opening, accepted_by=who, how="signed", subject_to=subject_to,
                                  entry_id=entry, done_on_site=on_site)

        change = self.try_to(work, passes or on_site, GateSaysNo)
        if change is None:
            return
        assert change.advanced is passes
        if passes:
            rules.move_on(ACCEPTED)
            assert set(Acceptance.objects.get(change=change).subject_to.values_list("pk", flat=True)) == set(subject_to)
        else:
            rules.kept.append((entry, ACCEPTED, subject_to))
        self.remember(work, lambda: work("Somebody else"))

    @precondition(lambda self: self.sent)
    @rule(data=st.data())
    def a_telephone_sends_it_again(self, data: st.DataObject) -> None:
        """However long ago it was, and whatever has happened since: one record, and nothing moves."""
        again, other = data.draw(st.sampled_from(self.sent))
        before = self._counts()
        assert isinstance(again().pk, uuid.UUID)
        with pytest.raises(AlreadyHasOther):
            other()
        assert self._counts() == before

    def _counts(self) -> list[int]:
        return [model.objects.count() for model in (StageChange, PanelChange, Wait, PunchItem, Acceptance, Change,
                                                    Countersignature)]

    # ---- what must hold after every step -----------------------------------------------------------------

    @invariant()
    def the_record_says_what_the_rules_say(self) -> None:
        for which in sorted(self.touched):
            self._holds(self.rules[which], Opening.objects.get(pk=self.world.openings[which]))
        self.touched.clear()

    def _holds(self, rules: Rules, opening: Opening) -> None:
        assert opening.stage == STAGES[rules.stage]
        to = rules.stage + 1
        if to < ACCEPTED:
            gate = look_at(opening, self.now)
            assert gate.passes is rules.may_advance(to, self.now)
            assert gate.can_be_passed_over is rules.may_be_passed_over(to, self.now)
            failing = {o.code for o in gate.outcomes if not o.passes} - {"panels-in-order"}
            assert failing == rules.lacking(STAGES[to], self.now)
        assert look_at_hold_point(opening, self.now).passes is rules.pocket_may_close(self.now)
        assert HoldPoint.objects.filter(opening=opening, undone_at=None).exists() is rules.pocket_closed
        states = dict(Panel.objects.filter(unit__opening=opening).values_list("letter", "state"))
        assert states == rules.panels
        moved = StageChange.objects.filter(opening=opening, advanced=True)
        assert moved.count() == rules.moves
        assert moved.filter(countersignature__state="owed").count() == len(rules.owed)
        assert Wait.objects.filter(opening=opening, cleared_at=None).count() == len(rules.waits)
        assert PunchItem.objects.filter(opening=opening).still_open().count() == len(rules.items)
        assert SetAsidePart.objects.filter(opening=opening, back_at=None).count() == len(rules.parts)
        unsettled = StageChange.objects.filter(opening=opening, advanced=False, settlement=None)
        assert set(unsettled.values_list("pk", flat=True)) == {entry for entry, *_ in rules.kept}

    @invariant()
    def the_feed_has_no_holes(self) -> None:
        position = Tally.objects.values_list("position", flat=True).filter(pk=1).first() or 0
        assert Change.objects.count() == position


@pytest.fixture
def world(db: None) -> Iterator[World]:
    WORLD.append(World())
    yield WORLD[0]
    WORLD.clear()


UNHURRIED = {"deadline": None, "suppress_health_check": list(HealthCheck), "print_blob": False, "database": None}


def test_openings_keep_to_the_rules_whatever_people_do_in_whatever_order(world: World) -> None:
    run_state_machine_as_test(Openings, settings=settings(**UNHURRIED, max_examples=9, stateful_step_count=40,
                                                          derandomize=True))


@pytest.mark.long
def test_openings_keep_to_the_rules_through_long_lives_and_many_of_them(world: World) -> None:
    run_state_machine_as_test(Openings, settings=settings(**UNHURRIED, max_examples=600,
                                                          stateful_step_count=ENOUGH))
