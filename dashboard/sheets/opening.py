"""The opening sheet: what a crew works from when every telephone is dead. `opening.typ` sets what is gathered here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any
from urllib.parse import urlencode

import segno
from django.utils.translation import gettext as _

from dashboard import phrases, words
from dashboard.drawings.elevation import HUNG
from dashboard.measures import Reader
from dashboard.opening.drawn import Drawings
from dashboard.opening.finishing import FINISHING, steps_of
from dashboard.opening.handling_shown import HandlingShown
from dashboard.opening.sheet import OpeningSheet
from dashboard.opening.taken import taken_lines
from dashboard.sheets import drawn
from dashboard.sheets.blanks import blanks, in_blocks
from dashboard.sheets.drawn import LONGEST
from inspections.calc.gate import Asked, Outcome
from inspections.calc.kinds import KINDS
from inspections.models import PunchItem
from inspections.services.facts import HOLD_POINT, Facts
from inspections.services.judging import limits_at
from inspections.services.looking import judge
from inspections.services.taking_off import taken_off
from jobs.acts import Act
from jobs.calc.verdict import Limit, printed
from jobs.models import Opening
from jobs.stages import NUMBER, ORDER, Stage
from units.models import Panel, Unit
from units.services.handling import help_planned


def shown(opening: Opening, act: Act, reader: Reader, company: str, address: str) -> dict[str, Any]:
    """All that the sheet says. `address`: the opening's page, behind a sign-in, for the code."""
    reader = reader.at(opening.job.time_zone)
    unit = getattr(opening, "unit", None)
    panels = [] if unit is None else list(unit.panels.order_by("hanging_order"))
    drawings = drawn.drawings_of(opening, act, reader)
    facts = drawings.sheet.facts
    ahead = list(_ahead(opening, facts.hold_point is not None))
    return {
        "title": _title(drawings.sheet, unit, reader, company),
        "access": opening.job.access_notes.strip() if drawings.sheet.named else "",
        "said": f"{_('Seen from outside')}. {drawings.sheet.drawing_words}.",
        "drawing": drawn.elevation(drawings), "plan": drawn.plan(drawings), "plan_said": drawn.plan_words(drawings),
        "sill": drawn.sill(drawings), "joints": list(drawn.joints(drawings)),
        "code": segno.make(address, error="m").svg_inline(border=2), "sizes": list(_sizes(opening, unit, reader)),
        "panels": [_panel(panel, reader, address) for panel in panels],
        "handling": _handling(opening, unit, panels, act, reader),
        "items": [_item(item, reader) for item in drawings.sheet.open_items],
        "cautions": [str(phrases.LIFTING_CAUTION)] if panels else [],
        "sill_caution": str(phrases.SILL_CAUTION),
        "packing": _packing(drawings) if Stage.FRAME_SET.value in ahead else None,
        "stages": list(_stages(facts, ahead, act, reader)),
        "blanks": blanks([check for check in facts.checks if check.stage in ahead], opening, panels, reader),
        "materials": [] if unit is None else list(taken_lines(taken_off(unit).counts, reader)),
        "footer": f"{company} · {opening.job.number[:LONGEST]} · {opening.tag[:LONGEST]} · "
                  f"{_('printed %s') % reader.moment(act.now)}",
        "words": _words(),
    }


def _words() -> dict[str, Any]:
    return {
        "plan": _("Plan of the tracks"), "sill": _("The sill, cut across"),
        "sill_said": _("A sketch: bed and sealant are drawn larger than they are. Arrow, a weep, which stays open; "
                       "filled corner, sealed; cross, never sealed."),
        "joint_heads": [_("No."), _("Joint"), _("Sealant")], "sizes": _("Sizes"),
        "code": _("The record, after signing in"), "access": _("Access"),
        "panels": _("Panels, in the order they are hung"),
        "handling": _("Lifted and brought in"),
        "handling_heads": [_("Panel"), _("To lift"), _("With what is planned"), _("Way in")],
        "panel_heads": [_("Order"), _("Panel"), _("Position"), _("Track"), _("Size"), _("Weight"), _("Hung"),
                        _("By its mark")],
        "check_heads": ["", _("Check"), _("Limits"), _("Read, by, when")], "materials": _("Materials"),
        "packing": _("Packing under the sill, by the floor as it was read"),
        "blanks": _("Readings, to be written down here"),
        "blanks_said": _("With the words of the pages on which they are entered later. What is read decides, not what "
                         "is written down here."),
        "items": _("Still to be put right"), "item_heads": [_("No."), _("What"), _("Where"), _("Who, by when"), ""],
    }


