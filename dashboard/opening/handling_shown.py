"""How a unit's panels are lifted and brought in, as its page shows it: panel by panel, with what is planned for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from dashboard import words
from dashboard.measures import Reader
from jobs.calc.verdict import FAIL, PASS, Verdict
from units.services.handling import Handling, Help

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


@dataclass(frozen=True, slots=True)
class Handled:
    letter: str
    mass: str
    lifting: str
    way_in: str


@dataclass(frozen=True)
class HandlingShown:
    handling: Handling
    planned: Help
    reader: Reader

    @property
    def with_what(self) -> str:
        """Equipment and hands, or that nothing is planned."""
        names = [one.name for one in self.planned.equipment]
        if self.planned.hands:
            names.append(ngettext("%d person", "%d people", self.planned.hands) % self.planned.hands)
        return "; ".join(names)

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
                          lifted(verdict), self._brought_in(letter, way))

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
    return _("still needed: %s") % lacks(verdict.missing)


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
