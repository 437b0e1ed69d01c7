"""The finishing steps of an opening's door system: which, in their order, and whether somebody said they are done."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.utils.translation import gettext as _

from dashboard import words
from dashboard.measures import Reader
from inspections.services.datums import unit_of
from inspections.services.facts import Facts
from inspections.services.looking import judge
from jobs.models import Opening

FINISHING = "finishing-steps"


@dataclass(frozen=True, slots=True)
class Finishing:
    steps: tuple[str, ...]
    done: bool
    said: str
    seen: str  # when, by whom, what they answered


def steps_of(opening: Opening) -> tuple[str, ...]:
    unit = unit_of(opening)
    return () if unit is None or unit.system is None else tuple(unit.system.finishing_steps)


def finishing_of(facts: Facts, now: dt.datetime, reader: Reader) -> Finishing | None:
    """None where the door system has none. They are confirmed together, as one check."""
    steps = steps_of(facts.opening)
    if not steps:
        return None
    asked = next((check for check in facts.checks if check.code == FINISHING), None)
    if asked is None:
        return Finishing(steps, done=False, said=_("no check asks for them"), seen="")
    said = words.check(judge(facts, asked, now)[0].as_dict(), reader)
    if said.passes:
        return Finishing(steps, done=True, said=_("done"), seen=said.seen)
    return Finishing(steps, done=False, said=_("not said to be done yet") if said.result == "missing" else said.said,
                     seen=said.seen)
