"""Reads what was sent of panels and what they are made of; refuses what cannot be, naming the field."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from jobs.calc import reading
from jobs.calc.lengths import MM
from jobs.calc.verdict import BadInput
from units.calc import read
from units.calc.glass import MADE, Glass, Layer, nominal_thickness
from units.calc.mass import Inset, Make, Panel, Piece, glass_size, weigh

MOST_MASS, MOST_PIECE, MOST_LINEAR = 5000, 1000, 200  # kg, kg, kg/m: more is a slip of the pen
THICK_INTERLAYER = 10 * MM


def refuse_what_cannot_be(payload: Mapping[str, Any], panels: tuple[Panel, ...], make: Make) -> None:
    alone = isinstance(payload.get("panels"), Mapping)
    for n, panel in enumerate(panels):
        _refuse(payload, panel, make, "panels" if alone else f"panels[{n}]")


def _refuse(payload: Mapping[str, Any], panel: Panel, make: Make, name: str) -> None:
    if min(glass_size(panel, make.inset)) <= 0:
        raise BadInput("glass_inset", payload.get("glass_inset"), f"so that some glass is left of panel {panel.letter}")
    for face, size in (("stile_face", panel.width), ("rail_face", panel.height)):
        if 2 * getattr(make, face) >= size:
            raise BadInput(face, payload.get(face), f"less than half of panel {panel.letter}")
    known = weigh(panel, make).known
    if known > MOST_MASS:
        raise BadInput(name, f"{float(known):g} kg", f"at most {MOST_MASS} kg: check size, glass and linear weights")


def read_panels(payload: Mapping[str, Any], unit: str) -> tuple[Panel, ...]:
    sent = reading.need(payload, "panels")
    if isinstance(sent, Mapping):
        return (_panel(sent, "panels", unit),)
    panels = [_panel(one, f"panels[{n}]", unit) for n, one in enumerate(reading.sequence(sent, "panels", most=100))]
    letters = [panel.letter for panel in panels]
    if not panels:
        raise BadInput("panels", sent, "at least one panel")
    for n, letter in enumerate(letters):
        if letter in letters[:n]:
            raise BadInput(f"panels[{n}].panel", letter, "each panel once")
    return tuple(panels)


def _panel(sent: Any, field: str, unit: str) -> Panel:
    sent = reading.mapping(sent, field)
    letter = read.letter(reading.need(sent, "panel", f"{field}."), f"{field}.panel")
    size = [reading.length(reading.need(sent, name, f"{field}."), f"{field}.{name}", unit=unit)
            for name in ("width", "height")]
    for name, nm in zip(("width", "height"), size, strict=True):
        if nm == 0:
            raise BadInput(f"{field}.{name}", sent[name], "more than nothing")
    weighed = sent.get("weighed")
    return Panel(letter, *size, None if weighed is None else _some(weighed, f"{field}.weighed", MOST_MASS))


def _some(sent: Any, field: str, most: int) -> Fraction:
    kg = read.mass(sent, field, most)
    if kg == 0:
        raise BadInput(field, sent, "more than nothing")
    return kg


def read_make(payload: Mapping[str, Any], unit: str, density: Fraction | None, panels: tuple[Panel, ...]) -> Make:
    faces = read.lengths(payload, ("stile_face", "rail_face"), unit)
    return Make(read_glass(payload, unit), density, _read_inset(payload, unit),
                _pair(payload, "stile_kg_per_m", ("lead", "tail")), _pair(payload, "rail_kg_per_m", ("bottom", "top")),
                faces.get("stile_face", 0), faces.get("rail_face", 0), read_hardware(payload, unit, panels))


def _pair(payload: Mapping[str, Any], name: str, both: tuple[str, str]) -> tuple[Fraction, Fraction] | None:
    """One linear weight for both, or one for each."""
    sent = payload.get(name)
    if sent is None:
        return None
    if not isinstance(sent, Mapping):
        one = read.linear_mass(sent, name, MOST_LINEAR)
        return one, one
    for which in sent:
        reading.choice(which, f"{name}.{which}", both)
    first, second = (read.linear_mass(reading.need(sent, which, f"{name}."), f"{name}.{which}", MOST_LINEAR)
                     for which in both)
    return first, second


def _read_inset(payload: Mapping[str, Any], unit: str) -> Inset:
    """Nothing sent: the glass covers the whole panel, which is never too light."""
    sent, edges = payload.get("glass_inset"), ("lead", "tail", "bottom", "top")
    if sent is None:
        return Inset()
    if not isinstance(sent, Mapping):
        return Inset(*[reading.length(sent, "glass_inset", unit=unit)] * 4)
    for edge in sent:
        reading.choice(edge, f"glass_inset.{edge}", edges)
    return Inset(**read.lengths(sent, edges, unit, "glass_inset."))


def read_glass(payload: Mapping[str, Any], unit: str) -> Glass | None:
    sent = payload.get("glass")
    if sent is None:
        return None
    layers = [_layer(reading.mapping(one, f"glass[{n}]"), f"glass[{n}]", unit)
              for n, one in enumerate(reading.sequence(sent, "glass", most=12))]
    if not any(layer.plies for layer in layers):
        raise BadInput("glass", sent, "at least one pane or laminate")
    return Glass(tuple(layers))


def _layer(sent: Mapping[str, Any], field: str, unit: str) -> Layer:
    kind = reading.choice(sent.get("kind"), f"{field}.kind", ("pane", "laminate", "space"))
    if kind == "pane":
        return Layer((_nominal(reading.need(sent, "nominal", f"{field}."), f"{field}.nominal", unit),))
    if kind == "space":
        return Layer(space=reading.length(sent.get("width", 0), f"{field}.width", unit=unit))
    plies = reading.sequence(reading.need(sent, "plies", f"{field}."), f"{field}.plies", most=12)
    if len(plies) < 2:
        raise BadInput(f"{field}.plies", plies, "two plies or more; one alone is a pane")
    between = reading.length(reading.need(sent, "interlayer", f"{field}."), f"{field}.interlayer", unit=unit)
    if not 0 < between <= THICK_INTERLAYER:
        raise BadInput(f"{field}.interlayer", sent["interlayer"], "more than nothing, at most 10 mm, such as 0.76 mm")
    return Layer(tuple(_nominal(ply, f"{field}.plies[{n}]", unit) for n, ply in enumerate(plies)), between)


def _nominal(sent: Any, field: str, unit: str) -> int:
    nominal = nominal_thickness(reading.length(sent, field, unit=unit))
    if nominal is None:
        raise BadInput(field, sent, MADE)
    return nominal


def read_hardware(payload: Mapping[str, Any], unit: str, panels: tuple[Panel, ...]) -> tuple[Piece, ...] | None:
    sent = payload.get("hardware")
    if sent is None:
        return None
    return tuple(_piece(reading.mapping(one, f"hardware[{n}]"), f"hardware[{n}]", unit, panels)
                 for n, one in enumerate(reading.sequence(sent, "hardware", most=200)))


def _piece(sent: Mapping[str, Any], field: str, unit: str, panels: tuple[Panel, ...]) -> Piece:
    what = reading.need(sent, "what", f"{field}.")
    if not isinstance(what, str) or not 0 < len(what) <= 120:
        raise BadInput(f"{field}.what", what, "a few words for what it is")
    kg = read.mass(reading.need(sent, "kg", f"{field}."), f"{field}.kg", MOST_PIECE)
    on = _on(sent, field, panels)
    at = None if sent.get("at") is None else _at(sent["at"], f"{field}.at", unit)
    for panel in panels:
        if at is not None and (on is None or panel.letter in on) and (at[0] > panel.width or at[1] > panel.height):
            raise BadInput(f"{field}.at", sent["at"], f"a place on panel {panel.letter}: from its lead edge and bottom")
    return Piece(what, kg, read.count(sent.get("count", 1), f"{field}.count", 1, 1000), at, on)


def _on(sent: Mapping[str, Any], field: str, panels: tuple[Panel, ...]) -> tuple[str, ...] | None:
    if sent.get("panels") is None:
        return None
    letters = [panel.letter for panel in panels]
    return tuple(reading.choice(letter, f"{field}.panels[{n}]", letters)
                 for n, letter in enumerate(reading.sequence(sent["panels"], f"{field}.panels", most=100)))


def _at(sent: Any, field: str, unit: str) -> tuple[int, int]:
    """[x, y] or {x, y}."""
    both = [sent.get("x"), sent.get("y")] if isinstance(sent, Mapping) else list(reading.sequence(sent, field, most=2))
    if len(both) != 2:
        raise BadInput(field, sent, "two lengths: from the lead edge, from the bottom")
    x, y = (reading.length(one, f"{field}.{name}", unit=unit) for name, one in zip("xy", both, strict=True))
    return x, y
