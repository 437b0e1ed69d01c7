"""How a unit's panels are lifted and brought in, as its page shows it: tried or kept, with what is planned for it,
which of our lifters take the heaviest, and the way in leg by leg."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from dashboard import words
from dashboard.measures import Reader
from dashboard.written import decimal
from jobs.calc.exact import as_written
from jobs.calc.verdict import FAIL, PASS, Finding, Verdict
from jobs.models import Equipment
from jobs.services.equipment import rated, unknown_of
from units.models import DoorSystem, Panel
from units.services.handling import Handling, Help, Lifter, ToCarry, cart_to_try, handling_as, lifters_for

LIFTED = {
    "mass": gettext_lazy("%(name)s has too little left of its rating"),
    "mass_with_one_circuit_lost": gettext_lazy("with one circuit lost %(name)s has too little left"),
    "hands_to_steer": gettext_lazy("%(name)s takes more people to steer"),
    "wind_speed": gettext_lazy("too much wind for %(name)s"),
    "mass_for_the_team": gettext_lazy("too heavy for these hands"),
    "people_in_the_team": gettext_lazy("too many for a lift by hand: send equipment"),
    "load_for_one_person": gettext_lazy("too heavy for one person to lift so"),
    "ceiling_clearance": gettext_lazy("too little room under the ceiling for it"),
}
NO_LIMIT = {"wind_speed": gettext_lazy("the wind above which nobody moves a panel here, as the site says"),
            "mass_for_the_team": gettext_lazy("a lifter; or what a team may lift here, as local law says")}
ONLY_ROLLS = gettext_lazy("it can be rolled; a lifter is not planned")
TOO_WINDY_HERE = gettext_lazy("more wind than the site allows")
LACKING = {
    "capacity": gettext_lazy("the rating of %(name)s"),
    "rating_includes": gettext_lazy("what the rating of %(name)s includes"),
    "reduction": gettext_lazy("what the manual of %(name)s takes off"),
    "circuits": gettext_lazy("how many circuits %(name)s has"),
    "people_to_steer": gettext_lazy("how many steer %(name)s"),
    "stop_wind": gettext_lazy("the wind that stops %(name)s"),
    "hands": gettext_lazy("how many people there are"),
    "hands_or_equipment": gettext_lazy("who lifts it, and with what"),
    "legs": gettext_lazy("the way in of the job, leg by leg"),
    "cart_height": gettext_lazy("a cart, and how high a panel stands on it"),
    "thickness": gettext_lazy("how wide cart and panel are together"),
    "cart_mass": gettext_lazy("what the cart weighs"),
    "mass": gettext_lazy("what the panel weighs"),
    "length": gettext_lazy("how wide the panel is"),
    "height": gettext_lazy("how high the panel is"),
    "team_of_four": gettext_lazy("how much four people lift together: nobody has published it"),
    "ceiling_clearance": gettext_lazy("how high the ceiling is over it"),
    "needs_above": gettext_lazy("how much room the equipment needs above"),
    "air_density": gettext_lazy("how dense the air is"),
    "drag": gettext_lazy("how the wind takes hold of a panel"),
    "area": gettext_lazy("how large the panel is"),
    "lift": gettext_lazy("how it is lifted by hand"),
}
OF_A_LEG = {
    "width": gettext_lazy("how wide it is at %(leg)s"),
    "height": gettext_lazy("how high it is at %(leg)s"),
    "in_width": gettext_lazy("how wide the way into %(leg)s is"),
    "out_width": gettext_lazy("how wide the way out of %(leg)s is"),
    "room_before": gettext_lazy("how much room there is before %(leg)s"),
    "room_after": gettext_lazy("how much room there is behind %(leg)s"),
    "headroom": gettext_lazy("the headroom at %(leg)s"),
    "pitch_deg": gettext_lazy("how steep %(leg)s is"),
    "door_width": gettext_lazy("how wide the door of %(leg)s is"),
    "door_height": gettext_lazy("how high the door of %(leg)s is"),
    "depth": gettext_lazy("how deep %(leg)s is"),
    "capacity": gettext_lazy("what %(leg)s may carry"),
    "lean": gettext_lazy("how far a panel may be leaned, for %(leg)s"),
}
SOMETHING = gettext_lazy("something else that is still to be entered")
WAYS = {
    "lean_it": gettext_lazy("lean it"),
    "turn_it": gettext_lazy("turn it on its side"),
    "without_its_cart": gettext_lazy("take it off its cart"),
    "turn_it_without_its_cart": gettext_lazy("turn it on its side, off its cart"),
    "make_it_larger": gettext_lazy("make the way larger"),
}


KINDS = {
    "corridor": gettext_lazy("corridor"), "corner": gettext_lazy("corner"), "doorway": gettext_lazy("doorway"),
    "stairs": gettext_lazy("stairs"), "lift": gettext_lazy("lift"), "ceiling": gettext_lazy("ceiling"),
}
THROUGH = {
    "turning": gettext_lazy("turning"), "sideways": gettext_lazy("sideways, without turning"),
    "straight": gettext_lazy("straight"), "diagonal": gettext_lazy("from corner to corner"),
}
TOO_MUCH = {
    "height": gettext_lazy("%s too high"), "thickness": gettext_lazy("%s too thick"),
    "length": gettext_lazy("%s too long"), "length_in_room_before": gettext_lazy("%s too long for the room before it"),
    "length_in_room_after": gettext_lazy("%s too long for the room behind it"),
    "length_inside": gettext_lazy("%s too long for the cage"), "mass": gettext_lazy("%s too heavy"),
    "thickness_inside": gettext_lazy("%s too thick for the cage"),
    "lean": gettext_lazy("would lean %s further than it may"),
}
MOST_LIFTERS = 12  # shown at once: those that take it come first
MPH = 0.44704  # m/s


@dataclass(frozen=True, slots=True)
class Handled:
    letter: str
    mass: str
    lifting: str
    way_in: str


@dataclass(frozen=True, slots=True)
class LifterLine:
    name: str
    planned: bool
    left: str
    one_lost: str
    spare: str
    takes: bool | None
    steer: str
    wind: str
    look: str  # such as that its inspection has run out


@dataclass(frozen=True, slots=True)
class LegLine:
    name: str
    kind: str
    cells: tuple[tuple[str, str], ...]  # of each size of panel: its letters, what is said


@dataclass(frozen=True)
class HandlingShown:
    """`panels`, `gear` and `cart`: of what is only thought of; left out, the verdicts alone are said."""

    handling: Handling
    planned: Help
    reader: Reader
    panels: Sequence[Panel | ToCarry] = ()
    gear: Sequence[Equipment] = ()
    cart: Equipment | None = None
    today: dt.date | None = None

    @classmethod
    def of(cls, panels: Sequence[Panel | ToCarry], system: DoorSystem | None, way_in: Sequence[Any], planned: Help,
           gear: Sequence[Equipment], today: dt.date, reader: Reader) -> HandlingShown:
        cart = planned.cart or cart_to_try(gear)
        return cls(handling_as(panels, system, way_in, planned, cart), planned, reader, panels, gear, cart, today)

    # ---- the heaviest, and which of ours takes it --------------------------------------------------------

    @property
    def heaviest(self) -> str:
        """`panel A, 559 lb (254 kg)`"""
        grams = self.handling.heaviest_grams
        return "" if grams is None else _("panel %(letter)s, %(weight)s") % {
            "letter": self.handling.heaviest, "weight": self.reader.weight_up(grams / 1000)}

    @cached_property
    def _lifters(self) -> list[Lifter]:
        heaviest = next((one for one in self.panels if one.letter == self.handling.heaviest), None)
        return [] if heaviest is None else lifters_for(heaviest, self.gear)

    @property
    def lifters(self) -> list[LifterLine]:
        return [self._lifter(one) for one in self._lifters[:MOST_LIFTERS]]

    @property
    def more_lifters(self) -> int:
        return len(self._lifters[MOST_LIFTERS:])

    def _lifter(self, one: Lifter) -> LifterLine:
        known, weight = one.rated, self.reader.weight
        left, lost = known.capacity_left, known.stays_with_one_lost if known.vacuum else None
        planned = any(other.pk == one.equipment.pk for other in self.planned.equipment)
        return LifterLine(
            one.equipment.name, planned, _("not known yet") if left is None else weight(left),
            "–" if left is None or lost is None else weight(left * lost), self._spare(one), one.takes,
            _("not known yet") if known.people_to_steer is None else str(known.people_to_steer),
            self._wind(one), self._out_of_date(one.equipment))

    def _spare(self, one: Lifter) -> str:
        if one.takes is None:
            return _("cannot be told: %s") % "; ".join(dict.fromkeys(self._asked_of(one)))
        said = _("%s in hand") if one.takes else _("%s too little")
        return said % self.reader.weight(abs(one.spare))

    def _asked_of(self, one: Lifter) -> Iterator[str]:
        return (_lacking({**lack, "equipment": _("it")}) for lack in unknown_of(one.rated))

    def _wind(self, one: Lifter) -> str:
        stop, today = one.rated.stop_wind, self.planned.wind
        if stop is None:
            return _("not known yet")
        said = self._speed(stop)
        if one.newtons is not None:
            said = _("%(wind)s; it pushes with %(force)s") % {"wind": said, "force": self.reader.force(one.newtons)}
        return said if today is None or as_written(today) <= stop else _("%s; today's wind stops it") % said

    def _speed(self, wind: float | Fraction) -> str:
        metric = decimal(f"{float(wind):.3g} m/s")
        return f"{float(wind) / MPH:.0f} mph ({metric})" if self.reader.in_inches else metric

    @property
    def wind_today(self) -> str:
        """How today's wind takes hold of the largest panel."""
        if self.planned.wind is None:
            return ""
        winds = [(force, letter) for letter, verdict in self.handling.lifting.items()
                 if (force := (verdict.computed["wind"] or {}).get("force_n")) is not None]
        said = {"wind": self._speed(self.planned.wind)}
        if not winds:
            return _("Wind today: %(wind)s.") % said
        most = max(force for force, _letter in winds)
        letter = next(letter for force, letter in winds if force == most)
        return _("Wind today: %(wind)s. It pushes panel %(letter)s with %(force)s; a gust pushes harder.") % {
            **said, "letter": letter, "force": self.reader.force(most)}

    def _out_of_date(self, one: Equipment) -> str:
        until = one.inspected_until
        if until is None or self.today is None or until >= self.today:
            return ""
        return _("inspection ran out %s") % self.reader.whole_day(until)

    # ---- the way in, leg by leg --------------------------------------------------------------------------

    @cached_property
    def sizes(self) -> list[tuple[str, ...]]:
        """The letters of panels alike on their way in."""
        alike: dict[tuple[Any, ...], list[str]] = {}
        for panel in self.panels:
            way = self._ways.get(panel.letter, {})
            said = (panel.width, panel.height, tuple(self._leg(panel.letter, leg) for leg in way.get("legs", ())))
            alike.setdefault(said, []).append(panel.letter)
        return [tuple(letters) for letters in alike.values()]

    @property
    def heads(self) -> list[str]:
        return [", ".join(letters) for letters in self.sizes]

    @cached_property
    def _ways(self) -> dict[str, Any]:
        way = self.handling.route
        return {} if way is None else {one["panel"]: one for one in way.computed["panels"]}

    @property
    def legs(self) -> list[LegLine]:
        firsts = [letters[0] for letters in self.sizes]
        each = [self._ways.get(letter, {}).get("legs", ()) for letter in firsts]
        return [LegLine(legs[0]["leg"], str(KINDS.get(legs[0]["kind"], legs[0]["kind"])), tuple(
            (head, self._leg(letter, leg)) for head, letter, leg in zip(self.heads, firsts, legs, strict=True)))
            for legs in zip(*each, strict=False)]

    def _leg(self, letter: str, leg: Mapping[str, Any]) -> str:
        if leg["passes"] is None:
            return _("still needed: %s") % self._needed(letter, leg["leg"])
        if leg["passes"]:
            how = [str(THROUGH[leg["how"]])] if leg["how"] else []
            if leg["lean_deg"]:
                how.append(_("leaned %s°") % f"{float(leg['lean_deg']):.0f}")
            if leg["by_hand"]:
                how.append(_("by hand, off its cart"))
            return ", ".join([_("gets through"), *how])
        failed = [f for f in self._of(letter, leg["leg"]) if f.within is False]
        return "; ".join(map(self._too_much, failed)) + self._instead(letter, leg["leg"])

    def _of(self, letter: str, leg: str) -> list[Finding]:
        return [f for f in self.handling.route.findings if f.where == {"panel": letter, "leg": leg}]

    def _needed(self, letter: str, leg: str) -> str:
        """Of this panel and of this leg; a limit that nobody set on this leg too."""
        missing = [lack for lack in self.handling.route.missing
                   if lack.get("panel") in (None, letter) and lack.get("leg") in (None, leg)]
        no_limit = ({"what": f.quantity, **f.where} for f in self._of(letter, leg) if f.limit is None)
        return lacks((*missing, *no_limit), letter)

    def _too_much(self, finding: Finding) -> str:
        over = finding.value - finding.limit
        said = {"kg": self.reader.weight, "deg": lambda deg: f"{float(deg):.0f}°"}.get(
            finding.unit, self.reader.difference)(over)
        return str(TOO_MUCH[finding.quantity]) % said

    # ---- panel by panel ----------------------------------------------------------------------------------

    @property
    def alike(self) -> list[Handled]:
        """Panels of which the same is said, on one line."""
        letters: dict[tuple[str, str, str], list[str]] = {}
        for line in self.lines:
            letters.setdefault((line.mass, line.lifting, line.way_in), []).append(line.letter)
        return [Handled(", ".join(names), *said) for said, names in letters.items()]

    @property
    def with_what(self) -> str:
        """Equipment and hands, or that nothing is planned."""
        names = [one.name for one in self.planned.equipment]
        if self.planned.hands:
            names.append(ngettext("%d person", "%d people", self.planned.hands) % self.planned.hands)
        return "; ".join(names)

    @cached_property
    def _only_rolls(self) -> bool:
        """A cart is planned and nothing that lifts."""
        return bool(self.planned.equipment) and not any(rated(one).lifts for one in self.planned.equipment)

    @property
    def refused(self) -> str:
        """Why not all of it was judged, with what would be right."""
        why = self.handling.refused
        if why is None:
            return ""
        name, right = why.field.rpartition(".")[2], words.right(why.right, self.reader).rstrip(".")
        thing = {"weighed_mass": "mass", "computed_mass": "mass"}.get(name, name)
        return _("Not worked out: %(thing)s. %(right)s.") % {
            "thing": LACKING.get(thing, SOMETHING) % {"name": _("the equipment")},
            "right": right[:1].upper() + right[1:]}

    @property
    def lines(self) -> Iterator[Handled]:
        ways = {} if self.handling.route is None else {
            one["panel"]: one for one in self.handling.route.computed["panels"]}
        for letter, verdict in self.handling.lifting.items():
            way = ways.get(letter, {})
            yield Handled(letter, self.reader.weight_up(verdict.computed["mass"]["judged_kg"]),
                          str(ONLY_ROLLS) if verdict.result == PASS and self._only_rolls else lifted(verdict),
                          self._brought_in(letter, way))

    def _brought_in(self, letter: str, way: Mapping[str, Any]) -> str:
        if way.get("stops_at"):
            return _("does not get past: %s") % way["stops_at"] + self._instead(letter, way["stops_at"])
        if way.get("passes"):
            return _("gets through")
        route = self.handling.route
        if route is None:
            return _("still needed: %s") % lacks(())
        no_limit = ({"what": f.quantity, **f.where} for f in route.findings if f.limit is None)
        return _("still needed: %s") % lacks((*route.missing, *no_limit), letter)

    def _instead(self, letter: str, leg: str) -> str:
        for finding in self.handling.route.findings:
            if finding.within is False and finding.where == {"panel": letter, "leg": leg} and finding.remedy:
                return "; " + str(WAYS[finding.remedy.code])
        return ""


