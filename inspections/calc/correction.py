"""The cheapest way to put a floor right: how deep to grind and how much to fill, station by station.

With g >= 0 ground off and f >= 0 filled at each station, straight between them, z - g + f has to lie inside all limits
over the continuous profile. The area of each along a line is linear in its depths (trapezoids), so the least of
grind_cost * area ground + fill_cost * area filled is a linear program. Its rows are the pairs and places of
`profile`, the very ones by which the floor is judged.

A solver works in floating point and a plan in whole nanometres. So the solution is rounded and judged by the exact
function; where that fails, the limits are drawn in by a few nanometres and it is solved again from where it stood.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, pairwise
from typing import Any

import highspy
import numpy as np

from inspections.calc.profile import Profile, Spot, extreme_pairs, places_across
from jobs.calc.verdict import printed

MM = 1_000_000  # the solver works in millimetres: its tolerance of 1e-7 is then a tenth of a nanometre
DRAWN_IN = (0, 2, 4, 8, 16)  # nm; rounding moves a difference by 1 nm at most, that of two differences by 2
PATIENCE = 5.0  # seconds of solving a floor may take in all before it is stopped
THINNEST = 1_000  # nm; a stretch thinner than a thousandth of a millimetre is rounding, not work

GRIND, FILL = "grind", "fill"

Depths = tuple[tuple[int, ...], ...]
Passes = Callable[[Profile], bool]
Knot = tuple[int | Fraction, int, int]  # where, depth there, height of the corrected floor there


@dataclass(frozen=True, slots=True)
class Bounds:
    """What the corrected floor must keep to, and what correcting costs; None: no limit. Lengths in nm."""

    rise: int | None
    window: int | None
    total_range: Fraction | int | None
    cross_fall: int | None
    wind: int | None
    grind_most: int | None
    grind_cost: Fraction
    fill_cost: Fraction


@dataclass(frozen=True, slots=True)
class Stretch:
    """One line of the plan: from here to there, grind or fill, deepest here, leaving the floor at this height."""

    line: str
    start: int | Fraction
    end: int | Fraction
    act: str
    deepest: int
    at: int
    height: int | Fraction


@dataclass(frozen=True, slots=True)
class Plan:
    """Depths at the stations of each line, whole nm, filled positive and ground negative."""

    profile: Profile
    depths: Depths
    proven: bool
    ground: Fraction  # nm²
    filled: Fraction
    cost: Fraction

    def corrected(self) -> Profile:
        return self.profile.filled(self.depths)

    def stretches(self) -> tuple[Stretch, ...]:
        """What a builder is told to do: no stretch that is only rounding."""
        parts = (part for i in range(len(self.depths)) for part in _stretches(self, i))
        return tuple(part for part in parts if part.deepest >= THINNEST)


@dataclass(frozen=True, slots=True)
class Correction:
    """The cheapest plan, and the cheapest that only grinds or only fills; None where there is none."""

    best: Plan | None
    grind_only: Plan | None
    fill_only: Plan | None
    proven: bool  # that `best` is the cheapest, or that there is none


def cheapest(profile: Profile, bounds: Bounds, passes: Passes, patience: float = PATIENCE) -> Correction:
    """The three plans, from one program: grinding only and filling only close the other's variables."""
    program = Program(profile, bounds, patience)
    best, proven = _solved(program, passes, grind=True, fill=True)
    grind_only, _ = _solved(program, passes, grind=True, fill=False)
    fill_only, _ = _solved(program, passes, grind=False, fill=True)
    offered = [plan for plan in (best, grind_only, fill_only) if plan is not None]
    if not proven and offered:
        best = min(offered, key=lambda plan: plan.cost)
    return Correction(best, grind_only, fill_only, proven)


