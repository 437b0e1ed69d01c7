"""The rough opening: is it large enough, square, plumb and untwisted, and do the six tapes agree with each other.

- Size: tightest of three >= required + clearance_least; loosest <= required + clearance_most.
- Misclosure: taped falling diagonal less the one that the other five lengths imply (quadrilateral.py). Beyond 3.29 of
  its standard deviations all six are to be taped again: six lengths cannot tell which one is wrong.
- Rack: how far the head has slid over the sill, (rising^2 - falling^2) / (2 (bottom + top)), positive to the right.
  It is also the mean of the two jambs' leans, and is judged from them where they were read with a level: on a long
  opening tapes cannot tell square to a sixteenth.
- Plumb is read over a stated height and judged over the height of the jamb; twist is left face less right face over
  the same height.

3.29 is the normal quantile that chance exceeds once in a thousand (3.2905; computed).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from inspections.calc import quadrilateral
from jobs.calc import reading
from jobs.calc.lengths import INCH
from jobs.calc.reading import ReadingValue
from jobs.calc.verdict import (
    NOT_ENOUGH_DATA,
    NOT_ENOUGH_READINGS,
    TAPE_AGAIN,
    BadInput,
    Finding,
    Limit,
    Remedy,
    Verdict,
    at_least,
    at_most,
    overall,
)

NAME = "rough-opening"
LIMITS = {
    "clearance_least": "mm",
    "clearance_most": "mm",
    "rack": "mm",
    "out_of_plumb": "mm",
    "twist": "mm",
    "tape_deviation": "mm",  # one standard deviation of a tape: this much ...
    "tape_deviation_per_m": "number",  # ... and so many millimetres more for each metre
}
TAPES = {
    "widths": ("top", "middle", "bottom"),
    "heights": ("left", "middle", "right"),
    "diagonals": ("rising", "falling"),
}
SIZES = {"width": "widths", "height": "heights"}
JAMBS = ("left", "right")
WAYS = ("edge", "face")

TOO_MANY_DEVIATIONS = Fraction(329, 100)
SELDOM = "3.29 standard deviations, which chance exceeds once in a thousand"
UNLIKELY = 3 * INCH  # a foot misread or two digits swapped is more than this, a poor opening seldom is
NO_LIMIT = Limit(None, "no limit set")


@dataclass(frozen=True, slots=True)
class Plumb:
    """A jamb against a level or laser: top leans right (`edge`), top leans out (`face`), over so much height."""

    over: int
    edge: int | None = None
    face: int | None = None


@dataclass(frozen=True, slots=True)
class Tape:
    """One standard deviation of a length: `fixed` (nm) and a share of the length."""

    fixed: int
    share: Fraction

    def deviation(self, length: int) -> Fraction:
        return self.fixed + self.share * length


@dataclass(frozen=True, slots=True)
class Opening:
    widths: Mapping[str, int] = field(default_factory=dict)
    heights: Mapping[str, int] = field(default_factory=dict)
    diagonals: Mapping[str, int] = field(default_factory=dict)
    plumb: Mapping[str, Plumb] = field(default_factory=dict)
    required: Mapping[str, int] = field(default_factory=dict)
    drawing: Mapping[str, int] = field(default_factory=dict)

    @property
    def six(self) -> dict[str, int] | None:
        """The six lengths round and across the opening, once all are taped."""
        heights = {side: nm for side, nm in self.heights.items() if side in JAMBS}
        six = self.across | heights
        return six if len(six) == 6 else None

    @property
    def across(self) -> dict[str, int]:
        """What rack is reckoned from, as far as it was taped."""
        return {end: nm for end, nm in self.widths.items() if end != "middle"} | dict(self.diagonals)

    def lean(self, jamb: str, way: str, height: int | None = None) -> Fraction | None:
        """How far that jamb's top leans over `height`, its own when none is given."""
        plumb = self.plumb.get(jamb)
        offset = getattr(plumb, way) if plumb else None
        if offset is None:
            return None
        return Fraction(offset * (height or self.heights.get(jamb) or plumb.over), plumb.over)


