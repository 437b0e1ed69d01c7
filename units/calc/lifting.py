"""Lifting a panel: what the equipment has left, who steers it, what a team can share, and the wind on it in the air.

    capacity left, one circuit lost   `rating`        what a team lifts together, each one's share   `team`
    one person by hand, where it applies   `niosh`
    wind: F = 1/2 rho v^2 C A, newtons; rho kg/m3, v m/s, C and A (m2) as given

Masses are kilograms in fractions, lengths whole nanometres; nothing here needs a root, so nothing is rounded before it
is compared. Each piece of equipment is judged against the whole mass: two lifters on one panel do not simply add up.
Every answer carries its caution: the equipment's maker, the rules of the site and local law decide.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from jobs.calc.exact import every_limit
from jobs.calc.rating import Equipment, lacking_to_lift, rated_needed
from jobs.calc.verdict import (
    DOES_NOT_APPLY,
    NOT_ENOUGH_DATA,
    NOT_ENOUGH_READINGS,
    Finding,
    Limit,
    Remedy,
    Verdict,
    at_least,
    at_most,
    overall,
)
from units.calc import niosh
from units.calc.lifting_sent import Panel, Plan, Wind, read_plan
from units.calc.team import HSE, MOST_TEAM, more_hands, shares, team_part, together, whose

NAME = "lifting"
LIMITS: dict[str, str] = {
    "one_person": "kg",  # what one person may lift, where nobody says what each can
    "team_of_four": "pct",  # of the sum of what each can; no published figure
    "wind_speed": "m_per_s",  # above this no panel is moved on this site, whatever the equipment allows
    "mass_apart": "pct",  # computed and weighed further apart than this: a second look, no verdict
}

CAUTION = "follow_the_equipments_maker_the_site_and_local_law"
LIGHTEST, HEAVIEST = 10, 150  # kg for a square metre of panel: outside this somebody looks again


def wind_force(speed: Fraction, air_density: Fraction, drag: Fraction, area: Fraction) -> Fraction:
    """Newtons."""
    return air_density * speed**2 * drag * area / 2


# ---- the judgement --------------------------------------------------------------------------------------


def judge_plan(plan: Plan, limits: Mapping[str, Limit]) -> Verdict:
    exact = every_limit(LIMITS, limits)
    findings = (*(f for one in plan.equipment for f in _of_equipment(one, plan)), *_of_team(plan, exact),
                *_above(plan), *_site_wind(plan, exact), *(plan.by_hand.findings if plan.by_hand else ()))
    missing = (*(lack for one in plan.equipment for lack in _missing_of(one, plan)), *_missing(plan, exact))
    result = overall(findings, missing)
    return Verdict(NOT_ENOUGH_DATA if result == NOT_ENOUGH_READINGS else result, findings, _computed(plan, exact),
                   missing, tuple(_second_look(plan, exact)), CAUTION)


def _of_equipment(one: Equipment, plan: Plan) -> Iterable[Finding]:
    mass, where = plan.panel.mass, {"equipment": one.name}
    yield from _carries("mass", mass, one, Fraction(1))
    if one.vacuum and one.includes is not None and one.stays_with_one_lost is not None:
        yield from _carries("mass_with_one_circuit_lost", mass, one, one.stays_with_one_lost)
    if one.people_to_steer is not None and plan.team is not None:
        yield at_least("hands_to_steer", plan.team.people, Limit(one.people_to_steer, one.source), unit="people",
                       where=where, remedy=Remedy("send_more_hands", {"people": one.people_to_steer}))
    if plan.wind is not None and one.stop_wind is not None:
        yield at_most("wind_speed", plan.wind.speed, Limit(one.stop_wind, one.source), unit="m_per_s", where=where,
                      remedy=Remedy("wait_for_less_wind", {"stop_m_per_s": one.stop_wind}))


def _carries(quantity: str, mass: Fraction, one: Equipment, part: Fraction) -> Iterable[Finding]:
    """Judged when all is known, and too heavy all the same when even the best that can come of it is too little."""
    if one.at_best is None:
        return
    left = one.at_best * part
    if one.capacity_left is not None or mass > left:
        remedy = Remedy("use_equipment_of_more_capacity", {"rated_at_least_kg": rated_needed(mass, one, part)})
        yield at_most(quantity, mass, Limit(left, one.source), unit="kg", where={"equipment": one.name}, remedy=remedy)


def _missing_of(one: Equipment, plan: Plan) -> Iterable[Mapping[str, Any]]:
    lacks = [*lacking_to_lift(one)]
    if plan.wind is not None and one.lifts and one.stop_wind is None:
        lacks.append({"what": "stop_wind", "ask": "the_makers_manual"})
    return ({**lack, "equipment": one.name} for lack in lacks)


def _missing(plan: Plan, limits: Mapping[str, Limit]) -> Iterable[Mapping[str, Any]]:
    if plan.team is None:
        yield {"what": "hands" if plan.equipment else "hands_or_equipment"}
    elif not plan.equipment and plan.team.people == MOST_TEAM and team_part(MOST_TEAM, limits["team_of_four"]) is None:
        yield {"what": "team_of_four", "why": "no_published_figure"}
    if (plan.ceiling_clearance is None) != (plan.needs_above is None):
        yield {"what": "ceiling_clearance" if plan.ceiling_clearance is None else "needs_above"}
    if plan.wind is not None:
        yield from ({"what": name, "for": "wind_force"} for name in ("air_density", "drag", "area")
                    if getattr(plan.wind, name) is None)
    if plan.by_hand is not None:
        yield from plan.by_hand.missing


def _of_team(plan: Plan, limits: Mapping[str, Limit]) -> Iterable[Finding]:
    """With no equipment the mass is for the people alone."""
    team = plan.team
    if plan.equipment or team is None:
        return
    if team.people > MOST_TEAM:
        yield at_most("people_in_the_team", team.people, Limit(MOST_TEAM, HSE), unit="people",
                      remedy=Remedy("lift_with_equipment", {"capacity_left_needed_kg": plan.panel.mass}))
        return
    part = team_part(team.people, limits["team_of_four"])
    if part is None or (together(team, limits) is None and plan.by_hand is not None and plan.by_hand.findings):
        return
    yield at_most("mass_for_the_team", plan.panel.mass, Limit(together(team, limits), whose(team, limits)),
                  unit="kg", where={"people": team.people}, remedy=more_hands(plan.panel.mass, team, limits))


def _above(plan: Plan) -> Iterable[Finding]:
    if plan.ceiling_clearance is not None and plan.needs_above is not None:
        yield at_least("ceiling_clearance", plan.ceiling_clearance, Limit(plan.needs_above, "as sent"),
                       remedy=Remedy("needs_lower_equipment", {"by_mm": plan.needs_above - plan.ceiling_clearance}))


def _site_wind(plan: Plan, limits: Mapping[str, Limit]) -> Iterable[Finding]:
    """The site's own limit. Equipment brings its own; people with a panel in their hands have only this one."""
    site = limits["wind_speed"]
    by_equipment = any(one.stop_wind is not None for one in plan.equipment)
    if plan.wind is not None and (site.value is not None or not by_equipment):
        yield at_most("wind_speed", plan.wind.speed, site, unit="m_per_s", where={"at": "the_site"},
                      remedy=Remedy("wait_for_less_wind", {"stop_m_per_s": site.value}))


