"""A unit as a whole: panels by `panels`, what they weigh by `weights`; where it cannot be built, how many panels can.

A number of panels that is named as one that can be built fails nothing that is known of it: sizes, laps, pocket, wall
and mass. What the scale said is of the panels that there are, and says nothing of panels of another number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from jobs.calc.lengths import to_mm
from jobs.calc.verdict import BadInput, Limit, Verdict
from units.calc import panels, weights
from units.calc.layout import Layout, PlacedPanel

Limits = Mapping[str, Limit]


@dataclass(frozen=True, slots=True)
class Asked:
    """`door`: what `panels` is asked; `make`: what `weights` is, without panels; `weighed`: kilograms by letter."""

    door: Mapping[str, Any]
    make: Mapping[str, Any]
    weighed: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Judged:
    """`weights` None: no panel has both its sizes yet."""

    panels: Verdict
    weights: Verdict | None = None


def judge(asked: Asked, of_panels: Limits, of_weights: Limits) -> Judged:
    """Each by its own limits; BadInput where no such unit could be made."""
    laid_out = panels.judge(asked.door, of_panels, _besides(asked, of_weights))
    sized = [_sent(asked, one["panel"], one["width_mm"], one["height_mm"])
             for one in laid_out.computed.get("panels", ()) if one["height_mm"] is not None]
    return Judged(laid_out, weights.judge({**asked.make, "panels": sized}, of_weights) if sized else None)


def what_can(asked: Asked, of_panels: Limits, of_weights: Limits) -> dict[str, Any]:
    """How many panels can be built, where `judge` refuses the number that was asked; nothing where that is not why."""
    try:
        return panels.what_can(asked.door, of_panels, _besides(asked, of_weights))
    except BadInput:
        return {}


def _besides(asked: Asked, limits: Limits) -> panels.Besides:
    def besides(layout: Layout, height: int | None) -> frozenset[str]:
        return _too_heavy(asked, layout, height, limits)
    return besides


def _too_heavy(asked: Asked, layout: Layout, height: int | None, limits: Limits) -> frozenset[str]:
    if height is None:
        return frozenset()
    there = layout.door.panels == asked.door["panels"]
    of = asked if there else Asked(asked.door, asked.make)
    sent = [_sent(of, panel.letter, panel.width, height) for panel in _that_differ(of, layout)]
    return panels.failing_of(weights.judge({**of.make, "panels": sent}, limits).findings)


def _that_differ(asked: Asked, layout: Layout) -> Iterable[PlacedPanel]:
    """One of each width, where nothing else tells them apart."""
    told_apart = asked.weighed or any(piece.get("panels") for piece in asked.make.get("hardware") or ())
    in_order = layout.in_hanging_order
    return in_order if told_apart else {panel.width: panel for panel in reversed(in_order)}.values()


def _sent(asked: Asked, letter: str, width: int, height: int) -> dict[str, Any]:
    sent = {"panel": letter, "width": f"{to_mm(width)} mm", "height": f"{to_mm(height)} mm"}
    return {**sent, "weighed": asked.weighed[letter]} if letter in asked.weighed else sent
