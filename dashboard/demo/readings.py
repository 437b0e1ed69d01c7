"""Readings as they come off a tape, a level and a gauge on an ordinary day: none of them round, all of them passing
unless told. Pure; the chance is passed in."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction
from random import Random
from typing import Any

SIXTEENTH = Fraction(1, 16)
BENCHMARK = Fraction(321, 8)  # inches, up from the lowest place: the red line on the stud
Given = dict[str, Any]


def inches(value: Fraction | int) -> str:
    """`96 1/2"`, as it is called out."""
    sign, value = ("-" if value < 0 else ""), abs(Fraction(value))
    whole, rest = divmod(value, 1)
    words = [str(whole)] if whole or not rest else []
    return sign + " ".join([*words, *([f"{rest.numerator}/{rest.denominator}"] if rest else [])]) + '"'


def near(chance: Random, value: Fraction | int, most: int) -> str:
    """The value, give or take up to `most` sixteenths."""
    return inches(Fraction(value) + chance.randint(-most, most) * SIXTEENTH)


# ---- the opening ----------------------------------------------------------------------------------------


def rough_opening(chance: Random, width: Fraction, height: Fraction) -> Given:
    """Feet a sixteenth out of place, jambs a sixteenth out of plumb; six tapes between the corners."""
    def off() -> Fraction:
        return chance.randint(-1, 1) * SIXTEENTH

    left_foot, right_foot = (off(), off()), (width + off(), off())
    left_top, right_top = (left_foot[0] + off(), height + off()), (right_foot[0] + off(), height + off())
    face = chance.choice((-1, 0, 1))  # both jambs lean much alike across the wall
    leans = {"left": (left_top[0] - left_foot[0], face),
             "right": (right_top[0] - right_foot[0], chance.choice((face, 0)))}
    sides = {"top": _taped(left_top, right_top), "bottom": _taped(left_foot, right_foot),
             "left": _taped(left_foot, left_top), "right": _taped(right_foot, right_top)}
    return {
        "widths": {"top": inches(sides["top"]), "middle": near(chance, width, 1), "bottom": inches(sides["bottom"])},
        "heights": {"left": inches(sides["left"]), "middle": near(chance, height, 1), "right": inches(sides["right"])},
        "diagonals": {"rising": inches(_taped(left_foot, right_top)), "falling": inches(_taped(right_foot, left_top))},
        "plumb": {side: {"edge": inches(_sixteenths(edge)), "face": inches(out * SIXTEENTH), "over": inches(height)}
                  for side, (edge, out) in leans.items()},
    }


def _taped(one: tuple[Fraction, Fraction], other: tuple[Fraction, Fraction]) -> Fraction:
    return _sixteenths(math.hypot(one[0] - other[0], one[1] - other[1]))


def _sixteenths(length: float | Fraction) -> Fraction:
    return Fraction(round(length * 16), 16)


def floor(chance: Random, sill: Fraction, *, bump: Sequence[int] = (), at: int = 0) -> Given:
    """Read every foot along both lines, in thirty-seconds up from the lowest; `bump` lies on top, from foot `at` on."""
    places = _every(12, sill)
    outer = _wander(chance, len(places), most=4)
    for n, height in enumerate(bump, start=at):
        outer[n] += height
    inner = [height + chance.choice((0, 0, 1)) for height in outer]
    outer[-1], inner[-1] = outer[-2], inner[-2]  # less than a foot on
    return {"stations": _stations(places, outer), "inner": _stations(places, inner),
            "read_as": "height", "benchmark_reading": inches(BENCHMARK), "sill_from": "0", "sill_to": inches(sill)}


def _every(step: int, length: Fraction) -> list[Fraction]:
    places = [Fraction(n * step) for n in range(math.ceil(length / step))]
    return [*places, length]


def _wander(chance: Random, count: int, *, most: int) -> list[int]:
    """Heights that drift by at most one from place to place, and by `most` in all."""
    heights, now = [], chance.randint(0, most)
    for _ in range(count):
        now = min(max(now + chance.choice((-1, 0, 0, 0, 1)), 0), most)
        heights.append(now)
    return heights


def _stations(places: Iterable[Fraction], heights: Iterable[int]) -> list[Given]:
    return [{"at": inches(place), "reading": inches(Fraction(height, 32))}
            for place, height in zip(places, heights, strict=True)]


def pocket(chance: Random, depth: Fraction, thickness: Fraction) -> Given:
    """Three readings of each; the tightest counts, and it is a little more than is needed."""
    def three(least: Fraction) -> list[str]:
        return [inches(least + chance.randint(2, 10) * SIXTEENTH) for _ in range(3)]
    return {"depth": three(depth), "thickness": three(thickness)}


def benchmark(chance: Random) -> Given:
    return {"benchmark_height": "1000 mm", "finish_floor_inside": near(chance, 0, 2),
            "finish_floor_outside": near(chance, Fraction(-3, 4), 3)}


# ---- the frame ------------------------------------------------------------------------------------------


def frame(chance: Random, sill: Fraction, height_mm: int, ends: Iterable[str]) -> Given:
    """Levelled, plumbed and shimmed: half millimetres off here and there."""
    places = [float(place * Fraction("25.4")) for place in _every(18, sill)]
    outer = _wander(chance, len(places), most=2)
    members = {name: {"edge": _halves(chance, 2), "face": _halves(chance, 2), "bow": _halves(chance, 1),
                      "height": height_mm} for name in ends}
    head = [height_mm + step / 2 for step in _wander(chance, len(places), most=2)]
    return {
        "unit": "mm", "sill": {"stations": _read(places, [h / 2 for h in outer]),
                               "inner": _read(places, [(h + chance.choice((0, 0, 1))) / 2 for h in outer])},
        "head": {"stations": _read(places, head)}, "members": members,
        "end_gaps": {"left": 9 + _halves(chance, 1), "right": 9 + _halves(chance, 1)},
        "head_over_sill": {"left": _halves(chance, 2), "right": _halves(chance, 2)},
    }


def _halves(chance: Random, most: int) -> float:
    return chance.randint(-most, most) / 2


def _read(places: Iterable[float], heights: Iterable[float]) -> list[Given]:
    return [{"at": place, "reading": height} for place, height in zip(places, heights, strict=True)]


def sill_again(chance: Random, sill: Fraction) -> Given:
    places = [float(place * Fraction("25.4")) for place in _every(18, sill)]
    outer = [h / 2 for h in _wander(chance, len(places), most=3)]
    return {"unit": "mm", "parts": ["sill"], "sill": {"stations": _read(places, outer), "inner": _read(places, outer)}}


def under_load(chance: Random, width_mm: int, height_mm: int) -> Given:
    """The head at five places, as it was set and with the weight on: it comes down by a millimetre or two."""
    places = [round(width_mm * n / 4) for n in range(5)]
    sag = [0, 0.5, chance.choice((1, 1.5, 2)), 0.5, 0]
    gaps = {"frame_set": [height_mm] * 5, "weight_on": [height_mm - drop for drop in sag]}
    return {"unit": "mm", "parts": ["watch"], "watch": {
        "readings": [{"when": when, "gaps": _read(places, heights)} for when, heights in gaps.items()],
        "planned_raise": 3, "reading_deviation": 0.4}}


def fastener() -> Given:
    return {"longest": "1 3/4", "board": "5/8", "stud": "1 1/2"}


# ---- the panels -----------------------------------------------------------------------------------------


def roller_preset(chance: Random, letter: str) -> Given:
    return {"panels": [letter], "rollers": [
        {"panel": letter, "roller": roller, "reading": near(chance, Fraction(3, 8), 1)} for roller in ("lead", "tail")]}


def reveal(chance: Random, height_mm: int, *, taper: float = 0, gap: float = 8) -> Given:
    """Even to a half millimetre, unless a taper is asked for: then wider at the top by so much."""
    bottom = gap + chance.choice((-0.5, 0, 0.5))
    top = bottom + (taper or chance.choice((-1, -0.5, 0.5, 1)))
    return {
        "unit": "mm", "gaps": {"top": top, "middle": (top + bottom) / 2 + chance.choice((-0.5, 0, 0.5)),
                               "bottom": bottom},
        "heights": {"top": height_mm - 60, "middle": height_mm // 2, "bottom": 50},
        "rollers": {"near": {"now": 9.5 + chance.choice((-0.5, 0, 0.5))},
                    "far": {"now": 9.5 + chance.choice((-0.5, 0, 0.5))}},
        "lock_height": 1040, "head_clearance": 26,
    }


def force(chance: Random, masses: dict[str, int]) -> Given:
    """Newtons, each panel by itself and the train they make; masses in grams."""
    panels = [{"panel": letter, "mass": grams // 1000, **_both_ways(chance, 55, 38)}
              for letter, grams in masses.items()]
    return {"panels": panels, "train": {"mass": sum(masses.values()) // 1000, **_both_ways(chance, 92, 66)}}


def _both_ways(chance: Random, start: int, keep: int) -> Given:
    return {way: {"start": start + chance.randint(-4, 8), "keep_moving": keep + chance.randint(-3, 5)}
            for way in ("opening", "closing")}


def sealing(chance: Random, *, surface_c: float | None = None, dry: bool = True) -> Given:
    air = chance.choice((12.5, 14, 15.5, 17, 18.5))
    return {"air_c": air, "surface_c": air - 1.5 if surface_c is None else surface_c,
            "humidity_pct": chance.randint(52, 66), "surface_dry": dry}
