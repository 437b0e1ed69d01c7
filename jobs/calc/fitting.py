"""Which objections to work that is given to a crew somebody still has to look at.

Work is given knowing what stands against it: that is kept beside it. What has come up since is nobody's decision yet.
Pencilled work that is about to begin has to be decided too, whatever was known. That an earlier stage is still to be
reached stands against nothing that is planned for later; on the day itself it does.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from jobs.calc.against import NOT_READY, WAY_IN_STOPS

Sent = Mapping[str, Any]  # an objection as it is kept: {"code", "values"}
SOON = timedelta(days=3)
NOT_ITS_TURN = "earlier-stage"


def standing(now: Iterable[Sent], *, start_day: date, today: date) -> list[Sent]:
    """What stands against it today, without what is only a matter of its turn."""
    said = (_but_its_turn(one) if start_day > today else one for one in now)
    return [one for one in said if one is not None]


def undecided(now: Iterable[Sent], given: Sequence[Sent], *, start_day: date, today: date, inked: bool) -> list[Sent]:
    """Of what stands against it, what nobody has decided on."""
    stands = standing(now, start_day=start_day, today=today)
    if not inked and start_day - today <= SOON:
        return stands
    return [one for one in stands if is_new(one, given)]


def is_new(one: Sent, given: Sequence[Sent]) -> bool:
    """Work that is less unready than it was is not newly so; nor are fewer panels that do not get in."""
    if one["code"] == NOT_READY:
        known = [reason for had in given if had["code"] == NOT_READY for reason in had["values"]["reasons"]]
        return any(reason not in known for reason in one["values"]["reasons"])
    if one["code"] == WAY_IN_STOPS:
        return not _stopped([one]) <= _stopped(given)
    return one not in given


def _stopped(found: Iterable[Sent]) -> set[tuple[str, str, str]]:
    """Cart, leg, panel."""
    return {(one["values"]["equipment"], stop["leg"], letter) for one in found if one["code"] == WAY_IN_STOPS
            for stop in one["values"]["stops"] for letter in stop["panels"]}


def _but_its_turn(one: Sent) -> Sent | None:
    if one["code"] != NOT_READY:
        return one
    reasons = [reason for reason in one["values"]["reasons"] if reason.get("reason") != NOT_ITS_TURN]
    return {**one, "values": {**one["values"], "reasons": reasons}} if reasons else None