def lifted(verdict: Verdict) -> str:
    if verdict.result == FAIL:
        failed = [finding for finding in verdict.findings if finding.within is False]
        return "; ".join(dict.fromkeys(_failed(f.quantity, f.where or {}) for f in failed))
    if verdict.result == PASS:
        return _("nothing known speaks against it")
    no_limit = [NO_LIMIT[f.quantity] for f in verdict.findings if f.limit is None and f.quantity in NO_LIMIT]
    return _("still needed: %s") % (lacks(verdict.missing) if verdict.missing or not no_limit else "; ".join(
        map(str, no_limit)))


def lacks(missing: tuple[Mapping[str, Any], ...], letter: str | None = None) -> str:
    """Each thing once; of several panels what this one lacks."""
    said = [_lacking(lack) for lack in missing if lack.get("panel") in (None, letter)]
    return "; ".join(dict.fromkeys(said)) or str(SOMETHING)


def _failed(quantity: str, where: Mapping[str, Any]) -> str:
    if where.get("at") == "the_site":
        return str(TOO_WINDY_HERE)
    return str(LIFTED.get(quantity, SOMETHING)) % {"name": where.get("equipment", "")}


def _lacking(lack: Mapping[str, Any]) -> str:
    said = (OF_A_LEG if "leg" in lack else LACKING).get(lack["what"], SOMETHING)
    return str(said) % {"name": lack.get("equipment", ""), "leg": lack.get("leg", "")}
