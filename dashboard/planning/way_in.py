"""Whether the panels get in, on the page on which their hanging is given: with each of our carts, before the day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from dashboard.measures import Reader
from dashboard.opening.handling_shown import HandlingShown
from jobs.models import Equipment, Opening, WorkStep
from jobs.services.equipment import rated
from jobs.stages import Stage
from units.models import Panel, Unit
from units.services.handling import Help

MOST_CARTS = 12
TO_HANG = ("expected", "received")


@dataclass(frozen=True, slots=True)
class WayIn:
    """Of carts on which it is all the same. `fails`: at least one panel does not get through."""

    said: str
    carts: tuple[int, ...] = ()
    fails: bool = False
    in_doubt: bool = False


def ways_in(opening: Opening, steps: Iterable[WorkStep], gear: Sequence[Equipment], reader: Reader,
            today: dt.date) -> list[WayIn]:
    """Of the panels still to hang, where hanging them is among these steps."""
    if not any(step.stage == Stage.PANELS_HUNG.value for step in steps):
        return []
    unit = Unit.objects.select_related("system").prefetch_related("panels").filter(opening=opening).first()
    panels = [] if unit is None else [panel for panel in unit.panels.all() if panel.state in TO_HANG]
    if not panels:
        return []
    if not opening.job.way_in:
        return [WayIn(_("The way in of this job is not entered yet, leg by leg: whether the panels get in, nobody can "
                        "tell."), in_doubt=True)]
    carts = [one for one in gear if not rated(one).lifts]
    if not carts:
        return [WayIn(_("No cart of ours is entered: whether the panels get in on one, nobody can tell."),
                      in_doubt=True)]
    alike: dict[tuple[str, bool, bool], list[Equipment]] = {}
    for cart in carts[:MOST_CARTS]:
        alike.setdefault(_on(cart, opening, unit, panels, reader, today), []).append(cart)
    return [*(WayIn(f"{', '.join(one.name for one in same)}: {said}", tuple(one.pk for one in same), fails, in_doubt)
              for (said, fails, in_doubt), same in alike.items()), *_more(len(carts) - MOST_CARTS)]


def _more(count: int) -> Iterator[WayIn]:
    if count > 0:
        yield WayIn(ngettext("%d more cart is not shown.", "%d more carts are not shown.", count) % count)


def _on(cart: Equipment, opening: Opening, unit: Unit, panels: Sequence[Panel], reader: Reader,
        today: dt.date) -> tuple[str, bool, bool]:
    """What is said of it; whether a panel does not get through; whether something is still needed to tell."""
    shown = HandlingShown.of(panels, unit.system, opening.job.way_in, Help((cart,)), (), today, reader)
    ways = shown.brought_in
    parts = [shown.refused] if shown.refused and not ways else [
        _("%(said)s (%(panels)s)") % {"panels": ", ".join(one.letters), "said": one.said} for one in ways]
    return ("; ".join(parts), any(one.passes is False for one in ways),
            not ways or any(one.passes is None for one in ways))
