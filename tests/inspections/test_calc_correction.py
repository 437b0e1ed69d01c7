"""Putting a floor right for the least: the plan survives the judge that failed the floor, and none is cheaper."""

import random
from collections import defaultdict
from decimal import Decimal
from fractions import Fraction

import highspy
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

from inspections.calc import correction, floor, lines, profile
from jobs.calc.lengths import INCH as IN
from jobs.calc.verdict import FAIL, PASS
from tests.floors import FOOT, MM, VALUES, limits, mm, sent, sixteenths


def shown(payload, **changed):
    return floor.judge_with_correction(payload, limits(**changed)).as_dict()["computed"]["correction"]


def random_floor(seed, most=60):
    """Two lines that wander; every other sill ends in mid-span, every third floor is read by the foot, some wider."""
    dice = random.Random(seed)
    stations = dice.randint(3, most)

    def wander():
        at, height, points = 0, 0, []
        for _ in range(stations):
            points.append((at, height))
            at += FOOT if seed % 3 == 0 else dice.randint(50 * MM, 3 * FOOT if seed % 4 == 1 else FOOT)
            height += dice.randint(-1_500_000, 1_500_000)
        return points

    outer, inner = wander(), wander()
    end = min(outer[-1][0], inner[-1][0])
    ends = {"sill_from": mm(dice.randint(1, 9 * MM)), "sill_to": mm(end - dice.randint(1, 9 * MM))} if seed % 2 else {}
    return sent(outer, inner, **ends)


def passes(plan, chosen):
    return all(f.within is not False for f in floor.judge_profile(plan.corrected(), chosen))


# ---- worked by hand --------------------------------------------------------------------------------------


def test_the_solver_prints_nothing_between_our_own_lines(capfd):
    shown(sent(sixteenths(0, 1, 1, 2, 3, 3, 4, 5, 4, 3, 3, 2, 1, 1)))
    assert capfd.readouterr() == ("", "")


def test_the_cheapest_correction_of_fourteen_stations_is_a_sixteenth_of_fill_at_the_first():
    found = shown(sent(sixteenths(0, 1, 1, 2, 3, 3, 4, 5, 4, 3, 3, 2, 1, 1)))
    assert found["cost_mm2"] == "241.935000"  # half of a foot by 1/16 in, at 1
    assert found["proven"] is found["possible"] is True
    assert found["plan"] == [
        {
            "line": "outer",
            "from_mm": "0.000000",
            "to_mm": "304.800000",
            "act": "fill",
            "deepest_mm": "1.587500",
            "at_mm": "0.000000",
            "height_mm": "1.587500",
        }
    ]
    # Grinding alone: 1/16 in off the peak, running out a foot to either side, at 3.
    assert found["grind_only"]["cost_mm2"] == "1451.610000"
    assert found["fill_only"]["cost_mm2"] == "241.935000"


def test_a_floor_that_passes_is_given_no_correction():
    verdict = floor.judge_with_correction(sent(sixteenths(0, 1, 0)), limits())
    assert verdict.result == PASS
    assert "correction" not in verdict.computed


def test_the_verdict_is_the_same_with_and_without_the_correction():
    payload = random_floor(4)
    plain, corrected = floor.judge(payload, limits()), floor.judge_with_correction(payload, limits())
    assert corrected.findings == plain.findings
    assert corrected.result == plain.result == FAIL
    assert {k: v for k, v in corrected.computed.items() if k != "correction"} == plain.computed


def test_grinding_and_filling_come_each_with_a_caution():
    peak, dip = sixteenths(0, 0, 2, 0, 0), sixteenths(0, 0, -2, 0, 0)
    dear = {"grind_cost": 1, "fill_cost": 9}
    assert floor.judge_with_correction(sent(peak), limits(**dear)).caution == "grinding_dust_and_what_lies_below"
    assert floor.judge_with_correction(sent(dip), limits()).caution == "levelling_compound_is_for_its_maker"


def test_what_grinding_and_filling_cost_decides_which_is_done():
    dip_and_peak = sent(sixteenths(0, 0, 1, 3, 1, 0, 0))
    cheap_grind, cheap_fill = (shown(dip_and_peak, grind_cost=g, fill_cost=f) for g, f in ((1, 9), (9, 1)))
    assert {part["act"] for part in cheap_grind["plan"]} == {"grind"}
    assert {part["act"] for part in cheap_fill["plan"]} == {"fill"}


