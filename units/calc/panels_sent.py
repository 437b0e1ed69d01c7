"""Reads what was sent of a door, its panels and what they stand in; refuses what cannot be; names what is lacking.

A length that was not sent is lacking, all of it named at once; a value that could not be is refused by its field.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.lengths import MM
from jobs.calc.verdict import BadInput
from units.calc import read
from units.calc.layout import (
    BOTH,
    INTERLOCK,
    JAMB,
    LEAD_ON,
    LEFT,
    MIDDLE,
    MOST_PANELS,
    NEAREST,
    ONE_WAY,
    OUTERMOST,
    RIGHT,
    ROUNDINGS,
    TWO_WAY,
    WAYS,
    Door,
    Shop,
    cut,
    exact_widths,
)
from units.calc.pocket import POCKET_PARTS, Surroundings

DEDUCTIONS = ("lock_jamb", "interlock", "head", "sill")
PLACES_OF_REMAINDER = {ONE_WAY: (INTERLOCK, JAMB), TWO_WAY: (INTERLOCK, MIDDLE)}
WALL = ("track_pitch", "covers")


# ---- what cannot be -------------------------------------------------------------------------------------


def impossible(door: Door, shop: Shop) -> BadInput | None:
    """Laps and leads that no panels could have, whatever the maker makes."""
    narrowest = min(exact_widths(door))
    if door.clear_width + door.laps <= 0:
        return BadInput("middle_lap", said(door.middle_lap), "a gap narrower than the opening")
    if narrowest <= 0:
        return BadInput("lead_wider_by", said(door.lead_wider_by), "so that every panel is left some width")
    for name in ("meeting_lap", "middle_lap", "interlock_lap", "jamb_engagement"):
        if abs(getattr(door, name)) >= narrowest:
            return BadInput(name, said(getattr(door, name)), f"less than a panel, which is {said(narrowest)} wide")
    made = cut(door, replace(shop, panel_width=None))
    if min(made.width, made.lead_width) <= 0:
        return BadInput("increment", said(shop.increment), f"less than a panel, which is {said(narrowest)} wide")
    return None


def said(nm: int | Fraction) -> str:
    return f"{float(nm) / MM:g} mm"


def refuse_what_cannot_be(payload: Mapping[str, Any], door: Door, shop: Shop, around: Surroundings) -> None:
    reading.choice(shop.remainder_to, "remainder_to", PLACES_OF_REMAINDER[door.ways])
    refused = impossible(door, shop) or _not_as_cut(door, shop) or too_thick(door, around)
    if refused is not None:
        raise BadInput(refused.field, payload.get(refused.field, refused.sent), refused.right)


def _not_as_cut(door: Door, shop: Shop) -> BadInput | None:
    alone = door.clear_width + door.interlock_lap * door.leads + door.jamb_engagement
    if shop.panel_width is not None and not 0 < shop.panel_width <= alone:
        return BadInput("panel_width", said(shop.panel_width),
                        f"no wider than the opening: {said(exact_widths(door)[0])} fills it")
    if shop.panel_width is not None and shop.panel_width + door.lead_wider_by <= 0:
        return BadInput("lead_wider_by", said(door.lead_wider_by), "so that every panel is left some width")
    return None


def too_thick(door: Door, around: Surroundings) -> BadInput | None:
    pitch, thick = around.track_pitch, around.panel_thickness
    if door.tracks > 1 and pitch is not None and thick is not None and thick >= pitch:
        return BadInput("panel_thickness", said(thick), f"thinner than from track to track, which is {said(pitch)}")
    return None


# ---- reading what was sent ------------------------------------------------------------------------------


def read_door(payload: Mapping[str, Any], unit: str, missing: list[Mapping[str, Any]]) -> Door | None:
    ways = _choice(payload, "ways", WAYS)
    n = None if payload.get("panels") is None else read.count(
        payload["panels"], "panels", 2 if ways == TWO_WAY else 1, MOST_PANELS)
    given = {"ways": ways, "panels": n, "pocket_side": _pocket_side(payload, ways),
             "more_on": _choice(payload, "more_on", (LEFT, RIGHT)),
             "clear_width": _clear(payload, "width", ways, unit, missing)}
    given |= read.lengths(payload, ("meeting_lap", "interlock_lap", "jamb_engagement", "lead_stays_out"), unit)
    given |= read.lengths(payload, ("middle_lap", "lead_wider_by"), unit, signed=True)
    given["lead_on"] = _choice(payload, "lead_on", LEAD_ON) or OUTERMOST
    _refuse_through_the_jamb(payload, given, ways, unit)
    lacking = [name for name in _needed(ways, n) if given.get(name) is None]
    missing += [{"what": name} for name in lacking if not _said(missing, name)]
    if lacking:
        return None
    return Door(**{name: value for name, value in given.items() if value is not None})


def _refuse_through_the_jamb(payload: Mapping[str, Any], given: Mapping[str, Any], ways: str | None, unit: str) -> None:
    members = reading.mapping(payload.get("frame_deductions") or {}, "frame_deductions")
    jamb = read.lengths(members, ("lock_jamb",), unit, "frame_deductions.").get("lock_jamb")
    if ways == ONE_WAY and jamb is not None and given.get("jamb_engagement", 0) > jamb:
        raise BadInput("jamb_engagement", payload["jamb_engagement"], f"less than the jamb itself, {said(jamb)}")


def _needed(ways: str | None, n: int | None) -> Iterator[str]:
    yield from ("clear_width", "panels", "ways", "pocket_side", "interlock_lap")
    if n is None or n > (2 if ways == TWO_WAY else 1):
        yield "meeting_lap"
    if ways == ONE_WAY:
        yield "jamb_engagement"
    if ways == TWO_WAY:
        yield "middle_lap"
        if n is not None and n % 2:
            yield "more_on"


def _said(missing: list[Mapping[str, Any]], name: str) -> bool:
    return any(lack["what"] == name or lack.get("for") == name for lack in missing)


def _choice(payload: Mapping[str, Any], name: str, allowed: Iterable[str]) -> str | None:
    value = payload.get(name)
    return None if value is None else reading.choice(value, name, tuple(allowed))


def _pocket_side(payload: Mapping[str, Any], ways: str | None) -> str | None:
    allowed = {ONE_WAY: (LEFT, RIGHT), TWO_WAY: (BOTH,), None: (LEFT, RIGHT, BOTH)}[ways]
    return _choice(payload, "pocket_side", allowed)


def _clear(payload: Mapping[str, Any], which: str, ways: str | None, unit: str,
           missing: list[Mapping[str, Any]]) -> int | None:
    """Clear width or height: as sent, or the frame's less what its members take."""
    clear, frame = f"clear_{which}", f"frame_{which}"
    sent = read.lengths(payload, (clear, frame), unit)
    if len(sent) == 2:
        raise BadInput(clear, payload[clear], f"send {clear} or {frame}, not both: one follows from the other")
    for name, nm in sent.items():
        if nm == 0:
            raise BadInput(name, payload[name], "more than nothing")
    return sent.get(clear) if frame not in sent else _less_members(payload, which, ways, unit, sent[frame], missing)


