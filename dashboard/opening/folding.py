"""Which parts of an opening's page lie open, and what each folded one says of itself.

Open is what is worked at next, what is left to do, and where a form came back; the rest is one line each, so that a
telephone shows the gate and not a mile of history.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

from dashboard.forms.acts import FORMS
from dashboard.opening.material import in_all
from jobs.stages import Stage

if TYPE_CHECKING:
    from dashboard.opening.sheet import OpeningSheet

PARTS = ("panels", "material", "readings", "items", "joints", "parts", "finishing", "custody", "wall", "events",
         "hours", "photos", "history")


def unfolded(sheet: OpeningSheet) -> dict[str, bool]:
    at, came_back = Stage(sheet.opening.stage), {form.section for form in sheet.bound.values()}
    asked = {kind.section for kind in FORMS.values() if sheet.lists.opens(kind)}
    now = {
        "panels": at in (Stage.FRAME_SET, Stage.PANELS_HUNG) or any(p.damaged for p in sheet.facts.panels),
        "material": bool(sheet.stopped),
        "items": bool(sheet.open_items),
        "joints": at is Stage.ADJUSTED,
        "parts": at in (Stage.SEALED, Stage.PUNCH_LIST) and _out(sheet) > 0,
        "finishing": at is Stage.SEALED and sheet.finishing is not None and not sheet.finishing.done,
        "history": sheet.before is not None,
    }
    return {name: sheet.all or name in came_back | asked or now.get(name, False) for name in PARTS}


def in_short(sheet: OpeningSheet) -> dict[str, str]:
    hours = {"e": sheet.tape.earned_hours, "p": sheet.tape.planned_hours, "u": sheet.tape.used_hours}
    return {
        "panels": _panels(sheet), "readings": _readings(sheet), "parts": _parts(sheet),
        "material": in_all(sheet.facts.parts), "custody": sheet.custody[0].who if sheet.custody else _("nobody named"),
        "wall": sheet.wall.in_short if sheet.wall else "",
        "finishing": "" if sheet.finishing is None else sheet.finishing.said,
        "items": _("%d open") % len(sheet.open_items) if sheet.items else _("none"),
        "joints": _("%d done") % sum(bool(done) for _name, _state, done in sheet.joints),
        "events": str(sheet.events_in_all or _("none")),
        "hours": _("%(e)s earned, %(p)s planned to today, %(u)s used") % hours,
        "photos": str(sheet.photos_in_all or _("none")),
        "history": _("last %s") % sheet.history[-1].when if sheet.history else "",
    }


def _panels(sheet: OpeningSheet) -> str:
    panels = sheet.facts.panels
    if not panels:
        return _("no unit yet")
    return _("%(hung)d of %(all)d hung") % {
        "hung": sum(p.state in ("hung", "adjusted") for p in panels), "all": len(panels)}


def _readings(sheet: OpeningSheet) -> str:
    rows = sheet.latest_readings
    if not rows:
        return _("none yet")
    beyond = sum(not row.passes for row in rows)
    if not beyond:
        return _("%d, all within their limits") % len(rows)
    return _("%(all)d, not all within their limits: %(beyond)d") % {"all": len(rows), "beyond": beyond}


def _parts(sheet: OpeningSheet) -> str:
    out = _out(sheet)
    if out:
        return _("%d must go back") % out
    return _("all back") if sheet.aside else _("none")


def _out(sheet: OpeningSheet) -> int:
    return len(sheet.still_aside)
