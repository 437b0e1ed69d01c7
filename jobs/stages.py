"""The stages of an opening, and which may follow which. A stage name says what is *done*."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    TO_BE_MEASURED = "to be measured"
    OPENING_VERIFIED = "opening verified"
    FRAME_SET = "frame set"
    PANELS_HUNG = "panels hung"
    ADJUSTED = "adjusted"
    SEALED = "sealed"
    PUNCH_LIST = "punch list"
    ACCEPTED = "accepted"


ORDER: tuple[Stage, ...] = tuple(Stage)
NUMBER: dict[Stage, int] = {stage: n for n, stage in enumerate(ORDER)}
TRANSITIONS: dict[Stage, Stage] = dict(zip(ORDER, ORDER[1:], strict=False))

# Stages that stand for work somebody is paid to do: one work step each.
WORKED: tuple[Stage, ...] = ORDER[1:]


def following(stage: Stage) -> Stage | None:
    return TRANSITIONS.get(stage)


def is_step_back(origin: Stage, to: Stage) -> bool:
    return NUMBER[to] < NUMBER[origin]


def undone_by(origin: Stage, to: Stage) -> tuple[Stage, ...]:
    """The stages that stepping back from `origin` to `to` re-opens, first to last."""
    return ORDER[NUMBER[to] + 1 : NUMBER[origin] + 1]