def _less_members(payload: Mapping[str, Any], which: str, ways: str | None, unit: str, frame: int,
                  missing: list[Mapping[str, Any]]) -> int | None:
    sent = reading.mapping(payload.get("frame_deductions") or {}, "frame_deductions")
    for name in sent:
        if name not in DEDUCTIONS:
            raise BadInput(f"frame_deductions.{name}", sent[name], "one of: " + ", ".join(DEDUCTIONS))
    across = ("interlock", "interlock") if ways == TWO_WAY else ("lock_jamb", "interlock")
    members = across if which == "width" else ("head", "sill")
    taken = read.lengths(sent, members, unit, "frame_deductions.")
    lacking = [name for name in dict.fromkeys(members) if name not in taken]
    missing += [{"what": f"frame_deductions.{name}", "for": f"clear_{which}"} for name in lacking]
    if lacking:
        return None
    clear = frame - sum(taken[name] for name in members)
    if clear <= 0:
        raise BadInput("frame_deductions", dict(sent), f"together less than the frame, which is {said(frame)}")
    return clear


def read_shop(payload: Mapping[str, Any], unit: str) -> Shop:
    sent = read.lengths(payload, ("increment", "panel_width"), unit)
    if sent.get("increment") == 0:
        raise BadInput("increment", payload["increment"], "more than nothing, such as 1/16 in")
    return Shop(sent.get("increment", 1), _choice(payload, "rounding", ROUNDINGS) or NEAREST,
                _choice(payload, "remainder_to", (INTERLOCK, JAMB, MIDDLE)) or INTERLOCK, sent.get("panel_width"))


def read_surroundings(payload: Mapping[str, Any], unit: str, missing: list[Mapping[str, Any]]) -> Surroundings:
    clear = _clear(payload, "height", None, unit, missing)
    height = _panel_height(payload, clear, unit)
    parts = read.lengths(payload, (*POCKET_PARTS, *WALL, "panel_thickness", "lean_in_room"), unit)
    depth, wall = (_by_side(payload, name, unit) for name in ("pocket_depth", "wall_clear"))
    there = {"clear_height": clear, "height_deductions": payload.get("height_deductions"), "pocket_depth": depth,
             "wall_clear": wall, **parts}
    needed = ("clear_height", "height_deductions", *POCKET_PARTS, "pocket_depth", *WALL, "wall_clear")
    missing += [{"what": name} for name in needed if there.get(name) in (None, {}) and not _said(missing, name)]
    if parts.get("track_pitch") == 0:
        raise BadInput("track_pitch", payload["track_pitch"], "more than nothing")
    return Surroundings(clear, height, depth, wall, lean_in_angle=_angle(payload), **parts)


def _panel_height(payload: Mapping[str, Any], clear: int | None, unit: str) -> int | None:
    """`height_deductions`: one length, or several by name; less than nothing where a panel runs up into the head."""
    sent = payload.get("height_deductions")
    if sent is None:
        return None
    named = sent if isinstance(sent, Mapping) else {"": sent}
    taken = sum(reading.length(value, f"height_deductions.{name}".rstrip("."), unit=unit, signed=True)
                for name, value in named.items())
    if clear is not None and clear - taken <= 0:
        raise BadInput("height_deductions", sent, f"together less than the clear height, which is {said(clear)}")
    return None if clear is None else clear - taken


def _by_side(payload: Mapping[str, Any], name: str, unit: str) -> dict[str, int]:
    """One length for every pocket, or one for each side."""
    sent = payload.get(name)
    if not isinstance(sent, Mapping):
        return dict.fromkeys((LEFT, RIGHT), reading.length(sent, name, unit=unit)) if sent is not None else {}
    for side in sent:
        reading.choice(side, f"{name}.{side}", (LEFT, RIGHT))
    return read.lengths(sent, (LEFT, RIGHT), unit, f"{name}.")


def _angle(payload: Mapping[str, Any]) -> Fraction | None:
    sent = payload.get("lean_in_angle")
    if sent is None:
        return None
    angle = Fraction(str(reading.number(sent, "lean_in_angle", least=0, most=90)))
    if not 0 < angle < 90:
        raise BadInput("lean_in_angle", sent, "degrees from upright, more than 0 and less than 90")
    return angle