def _title(sheet: OpeningSheet, unit: Unit | None, reader: Reader, company: str) -> list[dict[str, str]]:
    """Where it is, for those only who may know."""
    opening, job = sheet.opening, sheet.opening.job
    cells = [
        (company or _("Job"), f"{job.number} · {job.title}"), (_("Opening"), f"{opening.tag} {opening.location}"),
        (_("Door system"), "–" if unit is None or unit.system is None else str(unit.system)),
        (_("Crew"), sheet.crew_words), (_("Stands at"), words.stage(opening.stage)),
        (_("Promised"), reader.whole_day(job.promised_date) or "–"), (_("Floor"), str(opening.get_substrate_display())),
        (_("Where"), (sheet.named and job.address) or "–")]
    return [{"label": label[:LONGEST], "text": text[:LONGEST]} for label, text in cells]


def _sizes(opening: Opening, unit: Unit | None, reader: Reader) -> Iterable[dict[str, str]]:
    rows = [(_("Rough opening"), reader.size, opening.rough_width, opening.rough_height)]
    if unit is not None:
        rows.append((_("Frame, outside"), reader.size, unit.frame_width, unit.frame_height))
        rows.append((_("Pocket, depth and clear thickness needed"), reader.needed, unit.pocket_depth_needed,
                     unit.pocket_thickness_needed))
    for label, written, first, second in rows:
        yield {"label": label, "text": f"{written(first)} × {written(second)}"}
    if opening.benchmark:
        yield {"label": _("Benchmark"), "text": opening.benchmark[:LONGEST]}


def _panel(panel: Panel, reader: Reader, address: str) -> dict[str, Any]:
    """With a code that a telephone reads: to this panel, behind the sign-in."""
    return {"order": str(panel.hanging_order), "letter": panel.letter, "position": str(panel.get_position_display()),
            "track": str(panel.track), "size": f"{reader.size(panel.width)} × {reader.size(panel.height)}",
            "weight": "–" if panel.grams is None else reader.weight_up(panel.grams / 1000),
            "hung": panel.state in HUNG, "state": _state(panel),
            "code": segno.make(f"{address}?{urlencode({'at': panel.letter})}", error="l").svg_inline(border=1)}


def _handling(opening: Opening, unit: Unit | None, panels: Sequence[Panel], act: Act,
              reader: Reader) -> dict[str, Any] | None:
    """With what and how many people the panels that are still to be hung are lifted, as it is planned, and whether
    they get in; of all of them alike on one line."""
    ahead = [panel for panel in panels if panel.state not in HUNG]
    if unit is None or not ahead:
        return None
    today = act.today(opening.job.time_zone)
    lifted = HandlingShown.of(ahead, unit.system, opening.job.way_in, help_planned(unit, today), (), today, reader)
    return {"planned": lifted.with_what or _("No equipment and no crew are planned for hanging yet."),
            "refused": lifted.refused,
            "rows": [[one.letter, one.mass, one.lifting, one.way_in] for one in lifted.alike]}


def _state(panel: Panel) -> str:
    """Where it is already; of one that is still to come nothing: there is a box to tick."""
    said = [] if panel.state == "expected" else [str(phrases.PANEL_STATES[panel.state])]
    return ", ".join(said + ([_("damaged")] if panel.damaged else []))


def _item(item: PunchItem, reader: Reader) -> list[str]:
    """What the number in a ring on the drawing stands for."""
    at = ([] if item.panel is None else [item.panel.letter]) + ([words.place(item.place)] if item.place else [])
    return [str(item.number), item.what[:LONGEST], ", ".join(at)[:LONGEST],
            f"{item.owner}"[:LONGEST] + f", {reader.day(item.due_day)}"]