def test_nothing_is_ground_deeper_than_the_cover_allows():
    peak = sent(sixteenths(0, 0, 4, 0, 0))
    free, shallow, none = (shown(peak, grind_cost=1, fill_cost=9, grind_most=most) for most in (None, 1_000_000, 0))
    assert max(Decimal(s["grind_mm"]) for s in free["stations"]) > 1
    assert max(Decimal(s["grind_mm"]) for s in shallow["stations"]) == 1
    assert shallow["grind_only"] is none["grind_only"] is None
    assert none["plan"] and {part["act"] for part in none["plan"]} == {"fill"}


def test_without_a_price_there_is_no_cheapest():
    payload = sent(sixteenths(0, 9, 0))
    assert floor.correct(payload, limits(fill_cost=None)) is None
    assert shown(payload, grind_cost=None) is None
    assert floor.correct(sent([]), limits()) is None


def test_a_bead_thinner_than_its_bed_is_helped_by_no_floor():
    found = shown(sent(sixteenths(0, 9, 0)), bed_least=IN)
    assert (found["possible"], found["proven"], found["cost_mm2"], found["plan"]) == (False, True, None, [])


def test_the_squeeze_of_the_bead_is_put_right_too():
    payload = sent([(0, 0), (FOOT, -MM), (2 * FOOT, 0)])
    found = shown(payload, bed_least=9 * MM)
    # 12.7 mm pressed by a quarter leaves 9.525 mm, 9 of them bed: the dip of 1 mm may be 0.525 deep.
    assert found["plan"][0]["act"] == "fill"
    assert found["plan"][0]["deepest_mm"] == "0.475000"


