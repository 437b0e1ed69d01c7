"""Lock jamb and interlocks: plumb, bow, twist, against each other, and what the panels' rollers must give for them.

- plumb: the worse of `edge` (top leans right) and `face` (top leans out) over the member's height.
- members apart: the offsets of the two, brought to the height of the taller, one less the other. A panel has to meet
  both: two that lean alike are parallel, however far out of plumb.
- roller use: a panel stands square on a sill of slope s, so beside a jamb that leans by `edge` over `height` its gap
  tapers by edge + s * height; to take it out one roller goes over the other by spacing * taper / height (the sine of
  a rigid body's turn, exact when the gap is read level). 1/8 in over 10 ft, rollers 1910 mm apart: 1.99 mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import Any

from inspections.calc import lines
from jobs.calc import reading
from jobs.calc.verdict import BadInput, Finding, Limit, Remedy, at_most

ONE_WAY = ("lock_jamb", "interlock")
TWO_WAY = ("interlock_left", "interlock_right")
WAYS = ("edge", "face")
OFFSETS = (*WAYS, "bow", "twist")
ASKED = (*WAYS, "bow")
NO_LIMIT = Limit(None, "no limit set")


@dataclass(frozen=True, slots=True)
class Member:
    """Offsets over `height` (bow at the middle of it), and where along the sill it stands, if that was said."""

    height: int
    edge: int | None = None
    face: int | None = None
    bow: int | None = None
    twist: int | None = None
    at: int | None = None


Members = Mapping[str, Member]


def read(sent: Any, unit: str) -> dict[str, Member]:
    sent = reading.mapping(sent or {}, "members")
    for name in sent:
        reading.choice(name, f"members.{name}", (*ONE_WAY, *TWO_WAY))
    members = {n: _member(sent[n], f"members.{n}", unit) for n in (*ONE_WAY, *TWO_WAY) if sent.get(n) is not None}
    if members.keys() & set(ONE_WAY) and members.keys() & set(TWO_WAY):
        raise BadInput("members", sorted(members), "a door has lock_jamb and interlock, or interlock_left and _right")
    return members


def _member(sent: Any, name: str, unit: str) -> Member:
    sent = reading.mapping(sent, name)
    for key in sent:
        reading.choice(key, f"{name}.{key}", ("height", "at", *OFFSETS))
    height = reading.length(reading.need(sent, "height", f"{name}."), f"{name}.height", unit=unit)
    if height == 0:
        raise BadInput(f"{name}.height", sent["height"], "say over what height it was read")
    lengths = {
        key: reading.length(sent[key], f"{name}.{key}", unit=unit, signed=True)
        for key in ("at", *OFFSETS) if sent.get(key) is not None
    }
    return Member(height, **lengths)


def missing(members: Members) -> Iterator[dict[str, Any]]:
    for name in TWO_WAY if members.keys() & set(TWO_WAY) else ONE_WAY:
        member = members.get(name)
        yield from (
            {"what": "member", "member": name, "read": key}
            for key in ASKED if member is None or getattr(member, key) is None
        )


# ---- judging -----------------------------------------------------------------------------------------------


def findings(members: Members, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    for name, member in members.items():
        yield from _plumb(name, member, limits)
    yield from _apart(members, limits)
    for name, member in members.items():
        yield from _one(f"member_bow_{name}", name, member.bow, limits.get("member_bow", NO_LIMIT), "straighten_member")
        yield from _one(f"member_twist_{name}", name, member.twist, limits.get("member_twist", NO_LIMIT),
                        "untwist_member")


def _plumb(name: str, member: Member, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    taken = {way: offset for way in WAYS if (offset := getattr(member, way)) is not None}
    if not taken:
        return
    way, offset = max(taken.items(), key=lambda one: abs(one[1]))
    where = {"member": name, "along": way, "top_leans": _leaning(way, offset)}
    yield at_most(f"member_plumb_{name}", abs(offset), limits.get("member_plumb", NO_LIMIT), where=where,
                  remedy=Remedy("plumb_the_member", {**where, "by_mm": abs(offset)}))


def _leaning(way: str, offset: int) -> str | None:
    positive, negative = ("right", "left") if way == "edge" else ("out", "in")
    return None if offset == 0 else positive if offset > 0 else negative


def apart(members: Members) -> dict[str, Fraction]:
    """The first of the two less the second, over the height of the taller, each way that was read at both."""
    return {way: between for pair in combinations(members.values(), 2) for way in WAYS
            if (between := _between(*pair, way)) is not None}


def _between(one: Member, other: Member, way: str) -> Fraction | None:
    offsets = getattr(one, way), getattr(other, way)
    if None in offsets:
        return None
    height = max(one.height, other.height)
    return Fraction(offsets[0] * height, one.height) - Fraction(offsets[1] * height, other.height)


def _apart(members: Members, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    between = apart(members)
    if between:
        way = max(between, key=lambda w: abs(between[w]))
        yield at_most("members_apart", abs(between[way]), limits.get("members_apart", NO_LIMIT),
                      where={"along": way, "members": list(members)}, remedy=Remedy("bring_members_parallel"))


def _one(quantity: str, name: str, offset: int | None, limit: Limit, code: str) -> Iterator[Finding]:
    if offset is not None:
        yield at_most(quantity, abs(offset), limit, where={"member": name}, remedy=Remedy(code, {"by_mm": abs(offset)}))


# ---- what the rollers must give ----------------------------------------------------------------------------


def roller_use(members: Members, sill: tuple[lines.Point, ...], spacing: int) -> dict[str, Fraction]:
    """How far one roller must stand over the other beside each member; a sill that was not read is taken as level."""
    return {
        name: spacing * abs(Fraction(member.edge, member.height) + _slope(sill, member.at, spacing))
        for name, member in members.items() if member.edge is not None
    }


def _slope(sill: tuple[lines.Point, ...], at: int | None, spacing: int) -> Fraction:
    """Of the sill that the panel stands on beside the member, or from end to end where nobody said where that is."""
    if len(sill) < 2:
        return Fraction(0)
    start, end = sill[0][0], sill[-1][0]
    if at is not None and end - start > spacing:
        start, end = (start, start + spacing) if 2 * at < start + end else (end - spacing, end)
    return (lines.profile_at(sill, end) - lines.profile_at(sill, start)) / (end - start)


def roller_finding(use: Mapping[str, Fraction], spacing: int, sill_read: bool, limit: Limit) -> Finding:
    worst = max(use, key=lambda name: use[name])
    where = {"member": worst, "roller_spacing_mm": spacing, "sill": "as_read" if sill_read else "taken_as_level"}
    return at_most("roller_use", use[worst], limit, where=where, remedy=Remedy("plumb_the_member", {"member": worst}))
