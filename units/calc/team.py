"""A team lifting by hand: together they lift less than the sum of what each can.

    two people 2/3 of that sum, three 1/2; more than four is unlikely to work (HSE, lifting in teams)

HSE gives no part for four people; the office may set one. (A military standard has two people lift double, for another
population and even loads: the lower is taken.) Masses are kilograms in fractions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from jobs.calc.verdict import Limit, Remedy

HSE = "HSE, lifting in teams"
MOST_TEAM = 4
TEAM = {1: Fraction(1), 2: Fraction(2, 3), 3: Fraction(1, 2)}


@dataclass(frozen=True, slots=True)
class Team:
    """What each can lift alone; None for one of whom nobody said."""

    can: tuple[Fraction | None, ...]

    @property
    def people(self) -> int:
        return len(self.can)


def team_part(people: int, of_four: Limit) -> Fraction | None:
    """The part of the sum of what each can that they lift together; None where nobody has published or set one."""
    if people == MOST_TEAM and of_four.value is not None:
        return Fraction(of_four.value) / 100
    return TEAM.get(people)


def together(team: Team, limits: Mapping[str, Limit]) -> Fraction | None:
    part = team_part(team.people, limits["team_of_four"])
    each = [limits["one_person"].value if can is None else can for can in team.can]
    return None if part is None or None in each else part * sum(each)


def whose(team: Team, limits: Mapping[str, Limit]) -> str:
    """Whose limit it is: what each can lift, and the part of it that a team can."""
    sources = [limits["one_person"].source] if None in team.can else []
    if team.people > 1:
        sources.append(limits["team_of_four"].source if team.people == MOST_TEAM else HSE)
    return "; ".join(sources) or "as each says"


def more_hands(mass: Fraction, team: Team, limits: Mapping[str, Limit]) -> Remedy:
    """The fewest people of whom each can as much as the weakest of these; where none are enough, equipment."""
    each = [limits["one_person"].value if can is None else can for can in team.can]
    if None not in each:
        for people in range(team.people + 1, MOST_TEAM + 1):
            part = team_part(people, limits["team_of_four"])
            if part is not None and part * people * min(each) >= mass:
                return Remedy("lift_with_more_hands", {"people": people})
    return Remedy("lift_with_equipment", {"capacity_left_needed_kg": mass})


def shares(mass: Fraction, team: Team, limits: Mapping[str, Limit]) -> dict[str, Any]:
    """Each carries one share, and must be able to lift alone more than it: a team wastes some of what each can."""
    part = team_part(team.people, limits["team_of_four"])
    return {"people": team.people, "part_of_their_sum": part, "together_can_kg": together(team, limits),
            "share_kg": mass / team.people,
            "each_must_be_able_to_kg": None if part is None else mass / (team.people * part)}
