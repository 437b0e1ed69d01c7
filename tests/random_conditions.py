"""Reveals and sealing conditions at random: every third within one mark of a limit, some of the others spoilt."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from random import Random
from typing import Any

from inspections.calc import reveal, sealing
from jobs.calc import reading
from jobs.calc.lengths import FOOT, INCH, MM
from jobs.calc.verdict import BadInput, Finding
from tests.random_readings import COUNT, NEAR, SEED, SPOILT, Case, Person, judged_cases, limits_set, spoil

DAY = dt.datetime(2031, 3, 4, 9, tzinfo=dt.timezone(dt.timedelta(hours=-5)))


def reveals(count: int = COUNT) -> Iterator[Case]:
    return judged_cases(reveal, _reveal, count)


def _reveal(person: Person) -> Case:
    random, tall = person.random, person.near(9 * FOOT, FOOT)
    gap, by = person.near(8 * MM, 4 * MM), random.choice((MM // 2, 2 * MM, 6 * MM))
    heights = {"top": tall - INCH, "middle": tall // 2, "bottom": person.near(2 * INCH, INCH)}
    places = [place for place in heights if not person.seldom(0.05)]
    given: dict[str, Any] = {
        "gaps": {place: person.says(max(0, person.near(gap, by))) for place in places},
        "heights": {place: person.says(at) for place, at in heights.items() if not person.seldom(0.02)}}
    if not person.seldom():
        given |= {"roller_spacing": person.says(person.near(5 * FOOT, 2 * FOOT)),
                  "from_edge": person.says(person.near(4 * INCH, 2 * INCH)),
                  "thread_pitch": random.choice((1.25, 1.5, 2, "1/16 in"))}
        screw = {"preset": person.says(10 * MM), "lowest": person.says(4 * MM), "highest": person.says(16 * MM)}
        given["rollers"] = {name: {"now": person.says(person.near(10 * MM, 6 * MM)), **screw}
                            for name in ("near", "far") if not person.seldom(0.04)}
    if person.seldom(0.6):
        given |= {"head_clearance": person.says(person.near(10 * MM, 8 * MM)),
                  "head_clearance_least": person.says(3 * MM)}
    if person.seldom(0.4):
        given["lock_height"] = person.says(person.near(1000 * MM, 100 * MM))
    return Case(given, limits_set(person, taper=INCH // 16, gap_least=4 * MM, gap_most=12 * MM, bow=INCH // 8))


def conditions(count: int = COUNT) -> Iterator[Case]:
    random = Random(f"{sealing.NAME} {SEED}")
    for n in range(count):
        case = _conditions(random)
        if n % NEAR == 0:
            _to_a_bound(random, case)
        elif n % SPOILT == 1:
            spoil(random, case.given)
        yield case


def _conditions(random: Random) -> Case:
    air, surface, damp = (round(random.uniform(*ends), random.choice((0, 1, 2))) + 0.01 for ends in (
        (-5, 38), (-5, 45), (15, 98)))
    given: dict[str, Any] = {"air_c": _warmth(random, air), "surface_c": _warmth(random, surface), "humidity_pct": damp}
    if random.random() < 0.8:
        given["surface_dry"] = random.random() < 0.8
    if random.random() < 0.8:
        given["product"] = _product(random)
    if random.random() < 0.4:
        given["at"] = (DAY + dt.timedelta(minutes=random.randint(0, 90))).isoformat()
    if random.random() < 0.6:
        given["forecast"] = _forecast(random, air, damp)
    if random.random() < 0.3:
        given |= {"bead_depth": f"{random.randint(5, 20)} mm", "days_since": random.randint(0, 30)}
    limit = random.choice((None, 3, 2.5, "5 F"))
    return Case(given, {} if random.random() < 0.05 else {"dew_margin": {"value": limit, "source": "as shipped"}})


def _warmth(random: Random, celsius: float) -> float | str:
    return celsius if random.random() < 0.7 else f"{celsius * 9 / 5 + 32:.1f} F"


def _product(random: Random) -> dict[str, Any]:
    product: dict[str, Any] = {
        "name": "Joint sealant A", "source": "an invented data sheet", "air_least_c": 5.5, "air_most_c": 35.5,
        "surface_least_c": 4.5, "surface_most_c": 50.5, "humidity_least_pct": 20, "humidity_most_pct": 95,
        "skin_minutes": 90, "cure_mm_per_sqrt_day": 2.5, "bead_depth": "12.7 mm", "water_test_after_days": 7,
        "load_after_days": 21.5}
    return {name: value for name, value in product.items() if random.random() < 0.85}


def _forecast(random: Random, air: float, damp: float) -> list[dict[str, Any]]:
    first = DAY + dt.timedelta(hours=random.randint(-2, 2))
    step = dt.timedelta(hours=random.choice((1, 3)))
    return [{"at": (first + n * step).isoformat(), "air_c": round(air - random.uniform(0, 9), 1) + 0.01,
             "humidity_pct": min(100, round(damp + random.uniform(0, 9), 1)), "rain_mm": random.choice((0, 0, 0, 0.4))}
            for n in range(random.randint(1, 30))]


def _to_a_bound(random: Random, case: Case) -> None:
    """The limit or the product's bound onto what it judges, or a hundredth of a degree beside it."""
    try:
        judged = sealing.judge(case.given, reading.limits(case.limits, sealing.LIMITS, {}))
    except BadInput:
        return
    movable = [finding for finding in judged.findings if _movable(finding)]
    if not movable:
        return
    found = random.choice(movable)
    value = round(float(found.value) + random.choice((0, 0, 0.01, -0.01)), 2)
    if found.quantity == "dew_margin":
        case.limits = {"dew_margin": {"value": max(0, value), "source": "as shipped"}}
    else:
        case.given["product"][_bound_of(found.quantity, found.unit)] = max(1, value) if found.unit == "pct" else value


def _movable(finding: Finding) -> bool:
    if finding.quantity == "dew_margin":
        return finding.value >= 0  # a limit below nought is refused
    return finding.unit in ("c", "pct") and finding.value is not None and finding.limit is not None


def _bound_of(quantity: str, unit: str) -> str:
    """The name of the product's bound that it is judged by; of a night too, whose low is held to the least."""
    name = quantity.removeprefix("tonights_low_")
    return f"{name}_{unit}" if name == quantity else f"{name}_least_{unit}"