def _second_look(plan: Plan, limits: Mapping[str, Limit]) -> Iterable[Mapping[str, Any]]:
    panel, apart = plan.panel, limits["mass_apart"].value
    if panel.computed and panel.weighed and apart is not None and _apart_pct(panel) > apart:
        yield {"what": "mass", "why": "computed_and_weighed_differ", "computed_kg": panel.computed,
               "weighed_kg": panel.weighed, "apart_pct": _apart_pct(panel)}
    if panel.area and not LIGHTEST <= panel.mass / panel.area <= HEAVIEST:
        yield {"what": "mass", "why": "improbable_for_its_size", "mass_kg": panel.mass,
               "for_a_square_metre_kg": panel.mass / panel.area}


def _apart_pct(panel: Panel) -> Fraction:
    return 100 * abs(panel.computed - panel.weighed) / panel.weighed


# ---- what follows ---------------------------------------------------------------------------------------


def _computed(plan: Plan, limits: Mapping[str, Limit]) -> dict[str, Any]:
    panel = plan.panel
    steering = [one.people_to_steer for one in plan.equipment if one.people_to_steer is not None]
    return {"mass": {"judged_kg": panel.mass, "computed_kg": panel.computed, "weighed_kg": panel.weighed},
            "equipment": [_left(one, plan) for one in plan.equipment],
            "hands_to_steer": max(steering, default=None),
            "team": None if plan.team is None else shares(panel.mass, plan.team, limits),
            "wind": None if plan.wind is None else _in_the_wind(plan.wind),
            "niosh": _niosh(plan)}


def _in_the_wind(wind: Wind) -> dict[str, Any]:
    """The force, and what it was reckoned with: nobody need take an assumption on trust."""
    return {"force_n": _force(wind, wind.speed), "air_density_kg_per_m3": wind.air_density, "drag": wind.drag,
            "area_m2": wind.area}


def _left(one: Equipment, plan: Plan) -> dict[str, Any]:
    left, part = one.capacity_left, one.stays_with_one_lost
    shown = {"name": one.name, "kind": one.kind, "rated_kg": one.capacity, "capacity_left_kg": left,
             "includes": None if one.includes is None else sorted(one.includes),
             "reductions": [{"why": r.why, "factor": r.factor, "source": r.source} for r in one.reductions],
             "people_to_steer": one.people_to_steer, "stop_wind_m_per_s": one.stop_wind}
    if one.vacuum:
        shown["with_one_circuit_lost_kg"] = None if left is None or part is None else left * part
    if plan.wind is not None and one.stop_wind is not None:
        shown["force_at_its_stop_n"] = _force(plan.wind, one.stop_wind)
    return shown


def _force(wind: Wind, speed: Fraction) -> Fraction | None:
    given = (wind.air_density, wind.drag, wind.area)
    return None if None in given else wind_force(speed, *given)


def _niosh(plan: Plan) -> dict[str, Any]:
    """Whether the equation applies, plainly; with why it does not."""
    verdict = plan.by_hand or _not_asked(plan)
    return {"result": verdict.result, **verdict.computed, "missing": [lack["what"] for lack in verdict.missing]}


def _not_asked(plan: Plan) -> Verdict:
    if any(one.lifts for one in plan.equipment):
        return Verdict(DOES_NOT_APPLY, computed={"why": ("not_lifted_by_hand",)})
    people = None if plan.team is None else plan.team.people
    return niosh.judge_lift(plan.panel.mass, None, niosh.Facts(people=people))


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    return judge_plan(read_plan(payload), limits)