# ---- the checks that are still before it ----------------------------------------------------------------


def _packing(drawings: Drawings) -> dict[str, Any] | None:
    """Station by station, a column a line; in blocks beside each other."""
    at: dict[str, dict[str, str]] = {}
    for line, place, packing in drawings.packing:
        at.setdefault(place, {})[line] = packing
    lines = list(dict.fromkeys(line for line, _place, _packing in drawings.packing))
    rows = [[place, *(of.get(line, "–") for line in lines)] for place, of in at.items()]
    heads, rows = in_blocks([_("At"), *lines], rows)
    return {"heads": heads, "rows": rows} if rows else None


def _stages(facts: Facts, ahead: Iterable[str], act: Act, reader: Reader) -> Iterable[dict[str, Any]]:
    """Stage by stage from the next one on; the hold point stands before the panels are hung."""
    for name in ahead:
        asked = [check for check in facts.checks if check.stage == name]
        if asked:
            yield {"name": words.stage(name), "checks": [_check(facts, check, act, reader) for check in asked],
                   "cautions": list(dict.fromkeys(said for check in asked for said in _cautions(check)))}


def _ahead(opening: Opening, released: bool) -> Iterable[str]:
    for stage in ORDER[NUMBER[Stage(opening.stage)] + 1:]:
        if stage is Stage.PANELS_HUNG and not released:
            yield HOLD_POINT
        yield stage.value


def _check(facts: Facts, asked: Asked, act: Act, reader: Reader) -> dict[str, Any]:
    steps = steps_of(facts.opening) if asked.code == FINISHING else ()
    return {"title": asked.title[:LONGEST], "limits": list(limits_said(facts, asked, reader)),
            "steps": [step[:LONGEST] for step in steps], "last": _last(judge(facts, asked, act.now), reader)}


def limits_said(facts: Facts, asked: Asked, reader: Reader) -> Iterable[str]:
    """What a check is held against: `Rise in a foot: 1/16"`."""
    if asked.judged_by not in KINDS:
        return
    units = KINDS[asked.judged_by].limits
    for name, limit in limits_at(asked.judged_by, facts.opening, facts.checks, first=asked).items():
        if name in asked.limits and name not in NO_LIMITS:
            written = reader.needed if asked.judged_by == POCKET else reader.length
            yield f"{words.limit(name)}: {_value(name, limit, units[name], reader, written)}"


def _value(name: str, limit: Limit, unit: str, reader: Reader, written: Callable[[int], str]) -> str:
    if limit.value is None:
        return _("no limit set")
    if unit == "mm":
        return written(limit.value)
    said = printed(limit.value, unit)
    if unit == "n":
        return reader.force(said)
    said = said.rstrip("0").rstrip(".") if "." in said else said
    return f"{said} {PER_METRE.get(name) or UNITS.get(unit, '')}".strip()


POCKET = "pocket"
NO_LIMITS = ("grind_cost", "fill_cost")  # by which corrections are weighed; nothing is read against them
UNITS = {"c": "°C", "c_apart": "°C", "pct": "%", "deg": "°", "kg": "kg"}
PER_METRE = {"tape_deviation_per_m": "mm/m"}


def _last(outcomes: Iterable[Outcome], reader: Reader) -> str:
    """What the record says of it, on what; of several places how many stand, and which do not. Nothing where nobody
    looked yet."""
    said = [words.check(outcome.as_dict(), reader) for outcome in outcomes]
    known = [one for one in said if one.result != "missing"]
    if len(said) == 1:
        return ", ".join(filter(None, (part for one in known for part in (one.said, one.seen))))[:LONGEST]
    stand = _("%(good)d of %(all)d stand") % {"good": sum(one.passes for one in said), "all": len(said)}
    return "; ".join([stand, *(f"{one.place}: {one.said}" for one in known if not one.passes)])[:LONGEST]


def _cautions(asked: Asked) -> Iterable[str]:
    if asked.code in phrases.CHECK_CAUTIONS:
        yield str(phrases.CHECK_CAUTIONS[asked.code])
    yield from (str(said) for said in phrases.SHEET_CAUTIONS.get(asked.judged_by, ()))