def test_stations_further_apart_than_the_window_are_held_to_their_slope():
    # 4/16 in over 3 ft is 1 1/3 sixteenths in a foot; 3/16 would be within: a sixteenth of fill at both ends.
    found = shown(sent([(0, 0), (3 * FOOT, 4 * IN // 16), (6 * FOOT, 0)]))
    assert [(p["act"], p["deepest_mm"]) for p in found["plan"]] == [("fill", "1.587500")] * 2
    assert found["cost_mm2"] == "1451.610000"


@pytest.mark.parametrize("seed", [4, 10, 16, 22])
def test_two_lines_that_must_agree_to_the_nanometre_still_get_the_cheapest_plan(seed):
    chosen, payload = limits(cross_fall=0, wind=0), random_floor(seed)
    outer, inner = payload["stations"], payload["inner"]
    shared = [{"at": o["at"], "reading": i["reading"]} for o, i in zip(outer, inner, strict=True)]
    found = floor.correct({**payload, "inner": shared}, chosen)
    assert found.proven
    assert passes(found.best, chosen)


def test_limits_of_nought_make_the_floor_dead_level():
    outer, inner = sixteenths(0, 1, 2, 1), [(0, 0), (FOOT // 2, 700_001), (3 * FOOT, 3)]
    found = shown(sent(outer, inner), rise_in_a_foot=0, total_range=0, cross_fall=0, wind=0)
    assert len({s["height_mm"] for s in found["stations"]}) == 1


def test_where_filling_passes_into_grinding_the_plan_says_so_at_the_place():
    seen = profile.within_sill({"outer": [(0, 0), (400, 0), (900, 0)]}, 0, 900)
    plan = correction.Plan(seen, ((3_000, -1_000, 0),), True, Fraction(0), Fraction(0), Fraction(0))
    assert [(s.act, s.start, s.end, s.deepest, s.at) for s in plan.stretches()] == [
        ("fill", 0, 300, 3_000, 0),
        ("grind", 300, 900, 1_000, 400),
    ]


def test_a_stretch_thinner_than_a_thousandth_of_a_millimetre_is_not_told_to_anyone():
    seen = profile.within_sill({"outer": [(0, 0), (400, 0), (900, 0)]}, 0, 900)
    plan = correction.Plan(seen, ((0, 999, 0),), True, Fraction(0), Fraction(0), Fraction(0))
    assert plan.stretches() == ()


def test_the_plan_gives_the_finished_height_against_the_benchmark():
    low_first = sixteenths(0, 3, 3, 3)
    payload = sent([(x, h + 100 * MM) for x, h in low_first], benchmark_reading=mm(90 * MM))
    assert shown(payload)["plan"][0]["height_mm"] == str(mm(10 * MM + 2 * IN // 16))


# ---- solvers that were stopped, or are not alone ---------------------------------------------------------


@pytest.mark.parametrize("threads", [1, 2])
def test_another_solver_in_the_same_process_does_not_disturb_it(threads):
    highspy.Highs.resetGlobalScheduler(True)
    other = highspy.Highs()
    other.silent()
    other.setOptionValue("threads", threads)
    x = other.addVariable(lb=1)
    other.minimize(x)
    assert other.getModelStatus() == highspy.HighsModelStatus.kOptimal
    assert floor.correct(random_floor(2), limits()).proven
    highspy.Highs.resetGlobalScheduler(True)


def test_a_solver_that_was_stopped_proves_nothing_and_what_it_leaves_still_passes():
    payload, chosen = random_floor(5), limits()
    seen = profile.within_sill(*_lines_of(payload))
    stopped = correction.cheapest(seen, _bounds(), lambda tried: _fits(tried, chosen), patience=1e-9)
    assert stopped.proven is False
    assert stopped.grind_only is None
    assert stopped.best.proven is False
    assert passes(stopped.best, chosen)
    assert all(d >= 0 for line in stopped.best.depths for d in line)


def test_a_plan_that_the_judge_refuses_is_never_handed_out():
    seen = profile.within_sill(*_lines_of(random_floor(5)))
    refused = correction.cheapest(seen, _bounds(), lambda tried: False)
    assert (refused.best, refused.grind_only, refused.fill_only, refused.proven) == (None, None, None, False)


def test_when_the_solver_could_not_settle_both_the_cheaper_of_one_alone_is_offered():
    answers = iter([False] * (len(correction.DRAWN_IN) + 1))  # every try at both, and the level fill
    chosen, seen = limits(), profile.within_sill(*_lines_of(random_floor(4)))
    found = correction.cheapest(seen, _bounds(), lambda tried: next(answers, True) and _fits(tried, chosen))
    assert found.proven is False
    assert found.best == min(found.grind_only, found.fill_only, key=lambda plan: plan.cost)


def _lines_of(payload):
    read = {
        name: [(int(s["at"].scaleb(6)), int(s["reading"].scaleb(6))) for s in payload[field]]
        for name, field in (("outer", "stations"), ("inner", "inner"))
    }
    ends = [int(payload[k].scaleb(6)) if k in payload else None for k in ("sill_from", "sill_to")]
    places = [x for points in read.values() for x, _ in points]
    return read, min(places) if ends[0] is None else ends[0], max(places) if ends[1] is None else ends[1]


def _bounds():
    known = ("rise_in_a_foot", "window", "total_range", "cross_fall", "wind", "grind_most")
    return correction.Bounds(*(VALUES[name] for name in known), Fraction(3), Fraction(1))


def _fits(tried, chosen):
    return all(f.within is not False for f in floor.judge_profile(tried, chosen))


# ---- random floors ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(80))
def test_the_correction_of_a_random_floor_survives_the_exact_judge(seed):
    changed = {"grind_most": 2 * MM} if seed % 5 == 0 else {}
    chosen = limits(**changed)
    found = floor.correct(random_floor(seed), chosen)
    assert found.proven
    offered = [plan for plan in (found.best, found.grind_only, found.fill_only) if plan is not None]
    for plan in offered:
        assert passes(plan, chosen)
        assert found.best.cost <= plan.cost + _slack(plan)
        assert changed.get("grind_most", 10**12) >= max(-d for line in plan.depths for d in line)
    assert found.grind_only is None or all(d <= 0 for line in found.grind_only.depths for d in line)
    assert all(d >= 0 for line in found.fill_only.depths for d in line)


def _slack(plan):
    """What whole nanometres may cost: 2 nm of grinding along both lines."""
    return 3 * 2 * sum(line.at[-1] - line.at[0] for line in plan.profile.lines)


@pytest.mark.parametrize("seed", [0, 6, 12, 18])
def test_the_printed_stations_read_back_as_a_floor_that_passes(seed):
    payload = random_floor(seed)
    stations = shown(payload)["stations"]
    again = {"unit": "mm"}
    for line, field in (("outer", "stations"), ("inner", "inner")):
        again[field] = [{"at": s["at_mm"], "reading": s["height_mm"]} for s in stations if s["line"] == line]
    assert floor.judge(payload, limits()).result == FAIL
    assert floor.judge(again, limits()).result == PASS
    assert floor.correct(again, limits()).best.cost == 0


@st.composite
def small_floors(draw):
    at, outer = 0, []
    for _ in range(draw(st.integers(3, 9))):
        outer.append((at, draw(st.integers(-6 * MM, 6 * MM))))
        at += draw(st.integers(1, 2 * FOOT))
    end = outer[-1][0]
    places = draw(st.sets(st.integers(0, end), min_size=1, max_size=6)) | {0, end}
    inner = [(x, draw(st.integers(-6 * MM, 6 * MM))) for x in sorted(places)]
    return outer, inner if draw(st.booleans()) else None


@settings(deadline=None)
@given(small_floors(), st.sampled_from([1, 3, Fraction(1, 7)]), st.sampled_from([None, 0, MM]))
def test_a_correction_passes_and_costs_no_more_than_grinding_or_filling_alone(laid, grind_cost, grind_most):
    chosen = limits(grind_cost=grind_cost, grind_most=grind_most)
    found = floor.correct(sent(*laid), chosen)
    assert passes(found.best, chosen)
    for other in (found.grind_only, found.fill_only):
        assert other is None or found.best.cost <= other.cost + _slack(other)


@settings(deadline=None)
@given(small_floors(), st.integers(-(10**9), 10**9))
def test_a_floor_raised_as_a_whole_costs_the_same_to_correct(laid, raised):
    lifted = [None if points is None else [(x, h + raised) for x, h in points] for points in laid]
    here, there = floor.correct(sent(*laid), limits()).best, floor.correct(sent(*lifted), limits()).best
    assert abs(here.cost - there.cost) <= _slack(here)


# ---- the dual certificate, in fractions ------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(1, 13))
def test_no_plan_at_all_can_be_cheaper_than_the_one_found(seed):
    """Weak duality, exactly: multipliers from another solver's interior point method, the bound summed in fractions.

    Whatever the multipliers are, the bound holds; that it meets the cost of the plan proves both.
    """
    payload = random_floor(seed, most=40)
    plan = floor.correct(payload, limits()).best
    stated = _Stated(*_lines_of(payload))
    bound, per_nm = stated.lower_bound(plan.cost / MM**2)
    cost = plan.cost / MM**2
    assert cost >= bound
    drawn_in = Fraction(2 * max(correction.DRAWN_IN[:3]), MM)
    assert cost - bound <= drawn_in * per_nm + _slack(plan) / Fraction(MM**2)
    assert bound > cost * Fraction(999, 1000)


class _Stated:
    """The problem written down a second time, in mm and fractions, out of nothing but profile heights.

    Each row says sum of weight x corrected height (plus the level or the fall, for a range) <= limit. Every row is
    something a floor that passes must fulfil, so a bound from them holds for every plan.
    """

    def __init__(self, read, start, end):
        self.points = {name: _ended(points, start, end) for name, points in read.items()}
        self.columns = [(name, i) for name, points in self.points.items() for i in range(len(points))]
        self.heights = {(name, i): Fraction(self.points[name][i][1]) / MM for name, i in self.columns}
        self.rows = list(self._rows())

    def _rows(self):
        rise, spread, across, wind = (
            Fraction(VALUES[k]) / MM for k in ("rise_in_a_foot", "total_range", "cross_fall", "wind")
        )
        for name, points in self.points.items():
            places = {x for x, _ in points}
            for x in sorted(places):
                near = {y for y in places if x < y <= x + FOOT} | {x - FOOT, x + FOOT}
                for y in sorted(y for y in near if points[0][0] <= y <= points[-1][0]):
                    yield from _two_sided(_less(self._height(name, x), self._height(name, y)), rise)
            for i in range(len(points)):
                yield {(name, i): Fraction(1), "level": Fraction(-1)}, spread
                yield {(name, i): Fraction(-1), "level": Fraction(1)}, Fraction(0)
        start, end = max(p[0][0] for p in self.points.values()), min(p[-1][0] for p in self.points.values())
        for x in sorted({x for points in self.points.values() for x, _ in points if start <= x <= end}):
            fall = _less(self._height("inner", x), self._height("outer", x))
            yield from _two_sided(fall, across)
            yield {**fall, "fall": Fraction(-1)}, wind
            yield {**{k: -w for k, w in fall.items()}, "fall": Fraction(1)}, Fraction(0)

    def _height(self, name, x):
        points = self.points[name]
        i = max(i for i, (at, _) in enumerate(points) if at <= x)
        if points[i][0] == x:
            return {(name, i): Fraction(1)}
        share = Fraction(x - points[i][0], points[i + 1][0] - points[i][0])
        return {(name, i): 1 - share, (name, i + 1): share}

    def costs(self):
        for name, i in self.columns:
            points = self.points[name]
            left, right = points[max(i - 1, 0)][0], points[min(i + 1, len(points) - 1)][0]
            yield Fraction(right - left, 2 * MM)

    def lower_bound(self, known_cost):
        """(a cost below which no plan can be, what a mm off every limit would add), exact for these multipliers."""
        n, price = len(self.columns), list(self.costs())
        number = {column: i for i, column in enumerate(self.columns)} | {"level": 2 * n, "fall": 2 * n + 1}
        stand = [sum(w * self.heights.get(k, 0) for k, w in row.items()) for row, _ in self.rows]
        sums = [(list(row.items()), most - stands) for (row, most), stands in zip(self.rows, stand, strict=True)]
        multipliers = _multipliers(sums, number, n, [3 * p for p in price] + price)
        slope = defaultdict(Fraction)
        for weight, (row, _) in zip(multipliers, sums, strict=True):
            for column, w in row:
                slope[column] += weight * w
        bound = -sum(weight * most for weight, (_, most) in zip(multipliers, sums, strict=True))
        for column, p in zip(self.columns, price, strict=True):  # a depth lies between 0 and what the known cost buys
            bound += min(Fraction(0), 3 * p - slope[column]) * known_cost / (3 * p)
            bound += min(Fraction(0), p + slope[column]) * known_cost / p
        furthest = max(map(abs, self.heights.values())) + known_cost / min(price)
        bound -= (abs(slope["level"]) + abs(slope["fall"])) * 2 * furthest
        return bound, sum(multipliers)


def _ended(points, start, end):
    start, end = max(start, points[0][0]), min(end, points[-1][0])
    inside = [(x, h) for x, h in points if start < x < end]
    return [(start, lines.profile_at(points, start)), *inside, (end, lines.profile_at(points, end))]


def _less(a, b):
    return {k: a.get(k, Fraction(0)) - b.get(k, Fraction(0)) for k in {**a, **b}}


def _two_sided(weights, most):
    yield weights, most
    yield {k: -w for k, w in weights.items()}, most


def _multipliers(sums, number, n, costs):
    """What scipy's interior point method gives each row; nought where it came out on the wrong side."""
    at, columns, values = [], [], []
    for r, (row, _) in enumerate(sums):
        for column, w in row:
            first = number[column]
            for c, sign in [(first, -1), (first + n, 1)] if isinstance(column, tuple) else [(first, 1)]:
                at.append(r)
                columns.append(c)
                values.append(sign * float(w))
    matrix = csr_matrix((values, (at, columns)), shape=(len(sums), 2 * n + 2))
    most = np.array([float(m) for _, m in sums])
    span = [(0, None)] * (2 * n) + [(None, None)] * 2
    solved = linprog([*map(float, costs), 0.0, 0.0], A_ub=matrix, b_ub=most, bounds=span, method="highs-ipm")
    return [max(Fraction(0), Fraction(-m)) for m in solved.ineqlin.marginals.tolist()]
