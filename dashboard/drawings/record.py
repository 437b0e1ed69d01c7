"""What is recorded of openings, as far as it is drawn: read for a whole list in a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from dashboard.drawings.elevation import Built, BuiltPanel
from inspections.models import HoldPoint, Joint, PunchItem
from inspections.services.datums import unit_of
from jobs.models import Opening
from units.models import Panel


def built(openings: Iterable[Opening]) -> dict[int, Built]:
    """By opening; the openings bring their unit along."""
    openings = {o.pk: o for o in openings}
    closed = set(HoldPoint.objects.filter(opening__in=openings, undone_at=None, advanced=True)
                 .values_list("opening", flat=True))
    panels, sealed, items = _panels(openings), _sealed(openings), _items(openings)
    return {pk: _built(o, closed=pk in closed, panels=panels[pk], sealed=sealed[pk], items=items[pk])
            for pk, o in openings.items()}


def one(opening: Opening, *, closed: bool, panels: Iterable[Panel], joints: Iterable[Joint],
        items: Iterable[PunchItem]) -> Built:
    """Of rows that were read already."""
    rows = [BuiltPanel(p.letter, p.state, p.damaged, p.track, p.side) for p in panels]
    letters = {p.pk: p.letter for p in panels}
    sealed = _last_done((j.place, j.side, j.rule, j.done) for j in joints)
    return _built(opening, closed=closed, panels=rows, sealed=sealed,
                  items=[(i.number, letters.get(i.panel_id) or i.place) for i in items if i.closed_at is None])


def _built(opening: Opening, *, closed: bool, panels: list[BuiltPanel], sealed: set[str],
           items: list[tuple[int, str]]) -> Built:
    unit = unit_of(opening)
    pocket = getattr(unit, "pocket_depth_needed", None) or opening.pocket_depth_needed
    return Built(
        stage=opening.stage, pocket_side=opening.pocket_side, width=opening.rough_width, height=opening.rough_height,
        pocket=pocket, pocket_closed=closed, panels=tuple(panels), sealed=frozenset(sealed), items=tuple(items))


def _panels(openings: Iterable[int]) -> dict[int, list[BuiltPanel]]:
    found: dict[int, list[BuiltPanel]] = defaultdict(list)
    rows = Panel.objects.filter(unit__opening__in=openings).order_by("hanging_order", "letter")
    for opening, *panel in rows.values_list("unit__opening", "letter", "state", "damaged", "track", "side"):
        found[opening].append(BuiltPanel(*panel))
    return found


def _sealed(openings: Iterable[int]) -> dict[int, set[str]]:
    rows = defaultdict(list)
    found = Joint.objects.filter(opening__in=openings).order_by("-taken_at", "-id")
    for opening, *joint in found.values_list("opening", "place", "side", "rule", "done"):
        rows[opening].append(joint)
    return defaultdict(set, {opening: _last_done(joints) for opening, joints in rows.items()})


def _last_done(joints: Iterable[Iterable]) -> set[str]:
    """Places whose latest entry says sealed; newest first."""
    latest: dict[tuple[str, str], bool] = {}
    for place, side, rule, done in joints:
        latest.setdefault((place, side), rule == "seal" and done)
    return {place for (place, _side), sealed in latest.items() if sealed}


def _items(openings: Iterable[int]) -> dict[int, list[tuple[int, str]]]:
    found: dict[int, list[tuple[int, str]]] = defaultdict(list)
    rows = PunchItem.objects.filter(opening__in=openings).still_open().order_by("number")
    for opening, number, letter, place in rows.values_list("opening", "number", "panel__letter", "place"):
        found[opening].append((number, letter or place))
    return found