def _solved(program: Program, passes: Passes, *, grind: bool, fill: bool) -> tuple[Plan | None, bool]:
    """A plan that passes the exact judge, if there is one, and whether the solver proved it the cheapest."""
    program.allow(grind=grind, fill=fill)
    for nm in DRAWN_IN:
        depths = program.solve(nm)
        if depths is None:
            break
        if passes(program.profile.filled(depths)):
            return _plan(program, depths, proven=True), True
    return (_level_fill(program, passes) if fill else None), False


def _level_fill(program: Program, passes: Passes) -> Plan | None:
    """What always helps when the solver was stopped: fill everything up to the highest place."""
    profile = program.profile
    top = max(h for line in profile.lines for h in line.heights)
    depths = tuple(tuple(-((h - top) // profile.scale) for h in line.heights) for line in profile.lines)
    return _plan(program, depths, proven=False) if passes(profile.filled(depths)) else None


def _plan(program: Program, depths: Depths, *, proven: bool) -> Plan:
    ground = _area(program.profile, [[max(-d, 0) for d in line] for line in depths])
    filled = _area(program.profile, [[max(d, 0) for d in line] for line in depths])
    cost = program.bounds.grind_cost * ground + program.bounds.fill_cost * filled
    return Plan(program.profile, depths, proven, ground, filled, cost)


def _area(profile: Profile, depths: Sequence[Sequence[int]]) -> Fraction:
    widths = (w for line in profile.lines for w in _widths(line.at))
    return Fraction(sum(w * d for w, d in zip(widths, chain.from_iterable(depths), strict=True)), 2)


def _widths(at: Sequence[int]) -> list[int]:
    """Twice the length of line that a depth at each station counts for."""
    return [at[min(i + 1, len(at) - 1)] - at[max(i - 1, 0)] for i in range(len(at))]


# ---- the linear program ----------------------------------------------------------------------------------


class Program:
    """Columns: ground at each station, filled at each station.

    Two stations besides cost nothing: the level and the fall across that the floor settles on. Each is one free
    column (it may be "filled" either way and not "ground"); a range is then one row a station, not one a pair.
    """

    def __init__(self, profile: Profile, bounds: Bounds, patience: float = PATIENCE) -> None:
        self.profile, self.bounds = profile, bounds
        self.first = [sum(len(line.at) for line in profile.lines[:i]) for i in range(len(profile.lines) + 1)]
        self.stations = self.first[-1]
        self.level, self.fall, self.width = self.stations, self.stations + 1, self.stations + 2
        self.lower = self.upper = np.empty(0)
        self.solver = _solver(patience)
        self.solver.passModel(self._model())

    def allow(self, *, grind: bool, fill: bool) -> None:
        """Starts afresh: from the plan of another act it is a longer way than from the floor as it is."""
        most = np.inf if self.bounds.grind_most is None else self.bounds.grind_most / MM
        lower, upper = np.zeros(2 * self.width), np.zeros(2 * self.width)
        upper[: self.stations] = most if grind else 0.0
        upper[self.width : self.width + self.stations] = np.inf if fill else 0.0
        lower[-2:], upper[-2:] = -np.inf, np.inf
        self.solver.clearSolver()
        self.solver.changeColsBounds(len(lower), np.arange(len(lower), dtype=np.int32), lower, upper)

    def solve(self, drawn_in: int) -> Depths | None:
        """By limits drawn in by so many nm, but no further than to the middle: a limit of nought stays one.

        None where the solver did not prove an optimum: there is none, or it was stopped.
        """
        by = np.minimum(drawn_in / MM, (self.upper - self.lower) / 2)
        rows = np.arange(len(self.lower), dtype=np.int32)
        self.solver.changeRowsBounds(len(rows), rows, self.lower + by, self.upper - by)
        self.solver.run()
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        return self._rounded(np.array(self.solver.getSolution().col_value))

    def _rounded(self, columns: np.ndarray) -> Depths:
        net = np.rint((columns[self.width :] - columns[: self.width]) * MM).astype(np.int64)
        return tuple(tuple(net[a:b].tolist()) for a, b in pairwise(self.first))

    def _model(self) -> highspy.HighsLp:
        rows, lp = _Rows(), highspy.HighsLp()
        self._write_rows(rows)
        starts = np.array(rows.starts, dtype=np.int32)
        stations, weights = np.array(rows.stations, dtype=np.int32), np.array(rows.weights)
        stand = np.add.reduceat(weights * self._heights()[stations], starts) if rows.starts else np.empty(0)
        self.lower, self.upper = np.array(rows.least) / MM - stand, np.array(rows.most) / MM - stand
        widths = np.array([w / 2 / MM for line in self.profile.lines for w in _widths(line.at)] + [0.0, 0.0])
        lp.num_col_, lp.num_row_ = 2 * self.width, len(starts)
        lp.col_cost_ = np.concatenate([widths * float(self.bounds.grind_cost), widths * float(self.bounds.fill_cost)])
        lp.col_lower_, lp.col_upper_ = np.zeros(2 * self.width), np.full(2 * self.width, np.inf)
        lp.row_lower_, lp.row_upper_ = self.lower, self.upper
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.append(2 * starts, 2 * len(stations)).astype(np.int32)
        lp.a_matrix_.index_ = np.column_stack([stations, stations + self.width]).ravel()
        lp.a_matrix_.value_ = np.column_stack([-weights, weights]).ravel()
        return lp

    def _heights(self) -> np.ndarray:
        """In mm above the lowest, so that where the datum lies makes no difference; the two besides stand at nought."""
        heights = [h for line in self.profile.lines for h in line.heights]
        lowest = min(heights)
        return np.array([(h - lowest) / self.profile.scale / MM for h in heights] + [0.0, 0.0])

    def _write_rows(self, rows: _Rows) -> None:
        bounds, profile = self.bounds, self.profile
        if bounds.rise is not None and bounds.window is not None:
            for line, first in zip(profile.lines, self.first, strict=False):
                for i, place in extreme_pairs(line.at, bounds.window):
                    rows.add(_pair(first, i, place), -bounds.rise, bounds.rise)
        if bounds.total_range is not None:
            most = float(bounds.total_range)
            for station in range(self.stations):
                rows.add(((station, 1.0), (self.level, -1.0)), 0, most)
        if len(profile.lines) > 1:
            self._write_rows_across(rows)

    def _write_rows_across(self, rows: _Rows) -> None:
        bounds, (outer, inner) = self.bounds, self.profile.lines
        for _, on_outer, on_inner in places_across(outer.at, inner.at):
            across = (*_place(self.first[1], on_inner, 1.0), *_place(self.first[0], on_outer, -1.0))
            if bounds.cross_fall is not None:
                rows.add(across, -bounds.cross_fall, bounds.cross_fall)
            if bounds.wind is not None:
                rows.add((*across, (self.fall, -1.0)), 0, bounds.wind)


class _Rows:
    """least <= sum of weight x height at a station <= most, in nm."""

    def __init__(self) -> None:
        self.starts: list[int] = []
        self.stations: list[int] = []
        self.weights: list[float] = []
        self.least: list[float] = []
        self.most: list[float] = []

    def add(self, entries: Sequence[tuple[int, float]], least: float, most: float) -> None:
        self.starts.append(len(self.stations))
        for station, weight in entries:
            self.stations.append(station)
            self.weights.append(weight)
        self.least.append(least)
        self.most.append(most)


def _place(first: int, place: Spot, sign: float) -> tuple[tuple[int, float], ...]:
    """(station, weight) whose sum is the height at that place."""
    i, step, span = place
    part = sign * step / span
    return ((first + i, sign - part), (first + i + 1, part)) if step else ((first + i, sign),)


def _pair(first: int, i: int, place: Spot) -> tuple[tuple[int, float], ...]:
    """Height at station i less that at a place; beside the station itself the two share its column."""
    j, step, span = place
    if step and i in (j, j + 1):
        part = (step if i == j else span - step) / span
        return (first + i, part), (first + 2 * j + 1 - i, -part)
    return (first + i, 1.0), *_place(first, place, -1.0)


class _Quiet(highspy.Highs):
    """Silent before it is ready: its name and licence are printed while it is being made, with each answer we give."""

    def enableCallbacks(self) -> None:
        self.silent()
        super().enableCallbacks()


def _solver(patience: float) -> highspy.Highs:
    """Small programs: presolving and scaling take longer than they save.

    No number of threads is asked for: the process has one pool for all solvers, and asking for another size than it
    happens to have is an error.
    """
    solver = _Quiet()
    for option, value in (("time_limit", patience), ("presolve", "off"), ("simplex_scale_strategy", 0)):
        solver.setOptionValue(option, value)
    return solver


# ---- the plan as it is read out --------------------------------------------------------------------------


def _stretches(plan: Plan, number: int) -> Iterator[Stretch]:
    """Cut where nothing is done and where filling passes into grinding."""
    line, depths, corrected = plan.profile.lines[number], plan.depths[number], plan.corrected().lines[number]
    run: list[Knot] = []
    for knot in _knots(line.at, depths, corrected.heights):
        run.append(knot)
        if knot[1] == 0:
            yield from _stretch(plan.profile, line.name, run)
            run = [knot]
    yield from _stretch(plan.profile, line.name, run)


def _knots(at: Sequence[int], depths: Sequence[int], heights: Sequence[int]) -> Iterator[Knot]:
    """Each station, and each place between two where the depth changes sign."""
    for i, x in enumerate(at):
        if i and depths[i - 1] * depths[i] < 0:
            share = Fraction(depths[i - 1], depths[i - 1] - depths[i])
            yield at[i - 1] + share * (x - at[i - 1]), 0, 0
        yield x, depths[i], heights[i]


def _stretch(profile: Profile, name: str, run: Sequence[Knot]) -> Iterator[Stretch]:
    at, depth, height = max(run, key=lambda knot: abs(knot[1]))
    if depth:
        act = FILL if depth > 0 else GRIND
        yield Stretch(name, run[0][0], run[-1][0], act, abs(depth), int(at), profile.nm(height))


def correction_shown(found: Correction) -> dict[str, Any]:
    """As it is shown: the cheapest plan, and beside it what grinding alone and filling alone would take."""
    best = {"cost_mm2": None, "plan": []} if found.best is None else plan_shown(found.best)
    return {
        **best,
        "possible": found.best is not None,
        "proven": found.proven,
        "stations": [] if found.best is None else list(_stations_shown(found.best)),
        "grind_only": None if found.grind_only is None else plan_shown(found.grind_only),
        "fill_only": None if found.fill_only is None else plan_shown(found.fill_only),
    }


def plan_shown(plan: Plan) -> dict[str, Any]:
    """Areas in mm², weighed by what each costs in `cost_mm2`; heights are the corrected floor's, as the readings'."""
    return {
        "proven": plan.proven,
        "cost_mm2": _mm2(plan.cost),
        "ground_mm2": _mm2(plan.ground),
        "filled_mm2": _mm2(plan.filled),
        "plan": [_stretch_shown(part) for part in plan.stretches()],
    }


def _stretch_shown(part: Stretch) -> dict[str, Any]:
    return {
        "line": part.line,
        "from_mm": part.start,
        "to_mm": part.end,
        "act": part.act,
        "deepest_mm": part.deepest,
        "at_mm": part.at,
        "height_mm": part.height,
    }


def _stations_shown(plan: Plan) -> Iterator[dict[str, Any]]:
    """Station by station, exactly as judged; straight between them."""
    for line, depths in zip(plan.corrected().lines, plan.depths, strict=True):
        for x, z, d in zip(line.at, line.heights, depths, strict=True):
            shown = {"grind_mm": max(-d, 0), "fill_mm": max(d, 0), "height_mm": plan.profile.nm(z)}
            yield {"line": line.name, "at_mm": x, **shown}


def _mm2(area: Fraction) -> str | None:
    """nm² to six places of a mm²."""
    return printed(area / 10**6, "mm")