@dataclass(frozen=True, slots=True)
class Tapes:
    """What the six tapes say together."""

    six: Mapping[str, int]
    deviations: Mapping[str, Fraction] | None  # None: nobody has said how good the tape is
    impossible: tuple[str, ...] | None = None
    implied: int | None = None
    deviation: int | None = None

    @property
    def misclosure(self) -> int | None:
        return None if self.implied is None else self.six["falling"] - self.implied

    @property
    def disagree(self) -> bool:
        beyond = self.deviation is not None and abs(self.misclosure) > TOO_MANY_DEVIATIONS * self.deviation
        return beyond or self.impossible is not None


@dataclass(frozen=True, slots=True)
class Rack:
    """How far the head has slid over the sill to the right, and what that was judged from."""

    slid: Fraction
    judged_from: str
    deviation: int | None = None


def judge(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Verdict:
    return judged(read(payload), limits, tape_of(payload, limits))


def readings(payload: Mapping[str, Any]) -> tuple[ReadingValue, ...]:
    opening = read(payload)
    taped = [
        ReadingValue(f"{group[:-1]}_{where}", nm) for group in TAPES for where, nm in getattr(opening, group).items()
    ]
    plumbed = [
        ReadingValue(f"plumb_{jamb}_{way}", getattr(plumb, way), at=plumb.over)
        for jamb, plumb in opening.plumb.items() for way in WAYS if getattr(plumb, way) is not None
    ]
    return (*taped, *plumbed)


# ---- reading what was sent ---------------------------------------------------------------------------------


def read(payload: Mapping[str, Any]) -> Opening:
    unit = reading.unit_of(payload)
    taped = {group: _sizes(payload, group, places, unit) for group, places in TAPES.items()}
    return Opening(
        **taped,
        plumb=_plumb(payload.get("plumb"), unit),
        required=_sizes(payload, "required", tuple(SIZES), unit),
        drawing=_sizes(payload, "drawing", tuple(SIZES), unit),
    )


def tape_of(payload: Mapping[str, Any], limits: Mapping[str, Limit]) -> Tape | None:
    """The tape that was used: its own deviation `{a, b}` where it came with the readings, else the one that is set."""
    if payload.get("tape_deviation") is not None:
        sent = reading.mapping(payload["tape_deviation"], "tape_deviation")
        _only_known(sent, ("a", "b"), "tape_deviation")
        fixed = _size(reading.need(sent, "a", "tape_deviation."), "tape_deviation.a", reading.unit_of(payload))
        share = reading.number(sent.get("b", 0), "tape_deviation.b", least=0)
    else:
        fixed, share = (limits.get(n, NO_LIMIT).value for n in ("tape_deviation", "tape_deviation_per_m"))
    if fixed is None:
        return None
    share = reading.number(share or 0, "limits.tape_deviation_per_m", least=0)
    if fixed <= 0:
        raise BadInput("limits.tape_deviation", str(fixed), "no tape is without deviation: it is more than 0")
    return Tape(int(fixed), Fraction(str(share)) / 1000)


def _sizes(payload: Mapping[str, Any], group: str, names: tuple[str, ...], unit: str) -> dict[str, int]:
    sent = reading.mapping(payload.get(group) or {}, group)
    _only_known(sent, names, group)
    return {n: _size(sent[n], f"{group}.{n}", unit) for n in names if sent.get(n) is not None}


def _size(value: Any, name: str, unit: str) -> int:
    nm = reading.length(value, name, unit=unit)
    if nm == 0:
        raise BadInput(name, value, "a size is more than nothing; leave it out where it was not read")
    return nm


def _plumb(sent: Any, unit: str) -> dict[str, Plumb]:
    sent = reading.mapping(sent or {}, "plumb")
    _only_known(sent, (*JAMBS, "over"), "plumb")
    return {j: _jamb(sent[j], f"plumb.{j}", sent.get("over"), unit) for j in JAMBS if sent.get(j) is not None}


def _jamb(sent: Any, name: str, over_both: Any, unit: str) -> Plumb:
    sent = reading.mapping(sent, name)
    _only_known(sent, (*WAYS, "over"), name)
    over = sent.get("over") if sent.get("over") is not None else over_both
    if over is None:
        raise BadInput(f"{name}.over", None, "say over what height the jamb was read")
    offsets = {
        way: reading.length(sent[way], f"{name}.{way}", unit=unit, signed=True)
        for way in WAYS if sent.get(way) is not None
    }
    return Plumb(_size(over, f"{name}.over", unit), **offsets)


def _only_known(sent: Mapping[str, Any], names: tuple[str, ...], within: str) -> None:
    for name in sent:
        reading.choice(name, f"{within}.{name}", names)


# ---- judging -----------------------------------------------------------------------------------------------


def judged(opening: Opening, limits: Mapping[str, Limit], tape: Tape | None = None) -> Verdict:
    tapes = read_together(opening.six, tape)
    disagree = tapes is not None and tapes.disagree
    # Of six lengths that contradict each other none can be trusted, so nothing is judged by them.
    trusted = replace(opening, widths={}, diagonals={}) if disagree else opening
    racks = {"plumb": rack_by_level(trusted), "tapes": rack_by_tapes(trusted, tape)}
    rack, leans = racks["plumb"] or racks["tapes"], top_corners(trusted, tapes)
    findings = (
        *(() if disagree else _size_findings(opening, limits)),
        *_misclosure_finding(tapes),
        *_rack_finding(rack, leans, limits),
        *_plumb_findings(opening, limits),
        *_twist_finding(opening, limits),
    )
    missing = tuple(_missing(opening, disagree))
    second_look = (*_unlikely(opening), *_what_tapes_leave_open(trusted, rack, tape, limits.get("rack", NO_LIMIT)))
    computed = _racks(racks, rack) | {"moves": _moves(leans)} | _twist(opening) | _closure(tapes)
    result = TAPE_AGAIN if disagree else _result(findings, missing)
    return Verdict(result, findings, computed, missing, second_look, _caution(findings))


def read_together(six: Mapping[str, int] | None, tape: Tape | None) -> Tapes | None:
    if six is None:
        return None
    deviations = None if tape is None else {name: tape.deviation(nm) for name, nm in six.items()}
    impossible = quadrilateral.cannot_be(six)
    if impossible:
        return Tapes(six, deviations, impossible)
    deviation = None if deviations is None else quadrilateral.misclosure_deviation(six, deviations)
    return Tapes(six, deviations, None, quadrilateral.implied_falling(six), deviation)


def _result(findings: tuple[Finding, ...], missing: tuple[Mapping[str, Any], ...]) -> str:
    """Where only what the office must enter is lacking, more readings would not help."""
    result = overall(findings, missing)
    only_data = all(m["what"].startswith("required") for m in missing)
    return NOT_ENOUGH_DATA if result == NOT_ENOUGH_READINGS and only_data else result


def _size_findings(opening: Opening, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    for name, group in SIZES.items():
        taped, required = getattr(opening, group), opening.required.get(name)
        if not taped or required is None:
            continue
        least, most = (_added(required, limits.get(n, NO_LIMIT)) for n in ("clearance_least", "clearance_most"))
        yield _size_finding(f"tightest_{name}", min(taped.items(), key=_nm), least, at_least, "builder_to_enlarge")
        yield _size_finding(f"loosest_{name}", max(taped.items(), key=_nm), most, at_most, "builder_to_pack_out")


def _size_finding(
    quantity: str, taped: tuple[str, int], limit: Limit, judge_by: Callable[..., Finding], code: str
) -> Finding:
    where, nm = taped
    by = 0 if limit.value is None else abs(limit.value - nm)
    return judge_by(quantity, nm, limit, where={"at": where}, remedy=Remedy(code, {"at": where, "by_mm": by}))


def _nm(item: tuple[str, int]) -> int:
    return item[1]


def _added(required: int, clearance: Limit) -> Limit:
    return Limit(None if clearance.value is None else required + clearance.value, clearance.source)


def _misclosure_finding(tapes: Tapes | None) -> Iterator[Finding]:
    if tapes is None:
        return
    again = Remedy("tape_all_six_again")
    if tapes.impossible:
        yield Finding("misclosure", None, None, False, SELDOM, where={"cannot_be": list(tapes.impossible)},
                      remedy=again)
        return
    most = None if tapes.deviation is None else TOO_MANY_DEVIATIONS * tapes.deviation
    yield at_most("misclosure", abs(tapes.misclosure), Limit(most, SELDOM), remedy=again)


def _rack_finding(
    rack: Rack | None, leans: Mapping[str, int | Fraction], limits: Mapping[str, Limit]
) -> Iterator[Finding]:
    if rack is None:
        return
    moves = _moves(leans)
    where = {"judged_from": rack.judged_from, "head_slid": _side(rack.slid)}
    yield at_most("rack", abs(rack.slid), limits.get("rack", NO_LIMIT), where=where,
                  remedy=Remedy("move_corner", moves[0] if moves else {}))


def rack_by_level(opening: Opening) -> Rack | None:
    """The mean lean of the jambs. One jamb and the two widths give the other, good to the tapes of two widths only."""
    left, right = (opening.lean(jamb, "edge") for jamb in JAMBS)
    if left is None and right is None:
        return None
    if left is None or right is None:
        if not {"top", "bottom"} <= opening.widths.keys():
            return None
        wider = opening.widths["top"] - opening.widths["bottom"]
        left, right = (right - wider, right) if left is None else (left, left + wider)
    return Rack((left + right) / 2, "plumb")


def rack_by_tapes(opening: Opening, tape: Tape | None) -> Rack | None:
    four = opening.across
    if len(four) < 4:
        return None
    slid = quadrilateral.rack(four["bottom"], four["top"], four["rising"], four["falling"])
    deviations = tape and {name: tape.deviation(nm) for name, nm in four.items()}
    return Rack(slid, "tapes", deviations and quadrilateral.rack_deviation(four, deviations))


def top_corners(opening: Opening, tapes: Tapes | None) -> dict[str, int | Fraction]:
    """How far each top corner has gone from square: off a level, or out of the adjusted figure."""
    leans = {jamb: lean for jamb in JAMBS if (lean := opening.lean(jamb, "edge")) is not None}
    figure = None if leans else _figure(tapes)
    return leans if figure is None else quadrilateral.top_corners_lean(figure)


def _moves(leans: Mapping[str, int | Fraction]) -> list[dict[str, Any]]:
    """Which top corner to move, which way and how far, the worst first; the sill stays where it is."""
    worst_first = sorted(leans.items(), key=lambda jamb_lean: -abs(jamb_lean[1]))
    return [
        {"corner": f"top_{jamb}", "towards": _side(-lean), "by_mm": abs(lean)} for jamb, lean in worst_first if lean
    ]


def _side(lean: int | Fraction) -> str | None:
    return None if lean == 0 else "right" if lean > 0 else "left"


def _figure(tapes: Tapes | None) -> dict[str, Any] | None:
    if tapes is None or tapes.disagree:
        return None
    return quadrilateral.adjusted(tapes.six, tapes.deviations or dict.fromkeys(quadrilateral.SIX, 1))


def _plumb_findings(opening: Opening, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    for jamb in JAMBS:
        leans = {way: opening.lean(jamb, way) for way in WAYS}
        taken = {way: lean for way, lean in leans.items() if lean is not None}
        if not taken:
            continue
        way, lean = max(taken.items(), key=lambda way_lean: abs(way_lean[1]))
        leaning = _side(lean) if way == "edge" else None if lean == 0 else "out" if lean > 0 else "in"
        remedy = Remedy("plumb_the_jamb", {"jamb": jamb, "along": way, "top_leans": leaning, "by_mm": abs(lean)})
        yield at_most(f"jamb_plumb_{jamb}", abs(lean), limits.get("out_of_plumb", NO_LIMIT),
                      where={"along": way, "top_leans": leaning}, remedy=remedy)


def twist(opening: Opening) -> Fraction | None:
    """Left face less right face, both over the height of the taller jamb."""
    heights = [h for name, h in opening.heights.items() if name in JAMBS] or [p.over for p in opening.plumb.values()]
    faces = [opening.lean(jamb, "face", max(heights, default=0)) for jamb in JAMBS]
    return None if None in faces else faces[0] - faces[1]


def _twist_finding(opening: Opening, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    apart = twist(opening)
    if apart is not None:
        yield at_most("twist", abs(apart), limits.get("twist", NO_LIMIT), remedy=Remedy("jambs_lean_apart_across_wall"))


def _caution(findings: tuple[Finding, ...]) -> str | None:
    """Making an opening larger or moving a corner touches what carries the wall: that is not ours to judge."""
    touching = ("tightest_width", "tightest_height", "rack")
    return "structure_is_referred" if any(f.within is False and f.quantity in touching for f in findings) else None


def _missing(opening: Opening, disagree: bool) -> Iterator[dict[str, Any]]:
    if disagree:
        yield {"what": "all_six_tapes_again", "which": list(quadrilateral.SIX)}
    for group, places in TAPES.items():
        yield from ({"what": group[:-1], "at": p} for p in places if p not in getattr(opening, group))
    for jamb in JAMBS:
        yield from ({"what": "plumb", "at": jamb, "along": w} for w in WAYS if opening.lean(jamb, w) is None)
    yield from ({"what": f"required_{name}"} for name in SIZES if name not in opening.required)


def _racks(racks: Mapping[str, Rack | None], judged: Rack | None) -> dict[str, Any]:
    computed: dict[str, Any] = {"rack_judged_from": judged and judged.judged_from}
    if racks["tapes"]:
        computed |= {"rack_mm": racks["tapes"].slid, "rack_deviation_mm": racks["tapes"].deviation}
    if racks["plumb"]:
        computed["rack_by_plumb_mm"] = racks["plumb"].slid
    return computed


def _twist(opening: Opening) -> dict[str, Any]:
    apart = twist(opening)
    return {} if apart is None else {"twist_mm": apart}


def _closure(tapes: Tapes | None) -> dict[str, Any]:
    if tapes is None:
        return {}
    six, figure = tapes.six, _figure(tapes)
    closure: dict[str, Any] = {
        "misclosure_mm": tapes.misclosure,
        "misclosure_deviation_mm": tapes.deviation,
        "falling_implied_mm": tapes.implied,
        "top_less_bottom_mm": six["top"] - six["bottom"],
        "right_less_left_mm": six["right"] - six["left"],
    }
    if figure is not None:
        closure["corners"] = {f"{c}_deg": angle for c, angle in quadrilateral.corner_angles(figure).items()}
    return closure


# ---- improbable, kept all the same -------------------------------------------------------------------------


def _unlikely(opening: Opening) -> Iterator[dict[str, Any]]:
    for name, group in SIZES.items():
        taped = getattr(opening, group)
        yield from _unlike_drawing(name, taped, opening.drawing.get(name))
        yield from _unlike_the_others(name, taped)
    for jamb, plumb in opening.plumb.items():
        height = opening.heights.get(jamb, plumb.over)
        if plumb.over > height + UNLIKELY:
            yield {"what": "plumb_over_more_than_the_jamb", "at": jamb, "value_mm": plumb.over, "jamb_mm": height}


def _unlike_drawing(name: str, taped: Mapping[str, int], drawn: int | None) -> Iterator[dict[str, Any]]:
    for where, nm in taped.items():
        if drawn is not None and abs(nm - drawn) > UNLIKELY:
            yield {"what": "unlike_the_drawing", "reading": name, "at": where, "value_mm": nm, "drawing_mm": drawn}


def _unlike_the_others(name: str, taped: Mapping[str, int]) -> Iterator[dict[str, Any]]:
    for where, nm in taped.items():
        others = [other for place, other in taped.items() if place != where]
        agree = len(others) == 2 and abs(others[0] - others[1]) <= UNLIKELY
        if agree and all(abs(nm - other) > UNLIKELY for other in others):
            yield {"what": "unlike_the_others", "reading": name, "at": where, "value_mm": nm}


def _what_tapes_leave_open(
    opening: Opening, rack: Rack | None, tape: Tape | None, limit: Limit
) -> Iterator[dict[str, Any]]:
    if rack is None or rack.deviation is None or limit.value is None:
        return
    if abs(limit.value - abs(rack.slid)) < 2 * rack.deviation:
        yield {"what": "tapes_cannot_tell_square", "deviation_mm": rack.deviation, "limit_mm": limit.value,
               "read": "plumb"}
    top, bottom = opening.widths["top"], opening.widths["bottom"]
    chance = tape.deviation(top) ** 2 + tape.deviation(bottom) ** 2
    # An isosceles trapezoid has equal diagonals and is not square.
    if abs(rack.slid) <= limit.value and (top - bottom) ** 2 > TOO_MANY_DEVIATIONS**2 * chance:
        yield {"what": "equal_diagonals_but_not_square", "top_less_bottom_mm": top - bottom}
