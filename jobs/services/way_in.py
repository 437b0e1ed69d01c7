"""Whether the panels that are still to hang get in on a cart, leg by leg of their job's way in.

What they are is written into the work step by the floor above; the way in and the carts are kept here. So whatever of
them changes, what is told of work that is given is as it stands now.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from jobs.calc import reading, route
from jobs.calc.brought_in import BY_HAND, OnCart, on_cart, refused
from jobs.calc.lengths import to_mm
from jobs.calc.verdict import BadInput, Verdict
from jobs.models import Equipment, Job, WorkStep
from jobs.services.equipment import kilograms, rated

MOST_KEPT = 1000


def on_carts(step: WorkStep, job: Job, equipment: Iterable[Equipment]) -> dict[str, OnCart]:
    """By the name of each cart among the equipment, or by `BY_HAND` where there is none; nothing where no panel is to
    be brought in, or where the way in was never entered."""
    if not step.to_bring_in or not job.way_in:
        return {}
    sent = json.dumps([step.to_bring_in, job.way_in], sort_keys=True)
    carts = {one.name: cart_sizes(one) for one in equipment if not rated(one).lifts}
    return {name: _on_cart(sent, tuple(sizes.items())) for name, sizes in (carts or {
        BY_HAND: _bare(step.to_bring_in)}).items()}


def _bare(loads: Mapping[str, Any]) -> dict[str, Any]:
    """Carried: no wider than the panel, no higher than it stands."""
    return what_is_known({"thickness": loads["load"].get("bare_thickness"), "cart_height": "0 mm"})


# The same panels are asked about with every list they stand in and every week they might be hung in.
@lru_cache(maxsize=MOST_KEPT)
def _on_cart(sent: str, cart: tuple[tuple[str, Any], ...]) -> OnCart:
    loads, way_in = json.loads(sent)
    try:
        return on_cart(judged(loads, way_in, dict(cart)))
    except BadInput as why:
        return refused(why, [one["panel"] for one in loads["panels"]])


def judged(loads: Mapping[str, Any], way_in: Sequence[Any], cart: Mapping[str, Any]) -> Verdict:
    """`loads` as they are written into the work step."""
    return route.judge(way_asked(loads, way_in, cart), reading.limits(loads["limits"], route.LIMITS, {}, "mm"))


def way_asked(loads: Mapping[str, Any], way_in: Sequence[Any], cart: Mapping[str, Any]) -> dict[str, Any]:
    """What `route` is asked: each panel upright on this cart, along these legs."""
    return {"unit": "mm", "legs": way_in, "load": {**loads["load"], **cart}, "panels": loads["panels"]}


def cart_sizes(cart: Equipment | None) -> dict[str, Any]:
    """Of a cart what was read of it."""
    return {} if cart is None else what_is_known({
        "thickness": millimetres(cart.width_loaded), "cart_height": millimetres(cart.carries_at),
        "cart_mass": kilograms(cart.own_grams)})


def what_is_known(asked: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in asked.items() if value is not None}


def millimetres(nm: int | None) -> str | None:
    return None if nm is None else f"{to_mm(nm)} mm"
